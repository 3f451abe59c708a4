"""What the set-out answers: known points, stakes, the baseline, the level; metres throughout."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from terrain.survey import Place

Stage = Literal["day one", "finished"]


@dataclass(frozen=True)
class Known:
    """A point that can be found on the site.

    Parameters
    ----------
    name, at
        What it is called, and its place in metres.
    rank
        How readily it is found, 0 first.
    core
        Radius of what stands there and that a tape from its middle runs through, metres: a trunk's flare.
    bark
        How far from its middle the tape is held, metres: half of a trunk.
    """

    name: str
    at: Place
    rank: int = 0
    core: float = 0.0
    bark: float = 0.0


@dataclass(frozen=True)
class Spot:
    """A place that wants a stake: its name, what it marks, easting and northing in metres."""

    name: str
    what: str
    at: Place


@dataclass(frozen=True)
class Tapes:
    """Two level tapes that place a stake, metres.

    Parameters
    ----------
    start, end
        The known points that the tapes run from.
    from_start, from_end
        Distances from each.
    left
        Whether the stake lies left of the line from `start` to `end`, for somebody who looks along it.
    dilution
        Dilution of precision: how far the stake moves for a slip of 1 in the tapes, in the weakest direction; 1 where
        they cross square.
    clear
        Whether both tapes run free of buildings and trunks.
    """

    start: Known
    end: Known
    from_start: float
    from_end: float
    left: bool
    dilution: float
    clear: bool = True


@dataclass(frozen=True)
class Stake:
    """One stake.

    Parameters
    ----------
    name, what, at
        As in `Spot`.
    tapes
        How it is found.
    station, offset
        Distance along the baseline from its start, and square off it: left positive, right negative; metres.
    existing, finished, day_one
        Elevation in metres of the ground now, of the settled soil, and of the soil as built, before it settles; mulch
        comes on top.
    """

    name: str
    what: str
    at: Place
    tapes: Tapes
    station: float
    offset: float
    existing: float
    finished: float
    day_one: float

    @property
    def fill(self) -> float:
        """Finished grade over existing grade, metres; negative is cut."""
        return self.finished - self.existing

    @property
    def build(self) -> float:
        """Grade on day one over existing grade, metres; negative is cut."""
        return self.day_one - self.existing


@dataclass(frozen=True)
class Level:
    """A level set up on the site: height of instrument as an elevation in metres, and where that comes from."""

    instrument: float
    source: str

    def rod(self, elevation: float) -> float | None:
        """What the rod reads with its foot at an elevation, metres; None where that stands above the instrument."""
        reading = self.instrument - elevation
        return reading if reading >= 0.0 else None


@dataclass(frozen=True)
class Nail:
    """A nail that the crew drives before any stake, and the tapes that place it; None where no two points do."""

    point: Known
    tapes: Tapes | None


@dataclass(frozen=True)
class TapeCheck:
    """A distance to measure before any stake is taped, metres, from a nail to a nail or to another point."""

    start: str
    end: str
    distance: float


@dataclass(frozen=True)
class LevelMark:
    """A sill of a stream, which is set by the level once its bed is dug, and takes no stake.

    `name`, `at` (metres) and the tapes that find it; `elevation` and `day_one`: where it stands once the ground has
    settled, and where it is set, metres.
    """

    name: str
    at: Place
    tapes: Tapes
    elevation: float
    day_one: float


@dataclass(frozen=True)
class SetOut:
    """Every stake of one yard, in the order of walking.

    Parameters
    ----------
    stakes
        The stakes.
    baseline
        Start and end of the string that stations run along.
    stage, tolerance, error
        The grade that is strung, how far the surface strung between the stakes may stand off it, and how far it does at
        most, metres.
    excepted
        Where it is not held to that, and why.
    nails, checks
        What is driven first, and what is measured before any stake is taped.
    sills
        Of streams, from the top down.
    step
        Metres between the even stations of a long bed; None: a compact one, which is taped from two points.
    level
        The level as set up; None gives no rod readings.
    """

    stakes: tuple[Stake, ...]
    baseline: tuple[Known, Known]
    stage: Stage
    tolerance: float
    error: float
    excepted: tuple[str, ...] = ()
    nails: tuple[Nail, ...] = ()
    checks: tuple[TapeCheck, ...] = ()
    sills: tuple[LevelMark, ...] = ()
    step: float | None = None
    level: Level | None = None

    @property
    def known(self) -> tuple[Known, ...]:
        """The known points that are used, each once, in the order of their first use; stakes are none of them."""
        names = {stake.name for stake in self.stakes}
        used = [known for stake in self.stakes for known in (stake.tapes.start, stake.tapes.end)]
        return tuple(dict.fromkeys([*self.baseline, *(known for known in used if known.name not in names)]))

    @property
    def first(self) -> tuple[str, ...]:
        """Names of the stakes that other stakes are taped from, and that must stand before them."""
        names = {stake.name for stake in self.stakes}
        used = {known.name for stake in self.stakes for known in (stake.tapes.start, stake.tapes.end)}
        return tuple(stake.name for stake in self.stakes if stake.name in used & names)

    def grade(self, stake: Stake) -> float:
        """Elevation in metres of the grade that is strung, at a stake."""
        return stake.day_one if self.stage == "day one" else stake.finished

    def depth(self, stake: Stake) -> float:
        """The grade that is strung over existing grade at a stake, metres; negative is cut."""
        return self.grade(stake) - stake.existing
