"""The level as set up: its height of instrument from a benchmark and a backsight, or as stated."""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np
import shapely

from terrain.errors import InputError
from terrain.field.setout.known import lost
from terrain.field.setout.model import Level
from terrain.limits import ROD
from terrain.shape import Proposal
from terrain.site import Site
from terrain.survey import Place, nearest_name, point_key
from terrain.units import parse_length, show_length

_CLEAR = 0.3  # metres from the bed: nearer, the crew works on it
_HARD = re.compile(
    r"\b(bench ?mark|bm|nail|pin|bolt|walk|patio|wall|kerb|curb|slab|step|drain|lid|post|corner|hydrant)\b",
    re.IGNORECASE,
)


def asked_level(site: Site, instrument: str | None, benchmark: str | None, backsight: str | None) -> Level | None:
    """The level that was asked for.

    Parameters
    ----------
    site
        Whose units bare numbers are in and whose shots may be benchmarks.
    instrument
        Elevation of the line of sight, as written; or None.
    benchmark, backsight
        A shot's name or an elevation, and what the rod reads on it; both or neither.

    Raises
    ------
    InputError
        For values that cannot be read, half of a pair, two ways at once, and a line of sight that meets no rod.
    """
    if instrument is not None and (benchmark is not None or backsight is not None):
        raise InputError("--instrument", "a benchmark gives the height of instrument too.", "Give one of the two.")
    if instrument is not None:
        return _in_reach(site, "--instrument", Level(parse_length(instrument, site.units, "--instrument"), "as stated"))
    if benchmark is None and backsight is None:
        return None
    if benchmark is None or backsight is None:
        raise InputError(
            "--benchmark and --backsight", "one of the two is missing.", "Give the benchmark and the rod reading on it."
        )
    elevation, name = _benchmark(site, benchmark)
    reading = parse_length(backsight, site.units, "--backsight")
    if not 0.0 <= reading <= ROD.value:
        longest = show_length(ROD.value, site.units, "distance")
        raise InputError("--backsight", f"{backsight} is no rod reading.", f"Accepted: 0 to {longest}.")
    return _in_reach(site, "--benchmark", Level(elevation + reading, f"backsight {backsight} on {name}"))


@dataclass(frozen=True)
class LevelShot:
    """A shot to set the level on: its name, place and elevation, metres."""

    name: str
    at: Place
    elevation: float


def level_shot(site: Site, proposal: Proposal) -> LevelShot | None:
    """The surveyed point nearest to the bed that stands on hard ground, where the rod stands as it did.

    Where no code says so, the nearest outside the bed; None where every shot lies under the work.
    """
    places = [(float(east), float(north)) for east, north, _ in site.survey.shots]
    away = shapely.distance(site.bed.outline, shapely.points(places))
    free = (away > _CLEAR) & ~lost(proposal, places) & ~site.survey.scanned  # no rod finds a point of a scan again
    hard = free & np.array([bool(_HARD.search(code)) for code in site.survey.codes])
    chosen = hard if hard.any() else free
    if not chosen.any():
        return None
    k = int(np.argmin(np.where(chosen, away, np.inf)))
    return LevelShot(f"shot {site.survey.names[k]}", places[k], float(site.survey.shots[k, 2]))


def _in_reach(site: Site, where: str, level: Level) -> Level:
    """The level, where a rod on some of the surveyed ground could be read from it."""
    low, high = float(site.survey.shots[:, 2].min()), float(site.survey.shots[:, 2].max())
    if low <= level.instrument <= high + ROD.value:
        return level
    stands, lowest, highest = (
        show_length(elevation, site.units, "elevation") for elevation in (level.instrument, low, high)
    )
    raise InputError(
        where,
        f"the line of sight at {stands} meets no rod on ground of {lowest} to {highest}.",
        "Give elevations over the same benchmark as the shots.",
    )


def _benchmark(site: Site, text: str) -> tuple[float, str]:
    """Elevation of a shot by its name, or an elevation as written."""
    for name, shot in zip(site.survey.names, site.survey.shots, strict=True):
        if point_key(name) == point_key(text):
            return float(shot[2]), f"shot {name}"
    try:
        return parse_length(text, site.units, "--benchmark"), f"elevation {text}"
    except InputError:
        hint = nearest_name(text, site.survey.names)
        raise InputError(
            "--benchmark", f'"{text}" is no shot of the survey and no elevation.{hint}', "Name a shot, or an elevation."
        ) from None
