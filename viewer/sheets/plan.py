"""The contour plan: existing and proposed grade, trees, outline, fill depths; a page (PDF) and a picture (PNG)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import shapely
from shapely.geometry import MultiLineString, MultiPoint, Point, Polygon, box
from shapely.geometry.base import BaseGeometry

from terrain.findings import Finding
from terrain.grid import Array, Grid
from terrain.numerics import overlap, without
from terrain.units import Units, show_length, unit_length
from viewer.page import (
    INK,
    KEEP_OFF,
    NUMBER,
    PROPOSED,
    REVIEW_FILE,
    SOFT_INK,
    SOIL,
    Bounds,
    Label,
    Page,
    PlacedLabel,
    Seat,
    Sheet,
    Subject,
    Type,
    bed_sides,
    contour_interval,
    contour_lines,
    cut_gaps,
    draw_matches,
    footprint,
    in_parts,
    lay_out,
    level_text,
    levels_between,
    long_axis,
    marks,
    match_ground,
    needed_ground,
    new_page,
    numbered,
    pens,
    place,
    save_book,
    seats_along,
    seats_round,
    section_lines,
    stamp_sheet,
    strong_every,
    top_of_mound,
    tree_circles,
)
from viewer.sheets import features, layers, spots, yard_marks
from viewer.sheets.air import draw_air
from viewer.sheets.plan_words import CAUTION_ROOM, TITLE, plan_columns, words_height
from viewer.sheets.thing_marks import draw_things, thing_labels

SPOT_SPACING = 44.0  # points between the spot depths
LETTER_ROOM = 0.6  # metres beyond the ends of the sections
BESIDE_WALLS = 6.0  # points: contours crowd along a wall, where their numbers would stand on each other
LEAST_DEPTH = 0.02  # metres: a thinner fill gets no number


@dataclass(frozen=True)
class PlanContour:
    """One contour on the paper: its line, what it says, whether it is drawn strong, existing or proposed."""

    line: BaseGeometry
    text: str
    strong: bool
    proposed: bool


def draw_plan(subject: Subject, findings: Sequence[Finding], folder: Path) -> list[Path]:
    """Write plan.pdf (vector, to scale, in parts where the bed is long) and plan.png (the whole) into `folder`."""
    pages = numbered([plan_page(subject, findings, sheet=sheet) for sheet in sheets_of(subject)])
    whole = pages[0] if len(pages) == 1 else numbered([plan_page(subject, findings)])[0]
    return [save_book(pages, folder / "plan.pdf"), whole.save(folder / "plan.png")]


def sheet_of(subject: Subject) -> Sheet:
    """The sheet that the maps of this subject share: with room for a caution or two where that costs no scale."""
    site, least = subject.site, words_height(subject)

    def laid(foot: float) -> Sheet:
        return lay_out(_need(subject), bed_sides(site.bed.outline), site.units, subject.asked.paper, foot=foot)

    roomy, tight = laid(least + CAUTION_ROOM), laid(least)
    return roomy if (roomy.paper, roomy.scale) == (tight.paper, tight.scale) else tight


def sheets_of(subject: Subject) -> tuple[Sheet, ...]:
    """That sheet, or its parts where the bed would be too small to read on one."""
    foot = words_height(subject)
    return in_parts(sheet_of(subject), subject.site.bed.outline, subject.asked.paper, foot)


def _need(subject: Subject) -> Bounds:
    """The ground that the maps must show, metres."""
    site = subject.site
    lines = MultiLineString([section.line for section in section_lines(site, subject.proposal)])
    # The letters stand at the ends of the sections, so these must show with a little room.
    shown = box(*needed_ground(site, subject.ground.grid)).union(box(*lines.bounds).buffer(LETTER_ROOM))
    west, south, east, north = shown.bounds
    return west, south, east, north


def draw_yard(page: Page, sheet: Sheet, subject: Subject, gaps: Sequence[BaseGeometry]) -> None:
    """What stands and lies in the yard under the lines of the mound."""
    site = subject.site
    page.area(sheet.clipped(site.bed.outline), SOIL, 0.55)
    page.area(sheet.clipped(footprint(subject.proposal)), SOIL, 0.8)
    features.draw_digs(page, sheet, site, subject.proposal, gaps)
    layers.draw_structures(page, sheet, site, gaps)
    yard_marks.draw_walks(page, sheet, site, gaps)
    yard_marks.draw_drip_lines(page, sheet, tree_circles(site), gaps)
    layers.draw_trees(page, sheet, tree_circles(site), gaps)


def plan_page(
    subject: Subject, findings: Sequence[Finding] = (), rest_in: str = REVIEW_FILE, sheet: Sheet | None = None
) -> Page:
    """The contour plan as a page; findings that find no room on it are to be read in `rest_in`.

    `sheet` is one of `sheets_of`; None: that of the whole.
    """
    site, sheet = subject.site, sheet or sheet_of(subject)
    page = new_page(sheet.width, sheet.height)
    under = draw_air(page, sheet, subject)
    contours, interval = plan_contours(subject, sheet)
    placed = plan_labels(subject, sheet, contours)
    gaps = [item.box for item in placed]
    page.begin("bed")
    draw_yard(page, sheet, subject, gaps)
    if subject.site.survey.measured:
        page.begin("edge of the survey")
        page.lines(sheet.clipped(subject.ground.hull.exterior), pens.SURVEY_PEN)
    _draw_contours(page, sheet, subject, contours, gaps)
    layers.draw_outline(page, sheet, site.bed.outline)
    features.draw_built(page, sheet, site)
    draw_things(page, sheet, site, gaps)
    layers.draw_shots(page, sheet, site, subject.ground)
    sections = [sheet.clipped(section.line) for section in section_lines(site, subject.proposal)]
    page.begin("section lines")
    page.lines(cut_gaps(sections, gaps), pens.SECTION_PEN)
    page.begin("spot elevations and slopes")
    _draw_spots(page, placed, subject, sheet)
    spots.draw_slope_arrows(page, sheet, spots.slope_arrows(subject))
    spots.draw_toe_spots(page, sheet, spots.toe_spots(subject))
    layers.write_labels(page, placed)
    draw_matches(page, sheet)
    marks.frame_line(page, sheet)
    marks.flow(page, sheet.panels, plan_columns(subject, sheet, interval, findings, (rest_in, under)))
    stamp_sheet(page, site, TITLE, sheet)
    return page


def plan_contours(subject: Subject, sheet: Sheet) -> tuple[list[PlanContour], float]:
    """Every contour on the paper, and the interval in metres: existing over the yard, proposed on the mound."""
    proposal, ground, units = subject.proposal, subject.ground, subject.site.units
    covered = footprint(proposal)
    on_mound = proposal.elevation[proposal.fill > 0.0]
    span = on_mound if on_mound.size else ground.elevation
    interval = subject.asked.interval or contour_interval(float(span.min()), float(span.max()), units)
    every = strong_every(interval, units)
    houses = shapely.union_all([building.outline for building in subject.site.building])
    contours = []
    for elevation, proposed in ((ground.elevation, False), (proposal.elevation, True)):
        levels = levels_between(float(elevation.min()), float(elevation.max()), interval)
        lines = contour_lines(proposal.grid, elevation, levels)
        for level, line in zip(levels, lines, strict=True):
            shown = sheet.clipped(overlap(line, covered) if proposed else without(line, houses))
            if not shown.is_empty:
                strong = round(level / interval) % every == 0
                smooth = shown.simplify(0.12)
                contours.append(PlanContour(smooth, level_text(float(level), interval, units), strong, proposed))
    return contours, interval


def plan_labels(subject: Subject, sheet: Sheet, contours: Sequence[PlanContour]) -> list[PlacedLabel]:
    """Every text of the plan that finds room, in its place."""
    wanted, room = _labels(subject, sheet, contours), sheet.room.buffer(-3.0)
    told, taken = spots.spot_labels(sheet, spots.toe_spots(subject), spots.slope_arrows(subject))
    blocked = [*_blocked(subject, sheet), *taken]
    return place([*wanted, *told], room, blocked, _crossed(subject, sheet, contours))


def _draw_contours(
    page: Page, sheet: Sheet, subject: Subject, contours: Sequence[PlanContour], gaps: Sequence[Polygon]
) -> None:
    """Existing dashed (dotted where no shot surrounds the ground), proposed solid, with gaps at the labels."""
    hull = sheet.shape(subject.ground.hull)
    by_kind = {
        (False, False): pens.EXISTING_PEN,
        (False, True): pens.EXISTING_STRONG,
        (True, False): pens.PROPOSED_PEN,
        (True, True): pens.PROPOSED_STRONG,
    }
    for (proposed, strong), pen in by_kind.items():
        lines = [c.line for c in contours if (c.proposed, c.strong) == (proposed, strong)]
        if not lines:
            continue
        page.begin(f"{'proposed' if proposed else 'existing'} contours")
        lines = cut_gaps(lines, gaps)
        if not proposed:
            page.lines([line.difference(hull) for line in lines], pens.OUTSIDE_PEN)
            lines = [line.intersection(hull) for line in lines]
        page.lines(lines, pen)


def _labels(subject: Subject, sheet: Sheet, contours: Sequence[PlanContour]) -> list[Label]:
    """Every text that wants a place on the plan."""
    site = subject.site
    labels = layers.structure_labels(sheet, site)
    labels += layers.tree_labels(sheet, site, tree_circles(site))
    labels += features.feature_labels(sheet, site, subject.proposal)
    labels += thing_labels(sheet, site)
    labels += yard_marks.yard_labels(sheet, site, tree_circles(site))
    labels += layers.section_labels(sheet, section_lines(site, subject.proposal))
    labels += _crest_labels(subject, sheet)
    labels += _contour_labels(subject, sheet, contours)
    for name, point in layers.doubtful_spots(sheet, subject.ground):
        kind = Type(NUMBER, KEEP_OFF, bold=True)
        text = f"{name}?"
        labels.append(Label(text, seats_round(point.x, point.y, text, kind, 7.0), kind, 1, "doubtful"))
    return labels + _spot_labels(subject, sheet)


def _contour_labels(subject: Subject, sheet: Sheet, contours: Sequence[PlanContour]) -> list[Label]:
    """The elevation of each contour on its longest pieces, the head of its figures uphill, clear of walls."""
    walls = layers.walls_on(sheet, subject.site).buffer(BESIDE_WALLS)
    labels = []
    for contour in contours:
        kind = Type(NUMBER, PROPOSED if contour.proposed else SOFT_INK, bold=contour.proposed)
        elevation = subject.proposal.elevation if contour.proposed else subject.ground.elevation
        for part in layers.longest_first(contour.line.difference(walls))[:3]:
            seats = uphill(sheet, subject.proposal.grid, elevation, seats_along(part, contour.text, kind)[:60])
            labels.append(Label(contour.text, seats, kind, 3 if contour.proposed else 5, "contour"))
    return labels


def uphill(sheet: Sheet, grid: Grid, elevation: Array, seats: Sequence[Seat]) -> tuple[Seat, ...]:
    """The same seats, each turned over where the head of its text would point downhill on a surface (ny, nx)."""
    if not seats:
        return ()
    turns = np.radians([seat.angle for seat in seats])
    middles = np.array([(seat.across, seat.up) for seat in seats])
    up = NUMBER * np.column_stack([-np.sin(turns), np.cos(turns)])
    over, under = (grid.sample(elevation, sheet.ground(middles + side * up)) for side in (1.0, -1.0))
    falls = over < under
    return tuple(
        replace(seat, angle=seat.angle + 180.0) if down else seat for seat, down in zip(seats, falls, strict=True)
    )


def crest_spots(subject: Subject) -> list[tuple[float, float, float]]:
    """Place (metres) and height (metres) of the mound's highest point and of the crest points as built.

    A crest point hard by the highest point is not marked beside it: two marks with nearly one height would puzzle.
    """
    east, north, height = top_of_mound(subject.proposal)
    near = 0.06 * long_axis(subject.site.bed.outline)[1]
    others = [(c.at[0], c.at[1], c.built) for c in subject.proposal.crest]
    apart = [spot for spot in others if np.hypot(spot[0] - east, spot[1] - north) > near]
    return [(east, north, height), *apart]


def _crest_labels(subject: Subject, sheet: Sheet) -> list[Label]:
    """Proposed elevation and height over existing grade at the crest points; the height alone where room is short."""
    labels = []
    kind = Type(NUMBER + 1.0, INK, bold=True)
    for east, north, height in crest_spots(subject):
        place = np.array([[east, north]])
        spot = sheet.points(place)[0]
        plain = show_length(height, subject.site.units)
        whole = f"{crest_elevation(subject, place)} ({plain})"
        alone, full = (
            Label(text, seats_round(spot[0], spot[1], text, kind, 5.0), kind, 0, "crest") for text in (plain, whole)
        )
        labels.append(replace(full, instead=alone))
    return labels


def crest_elevation(subject: Subject, place: Array) -> str:
    """Finished elevation (1, 2) at a place as a bare number in the site's units."""
    metres = float(subject.proposal.grid.sample(subject.proposal.elevation, place)[0])
    return show_length(metres, subject.site.units, "elevation").split(" ")[0]


def depth_number(metres: float, units: Units) -> str:
    """Depth as a bare whole number, inches or centimetres."""
    return f"{round(12.0 * metres / unit_length('ft')) if units == 'ft' else round(100.0 * metres)}"


def _spot_labels(subject: Subject, sheet: Sheet) -> list[Label]:
    """Depth of fill on a thin triangular lattice over the mound."""
    covered = footprint(subject.proposal)
    places = _lattice(covered, SPOT_SPACING / sheet.scale.points)
    if not places.size:
        return []
    depths = subject.proposal.grid.sample(subject.proposal.fill, places)
    spots = sheet.points(places)
    peaks = sheet.points(np.array([spot[:2] for spot in crest_spots(subject)]))
    kind = Type(NUMBER, INK)
    labels = []
    for spot, depth in zip(spots, depths, strict=True):
        text = depth_number(float(depth), subject.site.units)
        if depth < LEAST_DEPTH or np.hypot(*(peaks - spot).T).min() < 0.55 * SPOT_SPACING:
            continue
        dot = Point(spot).buffer(2.0, quad_segs=2)
        seats = seats_round(float(spot[0]), float(spot[1]), text, kind, 2.2)[:4]
        labels.append(Label(text, tuple(replace(seat, also=dot) for seat in seats), kind, 4, "spot"))
    return labels


def _lattice(area: BaseGeometry, step: float) -> Array:
    """(n, 2) places of a triangular lattice inside an area, metres."""
    if area.is_empty:
        return np.empty((0, 2))
    west, south, east, north = area.bounds
    rows = np.arange(south + step / 3, north, step * 0.866)
    places = [
        (across, up)
        for k, up in enumerate(rows)
        for across in np.arange(west + step / 3 + (step / 2) * (k % 2), east, step)
    ]
    found = np.array(places).reshape(-1, 2)
    kept: Array = found[shapely.contains_xy(area, found[:, 0], found[:, 1])]
    return kept


def _draw_spots(page: Page, placed: Sequence[PlacedLabel], subject: Subject, sheet: Sheet) -> None:
    """A dot at each spot whose depth found room, a small peak mark at each crest point."""
    dots = [item.seat.also.centroid for item in placed if item.label.tag == "spot" and item.seat.also is not None]
    page.area(MultiPoint(dots).buffer(1.3), INK)
    for east, north, _ in crest_spots(subject):
        spot = sheet.points(np.array([[east, north]]))[0]
        if sheet.room.contains(Point(spot)):
            layers.draw_peak(page, *spot)


def _blocked(subject: Subject, sheet: Sheet) -> list[BaseGeometry]:
    """Paper that no label may cover: trunks, crest marks, doubtful shots, and the shots' crosses."""
    marks_at = [sheet.shape(tree.circle(tree.flare)) for tree in tree_circles(subject.site)]
    spots = sheet.points(np.array([spot[:2] for spot in crest_spots(subject)]))
    marks_at += [Point(spot).buffer(4.0) for spot in spots]
    marks_at += [point.buffer(6.5) for _, point in layers.doubtful_spots(sheet, subject.ground)]
    marks_at += [Point(spot).buffer(2.0) for spot in layers.shot_spots(sheet, subject.site)]
    return marks_at + match_ground(sheet)


def _crossed(subject: Subject, sheet: Sheet, contours: Sequence[PlanContour]) -> list[BaseGeometry]:
    """Lines that a label would rather not lie on."""
    lines = layers.soft_ground(sheet, subject.site)
    lines += features.soft_features(sheet, subject.site, subject.proposal)
    lines += [sheet.clipped(section.line) for section in section_lines(subject.site, subject.proposal)]
    return lines + [contour.line for contour in contours if contour.proposed]
