"""The ground that may take fill: the bed less every keep-off disc and every keep-clear area."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon

from terrain.grid import Array


@dataclass(frozen=True)
class Hold:
    """One thing that holds fill back: its name as a person would say it, and its geometry in metres.

    `disc` is (centre, radius) for a keep-off circle; None for a polygon.
    """

    name: str
    area: Polygon
    disc: tuple[tuple[float, float], float] | None = None


def disc_polygon(centre: tuple[float, float], radius: float, edge: float) -> Polygon:
    """Polygon that encloses a disc and touches its circle in the middle of every side.

    A polygon drawn through points of the circle would let fill into the slivers between chord and arc; this one
    never does, and every second vertex lies on the circle itself.

    Parameters
    ----------
    centre, radius
        The disc, metres.
    edge
        Longest distance wanted between neighbouring vertices, metres.
    """
    sides = max(32, 4 * math.ceil(math.pi * radius / (4.0 * edge)))
    angle = np.arange(2 * sides) * (math.pi / sides)
    reach = np.where(np.arange(2 * sides) % 2 == 0, radius, radius / math.cos(math.pi / sides))
    return Polygon(np.column_stack([centre[0] + reach * np.cos(angle), centre[1] + reach * np.sin(angle)]))


def worked_ground(outline: Polygon, holds: tuple[Hold, ...]) -> Polygon | MultiPolygon:
    """The outline less every hold; may be empty or in several parts."""
    worked = outline
    for hold in holds:
        worked = shapely.difference(worked, hold.area)
    parts = [p for p in shapely.get_parts(worked) if isinstance(p, Polygon) and p.area > 0.0]
    if len(parts) == 1:
        return parts[0]
    return MultiPolygon(parts)


# Vertices nearer than this to the one before are dropped: the slivers they make carry no shape, and single-precision
# mesh files could not hold their slopes. A corner of `disc_polygon` stands further out than the chord cut off here.
LEAST_EDGE = 0.002


def edge_points(geometry: Polygon | MultiPolygon, spacing: float) -> list[Array]:
    """The rings of a geometry with points at most `spacing` metres apart; original vertices are kept.

    Returns one (n, 2) array a ring, without the closing repeat.
    """
    rings = []
    for ring in shapely.get_rings(shapely.get_parts(geometry)):
        points = shapely.get_coordinates(shapely.segmentize(ring, spacing))[:-1]
        rings.append(_thinned(points))
    return [ring for ring in rings if len(ring) >= 3]


def _thinned(points: Array) -> Array:
    """Points of a closed ring without those that follow the last kept one by less than LEAST_EDGE."""
    kept = [0]
    for k in range(1, len(points)):
        if math.dist(points[k], points[kept[-1]]) >= LEAST_EDGE:
            kept.append(k)
    if len(kept) > 3 and math.dist(points[kept[-1]], points[0]) < LEAST_EDGE:
        kept.pop()
    return points[kept]
