"""A stream cut into its parts from the top down: stretches of bed, pools, and the sills that water spills over."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from terrain.waterworks.membrane import developed_width

BESIDE = 0.1  # metres: what is shorter is the face of a drop, no stretch of bed; what is nearer is the same place


@dataclass(frozen=True)
class Reach:
    """One stretch of a stream, between two drops, ends or edges of a pool; all in metres.

    Parameters
    ----------
    kind
        "bed": water runs; "pool": it stands.
    start, length
        Station of its upper end from the stream's top, and its length in plan along the line.
    top, foot
        Elevation of its floor at the upper and the lower end.
    width
        Of its floor across the stream.
    run
        Of its sides for one metre of rise.
    rise
        Of its sides, from the floor, that the sheet covers.
    surface
        Of a pool's water, m2; 0 for a bed.
    at
        Place of its upper end, metres.
    hollow
        Of a pool: how deep its floor lies under the sill that its water leaves over.
    bank
        How high the lower bank stands, where it is lowest, over the bed or over that sill.
    """

    kind: Literal["bed", "pool"]
    start: float
    length: float
    top: float
    foot: float
    width: float
    run: float
    rise: float
    surface: float = 0.0
    at: tuple[float, float] | None = None
    hollow: float = 0.0
    bank: float = 0.0

    @property
    def slope(self) -> float:
        """Fall of its floor, rise/run."""
        return (self.top - self.foot) / self.length

    @property
    def path(self) -> float:
        """Length along its floor."""
        return math.hypot(self.length, self.top - self.foot)

    @property
    def developed(self) -> float:
        """Width across its floor and up both sides."""
        return developed_width(self.width, self.rise, self.run)


@dataclass(frozen=True)
class Sill:
    """What water spills over: its place, and what a level reads there.

    Parameters
    ----------
    name
        "top", "drop 1", "pool 1", "end".
    at
        Metres.
    station
        From the stream's top, metres.
    elevation
        Of the edge of the sill, metres, once the ground has settled.
    day_one
        To set it at, metres, so that it stands there then.
    height
        That the water falls below it, metres; 0 where it only runs on.
    """

    name: str
    at: tuple[float, float]
    station: float
    elevation: float
    day_one: float
    height: float


def developed_length(reaches: Sequence[Reach]) -> float:
    """Along the floor of a whole stream, down its drops, and into and out of its pools, metres."""
    steps = sum(abs(above.foot - below.top) for above, below in pairwise(reaches))
    return sum(reach.path for reach in reaches) + steps
