"""The stones of a retained edge as one wall: its courses, what stands in the ground, its bedding, and their weights."""

from __future__ import annotations

import math
from dataclasses import dataclass

from shapely.geometry import LineString

from terrain.limits import POUND
from terrain.shape import Retained, retained_edges, wall_build
from terrain.site import Site

# Unit weight of rock: 150 to 175 lb/ft3 (US Army Corps of Engineers, EM 1110-2-1601, 1 July 1991, ch. 3); 165
# is usual for granite and limestone.
ROCK = 165.0 * POUND / 0.3048**3
# Share of voids in clean crushed stone of 20 to 50 mm: the usual design figure of stormwater manuals.
VOIDS = 0.40
# NIOSH Publication 94-110 (rev. Sept 2021): the most that one person should lift even in ideal conditions.
ONE_PERSON = 51.0 * POUND


@dataclass(frozen=True)
class Course:
    """One course of a wall: height of its foot over the ground in front, size of a stone and length, all in metres.

    A foot below 0 stands in the ground. `count` stones stand side by side.
    """

    foot: float
    size: float
    length: float

    @property
    def count(self) -> int:
        """Stones in the course."""
        return math.ceil(self.length / self.size - 1e-9)


@dataclass(frozen=True)
class Wall:
    """The stones of one retained edge, base course first; lengths in metres, weights in kg, volumes in m3.

    Parameters
    ----------
    name
        As the site file names the edge.
    line
        Its line, high side on the left.
    retained_height
        Soil held over the ground in front, as stated.
    bury, bedding, drain
        How deep the base stones stand in the ground, and the thickness of the crushed stone under them and behind them.
    courses
        From the base up. Each is as long as the soil held reaches over its foot, since the soil runs out to nothing
        towards both ends of the line; a stone at the least.
    """

    name: str
    line: LineString
    retained_height: float
    bury: float
    bedding: float
    drain: float
    courses: tuple[Course, ...]

    @property
    def overall(self) -> float:
        """Height from the foot of the base stones: codes count the part in the ground."""
        return self.retained_height + self.bury

    def standing(self, along: float) -> tuple[Course, ...]:
        """The courses that stand at a place of the line, metres from its start."""
        short = min(along, self.line.length - along)
        return tuple(course for course in self.courses if short >= (self.line.length - course.length) / 2.0)

    @property
    def size(self) -> float:
        """Mean diameter of a stone; all courses are of one size."""
        return self.courses[0].size

    @property
    def count(self) -> int:
        """Stones in all courses."""
        return sum(course.count for course in self.courses)

    @property
    def each(self) -> float:
        """Weight of a stone, taken as a ball."""
        return boulder_weight(self.size)

    @property
    def each_as_box(self) -> float:
        """Weight of a block of the same three diameters: lifting gear is chosen from it, and more."""
        return ROCK * self.size**3

    @property
    def mass(self) -> float:
        """Weight of all stones."""
        return self.count * self.each

    @property
    def machine_lift(self) -> bool:
        """Whether one person must not lift a stone."""
        return self.each > ONE_PERSON

    @property
    def trench_area(self) -> float:
        """Ground under the base course, as wide as the course, m2."""
        return self.courses[0].length * self.size

    @property
    def bedding_volume(self) -> float:
        """Crushed stone under the base course."""
        return self.trench_area * self.bedding

    @property
    def bedding_mass(self) -> float:
        """Weight of that crushed stone."""
        return self.bedding_volume * bulk_weight(ROCK, VOIDS)

    @property
    def drain_volume(self) -> float:
        """Crushed stone behind the courses, from the ground up to the finished grade; the strip holds no soil."""
        return self.drain * sum(course.length * (course.size + min(0.0, course.foot)) for course in self.courses)

    @property
    def crushed_volume(self) -> float:
        """Crushed stone under the stones and behind them."""
        return self.bedding_volume + self.drain_volume

    @property
    def drain_mass(self) -> float:
        """Weight of what lies behind them."""
        return self.drain_volume * bulk_weight(ROCK, VOIDS)

    @property
    def trench_volume(self) -> float:
        """Ground that is dug for the base course and its bedding, which fill it again; bank m3."""
        return self.trench_area * (self.bury + self.bedding)

    @property
    def caution(self) -> str:
        """What to heed when lifting."""
        if self.machine_lift:
            return (
                "Each stone is more than one person may lift: use a machine or a team, and choose gear from the weight "
                "as a block. Weights are estimates, good to about a quarter."
            )
        return "Weights are estimates, good to about a quarter. A rough stone is neither steady nor easy to grip."


def boulder_weight(diameter: float, unit_weight: float = ROCK) -> float:
    """Weight in kg of a boulder of a mean diameter in metres, as a ball: unit weight * pi * D^3 / 6.

    Source: EM 1110-2-1601, ch. 3. `unit_weight` in kg/m3. Estimates by this are good to about a quarter
    (common practice, no published source).
    """
    return unit_weight * math.pi * diameter**3 / 6.0


def bulk_weight(unit_weight: float, voids: float) -> float:
    """Weight in kg of one m3 of broken stone: that of the rock in kg/m3 less the share of voids between stones."""
    return unit_weight * (1.0 - voids)


def wall_of(edge: Retained, slope: float) -> Wall:
    """The wall of a retained edge under a slope limit (rise/run): the layout that order, review and section read."""
    built = wall_build(edge.height)
    feet = [k * built.size - built.bury for k in range(built.courses)]
    courses = tuple(Course(foot, built.size, max(edge.length_over(foot, slope), built.size)) for foot in feet)
    return Wall(edge.name, edge.line, edge.height, built.bury, built.bedding, built.drain, courses)


def walls(site: Site) -> tuple[Wall, ...]:
    """The wall of every retained edge of a site, in the order of the site file."""
    return tuple(wall_of(edge, site.berm.max_slope) for edge in retained_edges(site))


def trenches(site: Site) -> tuple[float, float]:
    """Ground dug for the base stones of all walls and their bedding, which fill it again: sod, and soil under it.

    Bank m3. The strip of the stones is no worked ground, so its sod is in no other figure.
    """
    built, sod = walls(site), site.bed.sod
    whole = sum(wall.trench_volume for wall in built)
    turf = sum(wall.trench_area * min(sod, wall.bury + wall.bedding) for wall in built)
    return turf, whole - turf
