"""How far every place stands from ground that may take no fill, exactly, from the geometry."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import shapely
from shapely.geometry import Polygon

from terrain.grid import Array, Grid, Mask
from terrain.numerics.machine_code import compiled

COARSE_BLOCK, FINE_BLOCK = 32, 4  # nodes on a side of the blocks for which the segments are sifted


def segments_of(polygon: Polygon) -> Array:
    """Edges of all rings of a polygon as (n, 4) rows x1, y1, x2, y2 in metres."""
    rows = []
    for ring in shapely.get_rings(shapely.get_parts(polygon)):
        points = shapely.get_coordinates(ring)
        rows.append(np.hstack([points[:-1], points[1:]]))
    return np.vstack(rows)


@compiled
def _square_to(px, py, segment):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """Squared distance of a place to a segment."""
    ax, ay, bx, by = segment[0], segment[1], segment[2], segment[3]
    dx, dy = bx - ax, by - ay
    length2 = dx * dx + dy * dy
    t = 0.0
    if length2 > 0.0:
        t = min(1.0, max(0.0, ((px - ax) * dx + (py - ay) * dy) / length2))
    ex, ey = px - ax - t * dx, py - ay - t * dy
    return ex * ex + ey * ey


@compiled
def _within_reach(column, row, segments, among, kept, away):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """Put into `kept` those segments, `among` some, that may be the nearest to a node of a block; how many they are,
    and a distance that no node is nearer than.

    From the middle of the block the nearest segment of any node lies no farther than the nearest of all and the width
    of the block.
    """
    x, y = 0.5 * (column[0] + column[-1]), 0.5 * (row[0] + row[-1])
    wide = np.sqrt((column[-1] - column[0]) ** 2 + (row[-1] - row[0]) ** 2)
    least = np.inf
    for k in range(len(among)):
        away[k] = np.sqrt(_square_to(x, y, segments[among[k]]))
        least = min(least, away[k])
    count = 0
    for k in range(len(among)):
        if away[k] <= (least + wide) * (1.0 + 1e-9):
            kept[count] = among[k]
            count += 1
    return count, least - 0.5 * wide * (1.0 + 1e-9)


@compiled
def _distances(column, row, segments, up_to):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """Distance of each node to the nearest segment, shape (len(row), len(column)): block by block, block in block.

    A block whose nodes all stand `up_to` or more away is told by a distance that they stand no nearer than.
    """
    out = np.empty((row.size, column.size))
    every = np.arange(len(segments))
    some, few, away = every.copy(), every.copy(), np.empty(len(segments))
    for j in range(0, row.size, COARSE_BLOCK):
        for i in range(0, column.size, COARSE_BLOCK):
            east, north = column[i : i + COARSE_BLOCK], row[j : j + COARSE_BLOCK]
            count, least = _within_reach(east, north, segments, every, some, away)
            if least >= up_to:
                out[j : j + north.size, i : i + east.size] = least
                continue
            near = some[:count]
            for b in range(j, j + north.size, FINE_BLOCK):
                for a in range(i, i + east.size, FINE_BLOCK):
                    x = column[a : min(a + FINE_BLOCK, i + east.size)]
                    y = row[b : min(b + FINE_BLOCK, j + north.size)]
                    count, least = _within_reach(x, y, segments, near, few, away)
                    if least >= up_to:
                        out[b : b + y.size, a : a + x.size] = least
                        continue
                    nearest = few[:count]
                    for q in range(y.size):
                        for p in range(x.size):
                            square = np.inf
                            for k in nearest:
                                square = min(square, _square_to(x[p], y[q], segments[k]))
                            out[b + q, a + p] = np.sqrt(square)
    return out


@compiled
def _turn_outside(column, row, segments, distance):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """Make the distance of nodes outside negative, in place, by the even-odd rule along each row."""
    inside = np.empty(column.size, np.bool_)
    for j in range(row.size):
        inside[:] = False
        for k in range(len(segments)):
            ax, ay, bx, by = segments[k, 0], segments[k, 1], segments[k, 2], segments[k, 3]
            if (ay > row[j]) != (by > row[j]):
                crossing = ax + (row[j] - ay) / (by - ay) * (bx - ax)
                for i in range(np.searchsorted(column, crossing)):
                    inside[i] = not inside[i]
        for i in range(column.size):
            if not inside[i]:
                distance[j, i] = -distance[j, i]


def polygon_clearance(grid: Grid, polygon: Polygon, up_to: float = np.inf) -> Array:
    """Signed distance of every node to the edge of a polygon, metres, positive inside; shape (ny, nx).

    Exact where it is less than `up_to`; farther off its size is `up_to` or more, and no more than the distance.
    """
    # Offsets keep full precision when a site lies far from the origin of its coordinates.
    segments = segments_of(polygon) - np.tile([grid.x0, grid.y0], 2)
    column, row = grid.x - grid.x0, grid.y - grid.y0
    distance: Array = _distances(column, row, segments, up_to)
    _turn_outside(column, row, segments, distance)
    return distance


def disc_clearance(grid: Grid, centre: tuple[float, float], radius: float) -> Array:
    """Signed distance of every node to a circle, metres, positive outside it; shape (ny, nx)."""
    east, north = grid.x - centre[0], grid.y - centre[1]
    # A root of squares: the hypotenuse of the library guards against lengths that no yard has, and takes its time.
    away: Array = np.sqrt(np.square(east)[None, :] + np.square(north)[:, None]) - radius
    return away


def fill_clearance(
    grid: Grid,
    outline: Polygon,
    discs: Iterable[tuple[tuple[float, float], float]],
    held_clear: Iterable[Polygon],
    up_to: float = np.inf,
) -> Array:
    """Distance from each node to the nearest ground that takes no fill, metres; shape (ny, nx).

    Positive where fill may lie: inside the outline, outside every disc (centre, radius) and every held-clear polygon.
    Inside that ground the value is exact, since the distance to a union of sets is the least of the distances; from
    `up_to` on it is `up_to` or more, and no more than the distance. Elsewhere its size is a lower bound of the distance
    to that ground.
    """
    clearance = polygon_clearance(grid, outline, up_to)
    for centre, radius in discs:
        np.minimum(clearance, disc_clearance(grid, centre, radius), out=clearance)
    for polygon in held_clear:
        np.minimum(clearance, -polygon_clearance(grid, polygon, up_to), out=clearance)
    return clearance


def nodes_in(grid: Grid, polygons: Iterable[Polygon]) -> Mask:
    """Nodes inside any of the polygons, (ny, nx)."""
    inside = np.zeros(grid.shape, dtype=bool)
    for polygon in polygons:
        inside |= polygon_clearance(grid, polygon, 0.0) >= 0.0
    return inside
