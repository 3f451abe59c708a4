"""Existing grade as flat facets between the shots: linear on a Delaunay triangulation."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from terrain.grid import Array, frozen
from terrain.ground.shots import Rows
from terrain.ground.trend import plane_through

_FLAT = 1e-14  # twice a triangle's area, in frame units, under which it has no inside
_ON_EDGE = 1e-9  # how far off an edge, as a share of the facet, still counts as on it


@dataclass(frozen=True)
class Triangulation:
    """Facets through the shots.

    Parameters
    ----------
    places, heights
        (n, 2) and (n,): the corners, in the frame of `LocalShots`.
    mesh
        scipy's Delaunay triangulation of the places.
    ring
        (h,) rows of the hull's corners, counter-clockwise.
    plane
        (3,) coefficients of the least-squares plane, whose slope carries the surface on beyond the hull.
    """

    places: Array
    heights: Array
    mesh: Any
    ring: Rows
    plane: Array


def fit_triangulation(places: Array, heights: Array) -> Triangulation:
    """Triangulate (n, 2) places that do not stand in one line; heights (n,) in metres."""
    from scipy.spatial import Delaunay

    return Triangulation(
        places=places,
        heights=heights,
        mesh=Delaunay(places),
        ring=frozen(hull_corners(places)),
        plane=frozen(plane_through(places, heights)),
    )


def hull_corners(places: Array) -> Rows:
    """Rows of the hull's corners, counter-clockwise, without shots that lie on an edge between two others."""
    from scipy.spatial import ConvexHull

    ring = np.asarray(ConvexHull(places).vertices)
    before, after = places[np.roll(ring, 1)], places[np.roll(ring, -1)]
    along, reach = after - before, places[ring] - before
    off = np.abs(along[:, 0] * reach[:, 1] - along[:, 1] * reach[:, 0]) / np.sum(along**2, axis=1)
    return np.asarray(ring[off > _ON_EDGE])


def triangulated(tin: Triangulation, targets: Array) -> Array:
    """Height in metres at (m, 2) targets, linear on the facet each lies in; NaN outside the shots' hull."""
    facet = _find_facets(tin.mesh, targets)
    corners = tin.mesh.simplices[facet]
    weights = _corner_weights(tin.places[corners], targets)
    heights = np.einsum("mk,mk->m", weights, tin.heights[corners])
    return np.where(facet < 0, np.nan, heights)


def carried_on(tin: Triangulation, targets: Array) -> Array:
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


def left_out_by_triangulation(tin: Triangulation) -> Array:
    """Shot minus the surface through the others, metres, (n,); NaN for shots that are corners of the hull.

    Taking a shot away changes the Delaunay triangulation only within the ring of its neighbours, and there
    the new facets are Delaunay facets of that ring alone; so each shot costs one triangulation of about six
    points.
    """
    residuals = np.full(len(tin.places), np.nan)
    start, neighbours = tin.mesh.vertex_neighbor_vertices
    corners = set(tin.ring.tolist())
    for shot in range(len(tin.places)):
        if shot not in corners:
            ring = neighbours[start[shot] : start[shot + 1]]
            residuals[shot] = tin.heights[shot] - _height_within(tin, ring, shot)
    return residuals


def _height_within(tin: Triangulation, ring: Rows, shot: int) -> float:
    """Height at a shot's place, linear on the triangulation of its ring of neighbours."""
    from scipy.spatial import Delaunay, QhullError

    try:
        mesh = Delaunay(tin.places[ring])
    except QhullError:
        return float("nan")
    target = tin.places[shot][None]
    facet = int(_find_facets(mesh, target)[0])
    corners = ring[mesh.simplices[facet]]
    weights = _corner_weights(tin.places[corners][None], target)[0]
    return float(weights @ tin.heights[corners]) if facet >= 0 else float("nan")


def _find_facets(mesh: Any, targets: Array) -> Rows:
    """Facet that holds each target, -1 outside.

    scipy works the facets' transforms out one small LAPACK call each on first use; with several BLAS threads
    on a busy machine that costs seconds, so it is held to one.
    """
    from threadpoolctl import threadpool_limits

    with threadpool_limits(limits=1, user_api="blas"):
        return np.asarray(mesh.find_simplex(targets, tol=_ON_EDGE))


def _corner_weights(corners: Array, targets: Array) -> Array:
    """Barycentric weights (m, 3) of (m, 2) targets in triangles (m, 3, 2)."""
    first, second = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    reach = targets - corners[:, 0]
    area = first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0]
    area = np.where(np.abs(area) < _FLAT, np.copysign(_FLAT, area), area)
    v = (reach[:, 0] * second[:, 1] - reach[:, 1] * second[:, 0]) / area
    w = (first[:, 0] * reach[:, 1] - first[:, 1] * reach[:, 0]) / area
    weights = np.clip(np.column_stack([1.0 - v - w, v, w]), 0.0, 1.0)
    return np.asarray(weights / weights.sum(axis=1, keepdims=True))


def _nearest_on_hull(tin: Triangulation, targets: Array) -> tuple[Array, Array]:
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
