"""Outlines as points and pieces of line that a triangulation can follow."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.polygon import orient

from terrain.grid import Array


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


def evenly_along(geometry: Polygon | MultiPolygon, count: int) -> Array:
    """About `count` points at even distances along all rings of a geometry, (n, 2) metres, at least 8 a ring."""
    rings = shapely.get_rings(shapely.get_parts(geometry))
    total = float(shapely.length(rings).sum())
    points = []
    for ring in rings:
        number = max(8, round(count * ring.length / total))
        x, y = shapely.get_coordinates(ring).T
        along = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(x), np.diff(y)))])
        places = np.arange(number) * (along[-1] / number)
        points.append(np.column_stack([np.interp(places, along, x), np.interp(places, along, y)]))
    return np.vstack(points)


# Of two vertices nearer than this one is dropped: the slivers that they make carry no shape, and single-precision mesh
# files could not hold their slopes.
LEAST_EDGE = 0.002


def edge_points(geometry: Polygon | MultiPolygon, spacing: float) -> list[Array]:
    """The rings of a geometry with points at most `spacing` metres apart; original vertices are kept.

    Returns one (n, 2) array a ring, without the closing repeat.
    """
    rings = []
    for part in shapely.get_parts(geometry):
        for ring in shapely.get_rings(orient(part)):
            points = shapely.get_coordinates(shapely.segmentize(ring, spacing))[:-1]
            rings.append(_without_near_pairs(points))
    return [ring for ring in rings if len(ring) >= 3]


def _without_near_pairs(points: Array) -> Array:
    """Points of a ring that has its ground on the left, less one of each pair nearer than LEAST_EDGE.

    The one that stands out further goes, so that the ring never gains ground: what is cut off is inside.
    """
    while len(points) > 3:
        step = np.hypot(*(np.roll(points, -1, axis=0) - points).T)
        near = int(np.argmin(step))
        if step[near] >= LEAST_EDGE:
            break
        pair = [near, (near + 1) % len(points)]
        points = np.delete(points, max(pair, key=lambda k: _left_turn(points, k)), axis=0)
    return points


def _left_turn(points: Array, k: int) -> float:
    """Angle by which a ring turns left at point k, radians."""
    before, after = points[k] - points[k - 1], points[(k + 1) % len(points)] - points[k]
    return math.atan2(before[0] * after[1] - before[1] * after[0], float(before @ after))


@dataclass(frozen=True)
class Linework:
    """Lines that must be edges of the mesh: (n, 2) points in metres and (e, 2) point numbers of the pieces."""

    points: Array
    pieces: NDArray[np.int64]


def linework(rings: list[Array], lines: list[Polygon], spacing: float, exact: tuple[Polygon, ...] = ()) -> Linework:
    """Join the rings of the worked ground with further outlines that may cross them.

    Parameters
    ----------
    rings
        Rings of the worked ground (`edge_points`).
    lines
        Polygons whose outlines the mesh must follow too.
    spacing
        Longest piece, metres.
    exact
        Those of the polygons whose vertices must stay where they are, as those of the rings do.
    """
    if not lines:
        return _closed(rings)
    drawn = [shapely.linearrings(ring) for ring in rings] + [
        ring for polygon in lines for ring in shapely.get_rings(polygon)
    ]
    # Nodes are snapped to a tenth of a millimetre, so that outlines that touch share their points.
    noded = shapely.line_merge(shapely.unary_union(drawn, grid_size=1e-4))
    numbers: dict[tuple[float, float], int] = {}
    pieces: list[tuple[int, int]] = []
    for line in shapely.get_parts(noded):
        chain = _spaced(shapely.get_coordinates(shapely.segmentize(line, spacing)))
        ids = [numbers.setdefault((float(x), float(y)), len(numbers)) for x, y in chain]
        pieces += [(a, b) for a, b in itertools.pairwise(ids) if a != b]
    corners = [shapely.get_coordinates(polygon.exterior) for polygon in exact]
    points = _restored(np.array(list(numbers)), np.vstack([*corners, *rings]))
    return Linework(points, np.array(sorted(set(pieces)), dtype=np.int64))


def _restored(points: Array, exact: Array) -> Array:
    """Snapped points put back where a ring has them, so that a keep-off circle stays exact to the last digit."""
    from scipy.spatial import cKDTree

    away, nearest = cKDTree(points).query(exact)
    moved = away < 2e-4
    points[nearest[moved]] = exact[moved]
    return points


def _closed(rings: list[Array]) -> Linework:
    """Rings that do not meet, as they are."""
    pieces, start = [], 0
    for ring in rings:
        number = start + np.arange(len(ring))
        pieces.append(np.column_stack([number, np.roll(number, -1)]))
        start += len(ring)
    return Linework(np.vstack(rings), np.vstack(pieces).astype(np.int64))


def _spaced(chain: Array) -> Array:
    """A line without inner points nearer than LEAST_EDGE to the one kept before; both ends stay."""
    kept = [0]
    for k in range(1, len(chain) - 1):
        if math.dist(chain[k], chain[kept[-1]]) >= LEAST_EDGE and math.dist(chain[k], chain[-1]) >= LEAST_EDGE:
            kept.append(k)
    return chain[[*kept, len(chain) - 1]]
