"""The buried basin as a store of water: what it gives, how far it sinks when the stream starts, how long it lasts."""

from __future__ import annotations

import math
from dataclasses import dataclass

from terrain.limits import EVAPORATION, LAKE_OF_PAN


@dataclass(frozen=True)
class Store:
    """A basin with upright sides, filled with stone or boxes.

    Parameters
    ----------
    area
        Inside, m2.
    full
        Depth of the water while the pump rests, metres.
    intake
        Least depth that the pump needs, metres.
    voids
        Share of the basin that is left to the water: pore volume over whole volume (the porosity, no void ratio).
    """

    area: float
    full: float
    intake: float
    voids: float

    @property
    def volume(self) -> float:
        """All its water, m3."""
        return self.area * self.full * self.voids

    @property
    def usable(self) -> float:
        """Water over the intake's least depth, m3."""
        return self.area * max(0.0, self.full - self.intake) * self.voids

    def drop(self, transit: float) -> float:
        """How far it sinks when the stream fills, and rises when the pump stops, metres; `transit` in m3."""
        return transit / (self.area * self.voids)

    def days(self, transit: float, lost: float) -> float:
        """Days between refills with m3 under way and m3 lost a day; 0 where what is under way takes it all."""
        return max(0.0, self.usable - transit) / lost

    def least_area(self, needed: float) -> float:
        """The area of the same depth that gives `needed` m3 over the intake, m2; `inf` where none does."""
        over = max(0.0, self.full - self.intake)
        return needed / (over * self.voids) if over > 0.0 else math.inf

    def least_full(self, needed: float) -> float:
        """The depth of water over the same area that gives `needed` m3 over the intake, metres."""
        return self.intake + needed / (self.area * self.voids)


def evaporated(area: float, pan: float = EVAPORATION.value) -> float:
    """Water that dries off `area` m2 in a day, m3, where a pan loses `pan` metres a day. Splash is not in it."""
    return area * pan * LAKE_OF_PAN.value
