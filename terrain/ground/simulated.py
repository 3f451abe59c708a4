"""Surfaces that shots leave likely, drawn at random."""

from __future__ import annotations

import numpy as np

from terrain.grid import Array
from terrain.ground.choose import FittedGround
from terrain.numerics import simulated


def simulated_heights(fit: FittedGround, targets: Array, count: int) -> Array:
    """Heights (m, about count) in metres at (m, 2) targets of surfaces that the shots leave likely.

    Each likely process is drawn from as often as its weight asks, so that what is not known of the covariance shows
    too. The same shots give the same surfaces.
    """
    local, rng = fit.shots.local(targets), np.random.default_rng(0)
    times = rng.multinomial(count, fit.likely.weights / fit.likely.weights.sum())
    drawn = [
        simulated(process, local, int(often), rng)
        for process, often in zip(fit.likely.processes, times, strict=True)
        if often
    ]
    return np.asarray(np.hstack(drawn) + fit.shots.base)
