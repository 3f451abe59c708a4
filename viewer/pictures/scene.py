"""The yard as a scene: ground with its picture laid on it, trees, houses, a staff for scale, and a camera.

Everything a picture needs is worked out here by plain numbers, so that whoever draws it only has to project it.
Heights are true: one metre up is one metre across. Coordinates are metres from the scene's own corner.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import affinity
from shapely.geometry import Point, Polygon

from terrain.grid import Array
from terrain.numerics import overlap
from terrain.units import unit_length
from viewer.page import BUILDING, INK, PAPER, Bounds, Subject, long_axis, structures, top_of_mound, tree_circles
from viewer.pictures import solids
from viewer.pictures.camera import Camera, camera_over
from viewer.pictures.drape import draped
from viewer.pictures.laid import STONE, as_built, boulders
from viewer.pictures.solids import ShadedMesh
from viewer.sheets import dug

SIZE = (1600, 900)
FILL = (0.95, 0.80)  # share of the picture's width and height that the scene may take
MOST_NODES = 60_000
LOOK_DOWN = 21.0  # degrees: low enough to see the form, high enough to see over it
VIEW_ANGLE = 22.0  # degrees
TURN = 14.0  # degrees off the bed's cross axis
FOOT = -0.5  # metres: underside of the block of ground
_BESIDE_A_DIG = 0.6  # metres of ground shown round a dig
TRUNK_HEIGHT = 2.6  # metres shown of a trunk whose height nobody measured
HOUSE_HEIGHT = 2.4  # metres shown of a house over its floor; nobody measured it

Image = NDArray[np.uint8]


@dataclass(frozen=True)
class OrientedRectangle:
    """A rectangle of ground: its middle (x, y), the unit vector (2,) of its long side, and its half sides, metres."""

    middle: Array
    along: Array
    half: tuple[float, float]

    @property
    def across(self) -> Array:
        """(2,) unit vector of the short side, a quarter turn left of the long one."""
        return np.array([-self.along[1], self.along[0]])

    def places(self, columns: int, rows: int) -> Array:
        """(rows, columns, 2) places in an even lattice from edge to edge, metres."""
        u = np.linspace(-self.half[0], self.half[0], columns)[None, :, None]
        v = np.linspace(-self.half[1], self.half[1], rows)[:, None, None]
        return np.asarray(self.middle + u * self.along + v * self.across)

    @property
    def outline(self) -> Polygon:
        """The rectangle."""
        return Polygon(self.places(2, 2)[[0, 0, 1, 1], [0, 1, 1, 0]])


@dataclass(frozen=True)
class Scene:
    """What a picture shows.

    Parameters
    ----------
    block
        The piece of ground that is shown, turned with the bed.
    before, after
        (rows, columns) heights of the block's nodes in metres from the scene's base.
    window
        West, south, east, north of the skins, metres from the scene's corner.
    skin_before, skin_after
        Pictures (rows from the north) that lie on the ground over `window`, light and shade included.
    walls_before, walls_after
        The cut sides of the block in either state; with those after, the stones that are laid in the work.
    solids
        Things that stand on the ground in either state.
    camera
        The eye.
    corner
        (x, y, z) in survey coordinates that the scene counts from, metres.
    places
        Named points (x, y, z) in scene metres for words: trees, the top, the staff, buildings.
    """

    block: OrientedRectangle
    before: Array
    after: Array
    window: Bounds
    skin_before: Image
    skin_after: Image
    walls_before: tuple[ShadedMesh, ...]
    walls_after: tuple[ShadedMesh, ...]
    solids: tuple[ShadedMesh, ...]
    camera: Camera
    corner: tuple[float, float, float]
    places: dict[str, tuple[float, float, float]]

    def bodies(self, built: bool) -> tuple[ShadedMesh, ...]:
        """All that stands in one state, the sides of the block among it."""
        return (*(self.walls_after if built else self.walls_before), *self.solids)


def build_scene(subject: Subject, size: tuple[int, int] = SIZE) -> Scene:
    """Work out the scene of a proposal."""
    grid = subject.ground.grid
    toward = view_direction(subject)
    block = _block(subject)
    places = block.places(*_nodes(block, grid.cell))
    flat = places.reshape(-1, 2)
    before = grid.sample(subject.ground.elevation, flat).reshape(places.shape[:2])
    after = grid.sample(as_built(subject), flat).reshape(places.shape[:2])
    base = float(before.min())
    sun = _sun(toward)
    window: Bounds = block.outline.bounds
    things, named = _things(subject, block, base, toward, sun)
    local = replace(block, middle=block.middle - np.array(window[:2]))
    skins = draped(subject, window, sun)
    return Scene(
        block=local,
        before=before - base,
        after=after - base,
        window=(0.0, 0.0, window[2] - window[0], window[3] - window[1]),
        skin_before=skins[0],
        skin_after=skins[1],
        walls_before=_walls(local, before - base, sun),
        walls_after=(*_walls(local, after - base, sun), *_stones(subject, (window[0], window[1], base), sun)),
        solids=tuple(things),
        camera=camera_over(_must_show(local, after - base, named), toward, LOOK_DOWN, VIEW_ANGLE, size, FILL),
        corner=(window[0], window[1], base),
        places=named,
    )


def _must_show(block: OrientedRectangle, heights: Array, named: dict[str, tuple[float, float, float]]) -> Array:
    """(n, 3) points in metres that must be in the picture: the block with its foot, and what stands on it."""
    corners = block.places(2, 2).reshape(-1, 2)
    low = np.column_stack([corners, np.full(4, FOOT)])
    high = np.column_stack([corners, np.full(4, float(heights.max()))])
    return np.vstack([low, high, np.array(list(named.values()))])


def view_direction(subject: Subject) -> Array:
    """(2,) direction of view: onto the bed's broad side, from the side away from the nearest house.

    With no house the eye stands on the side nearer to the south-west. A turn of a few degrees shows two sides.
    """
    axis, _ = long_axis(subject.site.bed.outline)
    across = np.array([-axis[1], axis[0]])
    bed = np.array(subject.site.bed.outline.centroid.coords[0])
    if subject.site.building:
        nearest = min(subject.site.building, key=lambda house: house.outline.distance(subject.site.bed.outline))
        wanted = np.array(nearest.outline.centroid.coords[0]) - bed
    else:
        wanted = np.array([1.0, 1.0])
    view = across if float(across @ wanted) >= 0.0 else -across
    turn = np.radians(TURN)
    return np.array([view[0] * np.cos(turn) - view[1] * np.sin(turn), view[0] * np.sin(turn) + view[1] * np.cos(turn)])


def _block(subject: Subject) -> OrientedRectangle:
    """The ground in the scene: the bed, trees and digs beside it and a margin, turned with the bed; survey coordinates.

    Buildings and walks may be cut at its edge, so that the mound stays large in the picture.
    """
    axis, length = long_axis(subject.site.bed.outline)
    margin = max(0.16 * length, 1.5)
    near = subject.site.bed.outline.buffer(2.0 * margin)
    shapes = [subject.site.bed.outline.buffer(margin)]
    shapes += [
        tree.circle(tree.flare + 0.8) for tree in tree_circles(subject.site) if near.contains(Point(tree.tree.at))
    ]
    shapes.append(overlap(dug(subject.proposal), near).buffer(_BESIDE_A_DIG))
    points = shapely.get_coordinates(shapely.union_all(shapes))
    turned = np.column_stack([points @ axis, points @ np.array([-axis[1], axis[0]])])
    low, high = turned.min(axis=0), turned.max(axis=0)
    u, v = (low + high) / 2
    middle = u * axis + v * np.array([-axis[1], axis[0]])
    return OrientedRectangle(middle, axis, (float(high[0] - low[0]) / 2, float(high[1] - low[1]) / 2))


def _nodes(block: OrientedRectangle, cell: float) -> tuple[int, int]:
    """Columns and rows of nodes: the grid's own step, or wider where that would be more than a picture needs."""
    step = max(cell, float(np.sqrt(4 * block.half[0] * block.half[1] / MOST_NODES)))
    return int(np.ceil(2 * block.half[0] / step)) + 1, int(np.ceil(2 * block.half[1] / step)) + 1


def _sun(toward: Array) -> Array:
    """Unit vector (3,) toward the light, fixed to the viewer so that it always rakes across from the left."""
    right = np.array([toward[1], -toward[0]])
    flat = solids.SUN[0] * right + solids.SUN[1] * -toward * -1.0
    sun = np.array([flat[0], flat[1], solids.SUN[2]])
    return np.asarray(sun / np.linalg.norm(sun))


def _walls(block: OrientedRectangle, heights: Array, sun: Array) -> tuple[ShadedMesh, ...]:
    """The cut sides of the block of ground."""
    rows, columns = heights.shape
    nodes = np.dstack([block.places(columns, rows), heights])
    edges = nodes[0], nodes[:, -1], nodes[-1, ::-1], nodes[::-1, 0]
    walls = []
    for edge in edges:
        low = edge.copy()
        low[:, 2] = FOOT
        first = np.stack([low[:-1], low[1:], edge[1:]], axis=1)
        second = np.stack([low[:-1], edge[1:], edge[:-1]], axis=1)
        walls.append(solids.shaded(np.concatenate([first, second]), "#b59f7c", sun))
    return tuple(walls)


def _stones(subject: Subject, corner: tuple[float, float, float], sun: Array) -> tuple[ShadedMesh, ...]:
    """The stones of walls and streams, counted from the scene's corner."""
    found = [corners - np.array(corner) for corners in boulders(subject)]
    return (solids.shaded(np.concatenate(found), STONE, sun),) if found else ()


def _things(
    subject: Subject, block: OrientedRectangle, base: float, toward: Array, sun: Array
) -> tuple[list[ShadedMesh], dict[str, tuple[float, float, float]]]:
    """Houses, trees and the staff, with the points where their words belong."""
    ground, proposal = subject.ground, subject.proposal
    west, south, _, _ = block.outline.bounds
    places: dict[str, tuple[float, float, float]] = {}

    def level(at: tuple[float, float]) -> float:
        return float(ground.grid.sample(proposal.elevation, np.array([at]))[0]) - base

    def local(at: tuple[float, float]) -> tuple[float, float]:
        return at[0] - west, at[1] - south

    found = _houses(subject, block, base, sun, places)
    for tree in tree_circles(subject.site):
        if not block.outline.contains(Point(tree.tree.at)):
            continue
        at, foot = local(tree.tree.at), level(tree.tree.at)
        found.append(
            solids.shaded(solids.trunk(at, tree.tree.trunk / 2, tree.flare, foot, TRUNK_HEIGHT), "#6b5a45", sun)
        )
        spread = min(max(3.2 * tree.tree.trunk, 0.9), 2.0)
        low = foot + 0.68 * TRUNK_HEIGHT
        bulk = solids.crown(at, spread, low, low + 1.2 * spread)
        found.append(solids.shaded(bulk, "#7f9a6a", sun, opacity=0.25))
        places[f"tree {tree.tree.name}"] = (at[0], at[1], low + 0.6 * spread)
        places[f"crown {tree.tree.name}"] = (at[0], at[1], low + 1.2 * spread)
    stand = _staff_place(subject, block, toward)
    step, count = (unit_length("ft"), 6) if subject.site.units == "ft" else (0.25, 8)
    for k, band in enumerate(solids.staff(local(stand), level(stand), step, count, 0.045)):
        found.append(solids.shaded(band, INK if k % 2 else PAPER, sun))
    places["staff"] = (*local(stand), level(stand) + step * count)
    east, north, _ = top_of_mound(proposal)
    places["top"] = (*local((east, north)), level((east, north)))
    return found, places


def _houses(
    subject: Subject, block: OrientedRectangle, base: float, sun: Array, places: dict[str, tuple[float, float, float]]
) -> list[ShadedMesh]:
    """Plain blocks for the buildings, cut at the edge of the scene."""
    found = []
    inside = block.outline.buffer(-0.02)
    west, south, _, _ = block.outline.bounds
    for house in subject.site.building:
        for part in shapely.get_parts(house.outline.intersection(inside)):
            if part.geom_type != "Polygon" or part.area < 0.2:
                continue
            nodes = np.asarray(part.exterior.coords)
            ground = subject.ground.grid.sample(subject.ground.elevation, nodes) - base
            floor = float(ground.max()) if house.floor is None else house.floor - base
            shifted = affinity.translate(part, -west, -south)
            top = max(floor, float(ground.max())) + HOUSE_HEIGHT
            walls, roof = solids.block(shifted, float(ground.min()) - 0.1, top)
            found.append(solids.shaded(np.concatenate([walls, roof]), BUILDING, sun))
            middle = shifted.centroid
            places[f"house {house.name}"] = (middle.x, middle.y, top)
    return found


def _staff_place(subject: Subject, block: OrientedRectangle, toward: Array) -> tuple[float, float]:
    """Where the staff stands: just outside the bed, at the viewer's right of the top, on the near side."""
    east, north, _ = top_of_mound(subject.proposal)
    right = np.array([toward[1], -toward[0]])
    reach = long_axis(subject.site.bed.outline)[1]
    inside = block.outline.buffer(-0.4)
    taken = shapely.union_all(structures(subject.site))
    for share in (0.25, 0.1, 0.4, 0.0, -0.2, -0.4):
        start = np.array([east, north]) + share * reach * right
        for step in np.linspace(0.0, reach, 60):
            spot = Point(start - step * toward)
            if subject.site.bed.outline.distance(spot) > 0.35:
                if inside.contains(spot) and not taken.contains(spot):
                    return spot.x, spot.y
                break
    return east, north
