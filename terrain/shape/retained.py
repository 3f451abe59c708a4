"""Retained edges: stones along a line hold a step of soil, so that the mound can stop short of a root flare.

The stones stand in a strip on the low side of the line and take no soil. On the high side the soil starts at the stated
height and runs out level or gently; that wedge is called the lift, and the berm is shaped on top of it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import LineString, MultiPolygon, Polygon

from terrain.grid import Array, Mask
from terrain.shape.courses import wall_build
from terrain.shape.worked import Hold
from terrain.site import RetainedEdge, Site

# The lift comes down to the ends of the line and to every other edge at this share of the slope limit, which leaves the
# rest for the ground's own slope and for the berm on top. Just behind the stones it runs level, where the berm on top
# of it has not yet begun to rise.
LIFT_SHARE = 0.5
FAR = 1e3  # metres; further than any yard reaches behind a line
STATION, MOST_STATIONS = 0.05, 200  # metres between the places of a line that are tried; most of them
ON_LINE = 1e-3  # metres; a point this near to the line belongs to it


@dataclass(frozen=True)
class Retained:
    """One retained edge: its line with the high side on its left, height, strip of the stones, and low side."""

    name: str
    line: LineString
    height: float
    stones: Polygon
    low_side: Polygon

    def may_lift(self, points: Array, slope: float, level: float) -> Mask:
        """(m,) False at points that are too far from the line for any lift; see `lift`."""
        west, south, east, north = self.line.bounds
        reach = level + self.height / (LIFT_SHARE * slope)
        x, y = points.T
        near: Mask = (west - reach < x) & (x < east + reach) & (south - reach < y) & (y < north + reach)
        return near

    def lift(self, points: Array, clearance: Array, slope: float, level: float) -> Array:
        """(m,) lift at points on or behind the line, metres; zero before it.

        Parameters
        ----------
        points
            (m, 2) metres.
        clearance
            (m,) distance of each to all other ground that takes no fill and lies behind the line, metres.
        slope
            Slope limit, rise/run.
        level
            Width behind the line over which the lift stays level, metres.
        """
        spots = shapely.points(points)
        away = shapely.distance(self.line, spots)
        fall = LIFT_SHARE * slope
        lift = np.zeros(len(points))
        near = away < level + self.height / fall
        before = shapely.contains_xy(self.low_side, points[:, 0], points[:, 1]) & (away >= ON_LINE)
        near &= ~before & (clearance > 0.0)
        shelf = np.minimum(self.height - fall * np.maximum(away[near] - level, 0.0), fall * self._room(points[near]))
        lift[near] = np.maximum(0.0, np.minimum(shelf, fall * clearance[near]))
        return lift

    def reached(self, slope: float) -> float:
        """The most that the stones hold, metres: both ends run out to nothing, so a short line stays under `height`."""
        return min(self.height, LIFT_SHARE * slope * float(self.line.length) / 2.0)

    def length_over(self, height: float, slope: float) -> float:
        """Length of line along which the soil held stands higher than a height over the ground in front, metres."""
        return max(float(self.line.length) - 2.0 * max(height, 0.0) / (LIFT_SHARE * slope), 0.0)

    def needed_length(self, slope: float) -> float:
        """Length of line that would reach `height`, metres."""
        return 2.0 * self.height / (LIFT_SHARE * slope)

    def _room(self, points: Array) -> Array:
        """(m,) run that the lift has at each point before it must be down at the nearer end of the line, metres.

        The most, over all places of the line, of the way from there to the nearer end less the way to the point. It
        falls evenly in all directions and is nothing beyond both ends, square to the line; a run measured along the
        line alone would crease behind every bend and break off at the ends.
        """
        count = int(np.clip(np.ceil(self.line.length / STATION), 2, MOST_STATIONS)) + 1
        along = np.linspace(0.0, self.line.length, count)
        places = shapely.get_coordinates(shapely.line_interpolate_point(self.line, along))
        spots = shapely.points(points)
        # The nearest place of the line itself may lie between two of the others.
        nearest = shapely.line_locate_point(self.line, spots)
        room: Array = np.minimum(nearest, self.line.length - nearest) - shapely.distance(self.line, spots)
        for (east, north), end in zip(places, np.minimum(along, self.line.length - along), strict=True):
            np.maximum(room, end - np.hypot(points[:, 0] - east, points[:, 1] - north), out=room)
        return room


def retained_edges(site: Site) -> tuple[Retained, ...]:
    """All retained edges of a site, each turned so that the crest point nearest to it stands on its high side."""
    return tuple(_retained(edge, site) for edge in site.retained_edge)


def stone_holds(edges: tuple[Retained, ...]) -> tuple[Hold, ...]:
    """The strips of the stones, which take no soil."""
    return tuple(Hold(f"the stones of {edge.name}", edge.stones) for edge in edges)


def _retained(edge: RetainedEdge, site: Site) -> Retained:
    line = LineString(edge.line)
    crest = np.array([(point.x, point.y) for point in site.berm.crest])
    nearest = shapely.points(crest)[int(np.argmin(shapely.distance(line, shapely.points(crest))))]
    if _right_of(line).contains(nearest):
        line = line.reverse()
    stones = _largest(line.buffer(-wall_build(edge.height).strip, single_sided=True, join_style="mitre"))
    return Retained(edge.name, line, edge.height, stones, _right_of(line))


def _right_of(line: LineString) -> Polygon:
    """The ground right of a line: the line carried on straight at both ends, and all that lies to its right."""
    points = shapely.get_coordinates(line)
    out, on = points[0] - points[1], points[-1] - points[-2]
    start, end = points[0] + FAR * out / np.hypot(*out), points[-1] + FAR * on / np.hypot(*on)
    right = np.array([(end - start)[1], -(end - start)[0]])
    right = 2.0 * FAR * right / np.hypot(*right)
    return shapely.make_valid(Polygon([start, *points, end, end + right, start + right]))


def _largest(shape: Polygon | MultiPolygon) -> Polygon:
    """The largest part: a line that bends back on itself may cut its own strip in two."""
    return max(shapely.get_parts(shape), key=lambda part: part.area)
