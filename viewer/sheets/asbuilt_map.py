"""The map of what was built: where soil is still wanted, where too much lies, and every shot with its difference."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from shapely.geometry import LineString, MultiLineString, Point
from shapely.geometry.base import BaseGeometry

from terrain.field import AsBuilt, BuiltShot, cause_words, off_number
from terrain.flow import Study
from terrain.numerics import overlap, without
from terrain.site import north_of
from terrain.units import Units, show_length, show_slope, show_span, show_volume
from viewer.page import (
    CAUTIONS,
    CUT_STEPS,
    FILL_STEPS,
    INK,
    KEEP_OFF,
    NUMBER,
    PAPER,
    SOFT_INK,
    Bounds,
    Label,
    Page,
    PartKey,
    Pen,
    PlacedLabel,
    Sheet,
    Subject,
    Type,
    area_between,
    cut_gaps,
    draw_matches,
    hatch,
    label_box,
    marks,
    match_ground,
    new_page,
    numbered,
    outline_entry,
    place,
    save_book,
    seats_led,
    seats_round,
    spread,
    stamp_sheet,
    subject_of,
    tree_circles,
)
from viewer.sheets import features, layers
from viewer.sheets.notes_page import notes_pages
from viewer.sheets.order_blocks import WordsBlock
from viewer.sheets.plan import sheet_of, sheets_of

BOOK = "asbuilt.pdf"
STEPS = (1.0, 2.0, 4.0)  # tolerances at which the tint deepens
DOT = 1.4  # points: radius of the mark of a shot within its bound
OFF_PEN = Pen(KEEP_OFF, 1.2)
UNKNOWN_PEN = Pen(SOFT_INK, 0.4, (1.0, 3.0))
CAUTION = "As-built check of the shots given; a surface between shots is a model. Planning figures: see asbuilt.json."


@dataclass(frozen=True)
class DifferenceBand:
    """Ground that stands off the plan: area in metres, bounds of the difference in metres, colour, low or high."""

    area: BaseGeometry
    start: float
    end: float
    colour: str
    low: bool


def draw_as_built(study: Study, check: AsBuilt, folder: Path) -> list[Path]:
    """Write asbuilt.pdf (vector, to scale, a long bed in parts) and asbuilt.png (the whole) into `folder`."""
    parts = sheets_of(subject_of(study))
    pages = numbered(as_built_pages(study, check, parts))
    whole = pages[0] if len(parts) == 1 else numbered([as_built_page(study, check)])[0]
    return [save_book(pages, folder / BOOK), whole.save(folder / "asbuilt.png")]


def as_built_pages(study: Study, check: AsBuilt, parts: Sequence[Sheet]) -> list[Page]:
    """The map in its parts, and what found no room beside it; each part leaves the same sentences, or fewer of them."""
    made = [_as_built_page(study, check, sheet) for sheet in parts]
    left = max((left for _, left in made), key=lambda blocks: sum(len(block.notes) for block in blocks))
    return [*(page for page, _ in made), *notes_pages(study.site, left)]


def off_bands(study: Study, check: AsBuilt) -> list[DifferenceBand]:
    """Where the built surface is low and where it is high, in steps of the tolerance; within it nothing is tinted."""
    difference = np.nan_to_num(check.difference)
    edges = [check.tolerance * step for step in STEPS]
    found = []
    for low, colours in ((True, FILL_STEPS), (False, CUT_STEPS)):
        depth = -difference if low else difference
        tints = spread(colours[:4], len(edges))
        for k, start in enumerate(edges):
            end = edges[k + 1] if k + 1 < len(edges) else float("inf")
            area = overlap(area_between(study.proposal.grid, depth, start, end), study.proposal.worked)
            if not area.is_empty:
                found.append(DifferenceBand(area, start, end, tints[k], low))
    return found


def unknown_ground(study: Study, check: AsBuilt) -> BaseGeometry:
    """The ground of the mound that no shot is near to, metres."""
    return without(study.proposal.worked, check.known)


def _unknown_hatch(area: BaseGeometry) -> BaseGeometry:
    return hatch(area, 7.0, 45.0)


def _high_hatch(area: BaseGeometry) -> BaseGeometry:
    return hatch(area, 4.0, 0.0)


def as_built_page(study: Study, check: AsBuilt, sheet: Sheet | None = None) -> Page:
    """The map with words beside it; `sheet` is one of the plan's `sheets_of`, None that of the whole."""
    return _as_built_page(study, check, sheet or sheet_of(subject_of(study)))[0]


def _as_built_page(study: Study, check: AsBuilt, sheet: Sheet) -> tuple[Page, list[marks.NotesBlock]]:
    """The map, and the sentences that found no room beside it."""
    bands = off_bands(study, check)
    page = new_page(sheet.width, sheet.height)
    _draw_ground(page, sheet, study, check, bands)
    left = marks.flow(page, sheet.panels, _columns(study, check, sheet, bands))
    stamp_sheet(page, study.site, f"As built, against {check.stage}", sheet, CAUTION)
    return page, left


def as_built_map(study: Study, check: AsBuilt) -> Page:
    """The map by itself."""
    sheet = sheet_of(subject_of(study)).alone
    page = new_page(sheet.width, sheet.height)
    _draw_ground(page, sheet, study, check, off_bands(study, check))
    return page


def _draw_ground(page: Page, sheet: Sheet, study: Study, check: AsBuilt, bands: Sequence[DifferenceBand]) -> None:
    """Everything inside the frame."""
    site, placed = study.site, shot_labels(subject_of(study), check, sheet)
    gaps = [item.box for item in placed]
    layers.draw_structures(page, sheet, site, gaps)
    for band in bands:
        shown = sheet.clipped(band.area)
        page.area(shown, band.colour)
        if not band.low:
            page.lines(cut_gaps([_high_hatch(shown)], gaps), Pen(INK, 0.4))
    page.lines(cut_gaps([_unknown_hatch(sheet.clipped(unknown_ground(study, check)))], gaps), UNKNOWN_PEN)
    layers.draw_trees(page, sheet, tree_circles(site), gaps)
    layers.draw_outline(page, sheet, site.bed.outline)
    features.draw_built(page, sheet, site)
    for shot in check.shots:
        _draw_shot(page, sheet, shot)
    for item in placed:
        if item.label.tag == "off":
            page.area(label_box(item.label, item.seat).buffer(0.4), PAPER, 0.85)
    layers.write_labels(page, placed)
    draw_matches(page, sheet)
    marks.frame_line(page, sheet)


def _draw_shot(page: Page, sheet: Sheet, shot: BuiltShot) -> None:
    """A dot, or a ringed cross where the shot stands off its mark."""
    spot = sheet.points(np.array([shot.at]))[0]
    if not sheet.room.buffer(-4.0).contains(Point(spot)):
        return
    if shot.verdict in ("within", "clear"):
        page.area(Point(spot).buffer(DOT), INK)
        return
    page.lines(layers.crosses(np.array([spot]), 2.4), Pen(INK, 0.9))
    page.lines(Point(spot).buffer(4.6).exterior, OFF_PEN)


def shot_off(check: AsBuilt, shot: BuiltShot) -> float:
    """What the map writes beside a shot: off the plan on the work, over the old ground elsewhere; metres."""
    if shot.where not in ("mound", "dig"):
        return shot.elevation - shot.existing
    return shot.over_day_one if check.stage == "day one" else shot.over_settled


def shot_labels(subject: Subject, check: AsBuilt, sheet: Sheet) -> list[PlacedLabel]:
    """Name and difference of every shot, those that stand off first, and the names of what stands there."""
    site = subject.site
    labels = layers.structure_labels(sheet, site) + layers.tree_labels(sheet, site, tree_circles(site))
    blocked: list[BaseGeometry] = [sheet.shape(tree.circle(tree.flare)) for tree in tree_circles(site)]
    for shot in check.shots:
        spot = sheet.points(np.array([shot.at]))[0]
        off = shot.verdict not in ("within", "clear")
        kind = Type(NUMBER, KEEP_OFF if shot.verdict == "soil" else INK, bold=off)
        text = f"{shot.name}: {off_number(shot_off(check, shot), site.units)}"
        across, up, radius = float(spot[0]), float(spot[1]), 5.2 if off else 3.0
        near, far = seats_round(across, up, text, kind, radius), seats_led(across, up, text, kind, radius)
        labels.append(Label(text, (*near, *far), kind, 1 if off else 4, "off"))
        blocked.append(Point(spot).buffer(4.8 if off else 2.6))
    return place(labels, sheet.room.buffer(-3.0), blocked + match_ground(sheet), layers.soft_ground(sheet, site))


def _columns(study: Study, check: AsBuilt, sheet: Sheet, bands: Sequence[DifferenceBand]) -> list[list[marks.Block]]:
    units = sheet.units
    unit = "inches" if units == "ft" else "centimetres"
    remark = f"Numbers: {unit} off the {check.stage} grade, minus is low; beside the mound, over the old ground."
    cause = WordsBlock("", [f"Cause: {cause_words(check.cause, units)}."])
    warned = [("stop" if f.level == "stop" else "!", f.text) for f in check.findings if f.level != "note"]
    return [
        [
            marks.TitleBlock(f"As built, against {check.stage}", remark),
            cause,
            marks.ScaleBlock(sheet, north_of(study.site)),
            PartKey(sheet, north_of(study.site)),
        ],
        [
            marks.FactsBlock(_missing_title(check), facts(study, check)),
            marks.NotesBlock(CAUTIONS, warned, f"the notes of {BOOK}"),
        ],
        [marks.LegendBlock(_legend(study, check, bands, units))],
    ]


def _missing_title(check: AsBuilt) -> str:
    if check.suspected:
        return "If the benchmark is right"
    return "Missing, slip taken out" if check.slip else "Still missing"


def facts(study: Study, check: AsBuilt) -> list[tuple[str, str]]:
    """The figures that stand beside the map."""
    units, missing = study.site.units, check.missing
    work = [shot for shot in check.shots if shot.where in ("mound", "dig")]
    within = sum(shot.verdict == "within" for shot in work)
    return [
        ("Measured", f"{100 * check.covered:.0f} % of the mound"),
        ("Soil missing", show_volume(missing.missing, units, "placed")),
        ("likely between", show_span(missing.low, missing.high, units, "and")),
        ("to bring", show_volume(missing.loose, units, "loose")),
        ("Over the plan", show_volume(missing.surplus, units)),
        ("Shots within", f"{within} of {len(work)}, by {show_length(check.tolerance, units)}"),
        ("Top, built", show_length(check.top, units)),
        ("Top, planned", show_length(check.planned_top, units)),
        ("Steepest, settled", show_slope(check.steepest)),
    ]


def _legend(
    study: Study, check: AsBuilt, bands: Sequence[DifferenceBand], units: Units
) -> list[tuple[marks.Swatch, str]]:
    entries: list[tuple[marks.Swatch, str]] = []
    for band in bands:
        word = "low: add" if band.low else "high: take off"
        start = show_length(band.start, units)
        size = f"over {start}" if np.isinf(band.end) else f"{start} to {show_length(band.end, units)}"
        lines = None if band.low else _high_hatch
        entries.append((marks.area_swatch(band.colour, Pen(SOFT_INK, 0.5), lines), f"{word} {size}"))
    if not unknown_ground(study, check).is_empty:
        entries.append((marks.area_swatch(PAPER, UNKNOWN_PEN, _unknown_hatch), "not known: no shot is near"))
    entries += [
        (_shot_swatch, "shot within its bound"),
        (_off_swatch, "shot that stands off"),
        outline_entry(),
    ]
    return [*entries, *layers.standing_legend(study.site, "no soil")]


def _cross(bounds: Bounds) -> tuple[Point, MultiLineString]:
    middle = Point((bounds[0] + bounds[2]) / 2, (bounds[1] + bounds[3]) / 2)
    return middle, layers.crosses(np.array([[middle.x, middle.y]]), 2.4)


def _shot_swatch(page: Page, bounds: Bounds) -> None:
    page.area(_cross(bounds)[0].buffer(DOT), INK)


def _off_swatch(page: Page, bounds: Bounds) -> None:
    middle, cross = _cross(bounds)
    page.lines(cross, Pen(INK, 0.9))
    ring: LineString = LineString(middle.buffer(4.6).exterior.coords)
    page.lines(ring, OFF_PEN)
