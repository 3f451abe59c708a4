"""Triangles into pixels: which face is nearest at every sample of a picture, and how near."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from terrain.grid import Array, Index
from terrain.numerics import compiled

NEAREST = 0.05  # metres before the eye: what lies nearer is cut away
# Four samples a pixel on a turned square: an edge that is nearly level or nearly upright gets five tones, not three.
TURNED = np.array([[0.375, 0.125], [0.875, 0.375], [0.125, 0.625], [0.625, 0.875]])
MIDDLE = np.array([[0.5, 0.5]])

Faces = NDArray[np.int32]
Nearness = NDArray[np.float32]


def no_faces(size: tuple[int, int], samples: int) -> tuple[Nearness, Faces]:
    """Buffers (height, width, samples) that nothing has been laid into: nearness 0, face -1."""
    shape = size[1], size[0], samples
    return np.zeros(shape, dtype=np.float32), np.full(shape, -1, dtype=np.int32)


def cut_near(seen: Array, triangles: Index) -> tuple[Array, Index, Index]:
    """Triangles less what lies behind the eye.

    Parameters
    ----------
    seen
        (v, 3) points in the camera's own axes: right, up, forward; metres.
    triangles
        (m, 3) indices into them.

    Returns
    -------
    seen, triangles, faces
        Points with those on the cut added, triangles before the eye, and (k,) which triangle each is a part of.
    """
    ahead = (seen[:, 2] > NEAREST)[triangles]
    count = ahead.sum(axis=1)
    points, kept, faces = [seen], [triangles[count == 3]], [np.flatnonzero(count == 3)]
    start = len(seen)
    for some, odd in ((count == 1, True), (count == 2, False)):
        which = np.flatnonzero(some)
        # The one corner that stands on the other side than its two neighbours comes first.
        first = np.argmax(ahead[which] == odd, axis=1)
        corners = np.take_along_axis(triangles[which], (first[:, None] + np.arange(3)) % 3, axis=1)
        lone, left, right = (seen[corners[:, k]] for k in range(3))
        cuts = [_on_the_cut(lone, other) for other in (left, right)]
        a, b = start + np.arange(len(which)), start + len(which) + np.arange(len(which))
        points += cuts
        start += 2 * len(which)
        if odd:
            kept.append(np.column_stack([corners[:, 0], a, b]))
            faces.append(which)
        else:
            kept += [np.column_stack([a, corners[:, 1], corners[:, 2]]), np.column_stack([a, corners[:, 2], b])]
            faces += [which, which]
    return np.concatenate(points), np.concatenate(kept), np.concatenate(faces)


def _on_the_cut(start: Array, end: Array) -> Array:
    """(k, 3) where lines between points before and behind the cut meet it."""
    share = (NEAREST - start[:, 2]) / (end[:, 2] - start[:, 2])
    return np.asarray(start + share[:, None] * (end - start))


@compiled
def lay_triangles(
    spots: Array,
    near: Array,
    triangles: Index,
    faces: Index,
    samples: Array,
    nearest: Nearness,
    seen: Faces,
) -> None:
    """Lay triangles into buffers, each sample keeping the nearest.

    Parameters
    ----------
    spots
        (v, 2) pixels from the top left corner.
    near
        (v,) what grows toward the eye and is even across the picture: one over the depth, or the height over a plane.
    triangles, faces
        (m, 3) indices, and (m,) what is written into `seen`.
    samples
        (s, 2) places within a pixel, 0 to 1.
    nearest, seen
        (height, width, s) buffers that are changed.
    """
    for k in range(len(triangles)):
        a, b, c = triangles[k, 0], triangles[k, 1], triangles[k, 2]
        double = (spots[b, 0] - spots[a, 0]) * (spots[c, 1] - spots[a, 1]) - (spots[c, 0] - spots[a, 0]) * (
            spots[b, 1] - spots[a, 1]
        )
        if double < 0.0:
            b, c, double = c, b, -double
        if double > 1e-12:
            _lay(spots, near, a, b, c, double, faces[k], samples, nearest, seen)


@compiled
def _lay(
    spots: Array,
    near: Array,
    a: int,
    b: int,
    c: int,
    double: float,
    face: int,
    samples: Array,
    nearest: Nearness,
    seen: Faces,
) -> None:
    """One triangle whose corners run clockwise on the screen, row by row."""
    high, wide = nearest.shape[0], nearest.shape[1]
    ax, ay, bx, by, cx, cy = spots[a, 0], spots[a, 1], spots[b, 0], spots[b, 1], spots[c, 0], spots[c, 1]
    # Of the corners' weights u, v, w: each is even across the picture.
    ux, uy = (by - cy) / double, (cx - bx) / double
    vx, vy = (cy - ay) / double, (ax - cx) / double
    u0, v0 = 1.0 - ux * ax - uy * ay, -vx * ax - vy * ay
    na, nb, nc = near[a], near[b], near[c]
    top = max(int(np.floor(min(ay, by, cy))), 0)
    bottom = min(int(np.floor(max(ay, by, cy))), high - 1)
    leftmost, rightmost = min(ax, bx, cx), max(ax, bx, cx)
    for row in range(top, bottom + 1):
        left, right = _within(ux, uy, u0, row, leftmost, rightmost)
        left, right = _within(vx, vy, v0, row, left, right)
        left, right = _within(-ux - vx, -uy - vy, 1.0 - u0 - v0, row, left, right)
        for column in range(max(int(np.floor(left)), 0), min(int(np.floor(right)), wide - 1) + 1):
            for s in range(len(samples)):
                x, y = column + samples[s, 0], row + samples[s, 1]
                u, v = u0 + ux * x + uy * y, v0 + vx * x + vy * y
                w = 1.0 - u - v
                if min(u, v, w) >= -1e-9:
                    nearer = np.float32(u * na + v * nb + w * nc)
                    if nearer > nearest[row, column, s]:
                        nearest[row, column, s] = nearer
                        seen[row, column, s] = face


@compiled
def _within(slope: float, fall: float, start: float, row: int, left: float, right: float) -> tuple[float, float]:
    """The part of a row, from `left` to `right`, in which one weight can be 0 or more anywhere down the row."""
    most = start + max(fall * row, fall * (row + 1))
    if slope > 1e-12:
        left = max(left, -most / slope - 1e-6)
    elif slope < -1e-12:
        right = min(right, -most / slope + 1e-6)
    elif most < -1e-9:
        right = left - 2.0
    return left, right
