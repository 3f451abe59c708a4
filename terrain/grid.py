"""A regular grid of nodes over the yard, and the few things that are read off it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from terrain.errors import InputError

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
Index = NDArray[np.int64]


def frozen(values: NDArray[np.generic]) -> NDArray:  # type: ignore[type-arg]
    """Return the same array, marked read-only: stage values never change after they are made."""
    values.setflags(write=False)
    return values


@dataclass(frozen=True)
class Grid:
    """Square cells; node (j, i) stands at `(x0 + i*cell, y0 + j*cell)`.

    >>> grid = Grid(100.0, 50.0, cell=0.5, nx=4, ny=3)
    >>> grid.shape
    (3, 4)
    >>> grid.sample(grid.nodes[:, 0].reshape(grid.shape), np.array([[100.75, 50.2]])).round(6).tolist()
    [100.75]

    Parameters
    ----------
    x0, y0
        Survey coordinates of the south-west node, in metres.
    cell
        Distance between nodes, in metres.
    nx, ny
        Number of nodes to the east and to the north. Every array on the grid is (ny, nx), row 0 in the south.
    """

    x0: float
    y0: float
    cell: float
    nx: int
    ny: int

    def __post_init__(self) -> None:
        if not all(isinstance(at, int | float | np.number) and np.isfinite(at) for at in (self.x0, self.y0, self.cell)):
            raise InputError(
                "grid", f"x0 {self.x0!r}, y0 {self.y0!r}, cell {self.cell!r}.", "Accepted: finite numbers, in metres."
            )
        if self.cell <= 0.0:
            raise InputError("grid cell", f"{self.cell:g} is no distance.", "Accepted: more than 0, in metres.")
        for name, count in (("nx", self.nx), ("ny", self.ny)):
            if not isinstance(count, int | np.integer) or isinstance(count, bool) or count < 2:
                raise InputError(f"grid {name}", f"{count!r} is no count of nodes.", "Accepted: a whole number from 2.")

    @cached_property
    def x(self) -> Array:
        """Easting of the node columns, shape (nx,), metres."""
        return frozen(self.x0 + self.cell * np.arange(self.nx))

    @cached_property
    def y(self) -> Array:
        """Northing of the node rows, shape (ny,), metres."""
        return frozen(self.y0 + self.cell * np.arange(self.ny))

    @property
    def shape(self) -> tuple[int, int]:
        """(ny, nx), the shape of every array on the grid."""
        return self.ny, self.nx

    @cached_property
    def nodes(self) -> Array:
        """All nodes as (ny*nx, 2) points in metres, in the order of a flattened (ny, nx) array."""
        x, y = np.meshgrid(self.x, self.y)
        return frozen(np.column_stack([x.ravel(), y.ravel()]))

    def inside(self, area: BaseGeometry) -> Mask:
        """(ny*nx,): nodes that lie in some ground, and not on its edge; only those in its box are looked at."""
        import shapely

        found = np.zeros(self.shape, dtype=bool)
        if not area.is_empty:
            west, south, east, north = area.bounds
            columns = slice(*np.searchsorted(self.x, (west, np.nextafter(east, np.inf))))
            rows = slice(*np.searchsorted(self.y, (south, np.nextafter(north, np.inf))))
            shapely.prepare(area)
            found[rows, columns] = shapely.contains_xy(area, self.x[None, columns], self.y[rows, None])
        return found.ravel()

    def sample(self, values: Array, points: Array) -> Array:
        """Bilinear value of a (ny, nx) array at (m, 2) points in metres; points outside take the edge's value."""
        i = np.clip((points[:, 0] - self.x0) / self.cell, 0.0, self.nx - 1.0)
        j = np.clip((points[:, 1] - self.y0) / self.cell, 0.0, self.ny - 1.0)
        i0 = np.minimum(i.astype(np.intp), self.nx - 2)
        j0 = np.minimum(j.astype(np.intp), self.ny - 2)
        u, v = i - i0, j - j0
        # Taken from one long row of values: several times as quick as by row and column.
        row, corner, left = np.ravel(values), j0 * self.nx + i0, 1 - u
        south = row.take(corner) * left + row.take(corner + 1) * u
        corner += self.nx
        north = row.take(corner) * left + row.take(corner + 1) * u
        result: Array = south * (1 - v) + north * v
        return result
