"""The picture that lies on the ground in a view: tints and lines of the plan, with light and shade baked in."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import box
from shapely.geometry.base import BaseGeometry

from terrain.grid import Array, Grid
from terrain.numerics import without
from terrain.shape import retained_edges
from viewer.page import (
    ELEVATION_STEPS,
    EXISTING,
    KEEP_OFF,
    OUTLINE,
    PROPOSED,
    SOIL,
    WALK,
    WATER,
    WATER_EDGE,
    Bounds,
    Page,
    Pen,
    Scale,
    Sheet,
    Subject,
    area_between,
    footprint,
    new_page,
    tree_circles,
    yard_bounds,
)
from viewer.pictures.laid import as_built, filled_basins
from viewer.sheets import PlanContour, bands, plan_contours

LONG_SIDE = 1800.0  # pixels of the longer side
MEADOW = "#d9d8b6"
BEYOND = "#e6e3d0"  # outside the yard, where nothing is known
GRAVEL, PEBBLE, PEBBLES = "#aaa59b", ("#c4beb2", "#8f8a80"), 150  # and pebbles on a square metre
TINT = 0.25  # how much of the elevation colour shows on the meadow
AMBIENT = 0.45
BRIGHTEST = 1.06  # a sunny side may not wash out the tints
RELIEF = 1.7  # strengthens light and shade only; the ground itself stays true

Image = NDArray[np.uint8]


def draped(subject: Subject, window: Bounds, sun: Array) -> tuple[Image, Image]:
    """The skins of the ground over a window (metres) before and after building, rows from the north.

    `sun` is the unit vector (3,) toward the light.
    """
    sheet = _skin_sheet(window, subject)
    contours, _ = plan_contours(subject, sheet)
    skins = [_pixels(_skin_page(subject, sheet, contours, built)) for built in (False, True)]
    elevations = subject.ground.elevation, as_built(subject)
    lights = [_light(subject.ground.grid, elevation, window, sun, skins[0].shape) for elevation in elevations]
    return _times(skins[0], lights[0]), _times(skins[1], lights[1])


def _skin_page(subject: Subject, sheet: Sheet, contours: Sequence[PlanContour], built: bool) -> Page:
    """Tints and lines of one state of the ground, not yet lit."""
    site = subject.site
    page = new_page(sheet.width, sheet.height)
    page.area(sheet.room, BEYOND)
    page.area(sheet.clipped(box(*yard_bounds(subject.ground.grid))), MEADOW)
    _tint_by_height(page, sheet, subject)
    size = max(sheet.width, sheet.height) / 620.0
    if built:
        _tint_by_depth(page, sheet, subject)
        _draw_water(page, sheet, subject, size)
        _draw_gravel(page, sheet, subject)
    for clear in site.keep_clear:
        page.area(sheet.clipped(clear.outline), WALK)
        page.lines(sheet.clipped(clear.outline.boundary), Pen("#9a9184", 0.8 * size))
    covered = sheet.shape(footprint(subject.proposal)) if built else None
    # In the bed of a stream every bank would show lines of its own.
    beds = sheet.shape(shapely.union_all([bed.dig.rim for bed in subject.proposal.streams]))
    for contour in contours:
        _draw_contour(page, contour, covered, beds, size)
    page.lines(sheet.clipped(site.bed.outline.boundary), Pen(OUTLINE, (2.2 if built else 1.0) * size))
    for tree in tree_circles(site):
        ring = sheet.clipped(tree.circle(tree.keep_off).exterior)
        page.lines(ring, Pen(KEEP_OFF, 1.3 * size, (4.0 * size, 2.0 * size)))
    return page


def _draw_contour(
    page: Page, contour: PlanContour, covered: BaseGeometry | None, beds: BaseGeometry, size: float
) -> None:
    """A contour; before the work (`covered` is None) only one of the ground as it is, whole."""
    if contour.proposed:
        if covered is not None:
            page.lines(without(contour.line, beds), Pen(PROPOSED, 0.95 * size))
        return
    line = contour.line if covered is None else without(contour.line, covered)
    page.lines(line, Pen(EXISTING, (0.9 if contour.strong else 0.6) * size))


def _tint_by_depth(page: Page, sheet: Sheet, subject: Subject) -> None:
    """Bare soil in the bed, and the tints of the depth of fill."""
    page.area(sheet.clipped(subject.site.bed.outline), SOIL)
    for band in bands(subject.proposal, subject.ground, subject.site.units):
        page.area(sheet.clipped(band.area), band.colour, 0.8)


def _draw_water(page: Page, sheet: Sheet, subject: Subject, size: float) -> None:
    """The water of streams."""
    for bed in subject.proposal.streams:
        page.area(sheet.clipped(bed.wet), WATER)
        page.lines(sheet.clipped(bed.wet.exterior), Pen(WATER_EDGE, 1.2 * size))


def _draw_gravel(page: Page, sheet: Sheet, subject: Subject) -> None:
    """The stone that buried basins are full of, and that lies behind walls: pebbles, as close as they show."""
    basins = shapely.union_all([filled_basins(subject), *(edge.stones for edge in retained_edges(subject.site))])
    if basins.is_empty:
        return
    page.area(sheet.clipped(basins), GRAVEL)
    west, south, east, north = basins.bounds
    rng = np.random.default_rng(5)
    spots = rng.uniform((west, south), (east, north), (int((east - west) * (north - south) * PEBBLES), 2))
    pebbles = shapely.buffer(shapely.points(spots), rng.uniform(0.02, 0.045, len(spots)), quad_segs=2)
    for k, colour in enumerate(PEBBLE):
        page.area(sheet.clipped(shapely.union_all(pebbles[k :: len(PEBBLE)]).intersection(basins)), colour)


def _tint_by_height(page: Page, sheet: Sheet, subject: Subject) -> None:
    """A breath of colour for the height of the existing ground, low to high; the contours carry the figures."""
    ground = subject.ground
    edges = np.linspace(ground.elevation.min(), ground.elevation.max() + 1e-6, len(ELEVATION_STEPS) + 1)
    for low, high, colour in zip(edges[:-1], edges[1:], ELEVATION_STEPS, strict=True):
        page.area(sheet.clipped(area_between(ground.grid, ground.elevation, low, high)), colour, TINT)


def _skin_sheet(window: Bounds, subject: Subject) -> Sheet:
    """A sheet that is all drawing, as large in pixels as it is in points."""
    wide, high = window[2] - window[0], window[3] - window[1]
    size = LONG_SIDE / max(wide, high)
    ratio = 72.0 / (0.0254 * size)
    frame = (0.0, 0.0, wide * size, high * size)
    return Sheet("", frame[2], frame[3], Scale(ratio, ""), frame, window, (), subject.site.units)


def _pixels(page: Page) -> Image:
    """The page as (rows, columns, 3) bytes at one pixel to the point."""
    page.figure.set_dpi(72.0)
    page.figure.canvas.draw()
    return np.asarray(page.figure.canvas.buffer_rgba())[:, :, :3]


def _light(grid: Grid, elevation: Array, window: Bounds, sun: Array, shape: tuple[int, ...]) -> NDArray[np.float32]:
    """Light on every pixel of a skin, by how the ground faces the sun; 1 on level ground."""
    north, east = np.gradient(elevation, grid.cell)
    normal = np.stack([-RELIEF * east, -RELIEF * north, np.ones(grid.shape)])
    facing = np.tensordot(sun, normal, axes=1) / np.linalg.norm(normal, axis=0)
    light = AMBIENT + (1.0 - AMBIENT) * np.clip(facing, 0.0, None) / sun[2]
    light = np.minimum(light, BRIGHTEST).astype(np.float32)
    rows, columns = shape[:2]
    across = window[0] + (np.arange(columns) + 0.5) / columns * (window[2] - window[0])
    up = window[3] - (np.arange(rows) + 0.5) / rows * (window[3] - window[1])
    return spread_to(grid, light, across, up)


def _times(skin: Image, light: NDArray[np.float32]) -> Image:
    """A skin under its light."""
    lit: Image = np.minimum(skin * light[:, :, None], 255.0).astype(np.uint8)
    return lit


def spread_to(grid: Grid, values: NDArray[np.float32], across: Array, up: Array) -> NDArray[np.float32]:
    """Bilinear values of a grid at every pair of (rows,) and (columns,) places in metres, by two passes."""
    i = np.clip((across - grid.x0) / grid.cell, 0.0, grid.nx - 1.000001)
    j = np.clip((up - grid.y0) / grid.cell, 0.0, grid.ny - 1.000001)
    i0, j0 = i.astype(np.intp), j.astype(np.intp)
    u, v = (i - i0).astype(np.float32)[None, :], (j - j0).astype(np.float32)[:, None]
    by_rows = values[j0] * (1 - v) + values[j0 + 1] * v
    return np.asarray(by_rows[:, i0] * (1 - u) + by_rows[:, i0 + 1] * u)
