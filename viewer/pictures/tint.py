"""Colours by depth for mesh files: the same browns for fill and blue-greens for cut as on the map of cut and fill."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from terrain.grid import Array
from terrain.shape import Proposal
from viewer.page import CUT_STEPS, FILL_STEPS, LEAST_FILL, SOIL, channels

_STEPS = 4  # of the scale: its last one is so dark that no shape could be seen on it in a viewer's light


def depth_tint(deepest: float) -> Callable[[Array], Array]:
    """Give a function from depth (n,) in metres (negative where dug) to red, green and blue (n, 3), 0 to 1 each.

    The scale runs from light at no depth to dark at `deepest` metres; ground that stays as it is has a colour of its
    own.
    """
    reach = max(deepest, LEAST_FILL)

    def tint(depth: Array) -> Array:
        share = np.clip(np.abs(depth) / reach, 0.0, 1.0)
        fill, cut = _along(FILL_STEPS[:_STEPS], share), _along(CUT_STEPS[:_STEPS], share)
        colours = np.where((depth > 0.0)[:, None], fill, cut)
        return np.where((np.abs(depth) < LEAST_FILL)[:, None], np.array(channels(SOIL)), colours)

    return tint


def mound_tint(proposal: Proposal) -> Callable[[Array], Array]:
    """The colours of a proposal: dark where it is filled or dug deepest."""
    return depth_tint(float(np.abs(proposal.mesh.fill).max()))


def _along(steps: Sequence[str], share: Array) -> Array:
    """Colours (n, 3) at shares (n,) of the way through a scale."""
    colours = np.array([channels(step) for step in steps])
    at = share * (len(steps) - 1)
    stops = np.arange(len(steps))
    return np.column_stack([np.interp(at, stops, colours[:, channel]) for channel in range(3)])
