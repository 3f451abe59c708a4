"""The deepest place of triangles with a linear depth between circles about the origin: compiled loops.

A linear depth is greatest at a corner, where an edge meets a circle, or where its gradient meets the outer circle.
"""

from __future__ import annotations

import numpy as np

from terrain.numerics.circle import stretch
from terrain.numerics.machine_code import compiled

_WITHIN = -1e-9  # the least weight of a corner at a place that counts as inside the triangle


@compiled
def deepest_between(p, depth, away, nearest, farthest, circles, touch):  # type: ignore[no-untyped-def]  # pragma: no cover
    """Greatest depth in each ring between two of `circles` (r + 1,), which rise, and its place: (r,) and (r, 2).

    `p` (m, 3, 2), `depth` and `away` (m, 3) of the corners, `nearest` and `farthest` (m,) of the triangles; 0.0 where a
    ring has none.
    """
    best, at = _deepest_corner(p, depth, away, nearest, farthest, circles, touch)
    crossed, place = best.copy(), at.copy()
    for f in range(len(depth)):
        for n in range(len(best)):
            inner, outer = circles[n], circles[n + 1]
            if inner - touch >= farthest[f]:
                break
            # Only a triangle that a circle crosses can be deepest off its corners, and only if it has a deeper one.
            across = nearest[f] < outer - touch and (farthest[f] > outer or nearest[f] < inner)
            if across and max(depth[f, 0], depth[f, 1], depth[f, 2]) > best[n]:
                _on_circles(p, depth, f, outer, inner, touch, crossed, place, n)
    return crossed, place


@compiled
def _deepest_corner(p, depth, away, nearest, farthest, circles, touch):  # type: ignore[no-untyped-def]  # pragma: no cover
    """Depth and place of the deepest corner in each ring."""
    best, at = np.zeros(len(circles) - 1), np.zeros((len(circles) - 1, 2))
    for f in range(len(depth)):
        for n in range(len(best)):
            low, high = circles[n] - touch, circles[n + 1] + touch
            if low > farthest[f]:
                break
            if nearest[f] < circles[n + 1] - touch:
                for k in range(3):
                    if low <= away[f, k] <= high and depth[f, k] > best[n]:
                        best[n], at[n, 0], at[n, 1] = depth[f, k], p[f, k, 0], p[f, k, 1]
    return best, at


@compiled
def _on_circles(p, depth, f, outer, inner, touch, best, place, n):  # type: ignore[no-untyped-def]  # pragma: no cover
    """Put into place n of `best` and `place` what of triangle f is deeper: where its gradient meets the outer circle,
    and its edges meet both."""
    ax, ay, rise_a = p[f, 1, 0] - p[f, 0, 0], p[f, 1, 1] - p[f, 0, 1], depth[f, 1] - depth[f, 0]
    bx, by, rise_b = p[f, 2, 0] - p[f, 0, 0], p[f, 2, 1] - p[f, 0, 1], depth[f, 2] - depth[f, 0]
    double = ax * by - ay * bx
    if double == 0.0:
        return
    east, north = (rise_a * by - rise_b * ay) / double, (rise_b * ax - rise_a * bx) / double
    steep = np.hypot(east, north)
    if steep > 0.0:
        _deeper_at(p, depth, f, outer * east / steep, outer * north / steep, outer, inner, touch, best, place, n)
    for radius in (outer, inner):
        if radius == 0.0:
            continue
        for k in range(3):
            other = (k + 1) % 3
            x, y = p[f, k, 0], p[f, k, 1]
            for share in stretch(x, y, p[f, other, 0], p[f, other, 1], radius):
                east, north = x + share * (p[f, other, 0] - x), y + share * (p[f, other, 1] - y)
                _deeper_at(p, depth, f, east, north, outer, inner, touch, best, place, n)


@compiled
def _deeper_at(p, depth, f, x, y, outer, inner, touch, best, place, n):  # type: ignore[no-untyped-def]  # pragma: no cover
    """Take a place of triangle f where it lies in the ring and is deeper than the best."""
    away = np.hypot(x, y)
    if away > outer + touch or away < inner - touch:
        return
    ax, ay = p[f, 1, 0] - p[f, 0, 0], p[f, 1, 1] - p[f, 0, 1]
    bx, by = p[f, 2, 0] - p[f, 0, 0], p[f, 2, 1] - p[f, 0, 1]
    double = ax * by - ay * bx
    px, py = x - p[f, 0, 0], y - p[f, 0, 1]
    second, third = (px * by - py * bx) / double, (ax * py - ay * px) / double
    first = 1.0 - second - third
    if min(first, second, third) >= _WITHIN:
        deep = first * depth[f, 0] + second * depth[f, 1] + third * depth[f, 2]
        if deep > best[n]:
            best[n], place[n, 0], place[n, 1] = deep, x, y
