"""Shots that do not agree with their neighbours, named: nothing leaves the survey."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from terrain.grid import Array
from terrain.ground.creased_doubts import creased_residuals
from terrain.ground.leave_one_out import FEWEST, LeftOutShot
from terrain.ground.model import DoubtfulShot
from terrain.ground.model_averaging import LikelyGround
from terrain.ground.shots import LocalShots
from terrain.numerics import Kriging, krige_with, kriged, unheeded
from terrain.site import Survey
from terrain.units import Units, show_length


def doubtful_shots(survey: Survey, units: Units, shots: LocalShots, likely: LikelyGround) -> tuple[DoubtfulShot, ...]:
    """Shots that stand out of the surface through the others, the farthest first, each with a sentence."""
    missed = find_doubtful(shots, likely)
    return tuple(_named(survey, units, shots, miss) for miss in missed)


def find_doubtful(shots: LocalShots, likely: LikelyGround) -> tuple[LeftOutShot, ...]:
    """How far the doubtful shots miss the surface through the rest, the farthest in deviations first."""
    if shots.free < FEWEST:
        return ()
    if len(shots.edges):
        return creased_residuals(shots, likely.likeliest)
    return tuple(sorted(_miss(shots, likely.likeliest, likely.aside), key=lambda miss: -miss.score))


def _miss(shots: LocalShots, process: Kriging, rows: Sequence[int]) -> list[LeftOutShot]:
    """How far some shots miss the process through the others."""
    error = unheeded(shots.error, shots.heights, rows)
    rest = krige_with(shots.places, shots.heights, error, process.covariance)
    height, deviation = kriged(rest, shots.places[list(rows)])
    expected = np.hypot(deviation, shots.error[list(rows)])
    residual = shots.heights[list(rows)] - height
    return [
        LeftOutShot(row, float(miss), float(wide)) for row, miss, wide in zip(rows, residual, expected, strict=True)
    ]


def _named(survey: Survey, units: Units, shots: LocalShots, miss: LeftOutShot) -> DoubtfulShot:
    """What is said of one shot; of shots averaged in one place, the one that is farthest off."""
    together = np.flatnonzero(shots.groups == miss.row)
    mean = shots.heights[miss.row] - miss.residual
    off: Array = survey.shots[together, 2] - shots.base - mean
    shot = int(together[np.argmax(np.abs(off))])
    residual = float(off[np.argmax(np.abs(off))])
    side = "above" if residual > 0 else "below"
    size = show_length(abs(residual), units, "elevation")
    return DoubtfulShot(
        name=survey.names[shot],
        at=(float(survey.shots[shot, 0]), float(survey.shots[shot, 1])),
        residual=residual,
        deviation=miss.deviation,
        text=f"Shot {survey.names[shot]} stands {size} {side} its neighbours.",
    )
