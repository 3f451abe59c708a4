"""Water on the finished ground as the review answers it: which way it goes, where it stands, where it leaves."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from terrain.grid import Array, Grid

Place = tuple[float, float]


@dataclass(frozen=True)
class Pond:
    """Water that the berm makes stand: deepest place, depth, volume and area added, in m, m3 and m2."""

    at: Place
    depth: float
    volume: float
    area: float


@dataclass(frozen=True)
class Exit:
    """Water that leaves over one side.

    Parameters
    ----------
    side
        "south", "north", "west" or "east".
    at
        Where most of it leaves after the berm is built, metres.
    before, after
        Ground whose water leaves there, before and after, m2.
    over_lot_line
        True where it crosses the lot line there; False where it leaves the surveyed ground inside the lot, or no lot
        line is known.
    """

    side: str
    at: Place
    before: float
    after: float
    over_lot_line: bool


@dataclass(frozen=True)
class Water:
    """Water on the finished ground.

    Parameters
    ----------
    grid
        The ground's grid.
    onward
        (ny*nx,) index of the node that the water of each node goes to; a node keeps its own where the ground is as
        good as level, where a basin takes it, and where it leaves.
    stands
        (ny, nx) depth of standing water once every hollow is full, metres.
    ponds
        What the berm makes stand deeper than the bound, the largest volume first.
    exits
        Where water leaves, the side with the most first.
    """

    grid: Grid
    onward: NDArray[np.int64]
    stands: Array
    ponds: tuple[Pond, ...]
    exits: tuple[Exit, ...]

    def way(self, start: Place) -> Array:
        """(m, 2) nodes in metres that water from a place runs over, the nearest node first, to where it ends."""
        grid = self.grid
        i = int(np.clip(round((start[0] - grid.x0) / grid.cell), 0, grid.nx - 1))
        j = int(np.clip(round((start[1] - grid.y0) / grid.cell), 0, grid.ny - 1))
        nodes = [j * grid.nx + i]
        while (ahead := int(self.onward[nodes[-1]])) != nodes[-1]:
            nodes.append(ahead)
        return grid.nodes[nodes]
