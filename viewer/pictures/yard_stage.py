"""The yard as a stage for stills: ground with what lies on it, water, stones, trees, houses, a staff.

Heights are true: one metre up is one metre across. Coordinates are metres from the yard's own corner.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import LineString, box
from shapely.geometry.base import BaseGeometry

from terrain.grid import Array, Grid
from terrain.shape import retained_edges
from terrain.site import HOUSE_HEIGHT, Building, Tree, TreeForm, tree_form
from terrain.units import Units, unit_length
from viewer.page import INK, PAPER, Subject, channels, tree_circles, yard_bounds
from viewer.pictures.laid import boulders, level_sheets
from viewer.pictures.planting import AGED_MULCH, Season, plants
from viewer.pictures.tree_forms import crown, limbs, stem
from viewer.still import (
    GRAVEL,
    GROUND,
    LAWN,
    MULCH,
    PAVING,
    SOIL,
    STONE,
    WATER,
    Cover,
    StillBody,
    block,
    cover_grid,
    cover_of,
    gathered,
    lathe,
    resampled,
    sky_view,
    sun_over,
)

WALLS = np.array([178.0, 170.0, 156.0])  # sRGB of walls, which nobody told the colour of
BEYOND_YARD = 150.0  # metres that ground nobody measured is taken to run on, level from the yard's edge
SKY_REACH = 2.0  # metres within which what stands about a place takes its sky
_APRON = 4.0  # metres about the yard over which the map of what lies on the ground goes on
_SKY_NODES = 40_000
STAFF_RADIUS = 0.03  # metres


class StandingTree(NamedTuple):
    """A tree: as the site file has it, its form, its trunk and limbs, and its crown as solid as leaves are."""

    tree: Tree
    form: TreeForm
    wood: tuple[StillBody, StillBody]
    leaves: StillBody


@dataclass(frozen=True)
class YardModel:
    """The yard in one state.

    Parameters
    ----------
    corner
        (x, y, z) in survey coordinates that all else counts from, metres.
    ground
        The ground within the yard.
    standing
        Houses, stones, water and the like.
    trees
        Each with its stem and its crown as solid as leaves are.
    cover
        What lies on the ground, all of it shown.
    grid, elevation
        The finished or existing grade that the model was made of, survey coordinates.
    """

    corner: tuple[float, float, float]
    ground: StillBody
    standing: tuple[StillBody, ...]
    houses: tuple[tuple[Building, StillBody], ...]
    trees: tuple[StandingTree, ...]
    cover: Cover
    grid: Grid
    elevation: Array

    def local(self, points: Array) -> Array:
        """Points (n, 3) in survey coordinates as the model counts them."""
        return np.asarray(points - np.array(self.corner))

    def level(self, at: tuple[float, float]) -> float:
        """Elevation of the ground at a place, both in survey coordinates, metres."""
        return float(self.grid.sample(self.elevation, np.array([at]))[0])


def yard_model(subject: Subject, built: bool, season: Season | None = None) -> YardModel:
    """The yard as built, or as it is; with plants as in a season of theirs where one is asked for."""
    grid, mesh = subject.ground.grid, subject.proposal.mesh
    elevation = subject.proposal.elevation if built else subject.ground.elevation
    corner = grid.x0, grid.y0, float(subject.ground.elevation.min())
    heights = mesh.proposed if built else mesh.existing
    points = np.column_stack([mesh.points, heights]) - np.array(corner)
    ground = StillBody(points, mesh.triangles, GROUND)
    standing = list(_laid(subject, corner)) if built else []
    trees = []
    for circles in tree_circles(subject.site):
        at, form = circles.tree.at, tree_form(circles.tree)
        foot = at[0] - corner[0], at[1] - corner[1], float(grid.sample(elevation, np.array([at]))[0]) - corner[2]
        wood = stem(circles.tree, circles.flare, foot, form), limbs(circles.tree, foot, form)
        trees.append(StandingTree(circles.tree, form, wood, crown(circles.tree, foot, form)))
    cover = _cover(subject, built, elevation, corner)
    if built and season is not None:
        planted = plants(subject, season)
        standing += [replace(planted, points=planted.points - np.array(corner))] if planted is not None else []
        cover = replace(cover, mulch=AGED_MULCH if season == "fifth" else None)
    return YardModel(
        corner, ground, tuple(standing), tuple(_houses(subject, corner)), tuple(trees), cover, grid, elevation
    )


def _cover(subject: Subject, built: bool, elevation: Array, corner: tuple[float, float, float]) -> Cover:
    """What lies on the ground, and what sky it sees."""
    west, south, east, north = yard_bounds(subject.ground.grid)
    onto = cover_grid((-_APRON, -_APRON, east - west + _APRON, north - south + _APRON))
    areas = [(kind, affinity.translate(area, -corner[0], -corner[1])) for kind, area in _areas(subject, built)]
    sky = _sky(subject, elevation)
    shifted = replace(sky[0], x0=0.0, y0=0.0)
    open_sky = resampled(sky[1], shifted, onto)
    return cover_of(areas, onto, open_sky)


def _areas(subject: Subject, built: bool) -> Iterable[tuple[int, BaseGeometry]]:
    """Kinds of surface with their areas in survey coordinates, later ones on top."""
    site, proposal = subject.site, subject.proposal
    yield LAWN, box(*yard_bounds(subject.ground.grid))
    paved = [clear.outline for clear in site.keep_clear]
    paved += [LineString(walk.line).buffer(walk.width / 2.0, cap_style="flat") for walk in site.walk if walk.paved]
    yield PAVING, shapely.union_all(paved)
    if not built:
        return
    yield MULCH if site.bed.mulch > 0.0 else SOIL, proposal.worked
    yield SOIL, shapely.union_all([dig.rim for dig in proposal.digs])
    # Of a stream all within its banks, and the crushed stone that lies behind walls.
    stony = [*(bed.dig.rim for bed in proposal.streams), *(edge.stones for edge in retained_edges(site))]
    yield GRAVEL, shapely.union_all(stony)
    yield WATER, shapely.union_all([bed.wet for bed in proposal.streams])


def _sky(subject: Subject, elevation: Array) -> tuple[Grid, Array]:
    """Share of the sky that the ground sees between houses and trunks, on a grid no finer than it need be."""
    grid = subject.ground.grid
    step = max(1, int(np.ceil(np.sqrt(grid.nx * grid.ny / _SKY_NODES))))
    coarse = Grid(grid.x0, grid.y0, grid.cell * step, (grid.nx - 1) // step + 1, (grid.ny - 1) // step + 1)
    raised = elevation[::step, ::step].copy()
    solid = [(house.outline, HOUSE_HEIGHT) for house in subject.site.building]
    solid += [(one.circle(max(one.tree.trunk / 2.0, coarse.cell)), 2.0) for one in tree_circles(subject.site)]
    for outline, high in solid:
        raised[shapely.contains_xy(outline, *coarse.nodes.T).reshape(coarse.shape)] += high
    return coarse, sky_view(raised, coarse.cell, SKY_REACH)


def _houses(subject: Subject, corner: tuple[float, float, float]) -> Iterable[tuple[Building, StillBody]]:
    """Walls to a plain height, no roof: nobody measured either."""
    for house in subject.site.building:
        nodes = shapely.get_coordinates(house.outline.exterior)
        ground = subject.ground.grid.sample(subject.ground.elevation, nodes)
        floor = float(ground.max()) if house.floor is None else house.floor
        top = max(floor, float(ground.max())) + HOUSE_HEIGHT
        body = block(
            affinity.translate(house.outline, -corner[0], -corner[1]),
            float(ground.min()) - 0.3 - corner[2],
            top - corner[2],
        )
        yield house, replace(body, colours=np.tile(WALLS, (len(body.triangles), 1)))


def _laid(subject: Subject, corner: tuple[float, float, float]) -> Iterable[StillBody]:
    """Water in pools, stone in basins, and the stones of walls and streams."""
    stones = gathered(list(boulders(subject)), kind=STONE)
    for body in (*level_sheets(subject), *([stones] if stones is not None else [])):
        yield replace(body, points=body.points - np.array(corner))


def picture_sun(subject: Subject, houses: Sequence[Building], toward: Array, behind: float) -> Array:
    """Unit vector (3,) to the sun of a picture that looks along (2,) `toward`: from the left, or from the right where
    walls of the houses in it would shade more of the bed otherwise.

    `behind` is how much of it comes from behind what is seen; from before it where negative.
    """
    bed = shapely.get_coordinates(shapely.segmentize(subject.site.bed.outline.exterior, 0.5))
    walls = shapely.union_all([house.outline for house in houses])
    suns = [sun_over(toward, side, behind) for side in (-1.0, 1.0)]

    def shaded(sun: Array) -> float:
        reach = HOUSE_HEIGHT / sun[2] * sun[:2]
        return float(shapely.intersects(shapely.linestrings(np.stack([bed, bed + reach], axis=1)), walls).mean())

    return min(suns, key=shaded)


def staff_size(units: Units) -> tuple[float, int]:
    """Height of one band of the staff, metres, and how many it has."""
    return (unit_length("ft"), 6) if units == "ft" else (0.25, 8)


def staff(model: YardModel, at: tuple[float, float], units: Units) -> tuple[StillBody, float]:
    """A ranging staff at a place in survey coordinates, and the height of its top in the model, metres."""
    step, count = staff_size(units)
    foot = model.level(at) - model.corner[2]
    place = at[0] - model.corner[0], at[1] - model.corner[1]
    bands = []
    for k in range(count):
        low, high = foot + k * step, foot + (k + 1) * step
        band = lathe(place, np.array([1.0, 1.0, 0.0]) * STAFF_RADIUS, np.array([low, high, high]), 16)
        colour = np.array(channels(INK if k % 2 else PAPER)) * 255.0
        bands.append(replace(band, colours=np.tile(colour, (len(band.triangles), 1))))
    body = gathered(bands)
    assert body is not None
    return body, foot + count * step


def skirt(model: YardModel) -> StillBody:
    """Ground that nobody measured, level from the yard's edge outward."""
    grid = model.grid
    x, y = grid.x - model.corner[0], grid.y - model.corner[1]
    z = model.elevation - model.corner[2]
    sides = [
        (np.column_stack([x, np.full(grid.nx, y[0]), z[0]]), (0.0, -1.0)),
        (np.column_stack([np.full(grid.ny, x[-1]), y, z[:, -1]]), (1.0, 0.0)),
        (np.column_stack([x[::-1], np.full(grid.nx, y[-1]), z[-1, ::-1]]), (0.0, 1.0)),
        (np.column_stack([np.full(grid.ny, x[0]), y[::-1], z[::-1, 0]]), (-1.0, 0.0)),
    ]
    ring = np.concatenate([side for side, _ in sides])
    away = np.concatenate([np.tile([*way, 0.0], (len(side), 1)) for side, way in sides])
    # Round a corner both ways: the last node of a side and the first of the next stand in one place.
    outer = ring + BEYOND_YARD * away
    here = np.arange(len(ring))
    onward = (here + 1) % len(ring)
    count = len(ring)
    faces = [np.column_stack([here, count + here, count + onward]), np.column_stack([here, count + onward, onward])]
    return StillBody(np.vstack([ring, outer]), np.concatenate(faces), GROUND, casts=False)
