"""What of edges and triangles lies in a disc about the origin, in closed form, triangle by triangle.

Along the boundary a stretch of edge inside the circle counts as the triangle that it makes with the centre, a stretch
outside as the sector that it is seen under.
"""

from __future__ import annotations

import math

import numpy as np

from terrain.numerics.machine_code import compiled


@compiled
def _stretch(ax, ay, bx, by, radius):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """Share of the way along an edge at which it enters and leaves the circle; equal if it stays out."""
    sx, sy = bx - ax, by - ay
    square = max(sx * sx + sy * sy, 1e-300)
    middle = -(ax * sx + ay * sy) / square
    # Distance of line and centre by the cross product: no cancellation where the edge is nearly tangent.
    apart = (ax * sy - ay * sx) ** 2 / square
    half = math.sqrt(max(radius * radius - apart, 0.0) / square)
    return min(max(middle - half, 0.0), 1.0), min(max(middle + half, 0.0), 1.0)


@compiled
def _sector(ax, ay, bx, by, radius):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """Signed area and first moments of the sector seen between two points outside the circle."""
    angle = math.atan2(ax * by - ay * bx, ax * bx + ay * by)
    if angle == 0.0:
        return 0.0, 0.0, 0.0
    first = math.atan2(ay, ax)
    last, share = first + angle, radius * radius * radius / 3.0
    east, north = math.sin(last) - math.sin(first), math.cos(first) - math.cos(last)
    return radius * radius * angle / 2.0, share * east, share * north


@compiled
def _edge_sum(ax, ay, bx, by, radius):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """Signed area and first moments that a directed edge adds for a disc about the origin."""
    enter, leave = _stretch(ax, ay, bx, by, radius)
    px, py = ax + enter * (bx - ax), ay + enter * (by - ay)
    # start + step may miss the end by a last digit, which hard by the centre is seen under any angle.
    qx, qy = (bx, by) if leave == 1.0 else (ax + leave * (bx - ax), ay + leave * (by - ay))
    area = (px * qy - py * qx) / 2.0
    before, after = _sector(ax, ay, px, py, radius), _sector(qx, qy, bx, by, radius)
    return (
        area + before[0] + after[0],
        area * (px + qx) / 3.0 + before[1] + after[1],
        area * (py + qy) / 3.0 + before[2] + after[2],
    )


@compiled
def ring_area(points, radius):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """Signed area of a closed ring of points inside the disc about the origin."""
    total = 0.0
    for k in range(len(points) - 1):
        total += _edge_sum(points[k, 0], points[k, 1], points[k + 1, 0], points[k + 1, 1], radius)[0]
    return total


@compiled
def held_partly(p, depth, radius):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """Area and volume, (2,), inside the circle about the origin of triangles that may cross it."""
    held = np.zeros(2)
    for f in range(len(p)):
        area, east, north = 0.0, 0.0, 0.0
        for k in range(3):
            a, b = p[f, k], p[f, (k + 1) % 3]
            sums = _edge_sum(a[0], a[1], b[0], b[1], radius)
            area, east, north = area + sums[0], east + sums[1], north + sums[2]
        ax, ay, bx, by = (
            p[f, 1, 0] - p[f, 0, 0],
            p[f, 1, 1] - p[f, 0, 1],
            p[f, 2, 0] - p[f, 0, 0],
            p[f, 2, 1] - p[f, 0, 1],
        )
        double = ax * by - ay * bx
        sign = np.sign(double)
        area = min(max(sign * area, 0.0), abs(double) / 2.0)
        if area <= 0.0:
            continue
        rise_a, rise_b = depth[f, 1] - depth[f, 0], depth[f, 2] - depth[f, 0]
        mean = (
            depth[f, 0]
            + (
                (sign * east / area - p[f, 0, 0]) * (rise_a * by - rise_b * ay)
                + (sign * north / area - p[f, 0, 1]) * (rise_b * ax - rise_a * bx)
            )
            / double
        )
        held[0] += area
        held[1] += area * min(max(mean, depth[f].min()), depth[f].max())
    return held


@compiled
def stretches(start, end, radius):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """`_stretch` of every edge, from (m, 2) to (m, 2) metres."""
    enter, leave = np.empty(len(start)), np.empty(len(start))
    for k in range(len(start)):
        enter[k], leave[k] = _stretch(start[k, 0], start[k, 1], end[k, 0], end[k, 1], radius)
    return enter, leave
