"""The long section of a stream: its bed, banks, drops and pools along its line, from the finished surface itself."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from terrain.grid import Array

Place = tuple[float, float]


@dataclass(frozen=True)
class BedDrop:
    """One drop of a stream.

    Parameters
    ----------
    station, at
        Metres from the top along the line, and the place on it.
    sill, foot
        Elevation of the bed on top of it and of the bed below it, metres; where a pool lies at its foot, of the place
        where the water leaves that pool.
    existing
        Existing grade there, metres: what lies between it and the sill is fill that settles.
    """

    station: float
    at: Place
    sill: float
    foot: float
    existing: float

    @property
    def height(self) -> float:
        """Metres."""
        return self.sill - self.foot


@dataclass(frozen=True)
class PoolBed:
    """One pool of a stream.

    Parameters
    ----------
    start, end
        Stations between which it lies, metres from the top.
    at
        Its middle.
    sill
        Elevation of the bed where the water leaves it, metres: still water stands level with it.
    floor
        Elevation of its floor, metres.
    area
        Of the still water's surface, m2.
    existing
        Existing grade where the water leaves it, metres.
    """

    start: float
    end: float
    at: Place
    sill: float
    floor: float
    area: float
    existing: float


@dataclass(frozen=True)
class LongSection:
    """A stream along its line.

    Parameters
    ----------
    name, basin
        As the site file has them; `basin` "" where it ends in none.
    stations
        (n,) metres from the top, in order; the two ends of each drop's face stand close together.
    places
        (n, 2) on its line, metres.
    bed
        (n,) elevation of its bed, metres: in a pool, of the place where the water leaves it.
    left, right
        (n,) elevation of the finished ground at the top of its bank, looking downstream, metres.
    existing
        (n,) existing grade on its line, metres.
    width, side_slope, edge, roughness
        Of its bed, as the site file has them; metres, rise/run.
    drops, pools
        From the top down.
    proposed, pools_proposed
        True where the drops, or the pools, are the tool's own, because the site file has none.
    """

    name: str
    basin: str
    stations: Array
    places: Array
    bed: Array
    left: Array
    right: Array
    existing: Array
    width: float
    side_slope: float
    edge: float
    roughness: float
    drops: tuple[BedDrop, ...]
    pools: tuple[PoolBed, ...]
    proposed: bool
    pools_proposed: bool = False

    @property
    def length(self) -> float:
        """From the top to the end, metres in plan."""
        return float(self.stations[-1])

    @property
    def fall(self) -> float:
        """From the top of the bed to its end, metres."""
        return float(self.bed[0] - self.bed[-1])

    @property
    def bank(self) -> Array:
        """(n,) height of the lower bank over the bed, metres."""
        return np.asarray(np.minimum(self.left, self.right) - self.bed)

    @property
    def steepness(self) -> float:
        """Mean drop over mean tread, over the slope of the whole: 1 to 2 in natural step-pools; 0 without drops.

        A drop counts from its sill to the lowest floor below it (Abrahams, Li and Atkinson, Water Resources Research
        31, 1995).
        """
        if not self.drops or self.fall <= 0.0:
            return 0.0
        floors = [
            min([pool.floor for pool in self.pools if self._at_foot(pool, k)], default=drop.foot)
            for k, drop in enumerate(self.drops)
        ]
        heights = [drop.sill - floor for drop, floor in zip(self.drops, floors, strict=True)]
        return float(np.mean(heights)) / (self.length / len(self.drops)) / (self.fall / self.length)

    def _at_foot(self, pool: PoolBed, k: int) -> bool:
        """Whether a pool lies between a drop and the next."""
        below = self.drops[k + 1].station if k + 1 < len(self.drops) else self.length
        return self.drops[k].station <= pool.start < below
