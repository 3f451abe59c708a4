"""Volumes between two surfaces that share one triangulation: prisms, split exactly where they cross."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from terrain.grid import Array
from terrain.numerics.machine_code import compiled
from terrain.numerics.volumes import CutFill


def triangle_areas(points: Array, triangles: NDArray[np.int64]) -> Array:
    """Plan areas in m2, (m,); positive where the corners run counter-clockwise. `points` is (n, 2) metres."""
    first, second, third = (points[triangles[:, corner]] for corner in range(3))
    east, north = second - first, third - first
    return np.asarray((east[:, 0] * north[:, 1] - east[:, 1] * north[:, 0]) / 2.0)


def positive_mean(depths: Array) -> Array:
    """Mean over each triangle of the positive part of a linear depth, (m,) metres from (m, 3) corner depths.

    Notes
    -----
    With one corner above (depth c, the others a and b below) the part above is a pyramid whose base is the
    share c/(c-a) * c/(c-b) of the triangle and whose mean depth is c/3. With one corner below, the pyramid
    below is added to the mean of all three. Exact for planes.
    """
    low, middle, high = np.sort(depths, axis=1).T
    mean = (low + middle + high) / 3.0
    one_above = (high > 0.0) & (middle <= 0.0) & (low < 0.0)
    one_below = (low < 0.0) & (middle > 0.0)
    result = np.where(low >= 0.0, mean, 0.0)
    result = np.where(one_above, _corner_pyramid(high, middle, low), result)
    return np.where(one_below, mean + _corner_pyramid(-low, -middle, -high), result)


def _corner_pyramid(apex: Array, second: Array, third: Array) -> Array:
    """Mean depth of the corner pyramid of height `apex` > 0 whose other corners are at most zero; else 0."""
    usable = (apex > 0.0) & (second <= 0.0) & (third <= 0.0)
    to_second = np.where(usable, apex - second, 1.0)
    to_third = np.where(usable, apex - third, 1.0)
    # Ratios before products: the square of a depth far below a nanometre would underflow to zero.
    return np.where(usable, (apex / to_second) * (apex / to_third) * apex / 3.0, 0.0)


def prism_volume(points: Array, triangles: NDArray[np.int64], lower: Array, upper: Array) -> CutFill:
    """Fill (upper above lower) and cut (upper below lower) between two surfaces on one triangulation, m3.

    Parameters
    ----------
    points
        (n, 2) metres.
    triangles
        (m, 3) vertex indices; their winding does not matter.
    lower, upper
        (n,) elevations in metres.

    Notes
    -----
    V = A (h1 + h2 + h3) / 3 a triangle, the truncated prism; triangles with both signs are divided along
    their zero line exactly, so fill and cut are exact for the surfaces as given.
    """
    depth = upper - lower
    crossed = _crossed(depth > 0.0, depth < 0.0, triangles)
    cut, fill = _whole_prisms(points, triangles[~crossed], depth)
    split = triangles[crossed]
    areas, depths = np.abs(triangle_areas(points, split)), depth[split]
    fill += float(areas @ positive_mean(depths))
    cut += float(areas @ positive_mean(-depths))
    return CutFill(cut=cut, fill=fill, method="triangles split at zero")


@compiled
def _crossed(above, below, triangles):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """Whether each triangle has a corner on either side."""
    out = np.empty(len(triangles), np.bool_)
    for f in range(len(triangles)):
        a, b, c = triangles[f, 0], triangles[f, 1], triangles[f, 2]
        out[f] = (above[a] or above[b] or above[c]) and (below[a] or below[b] or below[c])
    return out


@compiled
def _whole_prisms(points, triangles, depth):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """Volume of the prisms that lie below and of those that lie above, each on one side alone.

    Summed with what rounding leaves (Kahan, Communications of the ACM 8, 1965): half a million small prisms in a row.
    """
    cut, fill, cut_left, fill_left = 0.0, 0.0, 0.0, 0.0
    for f in range(len(triangles)):
        a, b, c = triangles[f, 0], triangles[f, 1], triangles[f, 2]
        ax, ay = points[b, 0] - points[a, 0], points[b, 1] - points[a, 1]
        bx, by = points[c, 0] - points[a, 0], points[c, 1] - points[a, 1]
        volume = abs(ax * by - ay * bx) / 2.0 * (depth[a] + depth[b] + depth[c]) / 3.0
        if volume > 0.0:
            step = volume - fill_left
            total = fill + step
            fill_left = (total - fill) - step
            fill = total
        else:
            step = -volume - cut_left
            total = cut + step
            cut_left = (total - cut) - step
            cut = total
    return cut, fill
