"""The plan for somebody who neither measures nor builds: what stands and lies there, the mound by its contours, and
numbers where something is said of a place.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry import Point
from shapely.geometry.base import BaseGeometry

from terrain.site import north_of
from terrain.units import show_length
from viewer.page import (
    BODY,
    INK,
    KEEP_OFF,
    NUMBER,
    PAPER,
    PAPERS,
    SMALL,
    SOFT_INK,
    Bounds,
    Label,
    Page,
    Pen,
    PlacedLabel,
    Sheet,
    Subject,
    Type,
    cut_gaps,
    keep_off_entry,
    label_box,
    marks,
    needed_ground,
    outline_entry,
    pens,
    place,
    scales,
    seats_led,
    seats_round,
    top_of_mound,
    tree_circles,
    zone_entry,
)
from viewer.sheets import features, layers
from viewer.sheets.air import draw_air
from viewer.sheets.plan import draw_yard, plan_contours
from viewer.sheets.thing_marks import draw_things, thing_labels
from viewer.sheets.tree_sheet import BETWEEN

Place = tuple[float, float]
FOOT = 86.0  # points under the plan for its scale and what its marks mean
MARK = Type(BODY, KEEP_OFF, bold=True)
DOT = 2.2  # points: radius of the mark of a place


def plain_sheet(subject: Subject, size: tuple[float, float], room: Bounds) -> Sheet:
    """The ground that must show, at the largest round scale, in as much of a room's height as that takes.

    `size` is the page's, points; the scale and what the marks mean stand in `FOOT` points at the foot of the room.
    """
    site = subject.site
    west, south, east, north = needed_ground(site, subject.ground.grid)
    left, low, right, top = room[0], room[1] + FOOT, room[2], room[3]
    steps = sorted((*scales(site.units), *BETWEEN[site.units]), key=lambda step: step.ratio)
    fits = (s for s in steps if (east - west) * s.points <= right - left and (north - south) * s.points <= top - low)
    scale = next(fits, steps[-1])
    low = max(low, top - (north - south) * scale.points - 16.0)
    across, up = (right - left) / scale.points / 2.0, (top - low) / scale.points / 2.0
    x, y = (west + east) / 2.0, (south + north) / 2.0
    window = (x - across, y - up, x + across, y + up)
    return Sheet(PAPERS[site.units][0][0], *size, scale, (left, low, right, top), window, (), site.units)


def draw_plain_plan(page: Page, sheet: Sheet, subject: Subject, told: Sequence[tuple[str, Place]]) -> None:
    """Draw the plan with its scale and legend under it; `told` are numbers and the places (metres) they stand for."""
    under = draw_air(page, sheet, subject)
    placed = _placed(subject, sheet, told)
    _draw_inside(page, sheet, subject, [item.box for item in placed])
    _draw_told(page, placed, [sheet.clipped(Point(at)) for _, at in told])
    layers.write_labels(page, placed)
    marks.frame_line(page, sheet)
    left, foot, right, _ = sheet.frame
    half = (right - left - 16.0) / 2.0
    marks.ScaleBlock(sheet, north_of(subject.site)).draw(page, left, foot - 8.0, half, FOOT)
    marks.LegendBlock(_legend(subject, bool(told))).draw(page, left + half + 16.0, foot - 8.0, half, FOOT)
    if under:
        page.text(left, foot - FOOT, under, Type(SMALL, SOFT_INK))


def _draw_inside(page: Page, sheet: Sheet, subject: Subject, gaps: Sequence[BaseGeometry]) -> None:
    """Everything inside the frame but the words."""
    site = subject.site
    draw_yard(page, sheet, subject, gaps)
    contours = [one for one in plan_contours(subject, sheet)[0] if one.proposed]
    page.lines(cut_gaps([one.line for one in contours], gaps), pens.PROPOSED_PEN)
    layers.draw_outline(page, sheet, site.bed.outline)
    features.draw_built(page, sheet, site)
    draw_things(page, sheet, site, gaps)
    layers.draw_peak(page, *sheet.points(np.array([top_of_mound(subject.proposal)[:2]]))[0])


def _placed(subject: Subject, sheet: Sheet, told: Sequence[tuple[str, Place]]) -> list[PlacedLabel]:
    """Numbers first, then names, each in a place of its own."""
    site, room = subject.site, sheet.room.buffer(-3.0)
    spots = [(number, sheet.shape(Point(at))) for number, at in told]
    numbers = []
    for number, spot in spots:
        if sheet.room.contains(spot):
            near = seats_round(spot.x, spot.y, number, MARK, DOT + 1.5)
            numbers.append(Label(number, near + seats_led(spot.x, spot.y, number, MARK, DOT), MARK, tag="told"))
    first = place(numbers, room, [spot.buffer(DOT) for _, spot in spots])
    x, y, height = top_of_mound(subject.proposal)
    top, kind = sheet.shape(Point(x, y)), Type(NUMBER, INK, bold=True)
    words = f"{show_length(height, site.units)} high"
    names = [Label(words, seats_round(top.x, top.y, words, kind, 5.0), kind, 0)]
    names += layers.structure_labels(sheet, site)
    names += [one for one in layers.tree_labels(sheet, site, tree_circles(site)) if one.tag == "tree"]
    names += thing_labels(sheet, site)
    blocked = [sheet.shape(tree.circle(tree.flare)) for tree in tree_circles(site)]
    blocked += [top.buffer(4.0), *(spot.buffer(DOT) for _, spot in spots), *(item.box for item in first)]
    return first + place(names, room, blocked, layers.soft_ground(sheet, site))


def _draw_told(page: Page, placed: Sequence[PlacedLabel], spots: Sequence[BaseGeometry]) -> None:
    """A dot at each place that something is said of, and its number in a box, tied to it where it stands aside."""
    page.area(shapely.union_all([spot.buffer(DOT) for spot in spots]), KEEP_OFF)
    for item in placed:
        if item.label.tag == "told":
            if item.seat.also is not None:
                page.lines(item.seat.also, Pen(KEEP_OFF, 0.7))
            frame = label_box(item.label, item.seat)
            page.area(frame, PAPER)
            page.lines(frame.exterior, Pen(KEEP_OFF, 0.7))


def _legend(subject: Subject, told: bool) -> list[tuple[marks.Swatch, str]]:
    entries = [outline_entry(), (marks.line_swatch(pens.PROPOSED_PEN), "the mound, by lines of one height")]
    if subject.site.tree:
        entries += [keep_off_entry("no soil"), zone_entry()]
    if told:
        entries.append((_told_swatch, "a caution by its number"))
    return entries


def _told_swatch(page: Page, bounds: Bounds) -> None:
    middle = Point((bounds[0] + bounds[2]) / 2.0, (bounds[1] + bounds[3]) / 2.0)
    page.area(middle.buffer(DOT), KEEP_OFF)
