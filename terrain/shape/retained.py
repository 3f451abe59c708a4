"""Retained edges: stones along a line hold a step of soil, so that the mound can stop short of a root flare.

The stones stand in a strip on the low side of the line and take no soil. On the high side the soil starts at the stated
height and runs out level or gently; that wedge is called the lift, and the berm is shaped on top of it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import LineString, MultiPolygon, Polygon

from terrain.grid import Array
from terrain.shape.worked import Hold
from terrain.site.features import RetainedEdge
from terrain.site.model import Site

# The stones' strip is as wide as they are high, and never narrower than this: common practice, no published source.
LEAST_STONE = 0.3  # metres
# The lift falls away from the line and from every other edge at this share of the slope limit, which leaves the rest
# for the ground's own slope and for the berm on top.
LIFT_SHARE = 0.5
ON_LINE = 1e-3  # metres; a point this near to the line belongs to it


@dataclass(frozen=True)
class Retained:
    """One retained edge: its line, turned so that the high side is on the left, its height and its stones' strip."""

    name: str
    line: LineString
    height: float
    stones: Polygon

    def lift(self, points: Array, clearance: Array, slope: float) -> Array:
        """(m,) lift at points on or behind the line, metres; zero before it.

        Parameters
        ----------
        points
            (m, 2) metres.
        clearance
            (m,) distance of each to all other ground that takes no fill, metres.
        slope
            Slope limit, rise/run.
        """
        spots = shapely.points(points)
        away = shapely.distance(self.line, spots)
        along = shapely.line_locate_point(self.line, spots)
        fall = LIFT_SHARE * slope
        # Both ends run out to nothing within the line, at the same gentle fall.
        end = np.minimum(along, self.line.length - along)
        height = np.minimum(self.height, fall * end)
        lift = np.maximum(0.0, np.minimum(height - fall * away, fall * np.maximum(clearance, 0.0)))
        behind = (_left_of(self.line, points, along) | (away < ON_LINE)) & ~(
            shapely.contains_xy(self.stones, points[:, 0], points[:, 1]) & (away >= ON_LINE)
        )
        return np.where(behind, lift, 0.0)


def retained_edges(site: Site) -> tuple[Retained, ...]:
    """All retained edges of a site, each turned so that the crest point nearest to it stands on its high side."""
    return tuple(_retained(edge, site) for edge in site.retained_edge)


def stone_holds(edges: tuple[Retained, ...]) -> tuple[Hold, ...]:
    """The strips of the stones, which take no soil."""
    return tuple(Hold(f"the stones of {edge.name}", edge.stones) for edge in edges)


def _retained(edge: RetainedEdge, site: Site) -> Retained:
    line = LineString(edge.line)
    crest = np.array([(point.x, point.y) for point in site.berm.crest])
    nearest = crest[[int(np.argmin(shapely.distance(line, shapely.points(crest))))]]
    if not _left_of(line, nearest, shapely.line_locate_point(line, shapely.points(nearest)))[0]:
        line = LineString(edge.line[::-1])
    width = max(LEAST_STONE, edge.height)
    return Retained(edge.name, line, edge.height, _largest(line.buffer(-width, single_sided=True, join_style="mitre")))


def _left_of(line: LineString, points: Array, along: Array) -> np.ndarray:
    """Whether each point stands left of the line, seen along the stretch nearest to it."""
    step = 1e-3 * line.length
    here = shapely.get_coordinates(shapely.line_interpolate_point(line, np.clip(along - step, 0.0, None)))
    there = shapely.get_coordinates(shapely.line_interpolate_point(line, np.clip(along + step, None, line.length)))
    run, off = there - here, points - here
    result: np.ndarray = run[:, 0] * off[:, 1] - run[:, 1] * off[:, 0] > 0.0
    return result


def _largest(shape: Polygon | MultiPolygon) -> Polygon:
    """The largest part: a line that bends back on itself may cut its own strip in two."""
    return max(shapely.get_parts(shape), key=lambda part: part.area)
