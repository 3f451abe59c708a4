"""The map of cut and fill: depth in steps, each with its number; fill brown, cut blue-green and hatched."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import shapely
from shapely.geometry import Point
from shapely.geometry.base import BaseGeometry

from terrain.ground import Ground
from terrain.numerics import overlap
from terrain.shape import Proposal
from terrain.site import north_of
from terrain.soil import buy_words
from terrain.units import Units, show_area, show_length, show_volume, unit_length
from viewer.page import (
    CUT_STEPS,
    FILL_STEPS,
    INK,
    LEAST_FILL,
    NUMBER,
    PAPER,
    SOFT_INK,
    Label,
    Page,
    PartKey,
    Pen,
    PlacedLabel,
    Sheet,
    Subject,
    Type,
    area_between,
    contour_lines,
    depth_step,
    draw_matches,
    footprint,
    hatch,
    ink_on,
    marks,
    match_ground,
    new_page,
    numbered,
    outline_entry,
    place,
    seats_along,
    seats_round,
    spread,
    stamp_sheet,
    top_of_mound,
    tree_circles,
)
from viewer.sheets import features, layers
from viewer.sheets.plan import sheet_of

SECOND_NUMBER = 260.0  # points: a longer line between steps carries its number twice


TITLE = "Cut and fill"


@dataclass(frozen=True)
class TintBand:
    """Ground whose depth of fill (or cut) lies between two steps: area and depths in metres, colour."""

    area: BaseGeometry
    low: float
    high: float
    colour: str
    cut: bool


def draw_cutfill(subject: Subject, folder: Path) -> list[Path]:
    """Write cutfill.png (200 dots per inch) into `folder`."""
    (page,) = numbered([cutfill_page(subject)])
    return [page.save(folder / "cutfill.png")]


def bands(proposal: Proposal, ground: Ground, units: Units, tallest: float = 0.0) -> list[TintBand]:
    """Fill and cut in at most five steps each, from shallow to deep; cut is existing over proposed.

    Steps and colours suit the deeper of this yard's own depth and `tallest` (metres), so that maps side by side can
    share them.
    """
    change = proposal.elevation - ground.elevation
    found = []
    for depth, colours, cut in ((change, FILL_STEPS, False), (-change, CUT_STEPS, True)):
        deepest = float(depth.max())
        if deepest <= LEAST_FILL:
            continue
        most = max(deepest, tallest)
        step = depth_step(most, units)
        # A hair over a step is no band of its own: nobody could see it on the map.
        count, shared = (max(int(np.ceil(reach / step - 0.03)), 1) for reach in (deepest, most))
        edges = [LEAST_FILL, *(step * np.arange(1, count)), deepest + 1e-9]
        tints = spread(colours, min(shared, len(colours)))
        for k in range(count):
            area = area_between(proposal.grid, depth, edges[k], edges[k + 1])
            area = area.simplify(0.8 * proposal.grid.cell) if cut else overlap(area, proposal.worked)
            low = 0.0 if k == 0 else float(edges[k])
            found.append(TintBand(area, low, step * (k + 1), tints[min(k, len(tints) - 1)], cut))
    return found


def cutfill_page(subject: Subject, sheet: Sheet | None = None) -> Page:
    """The cut and fill map as a page; `sheet` is one of the plan's `sheets_of`, None that of the whole."""
    site, sheet = subject.site, sheet or sheet_of(subject)
    page = new_page(sheet.width, sheet.height)
    found = bands(subject.proposal, subject.ground, site.units)
    placed = map_labels(sheet, subject, found)
    gaps = [item.box for item in placed]
    layers.draw_structures(page, sheet, site, gaps)
    page.begin("depths")
    for band in found:
        shown = sheet.clipped(band.area)
        page.area(shown, band.colour)
        if band.cut:
            page.lines(_cut_hatch(shown), _hatch_pen(band))
    page.lines(_edges(subject, sheet, found), Pen(INK, 0.6))
    page.lines(sheet.clipped(features.dug(subject.proposal)), features.DIG_PEN)
    layers.draw_trees(page, sheet, tree_circles(site), gaps)
    layers.draw_outline(page, sheet, site.bed.outline)
    features.draw_built(page, sheet, site)
    _write_depths(page, sheet, subject, placed)
    draw_matches(page, sheet)
    marks.frame_line(page, sheet)
    marks.flow(page, sheet.panels, _columns(subject, sheet, found))
    stamp_sheet(page, site, TITLE, sheet)
    return page


def _cut_hatch(area: BaseGeometry) -> BaseGeometry:
    return hatch(area, 4.0, 0.0)


def _hatch_pen(band: TintBand) -> Pen:
    """A hatch that shows on the tint, so that deep cut is told from deep fill on a grey print."""
    return Pen(ink_on(band.colour), 0.5)


def _edges(subject: Subject, sheet: Sheet, found: Sequence[TintBand]) -> list[BaseGeometry]:
    """The lines between steps, on the paper, in the order of the bands."""
    change = subject.proposal.elevation - subject.ground.elevation
    levels = np.array([-band.low if band.cut else band.low for band in found])
    lines = contour_lines(subject.proposal.grid, change, levels)
    return [
        sheet.clipped(line) if band.low > 0.0 else shapely.MultiLineString()
        for line, band in zip(lines, found, strict=True)
    ]


def step_number(metres: float, units: Units) -> str:
    """A depth as a bare number, inches or centimetres."""
    return f"{12.0 * metres / unit_length('ft') if units == 'ft' else 100.0 * metres:.1f}".removesuffix(".0")


def map_labels(sheet: Sheet, subject: Subject, found: Sequence[TintBand]) -> list[PlacedLabel]:
    """Numbers on the lines between steps, the deepest place, and the names of what stands there, all placed."""
    site = subject.site
    labels = layers.structure_labels(sheet, site) + layers.tree_labels(sheet, site, tree_circles(site))
    labels += features.feature_labels(sheet, site, subject.proposal)
    kind = Type(NUMBER, INK, bold=True)
    for line, band in zip(_edges(subject, sheet, found), found, strict=True):
        text = ("−" if band.cut else "") + step_number(band.low, site.units)
        for part in layers.longest_first(line)[:2]:
            seats = seats_along(part, text, kind)[:80]
            labels.append(Label(text, seats, kind, 2, "depth"))
            if part.length > SECOND_NUMBER:
                labels.append(Label(text, tuple(reversed(seats)), kind, 3, "depth"))
    east, north, deepest = top_of_mound(subject.proposal)
    spot = sheet.points(np.array([[east, north]]))[0]
    if deepest > LEAST_FILL:
        text = show_length(deepest, site.units)
        strong = Type(NUMBER + 1.0, INK, bold=True)
        labels.append(Label(text, seats_round(spot[0], spot[1], text, strong, 6.0), strong, 0, "depth"))
    blocked: list[BaseGeometry] = [sheet.shape(t.circle(t.flare)) for t in tree_circles(site)]
    blocked += [Point(spot).buffer(4.5), *match_ground(sheet)]
    soft = layers.soft_ground(sheet, site) + features.soft_features(sheet, site, subject.proposal)
    return place(labels, sheet.room.buffer(-3.0), blocked, soft)


def _write_depths(page: Page, sheet: Sheet, subject: Subject, placed: Sequence[PlacedLabel]) -> None:
    """Set the placed labels; what stands on the tints stands on paper, so that it reads on dark and light alike."""
    tinted = [sheet.clipped(area) for area in (footprint(subject.proposal), features.dug(subject.proposal))]
    page.begin("words")
    for item in placed:
        if item.label.tag == "depth" or any(item.box.intersects(area) for area in tinted):
            page.area(item.box.buffer(0.6), PAPER)
    east, north, deepest = top_of_mound(subject.proposal)
    spot = sheet.points(np.array([[east, north]]))[0]
    if deepest > LEAST_FILL and sheet.room.contains(Point(spot)):
        page.area(Point(spot).buffer(6.0), PAPER)
        layers.draw_peak(page, *spot)
    layers.write_labels(page, placed)


def _columns(subject: Subject, sheet: Sheet, found: Sequence[TintBand]) -> list[list[marks.Block]]:
    """The words beside the map, by columns."""
    units = sheet.units
    unit = "in" if units == "ft" else "cm"
    remark = f"Depths in {'inches' if units == 'ft' else 'centimetres'}, {subject.grade} grade less existing grade."
    entries: list[tuple[marks.Swatch, str]] = []
    for band in found:
        lines = _cut_hatch if band.cut else None
        word = "cut" if band.cut else "fill"
        text = f"{word} {step_number(band.low, units)} to {step_number(band.high, units)} {unit}"
        entries.append((marks.area_swatch(band.colour, Pen(SOFT_INK, 0.5), lines, _hatch_pen(band)), text))
    entries += [outline_entry(), *layers.standing_legend(subject.site), *features.built_legend(subject.site)]
    north = north_of(subject.site)
    return [
        [marks.TitleBlock(TITLE, remark), marks.ScaleBlock(sheet, north), PartKey(sheet, north)],
        [marks.FactsBlock("Totals", totals(subject))],
        [marks.LegendBlock(entries)],
    ]


def totals(subject: Subject) -> list[tuple[str, str]]:
    """Volumes and areas of the earthwork."""
    work, units = subject.work, subject.site.units
    order = subject.order
    rows = [
        ("Fill", show_volume(work.fill_placed, units, "placed")),
        ("Cut", show_volume(work.cut_bank, units, "bank")),
        ("Sod stripped", show_volume(work.sod, units, "bank")),
        ("Mulch", show_volume(work.mulch, units)),
        ("Soil to order", buy_words(order, units)),
        ("expected", show_volume(order.expected, units, "loose")),
        ("Deepest fill", show_length(top_of_mound(subject.proposal)[2], units)),
        ("Bed", show_area(work.bed_area, units)),
    ]
    return [row for row in rows if not (row[0] == "Cut" and work.cut_bank == 0.0)]
