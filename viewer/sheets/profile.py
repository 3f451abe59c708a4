"""Heights along a section line: existing and proposed grade, keep-offs crossed, the steepest place of each side."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from terrain.grid import Array, Mask
from viewer.page import LEAST_FILL, SectionLine, Subject, top_of_mound, tree_circles
from viewer.sheets.section_cover import SectionCover, cover_of
from viewer.sheets.section_stones import StonesCut, stones_cut
from viewer.sheets.section_water import WaterCut, in_streams, water_cut

BESIDE = 4  # samples beside a stream in which a node of its bank still tells


@dataclass(frozen=True)
class Profile:
    """Heights along a section line.

    `stations` (n,), `existing` (n,) and `proposed` (n,) in metres; `crossings` are the stretches (from, to, tree
    name) inside keep-offs, metres along the line; `top` is the station and the finished elevation of the mound's
    highest point, metres, and `height` its height over existing grade; `stones` are the walls that it crosses, `water`
    the streams, `in_streams` (n,) says which places lie in the bed of one or on its banks, `cover` what lies
    and stands there.
    """

    section: SectionLine
    stations: Array
    existing: Array
    proposed: Array
    crossings: tuple[tuple[float, float, str], ...]
    top: tuple[float, float]
    height: float
    stones: tuple[StonesCut, ...] = ()
    water: tuple[WaterCut, ...] = ()
    in_streams: Mask | None = None
    cover: SectionCover | None = None

    @property
    def fill(self) -> Array:
        """(n,) depth of fill in metres."""
        return self.proposed - self.existing

    @property
    def low(self) -> float:
        """Lowest ground or bedding of stones, metres."""
        feet = [wall.bedding.bounds[1] for wall in self.stones]
        sod = 0.0 if self.cover is None else self.cover.sod
        return float(min(np.minimum(self.existing, self.proposed).min() - sod, *feet, np.inf))

    @property
    def high(self) -> float:
        """Highest ground, metres."""
        highest = np.maximum(self.existing, self.proposed)
        if self.cover is not None:
            highest = np.where(self.cover.worked, highest + self.cover.mulch, highest)
            highest = highest if self.cover.day_one is None else np.maximum(highest, self.cover.day_one)
        return float(highest.max())


def profile_of(subject: Subject, section: SectionLine) -> Profile:
    """Existing and proposed heights along a section, two samples to a grid cell."""
    grid = subject.ground.grid
    count = max(int(np.ceil(2.0 * section.length / grid.cell)) + 1, 3)
    stations = np.linspace(0.0, section.length, count)
    places = section.places(stations)
    existing = grid.sample(subject.ground.elevation, places)
    proposed = grid.sample(subject.proposal.elevation, places)
    east, north, height = top_of_mound(subject.proposal)
    station = float(np.hypot(east - section.start[0], north - section.start[1]))
    elevation = float(grid.sample(subject.proposal.elevation, np.array([[east, north]]))[0])
    stretches = _keep_off_stretches(subject, section)
    top = (station, elevation)
    return Profile(
        section,
        stations,
        existing,
        proposed,
        stretches,
        top,
        height,
        stones_cut(subject, section),
        water_cut(subject, section),
        in_streams(subject, places),
        cover_of(subject, section, places, proposed - existing, existing),
    )


def _keep_off_stretches(subject: Subject, section: SectionLine) -> tuple[tuple[float, float, str], ...]:
    """Where the section runs through a keep-off."""
    start = np.array(section.start)
    direction = (np.array(section.end) - start) / section.length
    stretches = []
    for tree in tree_circles(subject.site):
        inside = section.line.intersection(tree.circle(tree.keep_off))
        if inside.length > 0.05:
            along = (shapely.get_coordinates(inside) - start) @ direction
            stretches.append((float(along.min()), float(along.max()), tree.tree.name))
    return tuple(stretches)


def steepest_places(profile: Profile, clear: float = 0.0) -> list[tuple[int, float]]:
    """Sample index and slope (rise/run along the section, signed) where each side of the mound is steepest.

    The slope is taken over a foot of run, as a level laid on the ground would show it. Where a stretch is as steep,
    its middle is named; places within `clear` metres of the top are named only where there is no other.
    """
    half = max(round(0.1524 / (profile.stations[1] - profile.stations[0])), 1)
    slope = np.zeros_like(profile.stations)
    run = profile.stations[2 * half :] - profile.stations[: -2 * half]
    slope[half:-half] = (profile.proposed[2 * half :] - profile.proposed[: -2 * half]) / run
    if profile.in_streams is not None:
        # The slope limit speaks of the mound: the banks of a stream have a slope of their own.
        slope[np.convolve(profile.in_streams, np.ones(2 * half + 1 + 2 * BESIDE), "same") > 0.0] = 0.0
    away = np.abs(profile.stations - profile.top[0])
    places = []
    for rising in (1.0, -1.0):
        side = (profile.fill > LEAST_FILL) & (rising * (profile.top[0] - profile.stations) > 0.0)
        found = np.where(side, rising * slope, 0.0)
        if found.max() <= 0.02:
            continue
        as_steep = np.flatnonzero(found >= 0.97 * found.max())
        free = as_steep[away[as_steep] >= clear]
        chosen = free if free.size else as_steep
        places.append((int(chosen[chosen.size // 2]), rising * float(found.max())))
    return places
