"""Dense heights made into a number of shots that a ground model can work with, as they stream by."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from terrain.grid import Array
from terrain.numerics import FineCells, Stored

_MOST_FLAGS = 50_000_000  # squares that are told apart by a flag each


@dataclass(frozen=True)
class ThinnedShots:
    """Means of the points in square cells: (m, 3) in metres, the cell's size, and the rms height about the means.

    `cell` is 0.0 where nothing was thinned.
    """

    points: Array
    cell: float
    scatter: float


class Thinning:
    """Points that stream by are replaced by the means of their cells, of a size that leaves at most `most`.

    Place and elevation are averaged together, so that points of a plane give points of that plane: no cell's height is
    moved to its middle. Nothing is dropped: every point has its part in one mean. Points go into cells far smaller than
    are wanted, of a number that memory bounds however many points there are; the smallest whole multiple of these that
    leaves few enough is taken at the end. Up to `most` points are kept as they are.
    """

    def __init__(self, most: int) -> None:
        self._most = most
        self._kept: list[Array] = []
        self._count = 0
        self._cells: FineCells | None = None

    def add(self, points: Array) -> None:
        """Put more points in, (n, 3) easting, northing, elevation, metres."""
        x, y, z = points.T
        self.pour(Stored((x, y, z), np.ones(3), np.zeros(3)))

    def pour(self, stored: Stored) -> None:
        """Put more points in as a file stores them."""
        if not len(stored):
            return
        self._count += len(stored)
        if self._cells is not None:
            self._cells.pour(stored)
            return
        self._kept.append(stored.points())
        if self._count > self._most:
            self._cells = FineCells(np.floor(self._kept[0][0]))
            for kept in self._kept:
                self._cells.add(kept)
            self._kept.clear()

    def shots(self) -> ThinnedShots:
        """What all points that were put in come to."""
        if self._cells is None:
            return ThinnedShots(np.vstack(self._kept) if self._kept else np.empty((0, 3)), 0.0, 0.0)
        across, counts, sums = self._cells.occupied()
        times = _least_multiple(across, self._most)
        _, into = np.unique(_numbers(across, times), return_inverse=True)
        into = into.reshape(-1)
        points = np.bincount(into, counts)
        means = np.column_stack([np.bincount(into, part) / points for part in sums.T])
        about = float(self._cells.squares - (points * means[:, 2] ** 2).sum()) / self._count
        return ThinnedShots(means + self._cells.origin, times * self._cells.cell, max(0.0, about) ** 0.5)


def _least_multiple(across: NDArray[np.int64], most: int) -> int:
    """The least whole number of cells, taken together each way, that leaves at most `most`."""
    small, large = 0, int(np.ptp(across, axis=0).max()) + 2
    while large - small > 1:
        middle = (small + large) // 2
        if _squares(across, middle) > most:
            small = middle
        else:
            large = middle
    return large


def _squares(across: NDArray[np.int64], times: int) -> int:
    """How many squares hold a cell; a flag each is quicker than sorting, where there are not too many."""
    numbers = _numbers(across, times)
    count = int(numbers.max()) + 1
    if count > _MOST_FLAGS:
        return len(np.unique(numbers))
    flags = np.zeros(count, dtype=bool)
    flags[numbers] = True
    return int(np.count_nonzero(flags))


def _numbers(across: NDArray[np.int64], times: int) -> NDArray[np.int64]:
    """The number of the square of `times` cells each way that each cell (n, 2) lies in."""
    squares: NDArray[np.int64] = (across - across.min(axis=0)) // times
    numbers: NDArray[np.int64] = squares[:, 1] * (int(squares[:, 0].max()) + 1) + squares[:, 0]
    return numbers
