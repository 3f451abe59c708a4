"""The stones of a retained edge where a section crosses them, with the crushed stone under and behind them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Polygon, box

from terrain.grid import Array
from terrain.shape import BATTER
from terrain.soil import Wall, walls
from viewer.page import SectionLine, Subject

LEAST_CROSSING = 0.1  # sine of the angle between section and edge; nearer to level no true section shows
ROUNDED = 0.25  # of a stone's size: how far its corners are rounded on paper


@dataclass(frozen=True)
class StonesCut:
    """A wall as a section shows it: (station, elevation) polygons in metres, base course first.

    `bedding` and `drain` are the crushed stone under the stones and behind them.
    """

    name: str
    stones: tuple[Polygon, ...]
    bedding: Polygon
    drain: Polygon


def stones_cut(subject: Subject, section: SectionLine) -> tuple[StonesCut, ...]:
    """Every place where a section crosses the line of a retained edge and its stones stand."""
    found = []
    for wall in walls(subject.site):
        for place in shapely.get_coordinates(section.line.intersection(wall.line)):
            one = _cut(subject, section, wall, place)
            if one is not None:
                found.append(one)
    return tuple(found)


def _cut(subject: Subject, section: SectionLine, wall: Wall, place: Array) -> StonesCut | None:
    """The wall where a section crosses its line at a place (2,) in metres; None where nothing stands."""
    along = float(wall.line.project(shapely.Point(place)))
    standing = wall.standing(along)
    toward = _toward_low_side(section, wall, along)
    if not standing or abs(toward) < LEAST_CROSSING:
        return None
    grid = subject.ground.grid
    ground = float(grid.sample(subject.ground.elevation, place[None, :])[0])
    station = float(np.hypot(*(place - np.array(section.start))))
    # A section that runs slantwise through a row of stones shows it wider.
    wide, behind = wall.size / toward, wall.drain / toward
    stones = []
    for k, course in enumerate(standing):
        front = behind + (len(wall.courses) - 1 - k) * BATTER * wide
        foot = ground + course.foot
        stones.append(_stone(station + front, station + front + wide, foot, course.size))
    west, _, east, _ = stones[0].bounds
    foot = ground - wall.bury
    # Up to the finished grade behind, as far out as the stones that stand there.
    top = ground + standing[-1].foot + standing[-1].size
    back = station + behind
    drain = box(min(station, back), ground, max(station, back), top)
    return StonesCut(wall.name, tuple(stones), box(west, foot - wall.bedding, east, foot), drain)


def _toward_low_side(section: SectionLine, wall: Wall, along: float) -> float:
    """Sine of the angle from the section to the edge: positive where the section runs on to the low side."""
    ahead, behind = (
        shapely.get_coordinates(wall.line.interpolate(min(max(along + step, 0.0), wall.line.length)))[0]
        for step in (0.01, -0.01)
    )
    edge = (ahead - behind) / np.hypot(*(ahead - behind))
    way = (np.array(section.end) - np.array(section.start)) / section.length
    # The high side is on the left of the line.
    return float(way[0] * edge[1] - way[1] * edge[0])


def _stone(one: float, other: float, foot: float, high: float) -> Polygon:
    """A stone between two stations, rounded as a boulder is, metres."""
    round_by = ROUNDED * high
    west, east = min(one, other), max(one, other)
    core = box(west + round_by, foot + round_by, east - round_by, foot + high - round_by)
    return core.buffer(round_by, quad_segs=4)
