"""The finished ground in slanting light, with its contours: what a person would see from a hill, drawn to scale."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from shapely.geometry.base import BaseGeometry

from terrain.grid import Array
from terrain.shape import Proposal
from terrain.site import north_of
from terrain.units import Units
from viewer.page import (
    INK,
    NUMBER,
    PAPER,
    ROOT_ZONE,
    SOFT_INK,
    Label,
    Page,
    Pen,
    PlacedLabel,
    Sheet,
    Subject,
    Type,
    channels,
    contour_interval,
    contour_lines,
    cut_gaps,
    keep_off_entry,
    level_text,
    levels_between,
    marks,
    new_page,
    outline_entry,
    pens,
    place,
    seats_along,
    stamp_sheet,
    tree_circles,
)
from viewer.sheets import layers, sheet_of

SUN_FROM, SUN_HIGH = 315.0, 35.0  # degrees clockwise from north, degrees over the horizon: the habit of printed maps
STRETCH = 4.0  # heights are drawn this many times for the light alone, since a mound is gentle
_FINE = 1500  # points of light from west to east, at least
_FAINT_LEVEL = Pen(INK, 0.35)


def shade(elevation: Array, cell: float, stretch: float = STRETCH) -> Array:
    """Light on every node of a surface, (ny, nx) of 0 to 1.

    Parameters
    ----------
    elevation
        (ny, nx) metres, row 0 in the south.
    cell
        Metres between nodes.
    stretch
        How many times heights are drawn.

    Notes
    -----
    The cosine of the angle between the light and the surface (Lambert), from the gradient by central differences.
    """
    north, east = np.gradient(elevation * stretch, cell)
    turn, high = np.radians(SUN_FROM), np.radians(SUN_HIGH)
    toward = np.array([np.sin(turn) * np.cos(high), np.cos(turn) * np.cos(high), np.sin(high)])
    facing = (-east * toward[0] - north * toward[1] + toward[2]) / np.sqrt(east**2 + north**2 + 1.0)
    return np.asarray(np.clip(facing, 0.0, 1.0))


def mound_interval(proposal: Proposal, units: Units) -> float:
    """The contour interval in metres that shows the mound well, or the ground where there is no mound."""
    on_mound = proposal.elevation[proposal.fill > 0.0]
    span = on_mound if on_mound.size else proposal.elevation
    return contour_interval(float(span.min()), float(span.max()), units)


def hillshade_page(subject: Subject) -> Page:
    """The hillshade as a page, on the sheet of the other maps."""
    site, sheet = subject.site, sheet_of(subject)
    page = new_page(sheet.width, sheet.height)
    _lay_light(page, sheet, subject)
    lines, interval = _levels(sheet, subject)
    placed = _labels(sheet, subject, lines)
    gaps = [item.box for item in placed]
    page.lines(cut_gaps([line for line, _ in lines], gaps), _FAINT_LEVEL)
    layers.draw_structures(page, sheet, site, gaps)
    for tree in tree_circles(site):
        page.area(sheet.clipped(tree.circle(tree.tree.trunk / 2)), INK)
        page.lines(cut_gaps([sheet.clipped(tree.circle(tree.keep_off).exterior)], gaps), pens.KEEP_OFF_PEN)
    layers.draw_outline(page, sheet, site.bed.outline)
    for item in placed:
        page.area(item.box.buffer(0.8), PAPER, 0.85)
    layers.write_labels(page, placed)
    marks.frame_line(page, sheet)
    step = level_text(interval, interval, site.units)
    remark = (
        f"The {subject.grade} grade in light from the northwest, heights drawn {STRETCH:g} times for the light alone; "
        f"contours every {step} {site.units}."
    )
    entries: list[tuple[marks.Swatch, str]] = [outline_entry()]
    entries.append((marks.line_swatch(_FAINT_LEVEL), "proposed contour"))
    if site.tree:
        entries.append(keep_off_entry())
    words: list[list[marks.Block]] = [
        [marks.TitleBlock("Hillshade", remark), marks.ScaleBlock(sheet, north_of(site))],
        [marks.LegendBlock(entries)],
    ]
    marks.flow(page, sheet.panels, words)
    stamp_sheet(page, site, "Hillshade", sheet)
    return page


def _levels(sheet: Sheet, subject: Subject) -> tuple[list[tuple[BaseGeometry, str]], float]:
    """Contours of the finished ground on the paper with what they say, and their interval in metres."""
    elevation, units = subject.proposal.elevation, subject.site.units
    low, high = float(elevation.min()), float(elevation.max())
    interval = subject.asked.interval or mound_interval(subject.proposal, units)
    levels = levels_between(low, high, interval)
    traced = contour_lines(subject.proposal.grid, elevation, levels)
    return [
        (sheet.clipped(line), level_text(float(level), interval, units))
        for line, level in zip(traced, levels, strict=True)
    ], interval


def _labels(sheet: Sheet, subject: Subject, lines: Sequence[tuple[BaseGeometry, str]]) -> list[PlacedLabel]:
    """The level of each contour, and the names of what stands there, all placed."""
    site = subject.site
    # Root zones are not drawn here, so that they are not named either.
    named = [label for label in layers.tree_labels(sheet, site, tree_circles(site)) if label.tag != ROOT_ZONE]
    labels = layers.structure_labels(sheet, site) + named
    kind = Type(NUMBER, INK)
    for line, text in lines:
        labels += [Label(text, seats_along(part, text, kind)[:60], kind, 3) for part in layers.longest_first(line)[:2]]
    blocked = [sheet.shape(tree.circle(tree.flare)) for tree in tree_circles(site)]
    return place(labels, sheet.room.buffer(-3.0), blocked, layers.soft_ground(sheet, site))


def _lay_light(page: Page, sheet: Sheet, subject: Subject) -> None:
    """The light as a picture under the lines, cut to the frame: paper where it is bright, soft ink in the shade."""
    from matplotlib.patches import Rectangle
    from scipy.ndimage import zoom

    grid = subject.proposal.grid
    # As fine as print: between nodes the light changes evenly, where whole cells would show as steps.
    light = zoom(shade(subject.proposal.elevation, grid.cell), max(1.0, _FINE / grid.nx), order=1)
    flat = np.sin(np.radians(SUN_HIGH))  # level ground keeps one tone whatever lies around it
    share = np.clip(0.5 + 0.5 * (light - flat) / max(flat, 1.0 - flat), 0.0, 1.0)[::-1, :, None]
    dark, bright = np.array(channels(SOFT_INK)), np.array(channels(PAPER))
    image = dark + share * (bright - dark)
    corners = sheet.points(np.array([[grid.x[0], grid.y[0]], [grid.x[-1], grid.y[-1]]]))
    page.picture(image, (*corners[0], *corners[1]))
    picture = page.axes.get_images()[-1]
    left, bottom, right, top = sheet.room.bounds
    picture.set_clip_path(Rectangle((left, bottom), right - left, top - bottom, transform=page.axes.transData))
