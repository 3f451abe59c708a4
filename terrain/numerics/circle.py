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
def _held_of(p, depth, radius):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """Area and volume of one triangle (3, 2), with its depth (3,), inside a circle about the origin that crosses it."""
    area, east, north = 0.0, 0.0, 0.0
    for k in range(3):
        n = (k + 1) % 3
        sums = _edge_sum(p[k, 0], p[k, 1], p[n, 0], p[n, 1], radius)
        area, east, north = area + sums[0], east + sums[1], north + sums[2]
    ax, ay, bx, by = p[1, 0] - p[0, 0], p[1, 1] - p[0, 1], p[2, 0] - p[0, 0], p[2, 1] - p[0, 1]
    double = ax * by - ay * bx
    sign = np.sign(double)
    area = min(max(sign * area, 0.0), abs(double) / 2.0)
    if area <= 0.0:
        return 0.0, 0.0
    rise_a, rise_b = depth[1] - depth[0], depth[2] - depth[0]
    tilt = (sign * east / area - p[0, 0]) * (rise_a * by - rise_b * ay)
    tilt += (sign * north / area - p[0, 1]) * (rise_b * ax - rise_a * bx)
    low, high = min(depth[0], depth[1], depth[2]), max(depth[0], depth[1], depth[2])
    return area, area * min(max(depth[0] + tilt / double, low), high)


@compiled
def held(p, depth, nearest, farthest, radii, touch, level):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """Area and volume, (2, r), inside circles about the origin of triangles, in one pass over these.

    `radii` (r,) rise; `nearest` and `farthest` (m,) are the ends of each triangle. One that comes over a circle by no
    more than `touch` is nothing; those with a corner no deeper than `level` are left out.
    """
    crossed, whole = np.zeros((2, len(radii))), np.zeros((2, len(radii)))
    for f in range(len(p)):
        if min(depth[f, 0], depth[f, 1], depth[f, 2]) <= level:
            continue
        for k in range(len(radii)):
            if nearest[f] >= radii[k] - touch:
                continue
            if farthest[f] > radii[k]:
                area, volume = _held_of(p[f], depth[f], radii[k])
                crossed[0, k] += area
                crossed[1, k] += volume
                continue
            ax, ay = p[f, 1, 0] - p[f, 0, 0], p[f, 1, 1] - p[f, 0, 1]
            bx, by = p[f, 2, 0] - p[f, 0, 0], p[f, 2, 1] - p[f, 0, 1]
            area = abs(ax * by - ay * bx) / 2.0
            whole[0, k] += area
            whole[1, k] += area * (depth[f, 0] + depth[f, 1] + depth[f, 2]) / 3.0
            break  # every wider circle has it too
    for k in range(1, len(radii)):
        whole[0, k] += whole[0, k - 1]
        whole[1, k] += whole[1, k - 1]
    return whole + crossed


@compiled
def seen_from(corners, depth, x, y, reach):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """The triangles whose boxes meet that of a disc, as seen from its centre (x, y).

    From (m, 3, 2) and (m, 3) to corners about the centre, depth, distance of each corner (n, 3), and distance of each
    triangle's nearest and farthest place (n,); metres.
    """
    near = np.empty(len(corners), dtype=np.int64)
    count = 0
    for f in range(len(corners)):
        a, b, c = corners[f, 0], corners[f, 1], corners[f, 2]
        across = min(a[0], b[0], c[0]) < x + reach and max(a[0], b[0], c[0]) > x - reach
        if across and min(a[1], b[1], c[1]) < y + reach and max(a[1], b[1], c[1]) > y - reach:
            near[count] = f
            count += 1
    p, deep, away = np.empty((count, 3, 2)), np.empty((count, 3)), np.empty((count, 3))
    nearest, farthest = np.empty(count), np.empty(count)
    for n in range(count):
        for k in range(3):
            east, north = corners[near[n], k, 0] - x, corners[near[n], k, 1] - y
            p[n, k, 0], p[n, k, 1], deep[n, k] = east, north, depth[near[n], k]
            away[n, k] = math.sqrt(east * east + north * north)
        nearest[n] = _distance(p[n])
        farthest[n] = max(away[n, 0], away[n, 1], away[n, 2])
    return p, deep, away, nearest, farthest


@compiled
def _distance(p):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """Distance of a triangle (3, 2) from the origin: 0 where it covers it."""
    left, right, best = True, True, math.inf
    for k in range(3):
        n = (k + 1) % 3
        sx, sy = p[n, 0] - p[k, 0], p[n, 1] - p[k, 1]
        turn = p[k, 0] * sy - p[k, 1] * sx
        left, right = left and turn >= 0.0, right and turn <= 0.0
        share = -(p[k, 0] * sx + p[k, 1] * sy) / max(sx * sx + sy * sy, 1e-300)
        share = min(max(share, 0.0), 1.0)
        px, py = p[k, 0] + share * sx, p[k, 1] + share * sy
        best = min(best, px * px + py * py)
    # A triangle without area, as clipping leaves some, turns neither way: it covers nothing beyond its own box.
    for axis in range(2):
        low, high = min(p[0, axis], p[1, axis], p[2, axis]), max(p[0, axis], p[1, axis], p[2, axis])
        left, right = left and low <= 0.0 <= high, right and low <= 0.0 <= high
    return 0.0 if left or right else math.sqrt(best)


@compiled
def deepest_corner(depth, away, nearest, farthest, outer, inner, touch):  # type: ignore[no-untyped-def]  # pragma: no cover
    """The deepest corner between two circles, and the triangles that may be deeper where a circle crosses them.

    Answers depth (0.0 where there is none), triangle, corner, and (n,) the triangles with a deeper corner.
    """
    best, at, corner = 0.0, 0, 0
    for f in range(len(depth)):
        if nearest[f] < outer - touch and farthest[f] >= inner - touch:
            for k in range(3):
                if depth[f, k] > best and inner - touch <= away[f, k] <= outer + touch:
                    best, at, corner = depth[f, k], f, k
    return best, at, corner, _crossed(depth, nearest, farthest, outer, inner, touch, best)


@compiled
def _crossed(depth, nearest, farthest, outer, inner, touch, best):  # type: ignore[no-untyped-def]  # pragma: no cover
    """The triangles, (n,), that one of two circles crosses and that have a corner deeper than `best`."""
    crossed = np.empty(len(depth), dtype=np.int64)
    count = 0
    for f in range(len(depth)):
        across = farthest[f] > outer or (nearest[f] < inner and farthest[f] > inner - touch)
        if across and nearest[f] < outer - touch and max(depth[f, 0], depth[f, 1], depth[f, 2]) > best:
            crossed[count] = f
            count += 1
    return crossed[:count]


@compiled
def stretches(start, end, radius):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """`_stretch` of every edge, from (m, 2) to (m, 2) metres."""
    enter, leave = np.empty(len(start)), np.empty(len(start))
    for k in range(len(start)):
        enter[k], leave[k] = _stretch(start[k, 0], start[k, 1], end[k, 0], end[k, 1], radius)
    return enter, leave
