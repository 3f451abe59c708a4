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

from terrain.grid import Array, Index, Mask
from terrain.numerics.circle import deepest_corner, held, ring_area, seen_from, stretches
from terrain.numerics.mesh import YardMesh, gradient

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
    return deeper_than(_facets(mesh, mesh.fill), ROUNDING)


def cut_facets(mesh: YardMesh) -> DepthFacets:
    """The part of the mesh that is lowered, as triangles with their depth of cut (positive)."""
    return deeper_than(_facets(mesh, -mesh.fill), ROUNDING)


def _facets(mesh: YardMesh, depth: Array) -> DepthFacets:
    """The facets that have some depth at one corner at least: of a yard that is the smaller part."""
    deep = depth > ROUNDING
    first, second, third = mesh.triangles.T
    triangles = mesh.triangles[deep[first] | deep[second] | deep[third]]
    return DepthFacets(mesh.points[triangles], depth[triangles])


def deeper_than(facets: DepthFacets, level: float) -> DepthFacets:
    """The part of each facet that is deeper than `level`, as facets with their depth unchanged."""
    above = facets.depth > level
    count = above[:, 0].astype(np.int8) + above[:, 1] + above[:, 2]
    pieces = [(facets.corners[count == 3], facets.depth[count == 3])]
    for corners_above in (1, 2):
        pieces += _clipped(facets, above, count == corners_above, level, corners_above)
    return DepthFacets(np.concatenate([c for c, _ in pieces]), np.concatenate([d for _, d in pieces]))


def _clipped(
    facets: DepthFacets, above: Mask, chosen: Mask, level: float, corners_above: int
) -> list[tuple[Array, Array]]:
    """Pieces above the level of triangles that the level crosses: one triangle, or a quadrangle as two."""
    lone = np.argmax(above[chosen] == (corners_above == 1), axis=1)
    turn = (lone[:, None] + np.arange(3)) % 3
    p = np.take_along_axis(facets.corners[chosen], turn[:, :, None], axis=1)
    v = np.take_along_axis(facets.depth[chosen], turn, axis=1)
    share = (level - v[:, :1]) / (v[:, 1:] - v[:, :1])
    crossing = p[:, :1] + share[:, :, None] * (p[:, 1:] - p[:, :1])
    first, second = crossing[:, 0], crossing[:, 1]
    at_level = np.full(len(p), level)
    if corners_above == 1:
        return [(np.stack([p[:, 0], first, second], axis=1), np.stack([v[:, 0], at_level, at_level], axis=1))]
    return [
        (np.stack([first, p[:, 1], p[:, 2]], axis=1), np.stack([at_level, v[:, 1], v[:, 2]], axis=1)),
        (np.stack([first, p[:, 2], second], axis=1), np.stack([at_level, v[:, 2], at_level], axis=1)),
    ]


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
        circles = np.array(radii, dtype=float)
        inside: Array = held(self.corners, self.depth, self.nearest, self.farthest, circles, TOUCH, level)
        low, high = self._depths
        cut = (low <= level) & (high > level)
        if not cut.any():
            return inside
        part = deeper_than(DepthFacets(self.corners[cut], self.depth[cut]), level)
        return inside + facets_around(part, (0.0, 0.0), math.inf).contents(radii)

    @cached_property
    def _depths(self) -> tuple[Array, Array]:
        """The least and the greatest depth of each facet (m,), metres."""
        return -_most(-self.depth), _most(self.depth)

    def deepest(self, outer: float, inner: float = 0.0) -> tuple[float, Place | None]:
        """Deepest place of the facets between two circles: (depth in metres, place), or (0.0, None) without any.

        A linear depth is greatest at a corner, where an edge meets a circle, or where its gradient meets
        the outer circle.
        """
        ends = self.nearest, self.farthest
        best, at, corner, crossed = deepest_corner(self.depth, self.away, *ends, float(outer), float(inner), TOUCH)
        east, north = self.corners[at, corner] if best > 0.0 else (0.0, 0.0)
        place: Place | None = (float(east), float(north)) if best > 0.0 else None
        # Only a facet that a circle crosses can be deepest off its corners, and only if it has a deeper corner.
        on_circles, points = _on_circles(self.corners[crossed], self.depth[crossed], outer, inner)
        other, other_place = _largest(on_circles, points)
        if other > best:
            best, place = other, other_place
        return best, None if place is None else (place[0] + self.centre[0], place[1] + self.centre[1])


def facets_around(facets: DepthFacets, centre: Place, radius: float) -> FacetsAround:
    """The facets that reach into a disc, centre and radius in metres, as seen from its centre."""
    corners, depth = np.ascontiguousarray(facets.corners), np.ascontiguousarray(facets.depth)
    return FacetsAround(centre, *seen_from(corners, depth, float(centre[0]), float(centre[1]), float(radius)))


def disc_content(facets: DepthFacets, centre: Place, radius: float) -> DiscContent:
    """Plan area (m2) and integral of depth (m3) of the facets in the disc; exactly 0.0 where none is."""
    return facets_around(facets, centre, radius).content(radius)


def _largest(depth: Array, points: Array) -> tuple[float, Place | None]:
    """Largest of (m, n) depths and its (m, n, 2) point; (0.0, None) where none is above 0."""
    if not depth.size or depth.max() <= 0.0:
        return 0.0, None
    at = np.unravel_index(np.argmax(depth), depth.shape)
    return float(depth[at]), (float(points[at][0]), float(points[at][1]))


def _on_circles(p: Array, depth: Array, outer: float, inner: float) -> tuple[Array, Array]:
    """Depth (m, n) at the points (m, n, 2) where facets' edges and gradients meet the circles; 0 if outside."""
    candidates = [_uphill(p, depth, outer)]
    for radius in {outer, inner} - {0.0}:
        for k in range(3):
            start, end = p[:, k], p[:, (k + 1) % 3]
            stretch = stretches(start, end, radius)
            candidates += [(start + t[:, None] * (end - start))[:, None] for t in stretch]
    points = np.concatenate(candidates, axis=1)
    away = np.hypot(points[..., 0], points[..., 1])
    weights = _barycentric(p, points)
    valid = (away <= outer + TOUCH) & (away >= inner - TOUCH) & (weights.min(axis=2) >= -1e-9)
    return np.where(valid, (weights * depth[:, None, :]).sum(axis=2), 0.0), points


def _uphill(p: Array, depth: Array, radius: float) -> Array:
    """Where the gradient of each facet, laid off from the centre, meets the circle; (m, 1, 2)."""
    rise = gradient(p, depth)
    size = np.hypot(rise[:, 0], rise[:, 1])
    at: Array = (radius * rise / np.where(size > 0.0, size, 1.0)[:, None])[:, None]
    return at


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
    west, south, east, north = facets.sides
    across, up = (
        np.maximum(np.maximum(low - at, at - high), 0.0)
        for low, high, at in ((west, east, centre[0]), (south, north, centre[1]))
    )
    to_box = np.hypot(across, up)
    # No facet is nearer than its box: only those whose boxes come nearer than some facet does can be the nearest.
    some = int(np.argmin(to_box))
    reached = float(_distances(facets, [some], centre)[0])
    near = np.flatnonzero(to_box <= reached * (1.0 + ROUNDING) + ROUNDING)
    away = _distances(facets, near, centre)
    first = int(np.argmin(away))
    if away[first] == 0.0:
        return 0.0, centre
    x, y = shapely.get_coordinates(shapely.shortest_line(Point(centre), LinearRing(facets.corners[near[first]])))[-1]
    return float(away[first]), (float(x), float(y))


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


def _distances(facets: DepthFacets, chosen: Index | list[int], centre: Place) -> Array:
    """Distance of some facets from a place, metres: 0 where one covers it."""
    return facets_around(DepthFacets(facets.corners[chosen], facets.depth[chosen]), centre, math.inf).nearest


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
