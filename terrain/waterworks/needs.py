"""What a stream needs: flow, water under way, basin, pump, sheet, stones; the one owner of these figures."""

from __future__ import annotations

import math
from dataclasses import dataclass

from terrain.estimates import Figure
from terrain.limits import BETWEEN_REFILLS, RIM_SPARE, SILL
from terrain.waterworks.lining import Lining
from terrain.waterworks.lip import uneven
from terrain.waterworks.parts import Parts
from terrain.waterworks.pump import Duty
from terrain.waterworks.rocks import Rocks
from terrain.waterworks.store import Store, evaporated
from terrain.waterworks.transit import Transit, Wet


@dataclass(frozen=True)
class Materials:
    """What is bought for a stream.

    Parameters
    ----------
    name, basin
        As the site file has them; basin "" where it ends in none.
    parts
        What the stream consists of.
    lining, rocks
        LinerSheet and cloth; stones and gravel.
    payload
        What a truck may carry, kg; None where that is not stated.
    """

    name: str
    basin: str
    parts: Parts
    lining: Lining
    rocks: Rocks
    payload: float | None

    @property
    def trucks(self) -> int | None:
        """Loads of stones and gravel by what a truck may carry; None where that is not stated."""
        return None if self.payload is None else math.ceil(self.rocks.mass / self.payload - 1e-9)


@dataclass(frozen=True)
class Beside:
    """Another stream that runs out of the same basin: its name, its water under way in m3, its own wet area in m2."""

    name: str
    transit: Figure
    wet: float


@dataclass(frozen=True)
class StreamNeeds:
    """One stream worked through; SI units.

    Parameters
    ----------
    materials
        What is bought, and the stream's parts.
    flow, lip
        m3/s, and the width of the lips in metres.
    head, brink
        Of the water over a lip, and its depth on the edge, metres.
    wet, transit
        The water in each part, and all of it.
    store, floor
        The basin, and the elevation of its floor, metres.
    rain
        Depth of the storm that the sheets catch, metres.
    duty
        What to ask of a pump.
    pump
        Flow in m3/s and head in metres at which the stated pump works; None where none is stated or it
        never gets there.
    pump_stated
        Whether a curve is stated.
    beside
        The other streams of its basin: they run together, and the basin serves them all.
    """

    materials: Materials
    flow: float
    lip: float
    head: Figure
    brink: float
    wet: tuple[Wet, ...]
    transit: Transit
    store: Store
    floor: float
    rain: float
    duty: Duty
    pump: tuple[float, float] | None
    pump_stated: bool
    beside: tuple[Beside, ...] = ()

    @property
    def uneven(self) -> float:
        """How much more passes at one end of a lip that is out of level by a sill's tolerance, as a share."""
        return uneven(self.head.value, SILL.value)

    @property
    def level_drop(self) -> Figure:
        """How far the basin sinks when all its pumps start, and rises when they stop, metres."""
        water, drop = self.together, self.store.drop
        return Figure(drop(water.value), drop(water.low), drop(water.high))

    @property
    def together(self) -> Figure:
        """Water under way in this stream and those beside it, m3."""
        return sum((other.transit for other in self.beside), self.transit.total)

    @property
    def own_wet(self) -> float:
        """Open water and wet stone of bed and pools, m2."""
        return sum(one.surface for one in self.wet)

    @property
    def wet_area(self) -> float:
        """Open water and wet stone of all streams of the basin, and of the basin itself, m2."""
        return self.own_wet + sum(other.wet for other in self.beside) + self.store.area

    @property
    def lost(self) -> float:
        """Water that dries off in a summer day, m3; splash is not in it."""
        return evaporated(self.wet_area)

    @property
    def days(self) -> Figure:
        """Days between refills."""
        water, lost = self.together, self.lost
        return Figure(*(self.store.days(each, lost) for each in (water.value, water.high, water.low)))

    @property
    def asked_of_basin(self) -> float:
        """Water over the intake that is enough: the most under way, and what dries off between refills, m3."""
        return self.together.high + self.lost * BETWEEN_REFILLS.value

    @property
    def enough(self) -> bool:
        """Whether the basin holds that."""
        return self.store.usable >= self.asked_of_basin

    @property
    def runs_dry(self) -> bool:
        """Whether the water under way, as it is expected, leaves the intake too little."""
        return self.store.usable < self.together.value

    @property
    def rain_water(self) -> float:
        """Rain of the storm on basin and stream, m3."""
        return self.rain * (self.store.area + sum(one.reach.developed * one.reach.length for one in self.wet))

    @property
    def running_mark(self) -> float:
        """How far under the rim the water stands while the pump runs, so that nothing spills at rest, metres."""
        return self.level_drop.high + RIM_SPARE.value
