"""The mound from above eye level: the ground about the bed, fading into the paper, with what stands on it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Point, Polygon

from terrain.grid import Array, Grid
from terrain.numerics import overlap
from terrain.shape import Proposal
from terrain.site import Building
from viewer.page import LEAST_FILL, PAPER, Subject, channels, long_axis, structures, top_of_mound, tree_circles
from viewer.pictures.planting import Season
from viewer.pictures.tint import mound_tint
from viewer.pictures.yard_stage import YardModel, picture_sun, skirt, staff, yard_model
from viewer.sheets import dug
from viewer.still import Camera, Cover, Stage, Still, StillBody, camera_over, draw_still, shown_as

SIZE = (1600, 900)
FILL = (0.9, 0.78)  # share of the picture's width and height that the ground shown may take
LOOK_DOWN = 21.0  # degrees: low enough to see the form, high enough to see over it
VIEW_ANGLE = 22.0  # degrees
TURN = 14.0  # degrees off the bed's cross axis
STEM_SHOWN = 2.6  # metres of a trunk that must be in the picture
FADE = 0.11  # of the shown ground's longer side, over which it fades into the paper
# The sun comes a little from behind what is seen, which is upward in the picture: eyes take light to come from above,
# and lit from the foot of the picture a mound reads as a hollow (Kleffner, Ramachandran 1992, "On the perception of
# shape from shading", Perception and Psychophysics 52).
BEHIND = 0.42
LEAVES_SHOWN = 0.42  # how solid crowns are drawn, so that the mound is seen through them
_ROUND = 0.7  # of the shorter half side: how the corners of the shown ground are rounded off
_BESIDE_A_DIG = 0.6  # metres of ground shown round a dig


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

    @property
    def corners(self) -> Array:
        """(4, 2) corners, metres."""
        ends = [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)]
        return np.array([self.middle + u * self.half[0] * self.along + v * self.half[1] * self.across for u, v in ends])

    @property
    def outline(self) -> Polygon:
        """The rectangle."""
        return Polygon(self.corners)

    @property
    def rounded(self) -> Polygon:
        """The rectangle with its corners rounded off."""
        round_off = _ROUND * min(self.half)
        return self.outline.buffer(-round_off).buffer(round_off)

    def outside(self, points: Array) -> Array:
        """(n,) metres from its edge to points (n, 2), 0 within it; its corners are rounded off."""
        away = points - self.middle
        reach = np.column_stack([np.abs(away @ self.along), np.abs(away @ self.across)])
        round_off = _ROUND * min(self.half)
        beyond = np.maximum(reach - (np.array(self.half) - round_off), 0.0)
        return np.asarray(np.maximum(np.hypot(beyond[:, 0], beyond[:, 1]) - round_off, 0.0))


@dataclass(frozen=True)
class Overview:
    """The yard before and after, and from where it is seen.

    `scale` is how many times heights are drawn; all places are those of the models, heights drawn so. `tinted`: ground
    that is filled or dug has the colour of its depth in place of what it is of. `season`: plants stand on it, as in
    that season of theirs.
    """

    subject: Subject
    scale: float = 1.0
    tinted: bool = False
    season: Season | None = None

    @cached_property
    def toward(self) -> Array:
        """(2,) direction of view on the plan."""
        return view_direction(self.subject)

    @cached_property
    def models(self) -> tuple[YardModel, YardModel]:
        """The yard as it is, and as built."""
        return yard_model(self.subject, False), yard_model(self.subject, True, self.season)

    @cached_property
    def block(self) -> OrientedRectangle:
        """The ground that is shown, in survey coordinates."""
        return shown_ground(self.subject)

    @cached_property
    def staff_at(self) -> tuple[float, float]:
        """Where the staff stands, survey coordinates."""
        return _staff_place(self.subject, self.block, self.toward)

    @cached_property
    def places(self) -> dict[str, Array]:
        """Where names belong, (3,) each: "tree <name>", "house <name>", "staff", "top"."""
        model = self.models[1]
        found: dict[str, Array] = {}
        for tree, form, *_ in model.trees:
            if self.block.outline.contains(Point(tree.at)):
                high = min(STEM_SHOWN, form.height)
                found[f"tree {tree.name}"] = np.array([*tree.at, model.level(tree.at) + 0.75 * high])
                found[f"stem {tree.name}"] = np.array([*tree.at, model.level(tree.at) + high])
        for house, body in model.houses:
            seen = overlap(house.outline, self.block.outline)
            if seen.area > 0.2:
                top = float(body.points[:, 2].max()) + model.corner[2]
                found[f"house {house.name}"] = np.array([seen.centroid.x, seen.centroid.y, top])
        east, north, _ = top_of_mound(self.subject.proposal)
        found["top"] = np.array([east, north, model.level((east, north))])
        _, high = staff(model, self.staff_at, self.subject.site.units)
        found["staff"] = np.array([*self.staff_at, high + model.corner[2]])
        return {name: self.drawn(place[None])[0] for name, place in found.items()}

    @cached_property
    def camera(self) -> Camera:
        """The eye."""
        corners = shapely.get_coordinates(self.block.rounded.exterior)
        grid = self.models[1].grid
        levels = [grid.sample(model.elevation, corners) for model in self.models]
        must = [self.drawn(np.column_stack([corners, level])) for level in levels]
        shown = [place for name, place in self.places.items() if not name.startswith("house")]
        return camera_over(np.vstack([*must, np.array(shown)]), self.toward, LOOK_DOWN, VIEW_ANGLE, SIZE, FILL)

    def drawn(self, points: Array) -> Array:
        """Survey places (n, 3) as the picture has them."""
        return np.asarray(self.models[1].local(points) * [1.0, 1.0, self.scale])

    def _houses(self, built: bool) -> list[tuple[Building, StillBody]]:
        """Those of which a part is shown."""
        return [one for one in self.models[built].houses if one[0].outline.intersects(self.block.outline)]

    @property
    def fade(self) -> float:
        """Metres over which the ground fades into the paper."""
        return FADE * 2.0 * max(self.block.half)

    def bodies(self, built: bool) -> tuple[StillBody, ...]:
        """What stands and lies within the yard in one state, heights drawn as they are in the picture."""
        model = self.models[built]
        near = [one for one in model.trees if float(self.block.outside(np.array([one.tree.at]))[0]) < self.fade]
        ground = _within(model.ground, self.block, np.array(model.corner[:2]), self.fade)
        bodies = (
            *(_by_depth(ground, self.subject.proposal) if self.tinted and built else [ground]),
            *model.standing,
            *(walls for _, walls in self._houses(built)),
            *(part for one in near for part in one.wood),
            staff(model, self.staff_at, self.subject.site.units)[0],
            *(replace(one.leaves, opacity=LEAVES_SHOWN) for one in near),
        )
        return tuple(self._tall(body) for body in bodies)

    def _tall(self, body: StillBody) -> StillBody:
        return replace(body, points=body.points * [1.0, 1.0, self.scale])

    @cached_property
    def sun(self) -> Array:
        """Unit vector (3,) to the sun."""
        return view_sun(self.subject, self.block, self.toward)

    def stage(self, built: bool) -> Stage:
        """One state, ready to be drawn."""
        model = self.models[built]
        cover = _fading(model.cover, self.block, np.array(model.corner[:2]), self.fade)
        paper = np.array(channels(PAPER)) * 255.0
        return Stage((self._tall(skirt(model)), *self.bodies(built)), cover, self.sun, np.stack([paper, paper]))

    def still(self, built: bool, width: int = SIZE[0]) -> Still:
        """The picture of one state, `width` pixels wide."""
        camera = self.camera if width == SIZE[0] else self.camera.resized(width)
        return draw_still(self.stage(built), camera)


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


def view_sun(subject: Subject, block: OrientedRectangle | None = None, toward: Array | None = None) -> Array:
    """Unit vector (3,) to the sun of the overview, given what it shows and looks along where that is known."""
    shown = (block or shown_ground(subject)).outline
    houses = [house for house in subject.site.building if house.outline.intersects(shown)]
    return picture_sun(subject, houses, view_direction(subject) if toward is None else toward, BEHIND)


def shown_ground(subject: Subject) -> OrientedRectangle:
    """The ground shown: the bed, trees and digs beside it and a margin, turned with the bed; survey coordinates.

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


def _fading(cover: Cover, block: OrientedRectangle, corner: Array, reach: float) -> Cover:
    """What lies on the ground, drawn within the block and fading over `reach` metres outside it."""
    rows, columns = cover.shown.shape
    nodes = Grid(float(cover.corner[0]), float(cover.corner[1]), cover.cell, columns, rows).nodes
    away = block.outside(nodes + corner).reshape(rows, columns)
    share = np.clip(1.0 - away / reach, 0.0, 1.0)
    shown: NDArray[np.float32] = (share * share * (3.0 - 2.0 * share)).astype(np.float32)
    return replace(cover, shown=shown, off=0.0)


def _within(ground: StillBody, block: OrientedRectangle, corner: Array, reach: float) -> StillBody:
    """The triangles of the ground that show at all."""
    seen = block.outside(ground.points[:, :2] + corner) < reach
    return replace(ground, triangles=ground.triangles[seen[ground.triangles].any(axis=1)])


def _by_depth(ground: StillBody, proposal: Proposal) -> list[StillBody]:
    """The ground that stays as it is, and that which is filled or dug in the colours of its depth."""
    depth = proposal.mesh.fill[ground.triangles].mean(axis=1)
    changed = np.abs(depth) >= LEAST_FILL
    colours = shown_as(255.0 * mound_tint(proposal)(depth[changed]))
    plain = StillBody(ground.points, ground.triangles[changed], colours=colours)
    return [replace(ground, triangles=ground.triangles[~changed]), plain]


def _staff_place(subject: Subject, block: OrientedRectangle, toward: Array) -> tuple[float, float]:
    """Where the staff stands: just outside the bed, at the viewer's right of the top, on the near side."""
    east, north, _ = top_of_mound(subject.proposal)
    right = np.array([toward[1], -toward[0]])
    reach = long_axis(subject.site.bed.outline)[1]
    inside = block.outline.buffer(-0.4)
    taken = shapely.union_all([*structures(subject.site), dug(subject.proposal)])
    for share in (0.25, 0.1, 0.4, 0.0, -0.2, -0.4):
        start = np.array([east, north]) + share * reach * right
        for step in np.linspace(0.0, reach, 60):
            spot = Point(start - step * toward)
            if subject.site.bed.outline.distance(spot) > 0.35:
                if inside.contains(spot) and not taken.contains(spot):
                    return spot.x, spot.y
                break
    return east, north
