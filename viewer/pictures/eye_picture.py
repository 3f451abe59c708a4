"""The picture from an eye: ground in raking light, new soil in its own colour, level lines, trees and houses."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy import ndimage
from shapely.geometry import LineString, MultiLineString
from shapely.geometry.polygon import orient

from terrain.grid import Array
from terrain.units import unit_length
from viewer.page import (
    BUILDING,
    FILL_STEPS,
    INK,
    PAPER,
    WATER,
    Subject,
    channels,
    contour_interval,
    structures,
    tree_circles,
)
from viewer.pictures import solids
from viewer.pictures.eye_camera import EyeView, sight_lines
from viewer.pictures.laid import STONE, as_built, boulders, filled_basins
from viewer.pictures.painter import Canvas, lay_solid
from viewer.pictures.solids import ShadedMesh

SKY_LOW, SKY_HIGH = "#f4f1e8", "#d5dfe2"
MEADOW, NEW_SOIL, WALK = "#c3c796", FILL_STEPS[1], "#d9d5cb"
HAZE = 45.0  # metres at which the ground is half lost in haze: what is near stands off what is far
RELIEF = 2.6  # strengthens light and shade only; the ground itself stays true
AMBIENT = 0.34
SUN = np.array([-0.74, 0.30, 0.60])  # to the right, away, up as the eye sees it: low light from the left
THIN = 0.015  # metres: so much fill shows as new soil in full
CREST_WIDE = 0.5  # pixels of smoothing against jagged edges
CONTRAST = (0.0, 1.18)
LINE = 0.34  # strength of the level lines
TRUNK_HEIGHT, HOUSE_HEIGHT = 2.6, 2.4  # metres shown, where nobody measured
IN_WAY = 0.6  # metres; nothing that stands so near to the eye is drawn

Image = NDArray[np.uint8]


@dataclass(frozen=True)
class EyePicture:
    """A picture (rows, columns, 3), the depth seen at each pixel (metres) and the sky line of each column (rows)."""

    pixels: Image
    depth: NDArray[np.float64]
    skyline: Array


def eye_picture(subject: Subject, view: EyeView, built: bool) -> EyePicture:
    """What the eye sees before or after building, heights true."""
    grid = subject.ground.grid
    elevation = as_built(subject) if built else subject.ground.elevation
    depth, skyline = sight_lines(view, grid, elevation)
    canvas = _sky(view)
    seen = np.isfinite(depth)
    places = _places(view, depth)[seen]
    colours = _ground_colours(subject, places, built)
    light = _light(view, grid.cell, elevation)
    colours *= grid.sample(light, places)[:, None]
    colours *= _level_lines(subject, elevation, places, seen, built)[:, None]
    far = np.clip(depth[seen] / HAZE, 0.0, None)[:, None]
    haze = 1.0 - 1.0 / (1.0 + far**2)
    canvas[seen] = (1.0 - haze) * np.clip(colours, 0.0, 1.0) + haze * np.array(channels(SKY_LOW))
    whole, reach = _standing(subject, view, canvas, depth, elevation, built)
    soft = ndimage.gaussian_filter(whole, (CREST_WIDE, CREST_WIDE, 0.0))
    pixels: Image = np.clip(255.0 * soft + 0.5, 0, 255).astype(np.uint8)
    return EyePicture(pixels, reach, skyline)


def _places(view: EyeView, depth: NDArray[np.float64]) -> NDArray[np.float64]:
    """(rows, columns, 2) survey places that the pixels see; far off for the sky."""
    columns = (np.arange(view.width) + 0.5 - view.width / 2.0) / view.focal
    ways = view.forward + columns[:, None] * view.right
    reach = np.where(np.isfinite(depth), depth, 0.0)
    return np.asarray(np.array(view.eye[:2]) + reach[:, :, None] * ways[None, :, :])


def _sky(view: EyeView) -> NDArray[np.float64]:
    """A pale sky, paler toward the ground."""
    high = np.linspace(1.0, 0.0, view.size[1])[:, None, None]
    low, top = np.array(channels(SKY_LOW)), np.array(channels(SKY_HIGH))
    return np.broadcast_to(low + high * (top - low), (view.size[1], view.width, 3)).copy()


def _ground_colours(subject: Subject, places: Array, built: bool) -> NDArray[np.float64]:
    """(n, 3) colours of the ground: meadow, ground kept clear, and new soil by its depth."""
    colours = np.tile(np.array(channels(MEADOW)), (len(places), 1))
    for area in structures(subject.site)[len(subject.site.building) :]:
        colours[shapely.contains_xy(area, places[:, 0], places[:, 1])] = channels(WALK)
    if built:
        fill = np.asarray(subject.ground.grid.sample(subject.proposal.fill, places))
        share = np.clip(fill / THIN, 0.0, 1.0)[:, None]
        colours = (1.0 - share) * colours + share * np.array(channels(NEW_SOIL))
        basins = filled_basins(subject)
        colours[shapely.contains_xy(basins, places[:, 0], places[:, 1])] = channels(STONE)
        for bed in subject.proposal.streams:
            colours[shapely.contains_xy(bed.wet, places[:, 0], places[:, 1])] = channels(WATER)
    return colours


def _light(view: EyeView, cell: float, elevation: Array) -> Array:
    """Light on every node, 1 on level ground."""
    north, east = np.gradient(elevation, cell)
    sun = np.array([*(SUN[0] * view.right + SUN[1] * view.forward), SUN[2]])
    sun /= np.linalg.norm(sun)
    normal = np.stack([-RELIEF * east, -RELIEF * north, np.ones_like(east)])
    facing = np.tensordot(sun, normal, axes=1) / np.linalg.norm(normal, axis=0)
    return np.asarray(np.clip(AMBIENT + (1.0 - AMBIENT) * np.clip(facing, 0.0, None) / sun[2], *CONTRAST))


def _level_lines(
    subject: Subject, elevation: Array, places: Array, seen: NDArray[np.bool_], built: bool
) -> NDArray[np.float64]:
    """Darkening of each seen pixel by the contours on the new soil, one pixel wide at any distance."""
    dark = np.ones(int(seen.sum()))
    if not built or not subject.proposal.fill.max() > THIN:
        return dark
    on_mound = subject.proposal.elevation[subject.proposal.fill > 0.0]
    interval = contour_interval(float(on_mound.min()), float(on_mound.max()), subject.site.units) / 2.0
    level = np.full(seen.shape, np.nan)
    level[seen] = subject.ground.grid.sample(elevation, places) / interval
    step = np.abs(np.diff(level, axis=0, append=np.nan))
    off = np.abs(level - np.round(level))
    with np.errstate(invalid="ignore", divide="ignore"):
        line = np.clip(1.2 - off / np.maximum(step, 1e-9), 0.0, 1.0) * (step < 0.5)
    fill = subject.ground.grid.sample(subject.proposal.fill, places)
    return np.asarray(1.0 - LINE * np.nan_to_num(line)[seen] * np.clip(fill / THIN, 0.0, 1.0))


def _standing(
    subject: Subject,
    view: EyeView,
    canvas: NDArray[np.float64],
    depth: NDArray[np.float64],
    elevation: Array,
    built: bool,
) -> tuple[Canvas, NDArray[np.float64]]:
    """The picture with trees, houses and the staff in it, hidden where the ground hides them."""
    whole = np.zeros((view.canvas[1], view.width, 3), dtype=np.float32)
    reach = np.full(whole.shape[:2], np.inf, dtype=np.float32)
    whole[view.rows], reach[view.rows] = canvas, depth
    things = _things(subject, view, elevation)
    if built:
        things += _stones(subject, view)
    for solid in sorted(things, key=lambda one: one.opacity < 1.0):
        lay_solid(whole, reach, solid, view.camera, view.canvas)
    return whole[view.rows], reach[view.rows].astype(float)


def _stones(subject: Subject, view: EyeView) -> list[ShadedMesh]:
    """The stones of walls and streams."""
    found = list(boulders(subject))
    return [solids.shaded(np.concatenate(found), STONE, _sun(view))] if found else []


def _sun(view: EyeView) -> Array:
    """Unit vector toward the light on what stands: from the left, behind the eye."""
    sun = np.array([*(-0.6 * view.right - 0.4 * view.forward), 0.7])
    return np.asarray(sun / np.linalg.norm(sun))


def _things(subject: Subject, view: EyeView, elevation: Array) -> list[ShadedMesh]:
    """Trees and houses as plain shapes, and a staff at the bed's right end."""
    grid = subject.ground.grid
    sun = _sun(view)

    def level(at: tuple[float, float]) -> float:
        return float(grid.sample(elevation, np.array([at]))[0])

    found = []
    for tree in tree_circles(subject.site):
        at, foot = tree.tree.at, level(tree.tree.at)
        if np.hypot(at[0] - view.eye[0], at[1] - view.eye[1]) < IN_WAY + tree.flare:
            continue
        stem = solids.trunk(at, tree.tree.trunk / 2, tree.flare, foot, TRUNK_HEIGHT)
        found.append(solids.shaded(stem, "#6b5a45", sun))
        spread = min(max(3.2 * tree.tree.trunk, 0.9), 2.0)
        low = foot + 0.68 * TRUNK_HEIGHT
        found.append(solids.shaded(solids.crown(at, spread, low, low + 1.2 * spread), "#7f9a6a", sun, opacity=0.3))
    for house in subject.site.building:
        # A window stands in its own wall, which is not in the way.
        if house.outline.distance(shapely.Point(view.eye[:2])) < IN_WAY:
            continue
        corners = np.asarray(house.outline.exterior.coords)
        ground = grid.sample(subject.ground.elevation, corners)
        floor = float(ground.max()) if house.floor is None else house.floor
        top = max(floor, float(ground.max())) + HOUSE_HEIGHT
        walls, roof = solids.block(orient(house.outline), float(ground.min()) - 0.1, top)
        found.append(solids.shaded(np.concatenate([walls, roof]), BUILDING, sun))
    stand = staff_place(subject, view)
    step, count = (unit_length("ft"), 6) if subject.site.units == "ft" else (0.25, 8)
    for k, band in enumerate(solids.staff(stand, level(stand), step, count, 0.035)):
        found.append(solids.shaded(band, INK if k % 2 else PAPER, sun))
    return found


def staff_place(subject: Subject, view: EyeView) -> tuple[float, float]:
    """Where the staff stands: just off the bed's right end, as the eye sees it; metres."""
    outline = subject.site.bed.outline
    corners = shapely.get_coordinates(outline.exterior)
    spots, depth = view.project(np.column_stack([corners, np.full(len(corners), view.eye[2])]))
    ahead = np.where(depth > 1.0, spots[:, 0], -np.inf)
    spot = corners[int(np.argmax(ahead))]
    away = spot - np.array(outline.centroid.coords[0])
    east, north = spot + 0.25 * away / max(float(np.hypot(*away)), 1e-9)
    return float(east), float(north)


def outline_in_sight(subject: Subject, view: EyeView, picture: EyePicture, built: bool) -> MultiLineString:
    """The bed outline as pixels of the frame, where nothing hides it."""
    ring = shapely.get_coordinates(shapely.segmentize(subject.site.bed.outline.exterior, 0.1))
    elevation = subject.proposal.elevation if built else subject.ground.elevation
    spots, depth = view.project(np.column_stack([ring, subject.ground.grid.sample(elevation, ring)]))
    cells = np.floor(spots).astype(int)
    wide, high = view.size
    within = (depth > 0.3) & (cells >= 0).all(axis=1) & (cells[:, 0] < wide) & (cells[:, 1] < high)
    # The ground at the outline is as far as the pixel sees: a hair behind counts as seen.
    cells = np.where(within[:, None], cells, 0)
    shown = within & (depth <= picture.depth[cells[:, 1], cells[:, 0]] * 1.02 + 0.1)
    runs = np.split(np.arange(len(ring)), np.flatnonzero(np.diff(shown.astype(int))) + 1)
    return MultiLineString([LineString(spots[run]) for run in runs if shown[run[0]] and len(run) > 1])
