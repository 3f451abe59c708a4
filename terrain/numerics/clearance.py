"""How far every place stands from ground that may take no fill, exactly, from the geometry."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import shapely
from shapely.geometry import Polygon

from terrain.grid import Array, Grid, Mask
from terrain.numerics.machine_code import compiled


def segments_of(polygon: Polygon) -> Array:
    """Edges of all rings of a polygon as (n, 4) rows x1, y1, x2, y2 in metres."""
    rows = []
    for ring in shapely.get_rings(shapely.get_parts(polygon)):
        points = shapely.get_coordinates(ring)
        rows.append(np.hstack([points[:-1], points[1:]]))
    return np.vstack(rows)


@compiled
def _signed_distance(column: Array, row: Array, segments: Array) -> Array:
    """Distance to the nearest edge at each node, positive inside (even-odd rule), shape (len(row), len(column))."""
    out = np.empty((row.size, column.size))
    for j in range(row.size):
        for i in range(column.size):
            px, py = column[i], row[j]
            nearest = np.inf
            inside = False
            for k in range(segments.shape[0]):
                ax, ay, bx, by = segments[k, 0], segments[k, 1], segments[k, 2], segments[k, 3]
                dx, dy = bx - ax, by - ay
                length2 = dx * dx + dy * dy
                t = 0.0
                if length2 > 0.0:
                    t = min(1.0, max(0.0, ((px - ax) * dx + (py - ay) * dy) / length2))
                ex, ey = px - ax - t * dx, py - ay - t * dy
                nearest = min(nearest, ex * ex + ey * ey)
                if (ay > py) != (by > py) and px < ax + (py - ay) / dy * dx:
                    inside = not inside
            out[j, i] = np.sqrt(nearest) if inside else -np.sqrt(nearest)
    return out


def polygon_clearance(grid: Grid, polygon: Polygon) -> Array:
    """Signed distance of every node to the edge of a polygon, metres, positive inside; shape (ny, nx)."""
    # Offsets keep full precision when a site lies far from the origin of its coordinates.
    segments = segments_of(polygon) - np.tile([grid.x0, grid.y0], 2)
    result: Array = _signed_distance(grid.x - grid.x0, grid.y - grid.y0, segments)
    return result


def disc_clearance(grid: Grid, centre: tuple[float, float], radius: float) -> Array:
    """Signed distance of every node to a circle, metres, positive outside it; shape (ny, nx)."""
    return np.hypot(grid.x[None, :] - centre[0], grid.y[:, None] - centre[1]) - radius


def fill_clearance(
    grid: Grid,
    outline: Polygon,
    discs: Iterable[tuple[tuple[float, float], float]],
    held_clear: Iterable[Polygon],
) -> Array:
    """Distance from each node to the nearest ground that takes no fill, metres; shape (ny, nx).

    Positive where fill may lie: inside the outline, outside every disc (centre, radius) and every held-clear polygon.
    Inside that ground the value is exact, since the distance to a union of sets is the least of the distances.
    Elsewhere its size is a lower bound of the distance to that ground.
    """
    clearance = polygon_clearance(grid, outline)
    for centre, radius in discs:
        np.minimum(clearance, disc_clearance(grid, centre, radius), out=clearance)
    for polygon in held_clear:
        np.minimum(clearance, -polygon_clearance(grid, polygon), out=clearance)
    return clearance


def nodes_in(grid: Grid, polygons: Iterable[Polygon]) -> Mask:
    """Nodes inside any of the polygons, (ny, nx)."""
    inside = np.zeros(grid.shape, dtype=bool)
    for polygon in polygons:
        inside |= polygon_clearance(grid, polygon) >= 0.0
    return inside
