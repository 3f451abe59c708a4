"""Points that stream by, replaced by the means of small cubes, so that memory is bounded however many come."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from terrain.grid import Array

_SIDE = 0.02  # metres: the cube that is begun with; a trunk is still round
_BITS = 20  # of the number of a cube along each axis
_MOST = 1_200_000  # cubes
_WAITING = 1_500_000  # rows that wait to be put together


class Voxels:
    """Means of rows (n, k), whose first three columns are a place in metres, by cubes; cubes grow where many are hit.

    A place farther than half a million cubes from the first point is none of the yard and is dropped.
    """

    def __init__(self) -> None:
        self.side = _SIDE
        self.count = 0
        self.strayed = 0
        self._origin: Array | None = None
        self._keys: list[NDArray[np.int64]] = []
        self._sums: list[Array] = []  # the count of each cube stands in the last column

    def add(self, rows: Array) -> None:
        """Put rows in; those with a number that is not finite are dropped too."""
        rows = rows[np.isfinite(rows).all(axis=1)]
        if not len(rows):
            return
        if self._origin is None:
            self._origin = np.floor(np.median(rows[:, :3], axis=0))
        across = np.floor((rows[:, :3] - self._origin) / self.side)
        near = (np.abs(across) < 1 << (_BITS - 1)).all(axis=1)
        self.strayed += int(np.count_nonzero(~near))
        rows, across = rows[near], across[near].astype(np.int64)
        self.count += len(rows)
        moved = rows.copy()
        moved[:, :3] -= self._origin
        self._put(_packed(across), np.column_stack([moved, np.ones(len(rows))]))
        if sum(map(len, self._keys)) > _WAITING:
            self._join()

    def means(self) -> tuple[Array, Array]:
        """(m, k) the means, and (m,) how many rows each is of."""
        if self._origin is None or not self._keys:
            return np.empty((0, 4)), np.empty(0)
        self._join()
        sums, counts = self._sums[0][:, :-1], self._sums[0][:, -1]
        means = sums / counts[:, None]
        means[:, :3] += self._origin
        return means, counts

    def _put(self, keys: NDArray[np.int64], sums: Array) -> None:
        found, into = np.unique(keys, return_inverse=True)
        self._keys.append(found)
        self._sums.append(np.column_stack([np.bincount(into, column, len(found)) for column in sums.T]))

    def _join(self) -> None:
        """Put what waits together; while there are too many cubes, eight become one."""
        while True:
            keys, sums = np.concatenate(self._keys), np.vstack(self._sums)
            self._keys, self._sums = [], []
            self._put(keys, sums)
            if len(self._keys[0]) <= _MOST:
                return
            self.side *= 2.0
            self._keys = [_packed(_unpacked(self._keys[0]) >> 1)]


def _packed(across: NDArray[np.int64]) -> NDArray[np.int64]:
    moved = across + (1 << (_BITS - 1))
    packed: NDArray[np.int64] = (moved[:, 0] << 2 * _BITS) | (moved[:, 1] << _BITS) | moved[:, 2]
    return packed


def _unpacked(keys: NDArray[np.int64]) -> NDArray[np.int64]:
    mask = (1 << _BITS) - 1
    return np.column_stack([keys >> 2 * _BITS, (keys >> _BITS) & mask, keys & mask]) - (1 << (_BITS - 1))
