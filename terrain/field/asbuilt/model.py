"""What the as-built check answers: every shot against the plan, the soil still missing, and the findings; SI units."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from shapely.geometry.base import BaseGeometry

from terrain.findings import Finding
from terrain.grid import Array
from terrain.look import Look

Stage = Literal["day one", "settled"]
Verdict = Literal["within", "low", "high", "soil", "clear"]


@dataclass(frozen=True)
class BuiltShots:
    """Shots on the built surface: (n, 3) easting, northing, elevation in metres; name and code of each."""

    shots: Array
    names: tuple[str, ...]
    codes: tuple[str, ...]
    label: str


@dataclass(frozen=True)
class BuiltShot:
    """One shot against the plan.

    Parameters
    ----------
    name, at, elevation
        As measured, metres.
    where
        What ground it stands on: "mound", "dig", "keep-off of ..." or the name of ground kept clear, "outside the bed".
    existing, day_one, settled
        Elevation of the ground before, of the plan as built, and of the plan once settled, metres.
    bound
        How far the shot may stand off its mark before that counts, metres.
    verdict
        On the mound and in digs "within", "low" or "high" of the stage checked; elsewhere "soil" where soil lies on the
        ground, or "clear".
    """

    name: str
    at: tuple[float, float]
    elevation: float
    where: str
    existing: float
    day_one: float
    settled: float
    bound: float
    verdict: Verdict

    @property
    def over_day_one(self) -> float:
        """Built over the plan of day one, metres; negative is low."""
        return self.elevation - self.day_one

    @property
    def over_settled(self) -> float:
        """Built over the settled plan, metres; negative is low."""
        return self.elevation - self.settled

    def off(self, stage: Stage) -> float:
        """Built over the plan of a stage, metres; negative is low."""
        return self.over_day_one if stage == "day one" else self.over_settled


@dataclass(frozen=True)
class Missing:
    """Soil against the plan, placed m3.

    `missing` is wanted where the surface is low, `surplus` lies where it is high; `low` and `high` bound the central
    90 % range of what is missing; `loose` is what to order for it.
    """

    missing: float
    low: float
    high: float
    surplus: float
    loose: float

    @property
    def net(self) -> float:
        """Missing less surplus: what must come if all the surplus is raked to where it is low."""
        return self.missing - self.surplus


CauseKind = Literal["as planned", "benchmark", "shifted", "share", "local"]


@dataclass(frozen=True)
class Cause:
    """The simplest cause of how the shots stand off.

    Parameters
    ----------
    kind
        "as planned"; "benchmark": all shots alike; "shifted": the whole mound aside; "share": a share of all its fill
        is missing, in proportion to its height or as an even layer; "local": one place.
    explains
        How much of the misfit goes with it, 0 to 1; 0.0: nothing but the worst place can be named.
    level
        How far a slipped benchmark puts all shots off, or the one place is off in its middle, metres; negative: low.
    share
        Of its height that the fill is too low by, of all the fill where a layer is missing; negative: too high.
    layer
        Metres of an even layer that is missing over all the fill; negative: too much; 0.0: in proportion to its height.
    east, north
        How far the mound stands aside, metres.
    at, radius
        The one place, metres; radius 0.0: a shot alone.
    sure
        Whether enough shots tell it: a slip without shots beside the mound is only likely.
    """

    kind: CauseKind
    explains: float = 1.0
    level: float = 0.0
    share: float = 0.0
    layer: float = 0.0
    east: float = 0.0
    north: float = 0.0
    at: tuple[float, float] | None = None
    radius: float = 0.0
    sure: bool = True

    def explaining(self, share: float) -> Cause:
        """The same, with how much it explains."""
        return replace(self, explains=share)


AS_PLANNED = Cause("as planned")


@dataclass(frozen=True)
class AsBuilt:
    """The check of one built yard.

    Parameters
    ----------
    stage, tolerance
        Which plan the shots are held against, and how far one may stand off it, metres.
    shots
        Every shot.
    method, check_rms
        How the surface between the shots was made, and what it misses a left-out shot by, metres.
    difference
        (ny, nx) built less planned in metres; nan off the mound and where no shot is near.
    missing
        Soil still wanted.
    top, planned_top
        Greatest height over existing grade, built and planned at that stage, metres.
    steepest
        Steepest facet of the built surface, its fill brought down to settled height, rise/run; and `steep_area`, m2,
        of what is steeper than the limit.
    covered
        Share of the mound's ground that lies near enough to a shot to be known: all other figures are of that.
    known
        That ground, metres.
    look
        Signs of an unnatural shape on the built surface.
    slip
        How far the benchmark or the height of instrument seems to have slipped, metres; it is taken out of every other
        figure here, the elevations of the shots too. 0.0: no slip shows.
    suspected
        How far off the whole mound stands alike where too few shots beside it tell whether that is a slip, metres; 0.0
        elsewhere. Heights and missing soil are as they were shot; slopes, signs and findings are what is left without.
    apart
        The shots that stand off, or on ground that takes no soil, also without what is suspected.
    cause
        The simplest cause of how the shots stand off; what follows from it is no finding of its own.
    findings
        The share of the mound that is known, where that is not nearly all; a slip or another cause, which explains the
        rest; then worst first.
    """

    stage: Stage
    tolerance: float
    shots: tuple[BuiltShot, ...]
    method: str
    check_rms: float
    difference: Array
    missing: Missing
    top: float
    planned_top: float
    steepest: float
    steep_area: float
    covered: float
    known: BaseGeometry
    look: Look
    slip: float
    suspected: float
    apart: tuple[BuiltShot, ...]
    cause: Cause
    findings: tuple[Finding, ...]

    @property
    def stopped(self) -> bool:
        """Whether a limit is broken."""
        return any(finding.level == "stop" for finding in self.findings)
