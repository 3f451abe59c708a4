"""What stands and lies in a yard as bodies of a model: houses, walks, ground kept clear, trees and their zones."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence

import numpy as np
import shapely
from shapely.geometry import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient

from terrain.files.bodies import Body, single
from terrain.grid import Array, Index
from terrain.numerics import Slab
from terrain.site import HOUSE_HEIGHT, Building, Site, Tree, keep_off_radius, root_zone_radius, tree_form
from terrain.soil import solid_between

Colours = Mapping[str, Array]  # red, green, blue (3,) of a screen by the name of a body; "bark" and "leaves" of trees
Offset = tuple[float, float, float]
_AROUND = 16
_DEEP = 0.3  # metres that a trunk or a wall goes on under the ground, so that no gap shows on a slope
_OVER = 0.02  # metres over existing grade that what lies on it is drawn
_BAND = 0.08  # metres: half the width of a ring on the ground
_STEP = 0.5  # metres between the places where what lies on the ground meets it
_MOST_SQUARES = 1500
_TIP = 0.03  # of its radius: how wide a crown ends, so that it encloses a solid
_LEAST = 1e-9  # m2 of a piece that is more than the rounding of an edge


def standing_bodies(
    site: Site, ground_at: Callable[[Array], Array], offset: Offset, colours: Colours | None = None
) -> Iterator[Body]:
    """The bodies, less an offset; metres. A kind that the yard has none of is left out.

    Houses and trees are closed solids; walks, ground kept clear, and the rings of keep-offs and root zones lie on
    existing grade. `ground_at` gives existing grade (m,) in metres at (m, 2) places.
    """
    solids = [_house(house, ground_at) for house in site.building]
    if solids:
        yield _body("buildings", solids, offset, colours, closed=True)
    for name, shapes in _lying(site).items():
        if shapes:
            yield _body(name, [_draped(shape, ground_at) for shape in shapes], offset, colours, closed=False)
    if site.tree:
        yield tree_body(site.tree, ground_at, offset, colours)


def _lying(site: Site) -> Mapping[str, Sequence[BaseGeometry]]:
    """What lies on the ground, by the name of its body, metres."""
    rule = site.trees.rule
    return {
        "walks": [LineString(walk.line).buffer(walk.width / 2.0, cap_style="flat") for walk in site.walk],
        "kept-clear": [clear.outline for clear in site.keep_clear],
        "keep-offs": [_ring(tree.at, keep_off_radius(tree, rule)) for tree in site.tree],
        "root-zones": [_ring(tree.at, root_zone_radius(rule, tree.trunk, tree.dripline)) for tree in site.tree],
    }


def _body(
    name: str, parts: Sequence[tuple[Array, Index]], offset: Offset, colours: Colours | None, *, closed: bool
) -> Body:
    vertices, faces = _joined(parts)
    tint = None if colours is None else np.tile(colours[name], (len(vertices), 1))
    return Body(name, single(vertices - np.array(offset)), faces, closed, tint)


def _joined(parts: Sequence[tuple[Array, Index]]) -> tuple[Array, Index]:
    starts = np.cumsum([0, *(len(vertices) for vertices, _ in parts[:-1])])
    faces = [corners + start for (_, corners), start in zip(parts, starts, strict=True)]
    return np.vstack([vertices for vertices, _ in parts]), np.vstack(faces).astype(np.int64)


def _ring(at: tuple[float, float], radius: float) -> BaseGeometry:
    return Point(at).buffer(radius + _BAND, 24).difference(Point(at).buffer(max(radius - _BAND, 0.0), 24))


def _triangles(shape: BaseGeometry) -> tuple[Array, Index]:
    """(n, 2) places of an area and its triangles, counter-clockwise."""
    parts = shapely.get_parts(shapely.constrained_delaunay_triangles(shape))
    corners = shapely.get_coordinates([orient(part) for part in parts]).reshape(-1, 4, 2)[:, :3]
    places, numbers = np.unique(corners.reshape(-1, 2), axis=0, return_inverse=True)
    return places, numbers.reshape(-1, 3)


def _draped(shape: BaseGeometry, ground_at: Callable[[Array], Array]) -> tuple[Array, Index]:
    """An area on existing grade, in squares so small that it follows it."""
    west, south, east, north = shape.bounds
    step = max(_STEP, float(np.sqrt((east - west) * (north - south) / _MOST_SQUARES)))
    across, up = np.arange(west, east, step), np.arange(south, north, step)
    x, y = (side.ravel() for side in np.meshgrid(across, up))
    pieces = shapely.get_parts(shapely.intersection(shapely.box(x, y, x + step, y + step), shape))
    # Where a square meets an edge of the area its piece may fall apart once more.
    areas = [part for part in shapely.get_parts(pieces) if isinstance(part, Polygon) and part.area > _LEAST]
    places, faces = _joined([_triangles(area) for area in areas])
    return np.column_stack([places, ground_at(places) + _OVER]), faces


def _house(house: Building, ground_at: Callable[[Array], Array]) -> tuple[Array, Index]:
    """Walls from under the lowest ground to a plain height over the floor, closed above and below: no roof is known."""
    ground = ground_at(shapely.get_coordinates(house.outline))
    floor = float(ground.max()) if house.floor is None else max(house.floor, float(ground.max()))
    places, faces = _triangles(house.outline)
    low, high = (np.full(len(places), level) for level in (float(ground.min()) - _DEEP, floor + HOUSE_HEIGHT))
    solid = solid_between(Slab(places, faces, low, high))
    return solid.vertices, solid.faces


def tree_body(
    trees: Sequence[Tree], ground_at: Callable[[Array], Array], offset: Offset, colours: Colours | None = None
) -> Body:
    """Trunks and crowns of all trees as closed solids, as high and wide as measured or published (`tree_form`)."""
    parts, tints = [], []
    for tree in trees:
        form = tree_form(tree)
        foot = np.array([*tree.at, float(ground_at(np.array([tree.at]))[0])])
        turn = np.linspace(-np.pi / 2, np.pi / 2, 9)
        half, middle = 0.5 * (form.height - form.clear), 0.5 * (form.height + form.clear)
        crown = (form.radius * np.maximum(np.cos(turn), _TIP), middle + half * np.sin(turn))
        if form.conifer:
            crown = (form.radius * np.array([1.0, _TIP]), np.array([form.clear, form.height]))
        solids = {
            "bark": (np.full(2, tree.trunk / 2), np.array([-_DEEP, middle])),
            "leaves": crown,
        }
        for kind, (radii, heights) in solids.items():
            spots, corners = _turned_solid(radii, heights)
            parts.append((spots + foot, corners))
            if colours is not None:
                tints.append(np.tile(colours[kind], (len(spots), 1)))
    vertices, faces = _joined(parts)
    return Body("trees", single(vertices - np.array(offset)), faces, True, np.vstack(tints) if tints else None)


def _turned_solid(radii: Array, heights: Array) -> tuple[Array, Index]:
    """Vertices and outward faces of a closed solid of rings about the upright axis, from below; flat at both ends."""
    turn = np.linspace(0.0, 2.0 * np.pi, _AROUND, endpoint=False)
    ring = np.column_stack([np.cos(turn), np.sin(turn)])
    rows = [np.column_stack([radius * ring, np.full(_AROUND, up)]) for radius, up in zip(radii, heights, strict=True)]
    ends = np.array([[0.0, 0.0, heights[0]], [0.0, 0.0, heights[-1]]])
    bottom, top = len(rows) * _AROUND, len(rows) * _AROUND + 1
    here = np.arange(_AROUND)
    onward = (here + 1) % _AROUND
    faces = [np.column_stack([np.full(_AROUND, bottom), onward, here])]
    for row in range(len(rows) - 1):
        low, high = row * _AROUND, (row + 1) * _AROUND
        faces.append(np.column_stack([low + here, low + onward, high + onward]))
        faces.append(np.column_stack([low + here, high + onward, high + here]))
    last = (len(rows) - 1) * _AROUND
    faces.append(np.column_stack([np.full(_AROUND, top), last + here, last + onward]))
    return np.vstack([*rows, ends]), np.vstack(faces).astype(np.int64)
