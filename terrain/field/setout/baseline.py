"""A long bed gets a baseline beside it, and its stakes stand at even stations along that."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from terrain.field.setout.model import Spot
from terrain.grid import Array
from terrain.survey import Place
from terrain.units import Units

LONG = 12.0  # metres: a shorter bed is taped from two points
SLENDER = 2.5  # times as long as it is wide; a wider one is taped from two points
STEP: dict[Units, float] = {"ft": 2 * 0.3048, "m": 0.5}  # metres between even stations
PEGS: dict[Units, float] = {"ft": 16 * 0.3048, "m": 5.0}  # metres between pegs on the baseline, in whole steps
_GAPS = (1.0, 0.6, 1.5, 2.5, 4.0)  # metres from the bed, the first that runs free
_ALONG = 0.15  # metres between places for a stake on one station
_REACH = 2  # stations to either side in which a bend of the edge looks for its own


@dataclass(frozen=True)
class Baseline:
    """A string beside a bed from `start` to `end`, metres; stations count from its start, in even steps."""

    start: Place
    end: Place
    step: float

    @property
    def length(self) -> float:
        """Metres from start to end."""
        return math.dist(self.start, self.end)

    def place(self, station: float, offset: float) -> Place:
        """The place at a station and an offset, left positive; metres."""
        east, north = ((b - a) / self.length for a, b in zip(self.start, self.end, strict=True))
        return (
            self.start[0] + station * east - offset * north,
            self.start[1] + station * north + offset * east,
        )

    def marks(self, apart: float, closed: BaseGeometry) -> list[Place]:
        """The places of pegs on the string, its ends left out, where the ground takes them; metres."""
        stations = np.arange(apart, self.length - apart / 2.0, apart).tolist()
        return [at for at in (self.place(station, 0.0) for station in stations) if not closed.covers(Point(at))]

    def crossings(self, area: BaseGeometry) -> Array:
        """(m, 2) places on ground of an area at even stations, metres: both its edges and many between."""
        found = [at for piece in self._pieces(area) for at in _along(piece)]
        return np.array(found).reshape(-1, 2)

    def snapped(self, spots: Sequence[Spot], area: BaseGeometry, free: BaseGeometry) -> list[Spot]:
        """Spots moved to the nearest place at an even station.

        Parameters
        ----------
        spots
            What wants a stake; those outside the area stay where they are.
        area
            Ground that takes soil, on the edge of which what stands there stays; metres.
        free
            What of it takes a stake.
        """
        ends = np.array([at for piece in self._pieces(free) for at in (piece.coords[0], piece.coords[-1])])
        inner, edge, found = self.crossings(free), area.boundary, []
        for spot in spots:
            on_edge = edge.distance(Point(spot.at)) < 0.05
            if on_edge or area.covers(Point(spot.at)):
                near = ends if on_edge else inner
                spot = replace(spot, at=_nearest(near, spot.at))
            found.append(spot)
        return found

    def _pieces(self, area: BaseGeometry) -> Iterator[LineString]:
        shapely.prepare(area)
        far = 2.0 * self.length
        for station in np.arange(0.0, self.length + 1e-9, self.step).tolist():
            line = LineString([self.place(station, -far), self.place(station, far)])
            for piece in shapely.get_parts(area.intersection(line)):
                if piece.length > _ALONG:
                    yield piece


def _along(piece: LineString) -> list[Place]:
    count = math.ceil(piece.length / _ALONG)
    spots = shapely.line_interpolate_point(piece, np.linspace(0.0, piece.length, count + 1))
    return [(float(spot.x), float(spot.y)) for spot in spots]


def _nearest(places: Array, at: Place) -> Place:
    east, north = places[int(np.argmin(np.hypot(*(places - np.array(at)).T)))]
    return float(east), float(north)


def long_baseline(outline: Polygon, units: Units, across: BaseGeometry, closed: BaseGeometry) -> Baseline | None:
    """The baseline of a bed that is long and slender; None for any other.

    Parameters
    ----------
    outline
        The bed, metres.
    units
        Whose even steps.
    across, closed
        What no string crosses, and where no nail is driven, metres.

    It runs beside the bed along the longer side of the smallest rectangle round it: on the side, and at the distance,
    where it runs free and most of its pegs find ground, the nearest first and then the one with the shorter offsets.
    """
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(outline))
    sides = np.hypot(*np.diff(corners[:3], axis=0).T)
    if sides.max() < LONG or sides.max() < SLENDER * sides.min():
        return None
    first = int(np.argmax(sides))
    a, b, other = corners[first], corners[first + 1], corners[(first + 3) % 4]
    found = [
        (-len(line.marks(PEGS[units], closed)), gap, _longest_offset(line, outline), line)
        for gap in _GAPS
        for line in _beside(a, b, other, gap, STEP[units])
        if not across.intersects(LineString([line.start, line.end]))
        and not any(closed.covers(Point(at)) for at in (line.start, line.end))
    ]
    return min(found, key=lambda one: one[:3])[3] if found else None


def _longest_offset(line: Baseline, outline: Polygon) -> float:
    string = LineString([line.start, line.end])
    return round(max(float(string.distance(Point(at))) for at in outline.exterior.coords), 2)


def _beside(a: Array, b: Array, other: Array, gap: float, step: float) -> Iterator[Baseline]:
    """The two strings along a rectangle's longer sides, looking east or north, a step longer at either end."""
    along = (b - a) / np.hypot(*(b - a))
    if (along[0], along[1]) < (-1e-9, 0.0):
        a, b, along = b, a, -along
    wide = other - a - ((other - a) @ along) * along
    out = -gap * wide / np.hypot(*wide)
    length = math.ceil(np.hypot(*(b - a)) / step + 1.0) * step
    for start in (a + out, a + wide - out):
        begin = start - 0.5 * step * along
        end = begin + length * along
        yield Baseline((float(begin[0]), float(begin[1])), (float(end[0]), float(end[1])), step)
