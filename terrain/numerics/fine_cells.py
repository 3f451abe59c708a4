"""Counts and sums of points by square cells, of as many points as come, in memory that does not grow with them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from terrain.grid import Array

_SIDE_BITS = 6
_SIDE = 1 << _SIDE_BITS  # cells along the side of a tile
_TILES = 160  # at most: 655,360 cells in all, wherever they lie
_FIRST = 2.0**-10  # metres: the cell that is begun with, where the points lie close enough together
_MOST_ACROSS = 2.0**40  # cells: numbers of cells stay exact
_LOOKED_UP = 4_000_000  # tiles of a rectangle that are told apart by a flag each, which is quicker than sorting


@dataclass(frozen=True)
class Stored:
    """Places as a file stores them: three arrays (n,) of numbers, which times `factor` and moved by `shift` are metres.

    Numbers of a file are turned into metres where they are summed, a few at a time: a cloud of millions of points is
    never held as metres.
    """

    axes: tuple[NDArray[Any], NDArray[Any], NDArray[Any]]
    factor: Array
    shift: Array

    def __len__(self) -> int:
        return len(self.axes[0])

    def points(self) -> Array:
        """(n, 3) easting, northing and elevation, metres."""
        return np.column_stack(self.axes) * self.factor + self.shift


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
        self.squares = 0.0  # of the heights over the origin, of all points
        # Two sums go as one complex number, which is half of the ways to memory: easting and northing, height and one.
        self._places, self._heights = np.zeros((2, _TILES, _SIDE, _SIDE), dtype=complex)

    def add(self, points: Array) -> None:
        """Count and sum (n, 3) points, metres, at least one; raises as `pour`."""
        x, y, z = points.T
        self.pour(Stored((x, y, z), np.ones(3), np.zeros(3)))

    def pour(self, stored: Stored) -> None:
        """Count and sum points as a file stores them, at least one.

        Raises
        ------
        ValueError
            For a place or a height that is no finite number, or lies farther off than any ground.
        """
        x, y, z = (
            values * factor + shift
            for values, factor, shift in zip(stored.axes, stored.factor, stored.shift - self.origin, strict=True)
        )
        ends = np.array([(axis.min(), axis.max()) for axis in (x, y, z)])
        farthest = float(np.abs(ends).max())
        if not farthest < _MOST_ACROSS:
            raise ValueError("a point has no place that a number can hold")
        while farthest / self.cell >= _MOST_ACROSS:
            self._double()
        flat = self._places_of(x, y, ends[:2])
        for sums, one, other in ((self._places, x, y), (self._heights, z, 1.0)):
            both = np.empty(len(stored), dtype=complex)
            both.real, both.imag = one, other
            np.add.at(sums.reshape(-1), flat, both)
        self.squares += float((z * z).sum())

    def occupied(self) -> tuple[NDArray[np.int64], Array, Array]:
        """The cells with points: columns and rows (m, 2), counts (m,) and sums (m, 3)."""
        there = np.nonzero(self._heights.imag)
        slots, rows, columns = there
        tiles = np.array(list(self._slots), dtype=np.int64).reshape(-1, 2)
        across = tiles[slots] * _SIDE + np.column_stack([columns, rows])
        places, heights = self._places[there], self._heights[there]
        return across, heights.imag, np.column_stack([places.real, places.imag, heights.real])

    def _places_of(self, x: Array, y: Array, ends: Array) -> NDArray[np.int64]:
        """Where each point's cell lies in the arrays; tiles are laid, and cells made larger, as that asks for.

        `ends` is (2, 2), the least and the most of `x` and of `y`.
        """
        while True:
            first, last = (np.floor(end / self.cell).astype(np.int64) >> _SIDE_BITS for end in ends.T)
            # Counted from the corner of a tile: what is left of a number fits in half the bits.
            kind = np.int32 if (last - first).max() < 2**24 else np.int64
            columns, rows = (
                (np.floor(axis * (1.0 / self.cell)) - _SIDE * tile).astype(kind)
                for axis, tile in zip((x, y), first, strict=True)
            )
            flat = self._laid(columns >> _SIDE_BITS, rows >> _SIDE_BITS, first, last - first + 1)
            if flat is not None:
                break
            self._double()
        columns &= _SIDE - 1
        rows &= _SIDE - 1
        rows <<= _SIDE_BITS
        rows |= columns
        flat += rows
        return flat

    def _laid(
        self, columns: NDArray[Any], rows: NDArray[Any], first: NDArray[np.int64], across: NDArray[np.int64]
    ) -> NDArray[np.int64] | None:
        """Where the tile of each point (n,) begins in the arrays; None where there are too many tiles.

        Columns and rows of the tiles are counted from `first` (2,), in a rectangle of `across` (2,).
        """
        wide, high = (int(one) for one in across)
        if wide * high > _LOOKED_UP:
            tiles, kinds = np.unique(np.column_stack([columns, rows]), axis=0, return_inverse=True)
            begins = self._begin(tiles + first)
            return None if begins is None else begins[kinds.reshape(-1)]
        begin = np.full(wide * high, -1)
        known = np.array(list(self._slots), dtype=np.int64).reshape(-1, 2) - first
        here = ((known >= 0) & (known < across)).all(axis=1)
        begin[known[here] @ (1, wide)] = np.flatnonzero(here) << 2 * _SIDE_BITS
        numbers = rows * wide + columns
        flat: NDArray[np.int64] = begin[numbers]
        if int(flat.min()) < 0:
            new = np.unique(numbers[flat < 0])
            begins = self._begin(np.column_stack([new % wide, new // wide]) + first)
            if begins is None:
                return None
            begin[new] = begins
            flat = begin[numbers]
        return flat

    def _begin(self, tiles: NDArray[np.int64]) -> NDArray[np.int64] | None:
        """Where tiles (k, 2) begin in the arrays, new ones laid behind the others; None where there are too many."""
        asked = [(int(column), int(row)) for column, row in tiles[: _TILES + 1]]
        if len(self._slots) + sum(tile not in self._slots for tile in asked) > _TILES:
            return None
        return np.array([self._slots.setdefault(tile, len(self._slots)) << 2 * _SIDE_BITS for tile in asked])

    def _double(self) -> None:
        """Make cells of twice the size: each tile becomes a quarter of one."""
        self.cell *= 2.0
        half, used = _SIDE // 2, len(self._slots)
        earlier, self._slots = self._slots, {}
        into = [self._slots.setdefault((column >> 1, row >> 1), len(self._slots)) for column, row in earlier]
        for sums in (self._places, self._heights):
            fours = sums[:used].reshape(used, half, 2, half, 2).sum(axis=(2, 4))
            sums[:used] = 0.0
            for (column, row), slot, four in zip(earlier, into, fours, strict=True):
                up, along = ((n & 1) * half for n in (row, column))
                sums[slot, up : up + half, along : along + half] = four
