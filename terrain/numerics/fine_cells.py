"""Counts and sums of points by square cells, of as many points as come, in memory that does not grow with them."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from terrain.grid import Array

_SIDE_BITS = 6
_SIDE = 1 << _SIDE_BITS  # cells along the side of a tile
_TILES = 160  # at most: 655,360 cells in all, wherever they lie
_FIRST = 2.0**-10  # metres: the cell that is begun with, where the points lie close enough together
_MOST_ACROSS = 2.0**40  # cells: numbers of cells stay exact
_LOOKED_UP = 4_000_000  # tiles of a rectangle that are told apart by a flag each, which is quicker than sorting


class FineCells:
    """Cells on tiles that are laid where points are; where tiles run out, four cells become one everywhere.

    Parameters
    ----------
    origin
        (3,) metres, from which places and heights are summed.
    """

    def __init__(self, origin: Array) -> None:
        self.origin = origin
        self.cell = _FIRST
        self._slots: dict[tuple[int, int], int] = {}
        self._sums = np.zeros(
            (5, _TILES, _SIDE, _SIDE)
        )  # of points: their number, easting, northing, height, its square

    def add(self, points: Array) -> None:
        """Count and sum (n, 3) points, metres, at least one.

        Raises
        ------
        ValueError
            For a place or a height that is no finite number, or lies farther off than any ground.
        """
        x, y, z = np.ascontiguousarray((points - self.origin).T)
        farthest = float(np.max([np.abs(axis).max() for axis in (x, y, z)]))
        if not farthest < _MOST_ACROSS:
            raise ValueError("a point has no place that a number can hold")
        while farthest / self.cell >= _MOST_ACROSS:
            self._double()
        flat = self._places_of(x, y)
        for sums, values in zip(self._sums, (np.ones_like(x), x, y, z, z * z), strict=True):
            np.add.at(sums.reshape(-1), flat, values)

    def occupied(self) -> tuple[NDArray[np.int64], Array, Array, Array]:
        """The cells with points: columns and rows (m, 2), counts (m,), sums (m, 3) and sums of squared heights (m,)."""
        slots, rows, columns = np.nonzero(self._sums[0])
        tiles = np.array(list(self._slots), dtype=np.int64).reshape(-1, 2)
        across = tiles[slots] * _SIDE + np.column_stack([columns, rows])
        sums = self._sums[:, slots, rows, columns]
        return across, sums[0], sums[1:4].T, sums[4]

    def _places_of(self, x: Array, y: Array) -> NDArray[np.int64]:
        """Where each point's cell lies in the arrays; tiles are laid, and cells made larger, as that asks for."""
        while True:
            columns, rows = (np.floor(axis * (1.0 / self.cell)).astype(np.int64) for axis in (x, y))
            tiles, kinds = _distinct(columns >> _SIDE_BITS, rows >> _SIDE_BITS)
            new = [tile for tile in tiles if tile not in self._slots]
            if len(self._slots) + len(new) <= _TILES:
                break
            self._double()
        for tile in new:
            self._slots[tile] = len(self._slots)
        slots = np.array([self._slots[tile] << 2 * _SIDE_BITS for tile in tiles])
        columns &= _SIDE - 1
        rows &= _SIDE - 1
        rows <<= _SIDE_BITS
        rows |= columns
        rows += slots[kinds]
        return rows

    def _double(self) -> None:
        """Make cells of twice the size: each tile becomes a quarter of one."""
        self.cell *= 2.0
        half, used = _SIDE // 2, len(self._slots)
        sums = self._sums[:, :used].reshape(5, used, half, 2, half, 2).sum(axis=(3, 5))
        earlier, self._slots = self._slots, {}
        self._sums[:, :used] = 0.0
        for (column, row), slot in earlier.items():
            into = self._slots.setdefault((column >> 1, row >> 1), len(self._slots))
            up, along = ((n & 1) * half for n in (row, column))
            self._sums[:, into, up : up + half, along : along + half] = sums[:, slot]


def _distinct(columns: NDArray[np.int64], rows: NDArray[np.int64]) -> tuple[list[tuple[int, int]], NDArray[np.int64]]:
    """The distinct pairs of two rows of whole numbers (n,), and which of them each pair is (n,)."""
    west, south = int(columns.min()), int(rows.min())
    wide, high = int(columns.max()) - west + 1, int(rows.max()) - south + 1
    if wide * high > _LOOKED_UP:
        pairs, kinds = np.unique(np.column_stack([columns, rows]), axis=0, return_inverse=True)
        return [(int(column), int(row)) for column, row in pairs], kinds.reshape(-1)
    numbers = (rows - south) * wide + (columns - west)
    there = np.zeros(wide * high, dtype=bool)
    there[numbers] = True
    found = np.flatnonzero(there)
    kind = np.empty(wide * high, dtype=np.int64)
    kind[found] = np.arange(len(found))
    return [(n % wide + west, n // wide + south) for n in found.tolist()], kind[numbers]
