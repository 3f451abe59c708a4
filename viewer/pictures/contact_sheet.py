"""The contact sheet: the mound as drawn and every alternative side by side, each with plan, view and figures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import numpy as np
from shapely.geometry import LineString, Polygon, box

from terrain.flow import Study
from terrain.grid import Array
from terrain.numerics import overlap, sound
from terrain.review import TreeCheck
from terrain.soil import buy_words, money
from terrain.units import show_length, show_slope, show_volume
from viewer.beside import done_beside
from viewer.page import (
    BUILDING,
    INK,
    KEEP_OFF,
    KEEP_OFF_PEN,
    OUTLINE_PEN,
    PROPOSED,
    SOFT_INK,
    SOIL,
    TREE,
    WALK,
    Bounds,
    Page,
    Pen,
    Scale,
    Sheet,
    Subject,
    Type,
    contour_interval,
    contour_lines,
    depth_step,
    fit_size,
    footprint,
    hatch,
    levels_between,
    new_page,
    section_lines,
    subject_of,
    tree_circles,
    wrap,
)
from viewer.pictures.eye_camera import EyeView, eye_view
from viewer.pictures.eye_level import lay_picture, place_words
from viewer.pictures.eye_picture import eye_picture
from viewer.pictures.standpoints import Standpoint, standpoints
from viewer.sheets import Profile, bands, profile_of, walk_hatch

WIDE, EDGE, GAP, DOTS = 585.0, 16.0, 13.0, 144.0
CELL = (WIDE - 2 * EDGE - GAP) / 2.0
TITLE, NAME = Type(21.0, INK, bold=True, title=True), Type(17.0, INK, bold=True)
STRONG, BODY, SMALL = Type(14.0, INK, bold=True), Type(13.5, INK), Type(13.0, SOFT_INK)
LEAD = 17.5
TALLEST_PLAN = 190.0  # points
ROUND = 0.07  # share of the bed's length shown round it on the small plans
ACROSS = WIDE - 2 * EDGE  # points that views and sections are wide
SEEN = round(ACROSS * 108.0 / 72.0)  # pixels across one view


@dataclass(frozen=True)
class Frame:
    """One form on the sheet: its name, the yard worked through with it, what it does in a sentence, and more words."""

    name: str
    study: Study
    sentence: str = ""
    told: tuple[str, ...] = ()

    @cached_property
    def subject(self) -> Subject:
        """The stage values that the drawings read."""
        return subject_of(self.study)


@dataclass(frozen=True)
class CellLayout:
    """What every form is shown with: the ground on the plans, the view, contour interval, height of a plan in points.

    `tallest` is the deepest fill of all forms, metres, which the tints of depth go by; `section` is points of paper to
    a metre of the sections, `section_high` the points that one takes; `bed` is the outline as drawn.
    """

    window: Bounds
    view: EyeView
    interval: float
    plan_high: float
    tallest: float
    section: float
    section_high: float
    bed: Polygon

    @property
    def view_high(self) -> float:
        """Points that a view takes."""
        return ACROSS * self.view.size[1] / self.view.width


def draw_contact_sheet(frames: Sequence[Frame], folder: Path) -> list[Path]:
    """Write suggest.png, suggest.pdf and suggest.svg into `folder`; the first frame is the mound as drawn."""
    page = contact_page(frames)
    picture, *others = (folder / f"suggest.{kind}" for kind in ("png", "pdf", "svg"))
    with done_beside(lambda: [page.save(path, dpi=DOTS) for path in others]):
        page.save(picture, dpi=DOTS)
    return [picture, *others]


def contact_page(frames: Sequence[Frame]) -> Page:
    """One form below the other, all at one scale, with one eye and one contour interval."""
    first = frames[0].subject
    stand = look_from(first)
    cell = _cell(frames, stand)
    words = [frame_words(frame) for frame in frames]
    fixed = 26.0 + 6.0 + cell.view_high + 6.0 + cell.section_high + 16.0
    heights = [fixed + max(cell.plan_high, LEAD * len(lines)) for lines in words]
    told = wrap(_wording(first, stand, cell), SMALL, WIDE - 2 * EDGE)
    head = 62.0 + cell.view_high + 30.0
    page = new_page(WIDE, head + sum(heights) + LEAD * len(told) + EDGE)
    page.text(EDGE, page.height - 32.0, "Other forms for the same bed", TITLE)
    page.text(EDGE, page.height - 52.0, first.site.name, fit_size(first.site.name, SMALL, WIDE - 2 * EDGE, 8.0))
    _before(page, first, stand, cell, page.height - 62.0)
    top = page.height - head
    for frame, lines, high in zip(frames, words, heights, strict=True):
        _draw_cell(page, frame, lines, cell, top)
        top -= high
    for number, line in enumerate(told):
        page.text(EDGE, EDGE + LEAD * (len(told) - 1 - number), line, SMALL)
    return page


def look_from(subject: Subject) -> Standpoint:
    """The first place that the site file names, else the invented street."""
    stands = standpoints(subject.site, subject.ground)
    return next((stand for stand in stands if stand.invented and stand.name == "street"), stands[0])


def _cell(frames: Sequence[Frame], stand: Standpoint) -> CellLayout:
    first = frames[0].subject
    west, south, east, north = first.site.bed.outline.bounds
    margin = ROUND * max(east - west, north - south)
    window = west - margin, south - margin, east + margin, north + margin
    high = min(CELL * (window[3] - window[1]) / (window[2] - window[0]), TALLEST_PLAN)
    tallest = max(frames, key=lambda frame: float(frame.study.proposal.fill.max()))
    on_mound = tallest.study.proposal.elevation[tallest.study.proposal.fill > 0.0]
    levels = on_mound if on_mound.size else first.ground.elevation
    interval = contour_interval(float(levels.min()), float(levels.max()), first.site.units)
    deepest = float(tallest.study.proposal.fill.max())
    profiles = [_profile(frame.subject) for frame in frames]
    size = ACROSS / max(one.section.length for one in profiles)
    section_high = size * max(one.high - one.low for one in profiles) + 16.0
    view, bed = eye_view(tallest.subject, stand, SEEN), first.site.bed.outline
    return CellLayout(window, view, interval, high, deepest, size, section_high, bed)


def _profile(subject: Subject) -> Profile:
    """The section along the bed, through the top of the mound."""
    return profile_of(subject, section_lines(subject.site, subject.proposal)[0])


def _before(page: Page, subject: Subject, stand: Standpoint, cell: CellLayout, top: float) -> None:
    """The yard as it is, from where every form is seen."""
    page.text(EDGE, top - 18.0, f"Before, from the {stand.name}", NAME)
    bounds = (EDGE, top - 26.0 - cell.view_high, EDGE + ACROSS, top - 26.0)
    lay_picture(page, subject, cell.view, eye_picture(subject, cell.view, False), bounds, False)


def _section(page: Page, subject: Subject, cell: CellLayout, left: float, top: float) -> None:
    """Existing and proposed grade along the bed, heights true."""
    profile = _profile(subject)
    foot = top - cell.section_high + 8.0

    def points(values: Array) -> Array:
        return np.column_stack([left + cell.section * profile.stations, foot + cell.section * (values - profile.low)])

    soil = sound(Polygon(np.vstack([points(profile.existing), points(profile.proposed)[::-1]])))
    page.area(soil, SOIL)
    page.lines(hatch(soil, 5.0, 60.0), Pen(PROPOSED, 0.4))
    page.lines(LineString(points(profile.existing)), Pen(SOFT_INK, 1.0, (5.0, 3.0)))
    page.lines(LineString(points(profile.proposed)), Pen(PROPOSED, 1.8))


def _wording(subject: Subject, stand: Standpoint, cell: CellLayout) -> str:
    units = subject.site.units
    return (
        f"All at one scale, contours every {show_length(cell.interval, units)}, tints of fill every "
        f"{show_length(depth_step(cell.tallest, units), units)}, north up. Views from the {stand.name}, "
        "sections along the bed through the top, heights true. Dashes: the bed as drawn. "
        f"{place_words(stand, units)} Soil is loose, as expected. Planning figures."
    )


def _draw_cell(page: Page, frame: Frame, words: Sequence[tuple[str, Type]], cell: CellLayout, top: float) -> None:
    """Name, plan with the figures beside it, then view and section as wide as the sheet, from the top down."""
    page.text(EDGE, top - 18.0, frame.name, fit_size(frame.name, NAME, ACROSS, 10.0))
    top -= 26.0
    _plan(page, frame.subject, cell, (EDGE, top - cell.plan_high, EDGE + CELL, top))
    for number, (line, kind) in enumerate(words):
        page.text(EDGE + CELL + GAP, top - LEAD * (number + 1) + 4.0, line, kind)
    top -= max(cell.plan_high, LEAD * len(words)) + 6.0
    bounds = (EDGE, top - cell.view_high, EDGE + ACROSS, top)
    lay_picture(page, frame.subject, cell.view, eye_picture(frame.subject, cell.view, True), bounds, True)
    _section(page, frame.subject, cell, EDGE, top - cell.view_high - 6.0)


def _plan(page: Page, subject: Subject, cell: CellLayout, frame: Bounds) -> None:
    """Outline, contours on the mound over the tints of its depth, keep-offs, trunks, buildings."""
    left, bottom, right, top = frame
    west, south, east, north = cell.window
    size = min((right - left) / (east - west), (top - bottom) / (north - south))
    reach = (right - left) / size / 2.0, (top - bottom) / size / 2.0
    middle = (west + east) / 2.0, (south + north) / 2.0
    window = middle[0] - reach[0], middle[1] - reach[1], middle[0] + reach[0], middle[1] + reach[1]
    ratio = 72.0 / 0.0254 / size
    sheet = Sheet("", page.width, page.height, Scale(ratio, ""), frame, window, (), subject.site.units)
    site, proposal = subject.site, subject.proposal
    for area, colour in [(c.outline, WALK) for c in site.keep_clear] + [(b.outline, BUILDING) for b in site.building]:
        shown = sheet.clipped(area)
        page.area(shown, colour)
        page.lines(hatch(shown, 7.0) if colour == BUILDING else walk_hatch(shown), Pen(SOFT_INK, 0.4))
    page.lines(sheet.clipped(cell.bed.exterior), Pen(SOFT_INK, 0.8, (4.0, 3.0)))
    page.area(sheet.clipped(site.bed.outline), SOIL, 0.6)
    for band in bands(proposal, subject.ground, site.units, cell.tallest):
        page.area(sheet.clipped(band.area), band.colour, 0.75)
    levels = levels_between(float(proposal.elevation.min()), float(proposal.elevation.max()), cell.interval)
    covered = footprint(proposal)
    for line in contour_lines(proposal.grid, proposal.elevation, levels):
        page.lines(sheet.clipped(overlap(line, covered)), Pen(PROPOSED, 1.0))
    for tree in tree_circles(site):
        disc = sheet.clipped(tree.circle(tree.keep_off))
        page.lines(hatch(disc, 7.0, -45.0), Pen(KEEP_OFF, 0.3))
        page.lines(sheet.clipped(tree.circle(tree.keep_off).exterior), KEEP_OFF_PEN)
        page.area(sheet.clipped(tree.circle(max(tree.tree.trunk / 2.0, 0.1))), TREE)
    page.lines(sheet.clipped(site.bed.outline.exterior), OUTLINE_PEN)
    page.lines(box(*frame), Pen(SOFT_INK, 0.6))


def frame_words(frame: Frame) -> list[tuple[str, Type]]:
    """What stands under a form: whether it reads natural, height, soil, trees; lines with their types."""
    study, units = frame.study, frame.study.site.units
    look = study.review.look
    height = float(study.proposal.fill.max())
    plain = [
        f"{show_length(height, units)} high, {buy_words(study.order, units)} to order"
        + ("" if study.order.cost is None else f", cost {money(study.order.cost)}"),
        f"steepest {show_slope(study.proposal.steepest)} (run:rise)",
        *(tree_words(tree, study) for tree in study.review.trees),
        *frame.told,
        *unmet(study),
    ]
    lines = [(line, SMALL) for line in wrap(frame.sentence, SMALL, CELL)] if frame.sentence else []
    lines += [(line, STRONG) for line in wrap(look.words, STRONG, CELL)]
    return lines + [(line, BODY) for text in plain for line in wrap(text, BODY, CELL)]


def tree_words(tree: TreeCheck, study: Study) -> str:
    """How much of a root zone the soil covers, and how deep."""
    deepest = show_length(tree.deepest_fill_in_root_zone, study.site.units)
    share = tree.share_of_root_zone_covered
    if share < 0.005:
        return f"{tree.name}: {'hardly any' if share > 0.0 else 'no'} soil on its roots"
    return f"{tree.name}: {100.0 * share:.0f} % of root zone, up to {deepest}"


def unmet(study: Study) -> list[str]:
    """Soil on hand that the limits leave over."""
    soil, left = study.site.berm.soil, study.proposal.soil_left
    if soil is None or abs(left) <= 0.005 * soil:
        return []
    what = "of the soil on hand left over" if left > 0.0 else "of soil short"
    return [f"{show_volume(abs(left), study.site.units)} {what}"]
