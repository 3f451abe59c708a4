"""Dense heights made into a number of shots that a ground model can work with."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from terrain.grid import Array

_HALVINGS = 14
_MOST_FLAGS = 50_000_000  # cells that are told apart by a flag each, which is quicker than sorting their numbers


@dataclass(frozen=True)
class ThinnedShots:
    """Means of the points in square cells: (m, 3) in metres, the cell's size, and the rms height about the means.

    `cell` is 0.0 where nothing was thinned.
    """

    points: Array
    cell: float
    scatter: float


def thin_by_cells(points: Array, most: int) -> ThinnedShots:
    """Replace points by the means of their cells, of the smallest size that leaves at most `most`.

    Parameters
    ----------
    points
        (n, 3) easting, northing, elevation, metres.
    most
        Number of points to leave at most.

    Notes
    -----
    Place and elevation are averaged together, so that points of a plane give points of that plane: no cell's height is
    moved to its middle. Nothing is dropped: every point has its part in one mean.
    """
    if len(points) <= most:
        return ThinnedShots(points, 0.0, 0.0)
    low = points.min(axis=0)
    plan = points[:, :2] - low[:2]
    small, large = 0.0, max(float(plan.max()), 1e-6) * 1.01
    for _ in range(_HALVINGS):
        middle = 0.5 * (small + large)
        if _occupied(plan, middle) > most:
            small = middle
        else:
            large = middle
    _, cells, counts = np.unique(_numbers(plan, large), return_inverse=True, return_counts=True)
    cells = cells.reshape(-1)
    means = np.column_stack([np.bincount(cells, points[:, axis] - low[axis]) / counts for axis in range(3)]) + low
    scatter = float(np.sqrt(np.mean((points[:, 2] - means[cells, 2]) ** 2)))
    return ThinnedShots(means, large, scatter)


def _numbers(plan: Array, cell: float) -> NDArray[np.int64]:
    """The number of the cell that each place lies in."""
    across = np.floor(plan / cell).astype(np.int64)
    return across[:, 1] * (int(across[:, 0].max()) + 1) + across[:, 0]


def _occupied(plan: Array, cell: float) -> int:
    """How many cells hold a point."""
    if plan.max() / cell >= 2**31:
        return len(plan)  # cells so small that their numbers would not fit are more than enough in any case
    numbers = _numbers(plan, cell)
    count = int(numbers.max()) + 1
    if count > _MOST_FLAGS:
        return len(np.unique(numbers))
    flags = np.zeros(count, dtype=bool)
    flags[numbers] = True
    return int(np.count_nonzero(flags))
