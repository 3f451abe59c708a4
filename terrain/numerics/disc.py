"""Exact sums of a triangulated depth over a disc: area, volume, deepest place, nearest place.

The depth is linear on every triangle, so that its integral over triangle and disc has a closed form: along
the boundary, a stretch of edge inside the circle counts as the triangle it makes with the centre, a stretch
outside as the sector it is seen under. No raster, no polygon in place of the circle.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from shapely.geometry import LinearRing, MultiPolygon, Point, Polygon

from terrain.grid import Array
from terrain.numerics.above_level import above, deep_corners
from terrain.numerics.circle import held, nearest_of, ring_area, seen_from
from terrain.numerics.deepest import deepest_between
from terrain.numerics.mesh import YardMesh

ROUNDING = 1e-9  # metres: elevations of existing and finished ground that differ by less are the same
# Metres: a triangle that comes over the circle by less, a hundredth of a millimetre, only touches it. Where the edge of
# a dig or of stones crosses a keep-off the mesh's corners are snapped and put back, which leaves up to half of this.
TOUCH = 1e-5

Place = tuple[float, float]


@dataclass(frozen=True)
class DepthFacets:
    """Triangles with a depth: `corners` (m, 3, 2) and `depth` (m, 3) in metres, linear between corners."""

    corners: Array
    depth: Array

    def __len__(self) -> int:
        return len(self.corners)

    @cached_property
    def sides(self) -> tuple[Array, Array, Array, Array]:
        """West, south, east and north end (m,) of each facet, metres."""
        west, south = (-_most(-self.corners[..., axis]) for axis in (0, 1))
        east, north = (_most(self.corners[..., axis]) for axis in (0, 1))
        return west, south, east, north

    @cached_property
    def boxes(self) -> shapely.STRtree:
        """The box about each facet, found by place."""
        return shapely.STRtree(shapely.box(*self.sides))


@dataclass(frozen=True)
class DiscContent:
    """What a disc holds of a set of facets: plan area in m2 and the integral of their depth in m3."""

    area: float
    volume: float


def fill_facets(mesh: YardMesh) -> DepthFacets:
    """The part of the mesh that is raised, as triangles with their depth of fill."""
    return _deep_part(mesh, mesh.fill)


def cut_facets(mesh: YardMesh) -> DepthFacets:
    """The part of the mesh that is lowered, as triangles with their depth of cut (positive)."""
    return _deep_part(mesh, -mesh.fill)


def _deep_part(mesh: YardMesh, depth: Array) -> DepthFacets:
    """What of the mesh has some depth: of a yard that is the smaller part, which is found first."""
    return deeper_than(DepthFacets(*deep_corners(mesh.points, mesh.triangles, depth, ROUNDING)), ROUNDING)


def deeper_than(facets: DepthFacets, level: float) -> DepthFacets:
    """The part of each facet that is deeper than `level`, as facets with their depth unchanged."""
    return DepthFacets(*above(np.ascontiguousarray(facets.corners), np.ascontiguousarray(facets.depth), float(level)))


@dataclass(frozen=True)
class FacetsAround:
    """Facets seen from one place, the distance of each worked out once for all the circles about it.

    Parameters
    ----------
    centre
        The place, metres.
    corners, depth
        (m, 3, 2) metres from the centre and (m, 3) metres.
    away
        (m, 3) distance of every corner from the centre, metres.
    nearest, farthest
        (m,) distance of each facet's nearest and farthest place, metres.
    """

    centre: Place
    corners: Array
    depth: Array
    away: Array
    nearest: Array
    farthest: Array

    def content(self, radius: float) -> DiscContent:
        """Plan area (m2) and integral of depth (m3) inside a circle; exactly 0.0 where nothing is."""
        area, volume = self.contents([radius])
        return DiscContent(float(area[0]), float(volume[0]))

    def contents(self, radii: Sequence[float], level: float = -math.inf) -> Array:
        """Plan areas (m2) and integrals of depth (m3), (2, n), inside circles of n rising radii.

        `level`: only of what is deeper than that, metres, its depth unchanged.
        """
        inside: Array = self.contents_deeper(radii, [level])[0]
        return inside

    def contents_deeper(self, radii: Sequence[float], levels: Sequence[float]) -> Array:
        """The same (l, 2, n) for each of l rising levels, in one pass over the facets."""
        circles, depths = np.array(radii, dtype=float), np.array(levels, dtype=float)
        inside: Array = held(self.corners, self.depth, self.nearest, self.farthest, circles, TOUCH, depths)
        return inside

    def deepest(self, outer: float, inner: float = 0.0) -> tuple[float, Place | None]:
        """Deepest place of the facets between two circles: (depth in metres, place), or (0.0, None) without any."""
        depth, at = self._deepest([inner, outer])
        x, y = at[0].tolist()
        return float(depth[0]), (x + self.centre[0], y + self.centre[1]) if depth[0] > 0.0 else None

    def deepest_in_rings(self, radii: Sequence[float]) -> Array:
        """Depth of the deepest place in each ring between two of n + 1 rising radii (n,), metres."""
        return self._deepest(radii)[0]

    def _deepest(self, radii: Sequence[float]) -> tuple[Array, Array]:
        circles = np.array(radii, dtype=float)
        found: tuple[Array, Array] = deepest_between(
            self.corners, self.depth, self.away, self.nearest, self.farthest, circles, TOUCH
        )
        return found


def facets_around(facets: DepthFacets, centre: Place, radius: float) -> FacetsAround:
    """The facets that reach into a disc, centre and radius in metres, as seen from its centre."""
    corners, depth = np.ascontiguousarray(facets.corners), np.ascontiguousarray(facets.depth)
    return FacetsAround(centre, *seen_from(corners, depth, float(centre[0]), float(centre[1]), float(radius)))


def disc_content(facets: DepthFacets, centre: Place, radius: float) -> DiscContent:
    """Plan area (m2) and integral of depth (m3) of the facets in the disc; exactly 0.0 where none is."""
    return facets_around(facets, centre, radius).content(radius)


def depth_at(facets: DepthFacets, points: Array) -> Array:
    """(n,) depth in metres at (n, 2) points: the deepest facet over each, 0.0 where there is none."""
    at, over_it = facets.boxes.query(shapely.points(points), predicate="intersects")
    weights = _barycentric(facets.corners[over_it], points[at][:, None])[:, 0]
    depth = np.where(weights.min(axis=1) >= -1e-9, (weights * facets.depth[over_it]).sum(axis=1), 0.0)
    deepest_there = np.zeros(len(points))
    np.maximum.at(deepest_there, at, depth)
    return deepest_there


def nearest_facet(facets: DepthFacets, centre: Place) -> tuple[float, Place | None]:
    """Distance in metres from the centre to the nearest facet, and its nearest place: (inf, None) without any."""
    if not len(facets):
        return math.inf, None
    away, first = nearest_of(np.ascontiguousarray(facets.corners), float(centre[0]), float(centre[1]))
    if away == 0.0:
        return 0.0, centre
    x, y = shapely.get_coordinates(shapely.shortest_line(Point(centre), LinearRing(facets.corners[first])))[-1]
    return float(away), (float(x), float(y))


def polygon_area_in_disc(area: Polygon | MultiPolygon, centre: Place, radius: float) -> float:
    """Exact area in m2 of a polygon inside a disc; exactly 0.0 where it does not reach into the disc."""
    if area.is_empty or area.distance(Point(centre)) >= radius - TOUCH:
        return 0.0
    total = 0.0
    for part in shapely.get_parts(area):
        for number, ring in enumerate([part.exterior, *part.interiors]):
            points = shapely.get_coordinates(ring) - centre
            inside = abs(float(ring_area(points, radius)))
            total += inside if number == 0 else -inside
    return max(total, 0.0)


def _barycentric(p: Array, points: Array) -> Array:
    """Weights (m, n, 3) of the corners of each triangle for its own (m, n, 2) points."""
    a, b = (p[:, 1] - p[:, 0])[:, None], (p[:, 2] - p[:, 0])[:, None]
    offset = points - p[:, :1]
    double = _cross(a, b)
    scale = np.where(double == 0.0, np.inf, double)
    second, third = _cross(offset, b) / scale, _cross(a, offset) / scale
    return np.stack([1.0 - second - third, second, third], axis=-1)


def _most(values: Array) -> Array:
    """Largest of the three values of each triangle; numpy's own reduction is slow along so short an axis."""
    most: Array = np.maximum(np.maximum(values[:, 0], values[:, 1]), values[:, 2])
    return most


def _cross(a: Array, b: Array) -> Array:
    """The z part of the cross product along the last axis."""
    product: Array = a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0]
    return product
