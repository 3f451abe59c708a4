"""A triangulation cut along further lines: every triangle that a line meets is divided, all others stay as they are."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from terrain.grid import Array, Index

# Nodes are snapped to a hundredth of a millimetre, so that lines that meet share their points.
SNAP = 1e-5


@dataclass(frozen=True)
class Refined:
    """The triangulation with the lines in it.

    Parameters
    ----------
    points
        (n + k, 2) metres: the n vertices that were there, then those on the lines.
    triangles
        (m, 3) vertex indices, counter-clockwise.
    parent
        (m,) triangle of the old mesh that each lies in.
    corners, shares
        (k, 3) old vertices about each new one, and their weights: what is linear on the old triangles stays so.
    """

    points: Array
    triangles: Index
    parent: Index
    corners: Index
    shares: Array

    def carried(self, values: Array) -> Array:
        """(n + k,) values at all vertices from (n,) at the old ones, linear on the old triangles."""
        return np.concatenate([values, (values[self.corners] * self.shares).sum(axis=1)])


def refined(points: Array, triangles: Index, lines: Sequence[BaseGeometry]) -> Refined:
    """Cut a triangulation along lines, so that each line is a chain of its edges.

    Parameters
    ----------
    points, triangles
        (n, 2) metres and (m, 3) indices, counter-clockwise.
    lines
        Lines that do not leave the triangulation; they may cross each other and its edges.
    """
    offset = np.floor(points.mean(axis=0))
    local = points - offset
    drawn = shapely.transform(shapely.union_all(list(lines)), lambda places: places - offset)
    met = _met(local, triangles, drawn)
    sides = np.unique(np.sort(np.vstack([triangles[met][:, [k, (k + 1) % 3]] for k in range(3)]), axis=1), axis=0)
    noded = shapely.union_all([*shapely.linestrings(local[sides]), *shapely.get_parts(drawn)], grid_size=SNAP)
    faces = shapely.get_parts(shapely.polygonize(shapely.get_parts(noded)))
    faces, owner = _owned(faces, local, triangles, met)
    pieces, face = shapely.get_parts(shapely.constrained_delaunay_triangles(faces), return_index=True)
    corners = shapely.get_coordinates(shapely.get_exterior_ring(pieces)).reshape(-1, 4, 2)[:, :3]
    number, new = _numbered(corners.reshape(-1, 2), local)
    cut, parent = _turned(number.reshape(-1, 3), np.vstack([local, new]), owner[face])
    kept = np.setdiff1d(np.arange(len(triangles)), met)
    about, shares = _shares(new, len(points), cut, parent, local, triangles)
    return Refined(
        np.vstack([points, new + offset]),
        np.vstack([triangles[kept], cut]),
        np.concatenate([kept, parent]),
        about,
        shares,
    )


def _met(points: Array, triangles: Index, drawn: BaseGeometry) -> Index:
    """The triangles that the lines come near to."""
    near, corners = 10.0 * SNAP, points[triangles]
    west, south, east, north = drawn.bounds
    low, high = corners.min(axis=1), corners.max(axis=1)
    beside = (low <= [east + near, north + near]).all(axis=1) & (high >= [west - near, south - near]).all(axis=1)
    tried: Index = np.flatnonzero(beside)
    tree = shapely.STRtree(shapely.polygons(corners[tried]))
    met = tree.query(shapely.get_parts(drawn), predicate="dwithin", distance=near)[1]
    return np.asarray(tried[np.unique(met)])


def _owned(
    faces: NDArray[np.object_], points: Array, triangles: Index, met: Index
) -> tuple[NDArray[np.object_], Index]:
    """Those of the faces that lie in the triangles that are divided, and the triangle of each."""
    tree = shapely.STRtree(shapely.polygons(points[triangles[met]]))
    face, inside = tree.query(shapely.point_on_surface(faces), predicate="intersects")
    face, first = np.unique(face, return_index=True)
    return faces[face], met[inside[first]]


def _numbered(corners: Array, points: Array) -> tuple[Index, Array]:
    """Vertex of each of (m, 2) corners, and the places of those that are new, (k, 2)."""
    from scipy.spatial import cKDTree

    away, nearest = cKDTree(points).query(corners)
    is_new = away > 2.0 * SNAP
    places, which = np.unique(corners[is_new], axis=0, return_inverse=True)
    number = nearest.astype(np.int64)
    number[is_new] = len(points) + which.ravel()
    return number, places


def _turned(triangles: Index, points: Array, parent: Index) -> tuple[Index, Index]:
    """Triangles counter-clockwise, without those that have no area once their corners are numbered."""
    a, b, c = (points[triangles[:, k]] for k in range(3))
    area = (b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (b[:, 1] - a[:, 1]) * (c[:, 0] - a[:, 0])
    turned = np.where((area < 0.0)[:, None], triangles[:, [0, 2, 1]], triangles)
    sound = (np.abs(area) > 1e-14) & (turned[:, 0] != turned[:, 1]) & (turned[:, 1] != turned[:, 2])
    return turned[sound], parent[sound]


def _shares(new: Array, count: int, cut: Index, parent: Index, points: Array, triangles: Index) -> tuple[Index, Array]:
    """Old vertices about each new one, and their weights."""
    home = np.zeros(len(new), dtype=np.int64)
    for k in range(3):
        made = cut[:, k] >= count
        home[cut[made, k] - count] = parent[made]
    about = triangles[home]
    a, b, c = (points[about[:, k]] for k in range(3))
    whole = (b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (b[:, 1] - a[:, 1]) * (c[:, 0] - a[:, 0])
    of_b = ((new[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (new[:, 1] - a[:, 1]) * (c[:, 0] - a[:, 0])) / whole
    of_c = ((b[:, 0] - a[:, 0]) * (new[:, 1] - a[:, 1]) - (b[:, 1] - a[:, 1]) * (new[:, 0] - a[:, 0])) / whole
    return about, np.column_stack([1.0 - of_b - of_c, of_b, of_c])
