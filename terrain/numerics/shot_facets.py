"""Flat facets between scattered points: linear interpolation on a Delaunay triangulation."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from terrain.grid import Array, Index, Mask, frozen
from terrain.numerics.constrained import with_edges
from terrain.numerics.trend import plane_through

_FLAT = 1e-14  # twice a triangle's area, in frame units, under which it has no inside
_NO_EDGES: Index = np.empty((0, 2), dtype=np.intp)
_ON_EDGE = 1e-9  # how far off an edge, as a share of the facet, still counts as on it


@dataclass(frozen=True)
class ShotTriangulation:
    """Facets through the shots.

    Parameters
    ----------
    places, heights
        (n, 2) and (n,): the corners, metres or the unit of the places.
    mesh
        scipy's Delaunay triangulation of the places.
    facets
        (m, 3) rows of the corners of each facet: those of `mesh`, turned where a breakline asks for it.
    kept
        (k,) for each triangle of `mesh`, whether it is a facet.
    ring
        (h,) rows of the hull's corners, counter-clockwise.
    plane
        (3,) coefficients of the least-squares plane, whose slope carries the surface on beyond the hull.
    """

    places: Array
    heights: Array
    mesh: Any
    facets: Index
    kept: Mask
    ring: Index
    plane: Array


def fit_triangulation(places: Array, heights: Array, edges: Index = _NO_EDGES) -> ShotTriangulation:
    """Triangulate (n, 2) places that do not stand in one line; heights (n,) in metres.

    `edges` (e, 2) are rows that a breakline joins: each becomes a side of the facets (constrained Delaunay).
    """
    from scipy.spatial import Delaunay

    mesh = Delaunay(places)
    facets, kept = mesh.simplices, np.ones(len(mesh.simplices), dtype=bool)
    if len(edges):
        facets = with_edges(places, mesh.simplices.astype(np.int64), edges.astype(np.int64))
        kept = _among(mesh.simplices, facets)
    return ShotTriangulation(
        places=places,
        heights=heights,
        mesh=mesh,
        facets=frozen(np.array(facets, dtype=np.intp)),
        kept=frozen(kept),
        ring=frozen(hull_corners(places)),
        plane=frozen(plane_through(places, heights)),
    )


def _among(some: Index, all_of: Index) -> Mask:
    """True for each triangle of (k, 3) that has the corners of one of (m, 3)."""
    known = {tuple(corners) for corners in np.sort(all_of, axis=1).tolist()}
    return np.array([tuple(corners) in known for corners in np.sort(some, axis=1).tolist()])


def hull_corners(places: Array) -> Index:
    """Index of the hull's corners, counter-clockwise, without shots that lie on an edge between two others."""
    from scipy.spatial import ConvexHull

    ring = np.asarray(ConvexHull(places).vertices)
    before, after = places[np.roll(ring, 1)], places[np.roll(ring, -1)]
    along, reach = after - before, places[ring] - before
    off = np.abs(along[:, 0] * reach[:, 1] - along[:, 1] * reach[:, 0]) / np.sum(along**2, axis=1)
    return np.asarray(ring[off > _ON_EDGE])


def triangulated(tin: ShotTriangulation, targets: Array) -> Array:
    """Height in metres at (m, 2) targets, linear on the facet each lies in; NaN outside the shots' hull."""
    facet = np.asarray(tin.mesh.find_simplex(targets, tol=_ON_EDGE))
    corners = tin.mesh.simplices[facet]
    turned = np.flatnonzero(~tin.kept[facet] & (facet >= 0))
    if turned.size:
        corners[turned] = _turned_facets(tin, targets[turned])
    weights = _within(_barycentric(tin.places[corners], targets))
    heights = np.einsum("mk,mk->m", weights, tin.heights[corners])
    return np.where(facet < 0, np.nan, heights)


def _turned_facets(tin: ShotTriangulation, targets: Array) -> Index:
    """Corners (m, 3) of the facet about each of (m, 2) targets, among the few that breaklines turned."""
    facets = tin.facets[~_among(tin.facets, tin.mesh.simplices[tin.kept])]
    best, found = np.full(len(targets), -np.inf), np.zeros((len(targets), 3), dtype=np.intp)
    for corners in facets:
        around = tin.places[corners]
        near = np.flatnonzero(
            ((targets >= around.min(axis=0) - _ON_EDGE) & (targets <= around.max(axis=0) + _ON_EDGE)).all(axis=1)
        )
        inner = _barycentric(np.broadcast_to(around, (len(near), 3, 2)), targets[near]).min(axis=1)
        better = inner > best[near]
        best[near[better]] = inner[better]
        found[near[better]] = corners
    return found


def carried_on(tin: ShotTriangulation, targets: Array) -> Array:
    """Height in metres at (m, 2) targets, on beyond the hull: the nearest hull point's height plus the
    plane's rise.

    The nearest point of a convex hull moves continuously with the target, so the surface has no step at the
    hull.
    """
    heights = triangulated(tin, targets)
    outside = np.flatnonzero(np.isnan(heights))
    if outside.size:
        edge, at_edge = _nearest_on_hull(tin, targets[outside])
        heights[outside] = at_edge + (targets[outside] - edge) @ tin.plane[1:]
    return heights


def left_out_by_triangulation(tin: ShotTriangulation) -> Array:
    """Shot minus the surface through the others, metres, (n,); NaN for shots that are corners of the hull.

    Taking a shot away changes the Delaunay triangulation only within the ring of its neighbours, and there
    the new facets are Delaunay facets of that ring alone; so each shot costs one triangulation of about six
    points. The sides of that ring may be breaklines, which stay.
    """
    residuals = np.full(len(tin.places), np.nan)
    corners = set(tin.ring.tolist())
    creased = not bool(tin.kept.all())
    by_shot = _sides_across(tin.facets, len(tin.places))
    for shot in range(len(tin.places)):
        if shot not in corners:
            residuals[shot] = tin.heights[shot] - _height_within(tin, by_shot[shot], shot, creased)
    return residuals


def _sides_across(facets: Index, count: int) -> list[list[tuple[int, int]]]:
    """For each corner, the sides across from it in the facets that it has: the ring of its neighbours."""
    sides: list[list[tuple[int, int]]] = [[] for _ in range(count)]
    for a, b, c in facets.tolist():
        sides[a].append((b, c))
        sides[b].append((c, a))
        sides[c].append((a, b))
    return sides


def _height_within(tin: ShotTriangulation, sides: list[tuple[int, int]], shot: int, creased: bool) -> float:
    """Height at a shot's place, linear on its neighbours' triangulation; NaN where they have none."""
    from scipy.spatial import Delaunay, QhullError

    ring, local = np.unique(np.array(sides, dtype=np.intp), return_inverse=True)
    try:
        around = Delaunay(tin.places[ring]).simplices.astype(np.int64)
        if creased:
            around = with_edges(tin.places[ring], around, local.reshape(-1, 2).astype(np.int64))
    except (QhullError, ValueError):
        return float("nan")
    facets = ring[around]
    target = np.broadcast_to(tin.places[shot], (len(facets), 2))
    weights = _barycentric(tin.places[facets], target)
    best = int(np.argmax(weights.min(axis=1)))
    return float(_within(weights[best : best + 1])[0] @ tin.heights[facets[best]])


def _barycentric(corners: Array, targets: Array) -> Array:
    """Barycentric weights (m, 3) of (m, 2) targets in triangles (m, 3, 2)."""
    first, second = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    reach = targets - corners[:, 0]
    area = first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0]
    area = np.where(np.abs(area) < _FLAT, np.copysign(_FLAT, area), area)
    v = (reach[:, 0] * second[:, 1] - reach[:, 1] * second[:, 0]) / area
    w = (first[:, 0] * reach[:, 1] - first[:, 1] * reach[:, 0]) / area
    return np.column_stack([1.0 - v - w, v, w])


def _within(weights: Array) -> Array:
    """Weights held between 0 and 1, so that a sliver on the hull cannot throw a height out."""
    held = np.clip(weights, 0.0, 1.0)
    return np.asarray(held / held.sum(axis=1, keepdims=True))


def _nearest_on_hull(tin: ShotTriangulation, targets: Array) -> tuple[Array, Array]:
    """Nearest point (m, 2) on the hull's boundary and the surface's height (m,) there."""
    tail = tin.ring
    head = np.roll(tail, -1)
    edges = tin.places[head] - tin.places[tail]
    best = np.full(len(targets), np.inf)
    point, height = np.empty_like(targets), np.empty(len(targets))
    for row, edge in enumerate(edges):
        along = np.clip((targets - tin.places[tail[row]]) @ edge / (edge @ edge), 0.0, 1.0)
        foot = tin.places[tail[row]] + along[:, None] * edge
        gap = np.sum((targets - foot) ** 2, axis=1)
        nearer = gap < best
        best[nearer], point[nearer] = gap[nearer], foot[nearer]
        rise = tin.heights[head[row]] - tin.heights[tail[row]]
        height[nearer] = tin.heights[tail[row]] + along[nearer] * rise
    return point, height


def hull_area(tin: ShotTriangulation) -> float:
    """Area of the hull of the shots in frame units, by the shoelace formula."""
    corners = tin.places[tin.ring]
    after = np.roll(corners, -1, axis=0)
    return 0.5 * float(np.sum(corners[:, 0] * after[:, 1] - corners[:, 1] * after[:, 0]))
