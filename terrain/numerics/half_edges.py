"""Sides of triangles as directed edges, and which of them two triangles share."""

from __future__ import annotations

import numpy as np

from terrain.grid import Index, Mask
from terrain.numerics.machine_code import compiled


def directed_edges(triangles: Index) -> Index:
    """The 3m edges of (m, 3) triangles, (3m, 2), each in its triangle's direction."""
    return np.concatenate([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]])


def with_reverse(edges: Index) -> Mask:
    """(e,) which of (e, 2) directed edges are there the other way round too: two triangles share them."""
    shared: Mask = _with_reverse(edges, int(edges.max()) + 1 if edges.size else 0)
    return shared


@compiled
def _with_reverse(edges, vertices):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """The ends of all edges are put down by where they start; then each looks among the few that start at its end."""
    first = np.zeros(vertices + 1, np.int64)
    for e in range(len(edges)):
        first[edges[e, 0] + 1] += 1
    for v in range(vertices):
        first[v + 1] += first[v]
    ends, at = np.empty(len(edges), np.int64), first[:-1].copy()
    for e in range(len(edges)):
        start = edges[e, 0]
        ends[at[start]] = edges[e, 1]
        at[start] += 1
    shared = np.zeros(len(edges), np.bool_)
    for e in range(len(edges)):
        for k in range(first[edges[e, 1]], first[edges[e, 1] + 1]):
            if ends[k] == edges[e, 0]:
                shared[e] = True
                break
    return shared
