"""Facets on which the slope limit must hold, and a limiter that lowers fill until it does.

A surface whose nodes keep a slope limit pair by pair can still have triangles 1.4 times too steep (datasets and
baselines, part C). So the limit is held on every facet: each grid cell cut both ways, which bounds the central
difference at every node and the bilinear slope in every cell as well, and each triangle of the strip along the edges.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from terrain.grid import Array, Grid, Index, Mask
from terrain.numerics.machine_code import compiled
from terrain.numerics.triangulation import Triangulation

# Facets are lowered to the limit less this share of it, so that rounding to single precision in a mesh file cannot
# carry a facet over the limit; one within half of it is left alone, which lets the lowering come to an end.
ROUNDING_MARGIN = 1e-4
LEAST_FILL = 1e-5  # metres; thinner fill is taken away, since nobody can place it


@dataclass(frozen=True)
class Facets:
    """Triangles over mesh vertices with the numbers that give their slope from three elevations.

    slope^2 = form[0] u^2 + 2 form[1] u v + form[2] v^2, with u, v the rises from the first corner to the others.
    `corners` is (m, 3), `form` (m, 3) in 1/m2; `first`, `of` list the facets of each vertex: of[first[v]:first[v+1]].
    Numbers of half the width: a yard has more facets than anything else.
    """

    corners: NDArray[np.int32]
    form: Array
    first: Index
    of: NDArray[np.int32]

    def slopes(self, elevation: Array) -> Array:
        """(m,) rise/run of each facet from (n,) vertex elevations in metres."""
        slopes: Array = _slopes(self.corners, self.form, np.ascontiguousarray(elevation, dtype=np.float64))
        return slopes


@compiled
def _slopes(corners: Index, form: Array, z: Array) -> Array:
    out = np.empty(len(corners))
    for f in range(len(corners)):
        u, v = z[corners[f, 1]] - z[corners[f, 0]], z[corners[f, 2]] - z[corners[f, 0]]
        out[f] = np.sqrt(max(0.0, form[f, 0] * u * u + 2.0 * form[f, 1] * u * v + form[f, 2] * v * v))
    return out


def facets_of(grid: Grid, mesh: Triangulation, carries: Mask, stones: Mask) -> tuple[Facets, Index]:
    """Facets that touch ground where fill may come to lie, and the grid nodes that they need beside the mesh.

    Every grid cell with a node that may carry fill counts, also where an edge runs through it and the mesh has strip
    triangles instead: the grid is delivered too. Nodes too near an edge for the mesh are numbered after its points.

    Parameters
    ----------
    carries
        (ny, nx) True at grid nodes that may carry fill.
    stones
        (ny, nx) True at nodes among the stones of a retained edge: the slope limit does not apply across it.

    Returns
    -------
    tuple
        The facets over vertices 0..n-1 (mesh) and n.. (the further nodes), and the flattened grid index of the latter.
    """
    number = np.full(grid.nx * grid.ny, -1, dtype=np.int64)
    number[mesh.nodes] = np.arange(len(mesh.nodes))
    touched = carries[:-1, :-1] | carries[:-1, 1:] | carries[1:, :-1] | carries[1:, 1:]
    touched &= ~(stones[:-1, :-1] | stones[:-1, 1:] | stones[1:, :-1] | stones[1:, 1:])
    further = _unnumbered(touched, number)
    number[further] = len(mesh.points) + np.arange(len(further))
    strip = mesh.triangles[2 * len(mesh.cells) :][mesh.inside[2 * len(mesh.cells) :]]
    free = np.zeros(len(mesh.points), dtype=bool)
    free[: len(mesh.nodes)] = carries.ravel()[mesh.nodes]
    first, second, third = strip.T
    strip = strip[free[first] | free[second] | free[third]].astype(np.int32)
    corners = np.concatenate([_both_cuts(touched, number), strip])
    points = np.vstack([mesh.points, grid.nodes[further]])
    return facets_over(points, corners), further


@compiled
def _unnumbered(touched, number):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """Flattened index of the nodes of touched cells that have no number yet, in order."""
    nx = touched.shape[1] + 1
    found = np.zeros(number.size, np.bool_)
    for j in range(touched.shape[0]):
        for i in range(nx - 1):
            if touched[j, i]:
                at = j * nx + i
                for node in (at, at + 1, at + nx, at + nx + 1):
                    found[node] = number[node] < 0
    return np.flatnonzero(found)


@compiled
def _both_cuts(touched, number):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """The four triangles of each touched cell, cut both ways, (m, 3)."""
    nx = touched.shape[1] + 1
    corners, count = np.empty((4 * touched.sum(), 3), np.int32), 0
    for j in range(touched.shape[0]):
        for i in range(nx - 1):
            if touched[j, i]:
                at = j * nx + i
                a, b, c, d = number[at], number[at + 1], number[at + nx + 1], number[at + nx]
                for first, second, third in ((a, b, c), (a, c, d), (a, b, d), (b, c, d)):
                    corners[count, 0], corners[count, 1], corners[count, 2] = first, second, third
                    count += 1
    return corners


def facets_over(points: Array, corners: Index) -> Facets:
    """The facets with the given corners (m, 3), over vertices (n, 2) in metres."""
    narrow = corners.astype(np.int32, copy=False)
    return Facets(narrow, slope_form(points, narrow), *_facets_by_vertex(narrow, len(points)))


def slope_form(points: Array, corners: Index | NDArray[np.int32]) -> Array:
    """(m, 3) coefficients of slope^2 in the rises along two sides of each triangle; see `Facets`."""
    form: Array = _slope_form(points, corners)
    return form


@compiled
def _slope_form(points: Array, corners: Index) -> Array:
    form = np.empty((len(corners), 3))
    for f in range(len(corners)):
        a, b, c = corners[f, 0], corners[f, 1], corners[f, 2]
        px, py = points[b, 0] - points[a, 0], points[b, 1] - points[a, 1]
        qx, qy = points[c, 0] - points[a, 0], points[c, 1] - points[a, 1]
        twice_area = px * qy - py * qx
        square = twice_area * twice_area
        form[f, 0] = (qx * qx + qy * qy) / square
        form[f, 1] = -(px * qx + py * qy) / square
        form[f, 2] = (px * px + py * py) / square
    return form


@compiled
def _facets_by_vertex(corners: NDArray[np.int32], vertices: int) -> tuple[Index, NDArray[np.int32]]:
    """Facet numbers grouped by vertex, in order: start of each group (vertices + 1,), and the numbers."""
    first = np.zeros(vertices + 1, np.int64)
    for f in range(len(corners)):
        for k in range(3):
            first[corners[f, k] + 1] += 1
    for v in range(vertices):
        first[v + 1] += first[v]
    at, of = first[:-1].copy(), np.empty(corners.size, np.int32)
    for f in range(len(corners)):
        for k in range(3):
            of[at[corners[f, k]]] = f
            at[corners[f, k]] += 1
    return first, of


@compiled
def _slope2(form: Array, f: int, za: float, zb: float, zc: float) -> float:
    u, v = zb - za, zc - za
    result: float = form[f, 0] * u * u + 2.0 * form[f, 1] * u * v + form[f, 2] * v * v
    return result


@compiled
def _lowered(form: Array, f: int, k: int, za: float, zb: float, zc: float, target2: float) -> tuple[float, bool]:
    """Change of corner k that brings facet f to target2, and whether there is one; else its change to the flattest."""
    # slope^2 as a function of a change t of that corner: (curve) t^2 + 2 (lean) t + now
    now = _slope2(form, f, za, zb, zc)
    u, v = zb - za, zc - za
    if k == 1:
        curve, lean = form[f, 0], form[f, 0] * u + form[f, 1] * v
    elif k == 2:
        curve, lean = form[f, 2], form[f, 1] * u + form[f, 2] * v
    else:
        curve = form[f, 0] + 2.0 * form[f, 1] + form[f, 2]
        lean = -(form[f, 0] * u + form[f, 1] * (u + v) + form[f, 2] * v)
    under = lean * lean - curve * (now - target2)
    if under < 0.0:
        return -lean / curve, False
    return (-lean + np.sqrt(under)) / curve, True


@compiled
def _edge_change(form: Array, f: int, k: int, z: Array, a: int, b: int, c: int, target2: float) -> float:
    """Change that brings corner k down to the slope limit along its two sides (0 or less), metres."""
    area = form[f, 0] * form[f, 2] - form[f, 1] * form[f, 1]
    ab, ac = form[f, 2] / area, form[f, 0] / area
    bc = (form[f, 0] + form[f, 2] + 2.0 * form[f, 1]) / area
    if k == 0:
        top = min(z[b] + np.sqrt(target2 * ab), z[c] + np.sqrt(target2 * ac)) - z[a]
    elif k == 1:
        top = min(z[a] + np.sqrt(target2 * ab), z[c] + np.sqrt(target2 * bc)) - z[b]
    else:
        top = min(z[a] + np.sqrt(target2 * ac), z[b] + np.sqrt(target2 * bc)) - z[c]
    result: float = min(top, 0.0)
    return result


@compiled
def _pick(
    corners: Index, form: Array, f: int, z: Array, ground: Array, free: NDArray[np.bool_], target2: float
) -> tuple[int, float]:
    """The corner to bring down and its change in metres; (-1, 0) where none can come down.

    First choice is the highest corner that alone can bring the facet to its bound. Where none can, two sides are each
    too steep, and each high corner comes down to the limit along its sides: that much is needed whatever follows, so
    nothing is lowered for the sake of a neighbour that is about to come down itself. Flattening is the last resort.
    """
    a, b, c = corners[f, 0], corners[f, 1], corners[f, 2]
    chosen, change, rank, height = -1, 0.0, 0, -np.inf
    for k in range(3):
        v = corners[f, k]
        if not free[v] or z[v] <= ground[v]:
            continue
        t, enough = _lowered(form, f, k, z[a], z[b], z[c], target2)
        order = 3
        if not enough:
            side = _edge_change(form, f, k, z, a, b, c, target2)
            order, t = (2, side) if side < -1e-12 else (1, t)
        # A change within rounding would never end.
        if t < -1e-12 and (order > rank or (order == rank and z[v] > height)):
            chosen, change, rank, height = v, t, order, z[v]
    return chosen, change


@compiled
def _queue_round(round_it: Index, f: int, queue: Index, queued: NDArray[np.bool_], tail: int) -> int:
    """Queue the facets round a vertex, but for facet f and those that wait already; returns the queue's new end."""
    for g in round_it:
        if not queued[g] and g != f:
            queue[tail] = g
            queued[g] = True
            tail = (tail + 1) % len(queue)
    return tail


@compiled
def _limit(
    corners: Index,
    form: Array,
    first: Index,
    of: Index,
    z: Array,
    ground: Array,
    free: NDArray[np.bool_],
    trigger2: Array,
    target2: Array,
    least: float,
) -> int:
    """Lower z in place, never below ground, until no facet exceeds its bound; returns the number of steps."""
    m = corners.shape[0]
    queue = np.empty(m + 1, dtype=np.int64)
    queued = np.zeros(m, dtype=np.bool_)
    head, tail = 0, 0
    for f in range(m):
        if _slope2(form, f, z[corners[f, 0]], z[corners[f, 1]], z[corners[f, 2]]) > trigger2[f]:
            queue[tail] = f
            queued[f] = True
            tail += 1
    steps = 0
    while head != tail:
        f = queue[head]
        head = (head + 1) % (m + 1)
        queued[f] = False
        while _slope2(form, f, z[corners[f, 0]], z[corners[f, 1]], z[corners[f, 2]]) > trigger2[f]:
            v, change = _pick(corners, form, f, z, ground, free, target2[f])
            if v < 0:
                break
            steps += 1
            z[v] += change
            if z[v] < ground[v] + least:
                z[v] = ground[v]
            tail = _queue_round(of[first[v] : first[v + 1]], f, queue, queued, tail)
    return steps


def keep_slope(
    facets: Facets, ground: Array, proposed: Array, free: NDArray[np.bool_], slope: float
) -> tuple[Array, int]:
    """Lower the proposed elevations until every facet keeps the slope limit.

    Where the ground itself is steeper than the limit, the bound of a facet is the ground's own slope there: the berm
    never makes it steeper. Lowering always ends, since no fill at all keeps every bound, and for convex slope^2 some
    corner that carries fill makes a facet flatter on its way down while it is steeper than the ground under it.

    Parameters
    ----------
    ground, proposed
        (n,) vertex elevations in metres, proposed nowhere below ground.
    free
        (n,) True at vertices that may carry fill.
    slope
        Limit, rise/run.

    Returns
    -------
    tuple
        (n,) elevations, and the number of lowering steps it took.
    """
    z = proposed.copy()
    return z, lowered_to_slope(facets, facets.slopes(ground), ground, z, free, slope)


def lowered_to_slope(facets: Facets, own: Array, ground: Array, z: Array, free: NDArray[np.bool_], slope: float) -> int:
    """The same in place, with the (m,) slope of the ground on every facet, rise/run; answers the number of steps."""
    target = np.maximum(slope * (1.0 - ROUNDING_MARGIN), own)
    trigger = np.maximum(slope * (1.0 - 0.5 * ROUNDING_MARGIN), own * (1.0 + 1e-9) + 1e-12)
    of = facets.first, facets.of
    return int(_limit(facets.corners, facets.form, *of, z, ground, free, trigger**2, target**2, LEAST_FILL))
