"""Water on the finished ground as the review answers it: which way it goes, where it stands, where it leaves."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from terrain.fingerprint import Comparable
from terrain.grid import Array, Grid, Index
from terrain.site import DesignStorm

Place = tuple[float, float]


@dataclass(frozen=True)
class Pond:
    """Water that the berm makes stand: deepest place, depth, volume and area added, in m, m3 and m2.

    `over` names the walks and other ground kept clear that it stands on.
    """

    at: Place
    depth: float
    volume: float
    area: float
    over: tuple[str, ...] = ()


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
class Runoff:
    """What becomes of a storm on one ground, m3: `fell` is the sum of the others.

    `dry_after` is the time in hours from the end of the rain until the deepest water has soaked away; 0.0 where none
    stands, infinite where the ground takes none. What falls on roofs is left out: nobody knows where gutters end.
    """

    fell: float
    soaked: float
    stored: float
    left: float
    dry_after: float


@dataclass(frozen=True)
class Leaving:
    """Water of the storm that leaves over one side.

    Parameters
    ----------
    side
        "south", "north", "west" or "east".
    at
        Where most of it leaves after the berm is built, metres.
    before, after
        m3.
    width_before, width_after
        Length of line over which nine tenths of it leave, metres.
    """

    side: str
    at: Place
    before: float
    after: float
    width_before: float
    width_after: float


@dataclass(frozen=True)
class BasinWater:
    """What the storm does to one basin.

    Parameters
    ----------
    name, at
        As in the site file; the middle of its dig, metres.
    catchment
        Ground whose water comes to it, its own left out, m2.
    comes, room, spills
        What the storm brings, what it holds below its lowest rim, and the rest; m3.
    to
        Where the rest runs over, metres; None where there is none, or where it stands about the basin.
    dry_after
        Hours from the end of the rain until it has soaked away.
    """

    name: str
    at: Place
    catchment: float
    comes: float
    room: float
    spills: float
    to: Place | None
    dry_after: float

    @property
    def holds(self) -> bool:
        """Whether it takes all that the storm brings it."""
        return self.spills <= 0.0


@dataclass(frozen=True)
class StormWater:
    """One storm over the existing and the finished ground.

    `peak` is the rate at which unpaved ground sheds water at the height of the rain, m/s.
    """

    storm: DesignStorm
    peak: float
    before: Runoff
    after: Runoff
    leaving: tuple[Leaving, ...]
    basins: tuple[BasinWater, ...]


@dataclass(frozen=True, eq=False)
class Water(Comparable):
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
    storm
        What one storm does.
    """

    grid: Grid
    onward: NDArray[np.int64]
    stands: Array
    ponds: tuple[Pond, ...]
    exits: tuple[Exit, ...]
    storm: StormWater

    def way(self, start: Place) -> Array:
        """As `way_over`, on the finished ground."""
        return way_over(self.grid, self.onward, start)


def way_over(grid: Grid, onward: Index, start: Place) -> Array:
    """(m, 2), m at least 2: what water from a place runs over, metres; its last node twice, where it ends.

    `onward` is the (ny*nx,) index of the node that the water of each node goes to, its own where it goes nowhere.
    """
    i = int(np.clip(round((start[0] - grid.x0) / grid.cell), 0, grid.nx - 1))
    j = int(np.clip(round((start[1] - grid.y0) / grid.cell), 0, grid.ny - 1))
    nodes = [j * grid.nx + i]
    while len(nodes) == 1 or nodes[-1] != nodes[-2]:
        nodes.append(int(onward[nodes[-1]]))
    return grid.nodes[nodes]
