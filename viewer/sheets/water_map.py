"""The map of the water: which way it runs on the finished ground, where it stands, and where it leaves."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import shapely
from shapely.geometry import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from terrain.findings import Finding
from terrain.grid import Array
from terrain.limits import POND
from terrain.numerics import merged
from terrain.review import Exit, Water
from terrain.site import north_of
from terrain.units import Units, show_area, show_length, show_volume
from viewer.page import (
    CAUTIONS,
    CUT_STEPS,
    INK,
    NUMBER,
    PAPER,
    REVIEW_FILE,
    SOIL,
    TREE,
    Bounds,
    Label,
    Page,
    Pen,
    PlacedLabel,
    Sheet,
    Subject,
    Type,
    area_between,
    cut_gaps,
    footprint,
    hatch,
    label_box,
    lay_out,
    marks,
    new_page,
    numbered,
    outline_entry,
    pens,
    place,
    seats_round,
    stamp_sheet,
    tree_circles,
    yard_bounds,
)
from viewer.sheets import features, layers
from viewer.sheets.flow_lines import flow_lines
from viewer.sheets.tree_sheet import BETWEEN

SPACING = 27.0  # points between arrows
LONG = 19.0  # points: length of an arrow
SHORT = 5.0  # points: water that goes no further than this stands still
BEYOND = 0.012  # of the yard's longer side, shown beyond its edges
HEAD = 4.2  # points: length of an arrow's head
FLOW_PEN = Pen(CUT_STEPS[3], 0.9)
TITLE = "Where water goes"
POND_PEN = Pen(CUT_STEPS[4], 1.1)
POND_TINT = CUT_STEPS[1]
EXIT_PEN = Pen(INK, 2.2)
LEAST_EXIT = 0.02  # share of all the water; what leaves a corner of the survey with less is told, but not marked

CLEAR = 0.5  # points between a flare and the name beside it: where they touch, rounding decides whether there is room


def draw_water(subject: Subject, water: Water, findings: Sequence[Finding], folder: Path) -> Path:
    """Write water.png (200 dots per inch) into an existing folder."""
    (page,) = numbered([water_page(subject, water, findings)])
    return page.save(folder / "water.png")


def water_page(subject: Subject, water: Water, findings: Sequence[Finding] = ()) -> Page:
    """The map of the water as a page."""
    site, sheet = subject.site, water_sheet(subject)
    page = new_page(sheet.width, sheet.height)
    placed = water_labels(sheet, subject, water)
    gaps = [label_box(item.label, item.seat) for item in placed]
    page.area(sheet.clipped(site.bed.outline), SOIL, 0.55)
    page.area(sheet.clipped(footprint(subject.proposal)), SOIL, 0.8)
    features.draw_digs(page, sheet, site, subject.proposal, gaps)
    layers.draw_structures(page, sheet, site, gaps)
    for area in pond_areas(sheet, water):
        page.area(area, POND_TINT)
        page.lines(cut_gaps([pond_hatch(area)], gaps), Pen(CUT_STEPS[3], 0.5))
        page.lines(area, POND_PEN)
    layers.draw_trees(page, sheet, tree_circles(site), gaps)
    layers.draw_outline(page, sheet, site.bed.outline)
    features.draw_built(page, sheet, site)
    if site.boundary is not None:
        page.lines(sheet.clipped(site.boundary.exterior), pens.SECTION_PEN)
    arrows = flow_arrows(sheet, subject, water)
    page.lines(cut_gaps(arrows, gaps) if arrows else [], FLOW_PEN)
    page.area(merged([_head(arrow) for arrow in arrows]), CUT_STEPS[3])
    for spot in exit_spots(sheet, water):
        page.lines(spot.buffer(5.0).exterior, EXIT_PEN)
    for item in placed:
        page.area(label_box(item.label, item.seat), PAPER, 0.85)
    layers.write_labels(page, placed)
    marks.frame_line(page, sheet)
    marks.flow(page, sheet.panels, _columns(subject, sheet, water, findings))
    stamp_sheet(page, site, TITLE, sheet)
    return page


def water_sheet(subject: Subject) -> Sheet:
    """The sheet of this map: all of the surveyed ground, since water leaves over its edge."""
    west, south, east, north = yard_bounds(subject.ground.grid)
    room = BEYOND * max(east - west, north - south)
    need = (west - room, south - room, east + room, north + room)
    # No number has to find room in the bed here: the smaller paper will do.
    units = subject.site.units
    return lay_out(need, (math.inf, math.inf), units, between=BETWEEN[units])


def flow_arrows(sheet: Sheet, subject: Subject, water: Water) -> list[LineString]:
    """Lines on the paper that follow the water for a short way from places on a lattice; none where it stands still."""
    left, bottom, right, top = sheet.frame
    across = np.arange(left + SPACING / 2, right, SPACING)
    up = np.arange(bottom + SPACING / 2, top, SPACING)
    houses = shapely.union_all([building.outline for building in subject.site.building])
    west, south = sheet.window[0], sheet.window[1]
    starts: list[tuple[float, float]] = []
    for x in across:
        for y in up:
            east = west + (x - left) / sheet.scale.points
            north = south + (y - bottom) / sheet.scale.points
            if not _on_grid(water, east, north) or houses.intersects(Point(east, north)):
                continue
            starts.append((east, north))
    reach = LONG / sheet.scale.points
    still = np.where(water.stands > POND.value, 1.0, 0.0)
    ways = flow_lines(water.grid, subject.proposal.elevation, np.array(starts).reshape(-1, 2), reach, still)
    found = (_arrow(sheet.points(way)) for way in ways)
    return [arrow for arrow in found if arrow is not None and sheet.room.contains(arrow)]


def _on_grid(water: Water, east: float, north: float) -> bool:
    grid = water.grid
    return bool(grid.x[0] < east < grid.x[-1] and grid.y[0] < north < grid.y[-1])


def _arrow(way: Array) -> LineString | None:
    """A way on the paper as an arrow's line; None where the water goes no further than a head is long."""
    line = LineString(way) if len(way) > 1 else LineString()
    return line if line.length >= SHORT else None


def _head(arrow: LineString) -> Polygon:
    """The head at the end of an arrow."""
    points = shapely.get_coordinates(arrow)
    step = points[-1] - points[-2]
    size = float(np.hypot(*step))
    if size == 0.0:
        return Polygon()
    along = step / size
    aside = np.array([-along[1], along[0]])
    tip = points[-1] + 0.5 * HEAD * along
    return Polygon([tip, tip - HEAD * along + 0.42 * HEAD * aside, tip - HEAD * along - 0.42 * HEAD * aside])


def pond_hatch(area: BaseGeometry) -> BaseGeometry:
    """The hatch of standing water: level lines, close together."""
    return hatch(area, 2.6, 0.0)


def pond_areas(sheet: Sheet, water: Water) -> list[BaseGeometry]:
    """Ground on the paper that stands under water deeper than the bound, whether the berm makes it stand or not."""
    area = area_between(water.grid, water.stands, POND.value, 1e6)
    return [part for part in shapely.get_parts(sheet.clipped(area)) if part.area > 0.0]


def marked_exits(water: Water) -> tuple[Exit, ...]:
    """The exits that carry a share of the water worth a mark, before or after."""
    least = LEAST_EXIT * max(sum(one.after for one in water.exits), sum(one.before for one in water.exits))
    return tuple(one for one in water.exits if max(one.before, one.after) >= least)


def exit_spots(sheet: Sheet, water: Water) -> list[Point]:
    """Places on the paper where water leaves, of those that the sheet shows."""
    spots = [sheet.shape(Point(one.at)) for one in marked_exits(water)]
    return [spot for spot in spots if sheet.room.buffer(-1.0).contains(spot)]


def exit_words(one: Exit, units: Units) -> str:
    """ "1240, was 1180 sq ft": the ground whose water leaves over a side, after and before."""
    return f"{show_area(one.after, units).split()[0]}, was {show_area(one.before, units)}"


def water_labels(sheet: Sheet, subject: Subject, water: Water) -> list[PlacedLabel]:
    """Names of what stands there, depth and volume of each pond that the berm makes, and the sides water leaves by."""
    units, site = sheet.units, subject.site
    labels = layers.structure_labels(sheet, site) + features.feature_labels(sheet, site, subject.proposal)
    kind = Type(NUMBER, INK, bold=True)
    for pond in water.ponds:
        spot = sheet.shape(Point(pond.at))
        text = f"{show_length(pond.depth, units)} deep, {show_volume(pond.volume, units)}"
        labels.append(Label(text, seats_round(spot.x, spot.y, text, kind, 8.0), kind, 0, "pond"))
    for tree in tree_circles(site):
        spot, name = sheet.shape(Point(tree.tree.at)), Type(NUMBER, TREE, bold=True)
        seats = seats_round(spot.x, spot.y, tree.tree.name, name, tree.flare * sheet.scale.points + CLEAR)
        labels.append(Label(tree.tree.name, seats, name, 2, "tree"))
    for one in marked_exits(water):
        spot = sheet.shape(Point(one.at))
        text = f"out on the {one.side}"
        labels.append(Label(text, seats_round(spot.x, spot.y, text, kind, 7.0), kind, 1, "exit"))
    blocked = [sheet.shape(tree.circle(tree.flare)) for tree in tree_circles(site)]
    crossed = [*layers.soft_ground(sheet, site), *features.soft_features(sheet, site, subject.proposal)]
    return place(labels, sheet.room.buffer(-3.0), blocked, crossed)


def _columns(subject: Subject, sheet: Sheet, water: Water, findings: Sequence[Finding]) -> list[list[marks.Block]]:
    """The words beside the map, by columns."""
    told = [
        ("stop" if found.level == "stop" else "!", found.text)
        for found in findings
        if found.topic == "drainage" and found.level != "note"
    ]
    remark = "Water on the finished ground; areas are of the ground that it comes from, edges those of the survey."
    entries: list[tuple[marks.Swatch, str]] = [
        (_arrow_swatch, "the way water runs"),
        (marks.area_swatch(POND_TINT, POND_PEN, pond_hatch), f"water stands, over {_pond(sheet.units)}"),
        (_exit_swatch, "where most of it leaves"),
        outline_entry(),
    ]
    if subject.site.boundary is not None:
        entries.append((marks.line_swatch(pens.SECTION_PEN), "lot line"))
    entries += layers.standing_legend(subject.site)
    return [
        [marks.TitleBlock(TITLE, remark), marks.ScaleBlock(sheet, north_of(subject.site))],
        [marks.FactsBlock("Water leaves", facts(water, sheet.units)), marks.NotesBlock(CAUTIONS, told, REVIEW_FILE)],
        [marks.LegendBlock([*entries, *features.feature_legend(subject.site)])],
    ]


def facts(water: Water, units: Units) -> list[tuple[str, str]]:
    """Where water leaves, and what the berm makes stand."""
    rows = [
        (f"{one.side} {'lot line' if one.over_lot_line else 'edge'}", exit_words(one, units)) for one in water.exits
    ]
    volume = sum(pond.volume for pond in water.ponds)
    return [*rows, ("made to stand", show_volume(volume, units) if water.ponds else "none")]


def _pond(units: Units) -> str:
    """The depth from which standing water counts."""
    return show_length(POND.value, units)


def _arrow_swatch(page: Page, bounds: Bounds) -> None:
    middle = (bounds[1] + bounds[3]) / 2
    arrow = LineString([(bounds[0] + 2.0, middle), (bounds[2] - 4.0, middle)])
    page.lines(arrow, FLOW_PEN)
    page.area(_head(arrow), CUT_STEPS[3])


def _exit_swatch(page: Page, bounds: Bounds) -> None:
    page.lines(Point((bounds[0] + bounds[2]) / 2, (bounds[1] + bounds[3]) / 2).buffer(4.6).exterior, EXIT_PEN)
