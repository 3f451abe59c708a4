"""Triangles with a depth, and what of them is deeper than a level: compiled loops."""

from __future__ import annotations

import numpy as np

from terrain.numerics.machine_code import compiled


@compiled
def deep_corners(points, triangles, depth, level):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """Corners (m, 3, 2) and depth (m, 3) of the triangles with a corner that is deeper than a level."""
    count = 0
    for f in range(len(triangles)):
        a, b, c = triangles[f, 0], triangles[f, 1], triangles[f, 2]
        count += depth[a] > level or depth[b] > level or depth[c] > level
    corners, deep, at = np.empty((count, 3, 2)), np.empty((count, 3)), 0
    for f in range(len(triangles)):
        a, b, c = triangles[f, 0], triangles[f, 1], triangles[f, 2]
        if depth[a] > level or depth[b] > level or depth[c] > level:
            for k in range(3):
                v = triangles[f, k]
                corners[at, k, 0], corners[at, k, 1], deep[at, k] = points[v, 0], points[v, 1], depth[v]
            at += 1
    return corners, deep


@compiled
def pieces_above(p, depth, f, level, corners, deep):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """What of triangle f of (m, 3, 2), with depth (m, 3), is deeper than a level, put into corners (2, 3, 2) and deep
    (2, 3).

    Answers how many pieces there are: one triangle, or a quadrangle as two.
    """
    count, lone = 0, 0
    for k in range(3):
        count += depth[f, k] > level
    if count == 0:
        return 0
    for k in range(3):
        if (depth[f, k] > level) == (count == 1):
            lone = k  # the corner that is alone on its side of the level
    a, b, alone = (lone + 1) % 3, (lone + 2) % 3, depth[f, lone]
    if count == 3:
        _put(p, depth, f, lone, corners, deep, 0, 0)
        _put(p, depth, f, a, corners, deep, 0, 1)
        _put(p, depth, f, b, corners, deep, 0, 2)
        return 1
    to_a, to_b = (level - alone) / (depth[f, a] - alone), (level - alone) / (depth[f, b] - alone)
    if count == 1:
        _put(p, depth, f, lone, corners, deep, 0, 0)
        _put_between(p, f, lone, a, to_a, level, corners, deep, 0, 1)
        _put_between(p, f, lone, b, to_b, level, corners, deep, 0, 2)
        return 1
    for piece in range(2):
        _put_between(p, f, lone, a, to_a, level, corners, deep, piece, 0)
        _put(p, depth, f, b if piece else a, corners, deep, piece, 1)
    _put(p, depth, f, b, corners, deep, 0, 2)
    _put_between(p, f, lone, b, to_b, level, corners, deep, 1, 2)
    return 2


@compiled
def _put(p, depth, f, k, corners, deep, piece, corner):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """Corner k of triangle f as a corner of a piece."""
    corners[piece, corner, 0], corners[piece, corner, 1] = p[f, k, 0], p[f, k, 1]
    deep[piece, corner] = depth[f, k]


@compiled
def _put_between(p, f, start, end, share, level, corners, deep, piece, corner):  # type: ignore[no-untyped-def]  # pragma: no cover
    """The place where the edge from one corner of triangle f to another crosses the level, as a corner of a piece."""
    for axis in range(2):
        corners[piece, corner, axis] = p[f, start, axis] + share * (p[f, end, axis] - p[f, start, axis])
    deep[piece, corner] = level


@compiled
def above(p, depth, level):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """All pieces of triangles, (m, 3, 2) with depth (m, 3), that are deeper than a level: corners and depth."""
    count = 0
    for f in range(len(p)):
        over = 0
        for k in range(3):
            over += depth[f, k] > level
        count += 0 if over == 0 else 2 if over == 2 else 1
    corners, deep, at = np.empty((count, 3, 2)), np.empty((count, 3)), 0
    piece, its_depth = np.empty((2, 3, 2)), np.empty((2, 3))
    for f in range(len(p)):
        for n in range(pieces_above(p, depth, f, level, piece, its_depth)):
            for k in range(3):
                _put(piece, its_depth, n, k, corners, deep, at, k)
            at += 1
    return corners, deep
