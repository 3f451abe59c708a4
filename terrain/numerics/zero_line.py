"""The part of a triangulation where one surface lies above another, cut along the line where they meet."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from terrain.grid import Array, Index


@dataclass(frozen=True)
class Slab:
    """Two surfaces on one triangulation.

    Parameters
    ----------
    points
        (n, 2) plan coordinates in metres.
    triangles
        (m, 3) vertex indices, counter-clockwise seen from above.
    lower, upper
        (n,) elevations in metres.
    """

    points: Array
    triangles: Index
    lower: Array
    upper: Array


def part_above(slab: Slab) -> Slab:
    """Keep what lies above: triangles that hold both signs are cut along their zero line.

    Cut points are shared by the two triangles of an edge, so the part stays a conforming triangulation.
    Vertices keep their numbers; the cut points come after them, with `lower` equal to `upper`.
    """
    depth = (slab.upper - slab.lower)[slab.triangles]
    mixed = (depth.min(axis=1) < 0.0) & (depth.max(axis=1) > 0.0)
    whole = slab.triangles[(depth.max(axis=1) > 0.0) & ~mixed]
    if not mixed.any():
        return Slab(slab.points, whole, slab.lower, slab.upper)
    ones, twos = _turn_to_single_corner(slab.triangles[mixed], depth[mixed])
    pairs = np.concatenate([ones[:, [0, 1]], ones[:, [0, 2]], twos[:, [1, 0]], twos[:, [2, 0]]])
    cut, meeting = _cut_points(slab, pairs)
    first, second, third, fourth = np.split(meeting, np.cumsum([len(ones), len(ones), len(twos)]))
    pieces = [
        np.column_stack([ones[:, 0], first, second]),
        np.column_stack([third, twos[:, 1], twos[:, 2]]),
        np.column_stack([third, twos[:, 2], fourth]),
    ]
    return Slab(cut.points, np.concatenate([whole, *pieces]), cut.lower, cut.upper)


def _turn_to_single_corner(triangles: Index, depth: Array) -> tuple[Index, Index]:
    """Mixed triangles with one corner above, and those with one below, each with that corner first."""
    single = (depth > 0.0).sum(axis=1) == 1
    ones, twos = triangles[single], triangles[~single]
    high, low = depth[single].argmax(axis=1), depth[~single].argmin(axis=1)
    return turned(ones, high), turned(twos, low)


def turned(triangles: Index, first: Index) -> Index:
    """Triangles (m, 3) with the same winding that begin at corner `first` (m,), each 0, 1 or 2."""
    order = (first[:, None] + np.arange(3)) % 3
    return np.take_along_axis(triangles, order, axis=1)


def _cut_points(slab: Slab, pairs: Index) -> tuple[Slab, Index]:
    """Add the zero points of edges (above, not above); returns the longer arrays and each edge's vertex."""
    depth = slab.upper - slab.lower
    crossed = depth[pairs[:, 1]] < 0.0
    edges, number = np.unique(np.sort(pairs[crossed], axis=1), axis=0, return_inverse=True)
    meeting = pairs[:, 1].copy()  # a corner at depth zero is itself the meeting point
    meeting[crossed] = len(depth) + number.reshape(-1)
    start, end = edges.T
    share = depth[start] / (depth[start] - depth[end])
    points = slab.points[start] + share[:, None] * (slab.points[end] - slab.points[start])
    upper = slab.upper[start] + share * (slab.upper[end] - slab.upper[start])
    longer = Slab(
        np.concatenate([slab.points, points]),
        slab.triangles,
        np.concatenate([slab.lower, upper]),
        np.concatenate([slab.upper, upper]),
    )
    return longer, meeting
