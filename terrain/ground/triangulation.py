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
    facet = np.asarray(tin.mesh.find_simplex(targets, tol=_ON_EDGE))
    corners = tin.mesh.simplices[facet]
    weights = _within(_barycentric(tin.places[corners], targets))
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
    """Height at a shot's place, linear on its neighbours' triangulation; NaN where they have none."""
    from scipy.spatial import Delaunay, QhullError

    try:
        facets = ring[Delaunay(tin.places[ring]).simplices]
    except QhullError:
        return float("nan")
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


def facet_centres(tin: Triangulation) -> Array:
    """Centres of the facets, (k, 2) in frame units: places between the shots, evenly over the hull."""
    return np.asarray(tin.places[tin.mesh.simplices].mean(axis=1))


def hull_area(tin: Triangulation) -> float:
    """Area of the hull of the shots in frame units, by the shoelace formula."""
    corners = tin.places[tin.ring]
    after = np.roll(corners, -1, axis=0)
    return 0.5 * float(np.sum(corners[:, 0] * after[:, 1] - corners[:, 1] * after[:, 0]))
