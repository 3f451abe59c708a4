"""The storm that the ground is held against: as the site file states it, and what stands in where it does not."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated

from terrain.limits import INCH, PRACTICE
from terrain.site.ranges import Checked
from terrain.site.soils import row_of
from terrain.site.written import WrittenAs

HOUR = 3600.0  # seconds
MM_PER_HOUR = 0.001 / HOUR

USUAL_RAIN = 2.0 * INCH
USUAL_HOURS = 6.0
RAIN_SOURCE = f"{PRACTICE}; NOAA Atlas 14 has the place's own figure in the United States"
# Rate at which wet ground takes water: the lower end of the range of each kind.
INTAKE_SOURCE = "FAO, Irrigation methods, Annex 2: basic infiltration rates"
_INTAKE: Mapping[str, float] = {
    "sand": 30.0,
    "sandy loam": 20.0,
    "fine sandy loam": 20.0,
    "loam": 10.0,
    "clay loam": 5.0,
    "sandy clay loam": 5.0,
    "silty clay loam": 5.0,
    "clay": 1.0,
}
_OTHER = "loam"  # what stands in for a kind that is in neither table


@dataclass(frozen=True)
class Storm(Checked):
    """A storm as stated; None: see `design_storm`.

    Parameters
    ----------
    rain
        Depth that falls, metres.
    hours
        How long it falls, hours.
    intake
        Rate at which the wet ground takes water, m/s.
    """

    rain: Annotated[float, WrittenAs("rain")] | None = None
    hours: Annotated[float, WrittenAs("hours")] | None = None
    intake: Annotated[float, WrittenAs("intake")] | None = None


@dataclass(frozen=True)
class DesignStorm:
    """A storm with every figure: metres, seconds, m/s; and which of `Storm`'s keys were assumed."""

    rain: float
    lasts: float
    intake: float
    assumed: tuple[str, ...]


def usual_intake(kind: str) -> float:
    """Rate at which ground of a kind takes water when it is wet, m/s; of loam where the kind is in no table."""
    word = " ".join(kind.lower().split())
    row = word if word in _INTAKE else row_of(kind)
    row = {"gravel": "sand", "sand and gravel": "sand"}.get(row, row)
    return _INTAKE.get(row, _INTAKE[_OTHER]) * MM_PER_HOUR


def design_storm(storm: Storm, ground: str) -> DesignStorm:
    """The stated storm, what it leaves open filled in.

    Parameters
    ----------
    storm
        As stated.
    ground
        Kind of the soil that lies on the site.
    """
    rain = USUAL_RAIN if storm.rain is None else storm.rain
    hours = USUAL_HOURS if storm.hours is None else storm.hours
    intake = usual_intake(ground) if storm.intake is None else storm.intake
    assumed = tuple(name for name in ("rain", "hours", "intake") if getattr(storm, name) is None)
    return DesignStorm(rain, hours * HOUR, intake, assumed)
