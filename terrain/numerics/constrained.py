"""Force given edges into a planar triangulation (constrained triangulation).

Missing edges are recovered by flipping the diagonals that cross them, and the flipped ones are then turned until each
is Delaunay again or is itself wanted, after Sloan (1993), "A fast algorithm for generating constrained Delaunay
triangulations", Computers and Structures 47(3), 441-450.
"""

from __future__ import annotations

from collections import deque

import numpy as np

from terrain.grid import Array, Index
from terrain.numerics.machine_code import compiled

Edge = tuple[int, int]


def with_edges(points: Array, triangles: Index, edges: Index) -> Index:
    """The triangulation with every given edge present.

    Parameters
    ----------
    points
        (n, 2) vertices.
    triangles
        (m, 3) vertex indices covering the hull of the points.
    edges
        (e, 2) vertex indices of the wanted edges. They may share ends but must not cross, and must pass through no
        other vertex.

    Returns
    -------
    array
        (m, 3) triangles; the same array where nothing was missing.

    Raises
    ------
    ValueError
        If an edge cannot be recovered (two wanted edges cross).
    """
    missing = _missing(triangles, edges)
    if not missing:
        return triangles
    near = _near(points, triangles, missing)
    mesh = _Flips(points, triangles[near])
    for a, b in missing:
        mesh.recover(a, b)
    mesh.restore({(a, b) for a, b in np.sort(edges, axis=1).tolist()})
    changed = triangles.copy()
    changed[near] = mesh.triangles
    return changed


def _near(points: Array, triangles: Index, edges: list[Edge]) -> Index:
    """The triangles whose boxes meet that of an edge: no other is crossed by it, and what is not crossed stays."""
    corners = points[triangles]
    low, high = corners.min(axis=1), corners.max(axis=1)
    near = np.zeros(len(triangles), dtype=bool)
    for edge in edges:
        ends = points[list(edge)]
        near |= ((low <= ends.max(axis=0)) & (high >= ends.min(axis=0))).all(axis=1)
    return np.flatnonzero(near)


def _missing(triangles: Index, edges: Index) -> list[Edge]:
    """Wanted edges that no triangle has."""
    wanted = np.sort(edges, axis=1)
    wanted = wanted[np.lexsort((wanted[:, 1], wanted[:, 0]))]
    found = _found(np.ascontiguousarray(triangles), wanted, int(max(triangles.max(), wanted.max())) + 1)
    return [(int(a), int(b)) for a, b in wanted[~found]]


@compiled
def _found(triangles, wanted, vertices):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """Which of the wanted edges, lower end first and in order, some triangle has: few start at a vertex."""
    first = np.searchsorted(wanted[:, 0], np.arange(vertices + 1))
    found = np.zeros(len(wanted), np.bool_)
    for t in range(len(triangles)):
        for k in range(3):
            a, b = triangles[t, k], triangles[t, (k + 1) % 3]
            a, b = min(a, b), max(a, b)
            for e in range(first[a], first[a + 1]):
                if wanted[e, 1] == b:
                    found[e] = True
    return found


class _Flips:
    """A triangulation that can be changed by flipping the shared side of two triangles."""

    def __init__(self, points: Array, triangles: Index) -> None:
        self.points: list[list[float]] = points.tolist()
        self.triangles: list[list[int]] = triangles.tolist()
        self.beside: dict[Edge, set[int]] = {}
        self.fresh: set[Edge] = set()
        for number, triangle in enumerate(self.triangles):
            self._attach(number, triangle)

    def _attach(self, number: int, triangle: list[int]) -> None:
        for k in range(3):
            self.beside.setdefault(edge_between(triangle[k - 1], triangle[k]), set()).add(number)

    def _detach(self, number: int) -> None:
        triangle = self.triangles[number]
        for k in range(3):
            self.beside[edge_between(triangle[k - 1], triangle[k])].discard(number)

    def _turn(self, a: int, b: int, c: int) -> float:
        (ax, ay), (bx, by), (cx, cy) = self.points[a], self.points[b], self.points[c]
        return (bx - ax) * (cy - ay) - (by - ay) * (cx - ax)

    def _cross(self, a: int, b: int, c: int, d: int) -> bool:
        """Whether the open segments ab and cd cross."""
        if len({a, b, c, d}) < 4:
            return False
        return self._turn(a, b, c) * self._turn(a, b, d) < 0 and self._turn(c, d, a) * self._turn(c, d, b) < 0

    def recover(self, a: int, b: int) -> None:
        """Flip sides until the edge ab is there."""
        crossing = deque(side for side, both in self.beside.items() if len(both) == 2 and self._cross(a, b, *side))
        patience = 50 * (len(crossing) + 4) ** 2
        while crossing:
            patience -= 1
            if patience < 0:
                raise ValueError(f"edge {a}-{b} crosses another wanted edge")
            c, d = crossing.popleft()
            e, f = self._opposite(c, d)
            if not self._cross(e, f, c, d):  # the quadrilateral is not convex yet: come back later
                crossing.append((c, d))
                continue
            self._flip(c, d, e, f)
            if self._cross(a, b, e, f):
                crossing.append(edge_between(e, f))

    def restore(self, wanted: set[Edge]) -> None:
        """Turn the sides that flips left behind until each is Delaunay or wanted."""
        doubted = deque(sorted(self.fresh - wanted))
        patience = 50 * (len(doubted) + 4) ** 2
        while doubted and patience > 0:
            patience -= 1
            c, d = doubted.popleft()
            if len(self.beside.get((c, d), ())) != 2:
                continue
            e, f = self._opposite(c, d)
            if self._cross(e, f, c, d) and self._better(c, d, e, f):
                self._flip(c, d, e, f)
                around = {edge_between(e, c), edge_between(e, d), edge_between(f, c), edge_between(f, d)}
                doubted.extend(sorted(around - wanted))

    def _better(self, c: int, d: int, e: int, f: int) -> bool:
        """Whether ef makes a better diagonal than cd: the angles at e and f sum to more than half a turn."""
        (cx, cy), (dx, dy), (ex, ey), (fx, fy) = (self.points[k] for k in (c, d, e, f))
        at_e = (cx - ex) * (dx - ex) + (cy - ey) * (dy - ey), abs(self._turn(e, c, d))
        at_f = (cx - fx) * (dx - fx) + (cy - fy) * (dy - fy), abs(self._turn(f, c, d))
        sine = at_e[1] * at_f[0] + at_e[0] * at_f[1]
        return sine < -1e-12 * (abs(at_e[1] * at_f[0]) + abs(at_e[0] * at_f[1]))

    def _opposite(self, c: int, d: int) -> Edge:
        first, second = sorted(self.beside[edge_between(c, d)])
        e = next(v for v in self.triangles[first] if v not in (c, d))
        f = next(v for v in self.triangles[second] if v not in (c, d))
        return e, f

    def _flip(self, c: int, d: int, e: int, f: int) -> None:
        first, second = sorted(self.beside[edge_between(c, d)])
        self._detach(first)
        self._detach(second)
        self.triangles[first] = [e, f, c]
        self.triangles[second] = [e, f, d]
        self._attach(first, self.triangles[first])
        self._attach(second, self.triangles[second])
        self.fresh.add(edge_between(e, f))


def edge_between(a: int, b: int) -> Edge:
    """Both ends of an edge in one order, whichever way it is gone."""
    return (a, b) if a < b else (b, a)
