"""What of edges and triangles lies in a disc about the origin, in closed form, triangle by triangle.

Along the boundary a stretch of edge inside the circle counts as the triangle that it makes with the centre, a stretch
outside as the sector that it is seen under.
"""

from __future__ import annotations

import math

import numpy as np

from terrain.numerics.above_level import pieces_above
from terrain.numerics.machine_code import compiled


@compiled
def stretch(ax, ay, bx, by, radius):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
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
    first, last = math.sqrt(ax * ax + ay * ay), math.sqrt(bx * bx + by * by)
    share = radius * radius * radius / 3.0
    return radius * radius * angle / 2.0, share * (by / last - ay / first), share * (ax / first - bx / last)


@compiled
def _edge_sum(ax, ay, bx, by, radius):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """Signed area and first moments that a directed edge adds for a disc about the origin."""
    enter, leave = stretch(ax, ay, bx, by, radius)
    px, py = ax + enter * (bx - ax), ay + enter * (by - ay)
    # start + step may miss the end by a last digit, which hard by the centre is seen under any angle.
    qx, qy = (bx, by) if leave == 1.0 else (ax + leave * (bx - ax), ay + leave * (by - ay))
    area = (px * qy - py * qx) / 2.0
    nothing = 0.0, 0.0, 0.0
    before = _sector(ax, ay, px, py, radius) if enter > 0.0 else nothing
    after = _sector(qx, qy, bx, by, radius) if leave < 1.0 else nothing
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
def _held_of(p, depth, f, radius):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """Area and volume of triangle f of (m, 3, 2), with its depth (m, 3), inside a circle about the origin that crosses
    it."""
    area, east, north = 0.0, 0.0, 0.0
    for k in range(3):
        n = (k + 1) % 3
        sums = _edge_sum(p[f, k, 0], p[f, k, 1], p[f, n, 0], p[f, n, 1], radius)
        area, east, north = area + sums[0], east + sums[1], north + sums[2]
    x, y, zero = p[f, 0, 0], p[f, 0, 1], depth[f, 0]
    ax, ay, bx, by = p[f, 1, 0] - x, p[f, 1, 1] - y, p[f, 2, 0] - x, p[f, 2, 1] - y
    double = ax * by - ay * bx
    sign = np.sign(double)
    area = min(max(sign * area, 0.0), abs(double) / 2.0)
    if area <= 0.0:
        return 0.0, 0.0
    rise_a, rise_b = depth[f, 1] - zero, depth[f, 2] - zero
    tilt = (sign * east / area - x) * (rise_a * by - rise_b * ay)
    tilt += (sign * north / area - y) * (rise_b * ax - rise_a * bx)
    low, high = min(zero, depth[f, 1], depth[f, 2]), max(zero, depth[f, 1], depth[f, 2])
    return area, area * min(max(zero + tilt / double, low), high)


@compiled
def distance_of(p, f):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """Distance of triangle f of (m, 3, 2) from the origin: 0 where it covers it."""
    left, right, best = True, True, math.inf
    for k in range(3):
        n = (k + 1) % 3
        x, y = p[f, k, 0], p[f, k, 1]
        sx, sy = p[f, n, 0] - x, p[f, n, 1] - y
        turn = x * sy - y * sx
        left, right = left and turn >= 0.0, right and turn <= 0.0
        share = -(x * sx + y * sy) / max(sx * sx + sy * sy, 1e-300)
        share = min(max(share, 0.0), 1.0)
        px, py = x + share * sx, y + share * sy
        best = min(best, px * px + py * py)
    if not (left or right):
        return math.sqrt(best)
    # A triangle without area, as clipping leaves some, turns neither way: it covers nothing beyond its own box.
    for axis in range(2):
        low = min(p[f, 0, axis], p[f, 1, axis], p[f, 2, axis])
        high = max(p[f, 0, axis], p[f, 1, axis], p[f, 2, axis])
        if low > 0.0 or high < 0.0:
            return math.sqrt(best)
    return 0.0


@compiled
def _whole_of(p, depth, f):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """Area and volume of triangle f of (m, 3, 2), with its depth (m, 3)."""
    ax, ay = p[f, 1, 0] - p[f, 0, 0], p[f, 1, 1] - p[f, 0, 1]
    bx, by = p[f, 2, 0] - p[f, 0, 0], p[f, 2, 1] - p[f, 0, 1]
    area = abs(ax * by - ay * bx) / 2.0
    return area, area * (depth[f, 0] + depth[f, 1] + depth[f, 2]) / 3.0


@compiled
def _add_crossed(p, depth, f, near, far, radii, touch, crossed, whole, n):  # type: ignore[no-untyped-def]  # pragma: no cover
    """Add area and volume of triangle f inside each circle to `crossed` (l, 2, r) at level n; to `whole` at the first
    circle that holds it all."""
    for k in range(len(radii)):
        if near >= radii[k] - touch:
            continue
        if far <= radii[k]:
            area, volume = _whole_of(p, depth, f)
            whole[n, 0, k] += area
            whole[n, 1, k] += volume
            return  # every wider circle has it too
        area, volume = _held_of(p, depth, f, radii[k])
        crossed[n, 0, k] += area
        crossed[n, 1, k] += volume


@compiled
def _add_pieces(p, depth, f, level, radii, touch, crossed, whole, n):  # type: ignore[no-untyped-def]  # pragma: no cover
    """The same of what of a triangle is deeper than a level that crosses it."""
    pieces, deep = np.empty((2, 3, 2)), np.empty((2, 3))
    for k in range(pieces_above(p, depth, f, level, pieces, deep)):
        near, far = distance_of(pieces, k), farthest_of(pieces, k)
        _add_crossed(pieces, deep, k, near, far, radii, touch, crossed, whole, n)


@compiled
def _first_reached(radii, near, touch):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """The first circle that a triangle so near comes into; it comes into the last."""
    k = 0
    while near >= radii[k] - touch:
        k += 1
    return k


@compiled
def _levels_under(levels, low):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """How many levels lie under a depth."""
    under = 0
    while under < len(levels) and levels[under] < low:
        under += 1
    return under


@compiled
def held(p, depth, nearest, farthest, radii, touch, levels):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """Area and volume, (l, 2, r), of what is deeper than each level inside circles about the origin, in one pass.

    `levels` (l,) and `radii` (r,) rise; `nearest` and `farthest` (m,) are the ends of each triangle (m, 3, 2). One that
    comes over a circle by no more than `touch` is nothing.
    """
    shape = len(levels), 2, len(radii)
    # What is deeper than a level as a whole is deeper than all before it: summed where it is first, shared out after.
    all_crossed, all_whole = np.zeros(shape), np.zeros(shape)
    crossed, whole = np.zeros(shape), np.zeros(shape)
    for f in range(len(p)):
        if nearest[f] >= radii[-1] - touch:
            continue
        k = _first_reached(radii, nearest[f], touch)
        low, high = min(depth[f, 0], depth[f, 1], depth[f, 2]), max(depth[f, 0], depth[f, 1], depth[f, 2])
        under = _levels_under(levels, low)
        if under > 0 and farthest[f] <= radii[k]:  # most are: for them a call would take longer than the sum
            area, volume = _whole_of(p, depth, f)
            all_whole[under - 1, 0, k] += area
            all_whole[under - 1, 1, k] += volume
        elif under > 0:
            _add_crossed(p, depth, f, nearest[f], farthest[f], radii, touch, all_crossed, all_whole, under - 1)
        for n in range(under, len(levels)):
            if levels[n] < high:
                _add_pieces(p, depth, f, levels[n], radii, touch, crossed, whole, n)
    crossed += _sums_from_last(all_crossed)
    whole += _sums_from_last(all_whole)
    for k in range(1, len(radii)):
        whole[:, :, k] += whole[:, :, k - 1]
    return whole + crossed


@compiled
def _sums_from_last(sums):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """Each of some sums (l, 2, r) with all after it."""
    total = sums.copy()
    for n in range(len(sums) - 2, -1, -1):
        total[n] += total[n + 1]
    return total


@compiled
def farthest_of(p, f):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """Distance from the origin of the farthest corner of triangle f of (m, 3, 2)."""
    square = 0.0
    for k in range(3):
        square = max(square, p[f, k, 0] * p[f, k, 0] + p[f, k, 1] * p[f, k, 1])
    return math.sqrt(square)


@compiled
def seen_from(corners, depth, x, y, reach):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """The triangles whose boxes meet that of a disc, as seen from its centre (x, y).

    From (m, 3, 2) and (m, 3) to corners about the centre, depth, distance of each corner (n, 3), and distance of each
    triangle's nearest and farthest place (n,); metres.
    """
    near = np.empty(len(corners), dtype=np.int64)
    count = 0
    for f in range(len(corners)):
        across, up = _beside(corners, f, x, y)
        if across < reach and up < reach:
            near[count] = f
            count += 1
    p, deep, away = np.empty((count, 3, 2)), np.empty((count, 3)), np.empty((count, 3))
    nearest, farthest = np.empty(count), np.empty(count)
    for n in range(count):
        f = near[n]
        for k in range(3):
            east, north = corners[f, k, 0] - x, corners[f, k, 1] - y
            p[n, k, 0], p[n, k, 1], deep[n, k] = east, north, depth[f, k]
            away[n, k] = math.sqrt(east * east + north * north)
        nearest[n] = distance_of(p, n)
        farthest[n] = max(away[n, 0], away[n, 1], away[n, 2])
    return p, deep, away, nearest, farthest


@compiled
def _beside(corners, f, x, y):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """How far the box about triangle f of (m, 3, 2) lies beside a place, east or west and north or south of it; below
    zero where it reaches over it."""
    low, high = (
        min(corners[f, 0, 0], corners[f, 1, 0], corners[f, 2, 0]),
        max(corners[f, 0, 0], corners[f, 1, 0], corners[f, 2, 0]),
    )
    south, north = (
        min(corners[f, 0, 1], corners[f, 1, 1], corners[f, 2, 1]),
        max(corners[f, 0, 1], corners[f, 1, 1], corners[f, 2, 1]),
    )
    return max(low - x, x - high), max(south - y, y - north)


@compiled
def nearest_of(corners, x, y):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """Distance of the nearest triangle (m, 3, 2) from a place, 0 where one covers it, and the first that is so near.

    No triangle is nearer than its box: only one whose box is nearer than all before it is looked at.
    """
    best, first = math.inf, 0
    p = np.empty((1, 3, 2))
    for f in range(len(corners)):
        across, up = _beside(corners, f, x, y)
        across, up = max(across, 0.0), max(up, 0.0)
        if across * across + up * up >= best * best:
            continue
        for k in range(3):
            p[0, k, 0], p[0, k, 1] = corners[f, k, 0] - x, corners[f, k, 1] - y
        away = distance_of(p, 0)
        if away < best:
            best, first = away, f
    return best, first
