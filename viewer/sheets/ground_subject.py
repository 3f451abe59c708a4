"""What the pages of the existing grade show and share: the sheet, the marks of shots and of places to shoot next."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import LineString, Point, Polygon, box
from shapely.geometry.base import BaseGeometry

from terrain.field import NextPlace, show_tape
from terrain.flow import Study
from terrain.site import Site
from viewer.page import (
    BODY,
    INK,
    KEEP_OFF,
    NUMBER,
    PAPER,
    SMALL,
    SOFT_INK,
    TREE,
    Bounds,
    Label,
    Page,
    Pen,
    Sheet,
    Type,
    bed_sides,
    cut_gaps,
    lay_out,
    long_axis,
    needed_ground,
    pens,
    seats_along,
    seats_ring,
    seats_round,
    tree_circles,
    yard_bounds,
)
from viewer.sheets import layers

BREAK_PEN = Pen(INK, 1.5, (10.0, 1.8, 1.5, 1.8, 1.5, 1.8))
TAPE_PEN = Pen(INK, 0.6, (3.0, 2.2))
_SPECKS = (0.2, 0.4), (0.4, 0.7), (0.5, 0.3), (0.65, 0.6), (0.85, 0.45)  # where they stand in the swatch
NEXT_HALF = 6.0  # points: half the diagonal of the mark of a place to shoot


@dataclass(frozen=True)
class GroundSubject:
    """A study and the places to shoot next."""

    study: Study
    wanted: Sequence[NextPlace]


def ground_sheet(subject: GroundSubject) -> Sheet:
    """The sheet of both pages: the bed, what stands near, and the shots that lie within a bed's length of it.

    Never in parts, however long the bed is: the ground is read as one, and has room on it for its shots' elevations.
    """
    site, grid = subject.study.site, subject.study.ground.grid
    bed = site.bed.outline
    near = box(*bed.bounds).buffer(long_axis(bed)[1], join_style="mitre").intersection(box(*yard_bounds(grid)))
    shots = shapely.multipoints(site.survey.shots[:, :2]).intersection(near)
    shapes = [box(*needed_ground(site, grid)), shots.envelope.buffer(0.6), *_starts(subject.wanted)]
    west, south, east, north = shapely.union_all(shapes).intersection(near).bounds
    return lay_out((west, south, east, north), bed_sides(bed), site.units)


def _starts(wanted: Sequence[NextPlace]) -> list[Polygon]:
    """Where the tapes start."""
    return [Point(end.at).buffer(0.6) for one in wanted if one.tapes for end in (one.tapes.start, one.tapes.end)]


def draw_yard(page: Page, sheet: Sheet, subject: GroundSubject, gaps: Sequence[BaseGeometry]) -> None:
    """Buildings, walks, trees, breaklines and the bed."""
    site = subject.study.site
    layers.draw_structures(page, sheet, site, gaps)
    for tree in tree_circles(site):
        page.area(sheet.clipped(tree.circle(tree.flare)), PAPER)
        page.lines(sheet.clipped(tree.circle(tree.flare).exterior), Pen(TREE, 1.2))
        page.area(sheet.clipped(tree.circle(tree.tree.trunk / 2)), TREE)
    page.lines(crease_lines(sheet, site), BREAK_PEN)
    layers.draw_outline(page, sheet, site.bed.outline)


def crease_lines(sheet: Sheet, site: Site) -> BaseGeometry:
    """The breaklines on the paper."""
    return shapely.union_all([sheet.clipped(LineString(line[:, :2])) for line in site.survey.breaklines])


def draw_wanted(page: Page, sheet: Sheet, subject: GroundSubject, gaps: Sequence[BaseGeometry]) -> None:
    """A dark diamond at each place to shoot, dashed tapes to its two known points, and a square at each of those."""
    for one in subject.wanted:
        spot = sheet.shape(Point(one.at))
        for end in (one.tapes.start, one.tapes.end) if one.tapes else ():
            start = sheet.shape(Point(end.at))
            page.lines(cut_gaps([LineString([start, spot])], gaps), TAPE_PEN)
            page.area(start.buffer(2.6, cap_style="square"), INK)
    for one in subject.wanted:
        page.area(diamond(sheet.shape(Point(one.at)), NEXT_HALF + 1.2), PAPER)
        page.area(diamond(sheet.shape(Point(one.at)), NEXT_HALF), INK)


def diamond(middle: Point, half: float) -> Polygon:
    """A square on its corner."""
    across, up = middle.x, middle.y
    return Polygon([(across - half, up), (across, up - half), (across + half, up), (across, up + half)])


def draw_left_out(page: Page, sheet: Sheet, subject: GroundSubject) -> None:
    """A struck ring at each shot that the ground does not use."""
    for shot in subject.study.site.survey.left_out:
        spot = sheet.shape(Point(shot.at))
        if sheet.room.contains(spot):
            strike(page, spot)


def strike(page: Page, spot: Point) -> None:
    """The mark of a shot left out: a ring with a slanting line through it."""
    page.lines(spot.buffer(4.0).exterior, Pen(SOFT_INK, 1.0))
    page.lines(LineString([(spot.x - 4.5, spot.y - 4.5), (spot.x + 4.5, spot.y + 4.5)]), Pen(SOFT_INK, 1.0))


def wanted_labels(sheet: Sheet, subject: GroundSubject) -> list[Label]:
    """The name of each place to shoot, and of the points that its tapes start from, with the taped distances."""
    labels, strong = [], Type(BODY, INK, bold=True)
    units, small = subject.study.site.units, Type(SMALL, INK)
    for one in subject.wanted:
        spot = sheet.shape(Point(one.at))
        labels.append(Label(one.name, seats_round(spot.x, spot.y, one.name, strong, NEXT_HALF), strong, 0, "next"))
        if one.tapes is None:
            continue
        for end, length in ((one.tapes.start, one.tapes.from_start), (one.tapes.end, one.tapes.from_end)):
            start = sheet.shape(Point(end.at))
            line = LineString([start, spot] if start.x < spot.x else [spot, start])
            text = show_tape(length, units)
            labels.append(Label(text, seats_along(line, text, small)[:40], small, 1, "tape"))
    ends = [end for one in subject.wanted if one.tapes for end in (one.tapes.start, one.tapes.end)]
    for name, at in dict.fromkeys((end.name, end.at) for end in ends):
        spot = sheet.shape(Point(at))
        kind = Type(NUMBER, INK, bold=True)
        labels.append(Label(name, seats_round(spot.x, spot.y, name, kind, 4.0), kind, 1, "known"))
    return labels


def tree_names(sheet: Sheet, site: Site) -> list[Label]:
    """The name of every tree, beside its flare."""
    labels, kind = [], Type(SMALL, TREE, bold=True)
    for tree in tree_circles(site):
        spot = sheet.shape(Point(tree.tree.at))
        flare, name = tree.flare * sheet.scale.points, tree.tree.name
        seats = seats_round(spot.x, spot.y, name, kind, flare) + seats_ring(spot.x, spot.y, name, kind, (flare + 12.0,))
        labels.append(Label(name, seats, kind, 0, "tree"))
    return labels


def doubt_labels(sheet: Sheet, subject: GroundSubject) -> list[Label]:
    """The names of doubtful shots and of those left out."""
    labels, kind = [], Type(NUMBER, KEEP_OFF, bold=True)
    for name, point in layers.doubtful_spots(sheet, subject.study.ground):
        labels.append(Label(f"{name}?", seats_round(point.x, point.y, f"{name}?", kind, 7.0), kind, 0, "doubtful"))
    soft = Type(NUMBER, SOFT_INK)
    for shot in subject.study.site.survey.left_out:
        spot, text = sheet.shape(Point(shot.at)), f"{shot.name} left out"
        labels.append(Label(text, seats_round(spot.x, spot.y, text, soft, 5.0), soft, 1, "left out"))
    return labels


def taken(sheet: Sheet, subject: GroundSubject) -> list[BaseGeometry]:
    """Paper that no label may cover."""
    study = subject.study
    marks: list[BaseGeometry] = [sheet.shape(tree.circle(tree.flare)) for tree in tree_circles(study.site)]
    marks += [Point(spot).buffer(2.4) for spot in layers.shot_spots(sheet, study.site)]
    marks += [point.buffer(6.5) for _, point in layers.doubtful_spots(sheet, study.ground)]
    marks += [diamond(sheet.shape(Point(one.at)), NEXT_HALF) for one in subject.wanted]
    return marks


def tape_lines(sheet: Sheet, subject: GroundSubject) -> list[BaseGeometry]:
    """The tapes on the paper."""
    return [
        sheet.shape(LineString([one.at, end.at]))
        for one in subject.wanted
        if one.tapes
        for end in (one.tapes.start, one.tapes.end)
    ]


def break_swatch(page: Page, bounds: Bounds) -> None:
    """A piece of a breakline."""
    middle = (bounds[1] + bounds[3]) / 2
    page.lines(LineString([(bounds[0], middle), (bounds[2], middle)]), BREAK_PEN)


def speck_swatch(page: Page, bounds: Bounds) -> None:
    """A few of the specks that stand for shots where they are many."""
    left, low, right, high = bounds
    spots = np.array([[left + share * (right - left), low + rise * (high - low)] for share, rise in _SPECKS])
    page.lines(layers.crosses(spots, 0.45), pens.SPECK_PEN)


def next_swatch(page: Page, bounds: Bounds) -> None:
    """The mark of a place to shoot, with a piece of a tape."""
    middle = (bounds[1] + bounds[3]) / 2
    page.lines(LineString([(bounds[0], middle), (bounds[2], middle)]), TAPE_PEN)
    spot_swatch(page, bounds)


def spot_swatch(page: Page, bounds: Bounds) -> None:
    """The mark of a place to shoot."""
    page.area(diamond(Point((bounds[0] + bounds[2]) / 2, (bounds[1] + bounds[3]) / 2), 5.0), INK)


def strike_swatch(page: Page, bounds: Bounds) -> None:
    """The mark of a shot left out."""
    strike(page, Point((bounds[0] + bounds[2]) / 2, (bounds[1] + bounds[3]) / 2))
