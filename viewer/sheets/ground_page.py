"""The existing grade as a contour plan, with its shots, the doubtful ones, and the places to shoot next."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from terrain.field import ON_SOIL, NextPlace, before_shooting, show_tape, side_words
from terrain.ground import again_short, count_words, gap_words, left_out_words, method_words
from terrain.numerics import CENTRAL_90
from terrain.site import north_of
from terrain.soil import buy_words
from terrain.units import Units, show_place, show_span, show_volume, unit_length
from viewer.page import (
    CAUTIONS,
    INK,
    LEAST,
    NUMBER,
    SOFT_INK,
    SOIL,
    Label,
    Page,
    PlacedLabel,
    Sheet,
    Type,
    contour_interval,
    contour_lines,
    cut_gaps,
    level_text,
    levels_between,
    marks,
    new_page,
    numbered,
    outline_entry,
    pens,
    place,
    save_book,
    seats_along,
    seats_round,
    stamp_sheet,
    strong_every,
)
from viewer.sheets import layers
from viewer.sheets.deviation_map import deviation_page, with_all
from viewer.sheets.ground_subject import (
    GroundSubject,
    break_swatch,
    crease_lines,
    doubt_labels,
    draw_left_out,
    draw_wanted,
    draw_yard,
    ground_sheet,
    next_swatch,
    speck_swatch,
    spot_swatch,
    strike_swatch,
    taken,
    tape_lines,
    tree_names,
    wanted_labels,
)
from viewer.sheets.notes_page import notes_pages
from viewer.sheets.plan_words import doubt_swatch, shot_swatch
from viewer.sheets.scan_page import scan_page

BOOK = "ground.pdf"
REST_IN = f"the notes of {BOOK}"
BESIDE_CREASE = 6.0  # points: contours crowd along a wall, where their numbers would stand on each other


@dataclass(frozen=True)
class _Contour:
    line: BaseGeometry
    text: str
    strong: bool


def draw_ground(subject: GroundSubject, folder: Path) -> list[Path]:
    """Write ground.pdf (every page, vector, to scale) and each page as a picture into `folder`.

    ground.png, sureness.png and, where the ground is a scan's, scan.png.
    """
    pages = numbered(ground_pages(subject))
    book = save_book(pages, folder / BOOK)
    names = ("ground.png", "sureness.png", *(("scan.png",) if subject.study.site.survey.scan is not None else ()))
    return [book, *(page.save(folder / name) for name, page in zip(names, pages, strict=False))]


def ground_pages(subject: GroundSubject) -> list[Page]:
    """The existing grade, how sure it is, its scan where there is one, and what found no room beside the first."""
    page, left = _ground_page(subject)
    pages = [page, deviation_page(subject)]
    pages += [scan_page(subject)] if subject.study.site.survey.scan is not None else []
    return [*pages, *notes_pages(subject.study.site, left)]


def ground_page(subject: GroundSubject) -> Page:
    """The contour plan of the existing grade as a page."""
    return _ground_page(subject)[0]


def _ground_page(subject: GroundSubject) -> tuple[Page, list[marks.NotesBlock]]:
    """The plan, and the sentences that found no room on it."""
    study, sheet = subject.study, ground_sheet(subject)
    site, ground = study.site, study.ground
    page = new_page(sheet.width, sheet.height)
    contours, interval = _contours(subject, sheet)
    placed = ground_labels(subject, sheet, contours)
    gaps = [item.box for item in placed]
    page.area(sheet.clipped(site.bed.outline), SOIL, 0.55)
    if site.survey.measured:
        page.lines(sheet.clipped(ground.hull.exterior), pens.SURVEY_PEN)
    hull = sheet.shape(ground.hull)
    for strong, pen in ((False, pens.EXISTING_SOLID), (True, pens.EXISTING_SOLID_STRONG)):
        lines = cut_gaps([c.line for c in contours if c.strong == strong], gaps)
        page.lines([line.intersection(hull) for line in lines], pen)
        page.lines([line.difference(hull) for line in lines], pens.OUTSIDE_PEN)
    draw_yard(page, sheet, subject, gaps)
    layers.draw_shots(page, sheet, site, ground)
    draw_left_out(page, sheet, subject)
    draw_wanted(page, sheet, subject, gaps)
    layers.write_labels(page, placed)
    marks.frame_line(page, sheet)
    left = marks.flow(page, sheet.panels, _columns(subject, sheet, interval))
    stamp_sheet(page, site, _title(subject), sheet)
    return page, left


def _contours(subject: GroundSubject, sheet: Sheet) -> tuple[list[_Contour], float]:
    """Contours of the existing grade on the paper, and their interval in metres."""
    ground, site = subject.study.ground, subject.study.site
    seen = _in_window(subject, sheet)
    low, high = float(seen.min()), float(seen.max())
    # Half the relief: existing grade is gentle, and twice the lines of a mound's plan still leave room.
    interval = contour_interval(low, (low + high) / 2.0, site.units)
    every, levels = strong_every(interval, site.units), levels_between(low, high, interval)
    houses = shapely.union_all([building.outline for building in site.building])
    contours = []
    for level, line in zip(levels, contour_lines(ground.grid, ground.elevation, levels), strict=True):
        shown = sheet.clipped(line.difference(houses)).simplify(0.12)
        if not shown.is_empty:
            strong = round(level / interval) % every == 0
            contours.append(_Contour(shown, level_text(float(level), interval, site.units), strong))
    return contours, interval


def _in_window(subject: GroundSubject, sheet: Sheet) -> np.ndarray:
    """Elevations of the nodes that the sheet shows."""
    ground = subject.study.ground
    west, south, east, north = sheet.window
    columns = (ground.grid.x >= west) & (ground.grid.x <= east)
    rows = (ground.grid.y >= south) & (ground.grid.y <= north)
    return ground.elevation[np.ix_(rows, columns)]


def ground_labels(subject: GroundSubject, sheet: Sheet, contours: Sequence[_Contour]) -> list[PlacedLabel]:
    """Every text of the plan that finds room, in its place."""
    site = subject.study.site
    labels = wanted_labels(sheet, subject) + doubt_labels(sheet, subject) + layers.structure_labels(sheet, site)
    labels += tree_names(sheet, site)
    walls = crease_lines(sheet, site).buffer(BESIDE_CREASE)
    for contour in contours:
        kind = Type(NUMBER, SOFT_INK, bold=contour.strong)
        for part in layers.longest_first(contour.line.difference(walls))[:2]:
            labels.append(Label(contour.text, seats_along(part, contour.text, kind)[:60], kind, 3, "contour"))
    labels += _shot_labels(subject, sheet)
    soft = [*layers.soft_ground(sheet, site), *tape_lines(sheet, subject), *(c.line for c in contours)]
    return place(labels, sheet.room.buffer(-3.0), taken(sheet, subject), soft)


def _shot_labels(subject: GroundSubject, sheet: Sheet) -> list[Label]:
    """The elevation of each shot beside its cross, where it finds room; none where the shots stand thick."""
    site, kind = subject.study.site, Type(LEAST, INK)
    decimals = 2 if site.units == "ft" else 3
    labels = []
    if not len(layers.shot_spots(sheet, site)):
        return []
    for spot, height in zip(sheet.points(site.survey.shots[:, :2]), site.survey.shots[:, 2], strict=True):
        text = f"{height / unit_length(site.units):.{decimals}f}"
        labels.append(Label(text, seats_round(float(spot[0]), float(spot[1]), text, kind, 2.8), kind, 5, "shot"))
    return labels


def _columns(subject: GroundSubject, sheet: Sheet, interval: float) -> list[list[marks.Block]]:
    """The words beside the plan, by columns."""
    study, units = subject.study, sheet.units
    check = study.ground.check
    remark = f"Elevations in {'feet' if units == 'ft' else 'metres'}."
    warned = [("?", f"{shot.text} Check it, or leave it out.") for shot in check.doubtful]
    warned += [("", note) for note in study.ground.notes]
    gap = study.ground.gap
    warned += [] if gap is None else [("", gap_words(gap, units))]
    area = study.site.bed.outline.area
    again = [(shot.name, again_short(shot, area, units)) for shot in check.again]
    walk = [("", one.do) for one in before_shooting(study)]
    walk += [("", f"{ON_SOIL}.")] if subject.wanted and study.site.survey.scan is not None else []
    walk += [(one.name, wanted_words(one, units)) for one in subject.wanted]
    return [
        [
            marks.TitleBlock(_title(subject), remark),
            marks.ScaleBlock(sheet, north_of(study.site)),
            marks.NotesBlock("Read these again first", again, REST_IN),
        ],
        [
            marks.LegendBlock(_legend(subject, sheet)),
            marks.NotesBlock("Where to shoot next", walk, REST_IN),
        ],
        [
            marks.FactsBlock("How it was made", ground_facts(subject, interval)),
            marks.NotesBlock(CAUTIONS, warned, REST_IN),
        ],
    ]


def _title(subject: GroundSubject) -> str:
    return "Existing grade" if subject.study.ground.check.shots else "Where to shoot first"


def wanted_words(one: NextPlace, units: Units) -> str:
    """A place to shoot in one sentence: by its tapes, or by coordinates where no two points can place it."""
    if one.tapes is None:
        return f"at {show_place(*one.at, units)}."
    lengths = [show_tape(length, units) for length in (one.tapes.from_start, one.tapes.from_end)]
    ends = f"{lengths[0]} from {one.tapes.start.name}, {lengths[1]} from {one.tapes.end.name}"
    return f"{ends}, {side_words(one.tapes)}."


def ground_facts(subject: GroundSubject, interval: float | None = None) -> list[tuple[str, str]]:
    """The figures that stand beside the plan."""
    study = subject.study
    check, units, order = study.ground.check, study.site.units, study.order
    bed = study.site.bed.outline.area
    rows = [
        ("Shots", count_words(study.site, check.shots)),
        ("Surface", method_words(check.method)),
        *([("Each shot left out, off by", left_out_words(check.rms, units))] if check.shots else []),
        ("Bed's ground, 90 % within", f"± {show_volume(CENTRAL_90 * study.ground.mean_deviation * bed, units)}"),
        ("Soil to order", buy_words(order, units)),
        ("expected", show_volume(order.expected, units, "loose")),
        ("90 % range", show_span(order.low, order.high, units)),
    ]
    if subject.wanted:
        rows.append((with_all(subject), show_span(*subject.wanted[-1].order, units)))
    if interval is not None and check.shots:
        rows.append(("Contour interval", f"{interval / unit_length(units):g} {units}"))
    return rows


def _legend(subject: GroundSubject, sheet: Sheet) -> list[tuple[marks.Swatch, str]]:
    """Only what the plan shows."""
    site = subject.study.site
    outline: tuple[marks.Swatch, str] = outline_entry()
    if not site.survey.measured:
        return [outline, (spot_swatch, "shoot here; move it where the rod cannot stand")]
    entries: list[tuple[marks.Swatch, str]] = [
        (marks.line_swatch(pens.EXISTING_SOLID_STRONG), "existing contour (dotted: outside the survey)"),
        outline,
        (shot_swatch, "shot, its elevation") if len(layers.shot_spots(sheet, site)) else (speck_swatch, "shots"),
        (marks.line_swatch(pens.SURVEY_PEN), "edge of the survey"),
    ]
    if subject.study.ground.check.doubtful:
        entries.append((doubt_swatch, "doubtful shot"))
    if site.survey.left_out:
        entries.append((strike_swatch, "shot left out"))
    if site.survey.breaklines:
        entries.append((break_swatch, "breakline: the ground creases"))
    if subject.wanted:
        entries.append((next_swatch, "shoot here next, and its tapes"))
    return entries
