"""The ground about one tree: its circles, soil by depth, what is stripped, dug and heaped, and what comes nearest."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from shapely.geometry import LineString, Point
from shapely.geometry.base import BaseGeometry

from terrain.grid import Array
from terrain.numerics import overlap, without
from terrain.review import BAND, MOST_BANDS, TreeCheck, band_name
from terrain.site import Building, Heap, KeepClear, anchorage_radius
from terrain.units import Units, show_length
from viewer.page import (
    FAINT,
    FILL_STEPS,
    INK,
    KEEP_OFF,
    LEAST_FILL,
    NUMBER,
    PAPER,
    ROOT_ZONE,
    SMALL,
    SOFT_INK,
    SOIL,
    TREE,
    Label,
    Page,
    Pen,
    PlacedLabel,
    Seat,
    Sheet,
    Subject,
    TreeCircles,
    Type,
    area_between,
    contour_lines,
    cut_gaps,
    footprint,
    hatch,
    label_box,
    marks,
    outline_entry,
    pens,
    place,
    seats_along,
    seats_ring,
    seats_round,
    spread,
    text_size,
    tree_circles,
)
from viewer.sheets import features, layers
from viewer.sheets.yard_marks import DRIP_PEN, HEAP_PEN, heap_hatch

THREE_PEN = Pen(INK, 1.0, (8.0, 2.0, 1.5, 2.0))
STRUCTURAL_PEN = Pen(INK, 1.0, (1.5, 2.2))
FAN = (60, 36, 14, -8, -30, -54, 76, -72)  # degrees up from level at which leaders leave a circle
RING_PEN = Pen(FAINT, 0.4)
REACH_PEN = Pen(INK, 0.9)


@dataclass(frozen=True)
class Circle:
    """A circle about the trunk: what it is called, its radius in metres, its line."""

    name: str
    radius: float
    pen: Pen


def circles_of(check: TreeCheck) -> tuple[Circle, ...]:
    """The circles that are drawn, the widest last."""
    found = [
        Circle("flare, not measured" if check.flare_assumed else "flare", check.flare, Pen(TREE, 1.2)),
        Circle("keep-off", check.keep_off, pens.KEEP_OFF_PEN),
        Circle("3 x diameter", anchorage_radius(check.trunk), THREE_PEN),
        Circle("structural roots", check.structural, STRUCTURAL_PEN),
        Circle(ROOT_ZONE, check.root_zone, pens.ZONE_PEN),
    ]
    if check.dripline is not None:
        found.append(Circle("drip line", check.dripline, DRIP_PEN))
    return tuple(sorted(found, key=lambda circle: circle.radius))


def depth_edges(units: Units) -> tuple[tuple[float, float], ...]:
    """(shallow, deep) of the tints in metres: the bands of the table, the last one without a lower end."""
    steps = [BAND[units] * k for k in range(MOST_BANDS)]
    return tuple(zip(steps, [*steps[1:], math.inf], strict=True))


def stripped_hatch(area: BaseGeometry) -> BaseGeometry:
    """The hatch of ground that is stripped of its sod and gets no soil."""
    return hatch(area, 5.0, 60.0)


def draw_ground(page: Page, sheet: Sheet, subject: Subject, check: TreeCheck) -> None:
    """Everything inside the frame, from the ground up to the labels."""
    site, proposal = subject.site, subject.proposal
    lines = depth_lines(sheet, subject)
    placed = tree_map_labels(sheet, subject, check, lines)
    gaps = [label_box(item.label, item.seat) for item in placed]
    page.area(sheet.clipped(site.bed.outline), SOIL, 0.55)
    if site.bed.sod > 0.0:
        bare = without(proposal.worked, footprint(proposal))
        page.lines(cut_gaps([stripped_hatch(sheet.clipped(bare))], gaps), Pen(SOFT_INK, 0.4))
    _draw_depths(page, sheet, subject, lines)
    features.draw_digs(page, sheet, site, proposal, gaps)
    layers.draw_structures(page, sheet, site, gaps)
    for heap in site.heap:
        area = sheet.clipped(heap.outline)
        page.lines(cut_gaps([heap_hatch(area)], gaps), Pen(INK, 0.4))
        page.lines(area, HEAP_PEN)
    others = [tree for tree in tree_circles(site) if tree.tree.at != check.at]
    layers.draw_trees(page, sheet, others, gaps)
    layers.draw_outline(page, sheet, site.bed.outline)
    features.draw_built(page, sheet, site)
    _draw_tree(page, sheet, check, gaps)
    _draw_reach(page, sheet, check)
    for item in placed:
        page.area(label_box(item.label, item.seat), PAPER, 0.85)
    layers.write_labels(page, placed)
    marks.frame_line(page, sheet)


def depth_lines(sheet: Sheet, subject: Subject) -> list[tuple[float, BaseGeometry]]:
    """(depth in metres, line on the paper) between the tints."""
    levels = [low for low, _ in depth_edges(sheet.units)][1:]
    found = contour_lines(subject.proposal.grid, subject.proposal.fill, np.array(levels))
    return [(level, sheet.clipped(line)) for level, line in zip(levels, found, strict=True)]


def tints() -> tuple[str, ...]:
    """The tints of the bands, shallow to deep."""
    return spread(FILL_STEPS[:4], MOST_BANDS)


def _draw_depths(page: Page, sheet: Sheet, subject: Subject, lines: Sequence[tuple[float, BaseGeometry]]) -> None:
    """Soil in tints by depth, with a line between them."""
    proposal = subject.proposal
    for (low, high), colour in zip(depth_edges(sheet.units), tints(), strict=True):
        area = area_between(proposal.grid, proposal.fill, max(low, LEAST_FILL), min(high, 1e6))
        page.area(sheet.clipped(overlap(area, proposal.worked)), colour)
    page.lines([line for _, line in lines], Pen(INK, 0.5))


def _draw_tree(page: Page, sheet: Sheet, check: TreeCheck, gaps: Sequence[BaseGeometry]) -> None:
    """The rings of the table as hairlines, the circles over them, flare and trunk."""
    centre = Point(check.at)
    rings = [centre.buffer(ring.outer, quad_segs=48).exterior for ring in check.rings[:-1]]
    page.lines(cut_gaps([sheet.clipped(ring) for ring in rings], gaps), RING_PEN)
    page.lines(hatch(sheet.clipped(centre.buffer(check.keep_off, quad_segs=48)), 6.0, -45.0), Pen(KEEP_OFF, 0.3))
    page.area(sheet.clipped(centre.buffer(check.flare, quad_segs=48)), PAPER)
    for circle in circles_of(check):
        line = sheet.clipped(centre.buffer(circle.radius, quad_segs=64).exterior)
        page.lines(cut_gaps([line], gaps), circle.pen)
    page.area(sheet.clipped(centre.buffer(check.trunk / 2.0, quad_segs=24)), TREE)


def reaches(check: TreeCheck) -> list[tuple[str, LineString]]:
    """What comes nearest to the trunk, soil and cut, each as a line from its centre (metres) with its words."""
    found = [("soil", check.nearest_fill_at), ("cut", check.nearest_cut_at)]
    return [
        (f"{what} {math.dist(check.at, at) / check.trunk:.1f} x diameter", LineString([check.at, at]))
        for what, at in found
        if at is not None and math.dist(check.at, at) > 0.0
    ]


def _draw_reach(page: Page, sheet: Sheet, check: TreeCheck) -> None:
    """A line from the trunk's centre to the nearest soil and the nearest cut, a dot at its end."""
    for _, line in reaches(check):
        end = sheet.shape(Point(line.coords[-1]))
        if sheet.room.contains(end):
            page.lines(sheet.clipped(line), REACH_PEN)
            page.area(end.buffer(1.8), INK)
    if check.deepest_at is not None:
        spot = sheet.shape(Point(check.deepest_at))
        layers.draw_peak(page, spot.x, spot.y)


def tree_map_labels(
    sheet: Sheet, subject: Subject, check: TreeCheck, lines: Sequence[tuple[float, BaseGeometry]]
) -> list[PlacedLabel]:
    """Every text of the map that finds room, in its place."""
    site, units = subject.site, sheet.units
    labels = [*_circle_labels(sheet, check), *_reach_labels(sheet, check)]
    labels += features.feature_labels(sheet, site, subject.proposal)
    standing: tuple[Heap | Building | KeepClear, ...] = (*site.heap, *site.building, *site.keep_clear)
    for area in standing:
        kind = Type(NUMBER)
        labels.append(Label(area.name, layers.seats_in(sheet.clipped(area.outline), area.name, kind), kind, 2))
    for tree in tree_circles(site):
        if tree.tree.at != check.at:
            labels += _other(sheet, tree)
    kind = Type(NUMBER, INK, bold=True)
    unit = "in" if units == "ft" else "cm"
    for level, line in lines:
        text = f"{band_name(level, math.inf, units).removesuffix('+')} {unit}"
        for part in layers.longest_first(line)[:2]:
            labels.append(Label(text, seats_along(part, text, kind)[:60], kind, 4))
    centre = sheet.shape(Point(check.at))
    blocked = [centre.buffer(check.flare * sheet.scale.points)]
    soft = [sheet.clipped(Point(check.at).buffer(c.radius, quad_segs=48).exterior) for c in circles_of(check)]
    soft += [line for _, line in lines] + [sheet.clipped(site.bed.outline.boundary)]
    return place(labels, sheet.room.buffer(-3.0), blocked, soft)


def _circle_labels(sheet: Sheet, check: TreeCheck) -> list[Label]:
    """Name and radius of each circle: along the wide ones, with a leader to the narrow ones."""
    spot = sheet.points(np.array([check.at]))[0]
    wide = {ROOT_ZONE, "drip line"}
    inner = max(circle.radius for circle in circles_of(check) if circle.name not in wide) * sheet.scale.points
    east = check.nearest_fill_at is None or check.nearest_fill_at[0] <= check.at[0]
    labels = []
    for number, circle in enumerate(circles_of(check)):
        text = f"{circle.name} {show_length(circle.radius, sheet.units, 'distance')}"
        kind, off = Type(NUMBER, circle.pen.colour, bold=True), circle.radius * sheet.scale.points
        if circle.name in wide:
            seats = layers.seats_within(spot, off, text, kind) + seats_ring(spot[0], spot[1], text, kind, (off,))
        else:
            seats = _seats_led(spot, (off, inner), text, kind, (1 if east else -1, number))
        labels.append(Label(text, seats, kind, 1 if circle.name in wide else 0))
    return labels


def _seats_led(
    centre: Array, radii: tuple[float, float], text: str, kind: Type, way: tuple[int, int]
) -> tuple[Seat, ...]:
    """Seats beside the narrow circles, each tied by a leader to the circle that it names.

    `radii` are those of the circle and of the widest of the narrow ones, points; `way` the side to begin with (1 is
    east) and how many turns of the fan to begin further down.
    """
    off, inner = radii
    half = text_size(text, kind)[0] / 2.0
    first, number = way
    seats = []
    for side in (first, -first):
        for turn in [*FAN[number:], *FAN[:number]]:
            way_out = np.array([side * math.cos(math.radians(turn)), math.sin(math.radians(turn))])
            foot, edge = centre + off * way_out, centre + (inner + 12.0) * way_out
            seats.append(Seat(float(edge[0] + side * (half + 2.0)), float(edge[1]), 0.0, LineString([foot, edge])))
    return tuple(seats)


def _reach_labels(sheet: Sheet, check: TreeCheck) -> list[Label]:
    """The words on the nearest soil and cut, and the depth of the deepest place."""
    labels = []
    kind = Type(NUMBER, INK, bold=True)
    for text, line in reaches(check):
        end = sheet.shape(Point(line.coords[-1]))
        labels.append(Label(text, seats_round(end.x, end.y, text, kind, 4.0), kind, 0))
    if check.deepest_at is not None:
        spot = sheet.shape(Point(check.deepest_at))
        text = f"deepest {show_length(check.deepest_fill_in_root_zone, sheet.units)}"
        labels.append(Label(text, seats_round(spot.x, spot.y, text, kind, 5.0), kind, 0))
    return labels


def _other(sheet: Sheet, tree: TreeCircles) -> list[Label]:
    """The name of another tree on the sheet."""
    kind = Type(SMALL, TREE, bold=True)
    spot = sheet.points(np.array([tree.tree.at]))[0]
    off = tree.flare * sheet.scale.points
    return [Label(tree.tree.name, seats_round(spot[0], spot[1], tree.tree.name, kind, off), kind, 3)]


def legend(subject: Subject, check: TreeCheck) -> list[tuple[marks.Swatch, str]]:
    """What each mark means; what is named on the map where it stands (flare, house, walk, terrace) is left out."""
    units, site = subject.site.units, subject.site
    unit = "in" if units == "ft" else "cm"
    shown = [circle for circle in circles_of(check) if not circle.name.startswith("flare")]
    entries = [(marks.line_swatch(circle.pen), circle.name) for circle in shown]
    for (low, high), colour in zip(depth_edges(units), tints(), strict=True):
        text = f"soil {band_name(low, high, units)} {unit}"
        entries.append((marks.area_swatch(colour, Pen(INK, 0.5)), text))
    if site.bed.sod > 0.0:
        entries.append((marks.area_swatch(SOIL, None, stripped_hatch), "stripped, no soil"))
    if site.basin or site.channel:
        entries.append(features.feature_legend(site)[0])
    if site.heap:
        entries.append((marks.area_swatch(PAPER, HEAP_PEN, heap_hatch), "soil heap"))
    return [*entries, outline_entry()]
