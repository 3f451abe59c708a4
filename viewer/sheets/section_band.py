"""The foot of the sheet of sections: title, key, where they run, scale; and the pens that they share."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
import shapely

from viewer.page import (
    BUILDING,
    CUT_STEPS,
    EXISTING,
    FILL_STEPS,
    FLOOR,
    INK,
    LEAST_FILL,
    MARGIN,
    OUTLINE,
    PAPER,
    PROPOSED,
    SOIL,
    WALK,
    WATER,
    WATER_EDGE,
    Page,
    Pen,
    Scale,
    Sheet,
    Subject,
    Type,
    hatch,
    keep_off_entry,
    marks,
    pens,
    section_lines,
)
from viewer.sheets.layers import building_hatch
from viewer.sheets.profile import Profile
from viewer.sheets.section_cover import DAY_ONE_PEN, MULCH_TINT, SOD_TINT, TRUNK_PEN

TITLE = "Sections through the mound"
BAND = 160.0  # points over the title block for title, key and scale
NUMBER = 10.0  # larger than on the maps: a section is wide and shrinks much on a phone

EXISTING_PEN = Pen(EXISTING, 1.0, (5.0, 2.6))
PROPOSED_PEN = Pen(PROPOSED, 1.9)
STONE_PEN = Pen(OUTLINE, 0.8)
FILL_TINT = FILL_STEPS[1]


def scales_said(profiles: Sequence[Profile], each: Sequence[Scale]) -> str:
    """The scale of the sheet in words; of each section where they differ."""
    if each[0] == each[1]:
        return each[0].text
    return ", ".join(f"{one.section.letter} {scale.text}" for one, scale in zip(profiles, each, strict=True))


def draw_band(
    page: Page, subject: Subject, paper: str, each: Sequence[Scale], times: float, profiles: Sequence[Profile]
) -> None:
    """Title and scales at the left, the legend in two columns, the key plan at the right.

    `each` is the scale of every section, `times` how many times the last one has its heights.
    """
    units = subject.site.units
    page.begin("legend and notes")
    top, wide = FLOOR + BAND - 4.0, page.width - 2 * MARGIN
    length = "feet" if units == "ft" else "metres"
    told = f"A and B in true scale, the same both ways; the last one {times:g} times as high: steeper than it is."
    remark = f"Proposed: the {subject.grade} grade. {told} Elevations and distances in {length}."
    first, column, gap = 0.33 * wide, 0.21 * wide, 14.0
    used = marks.TitleBlock(TITLE, remark).draw(page, MARGIN, top, first, BAND)
    used += 18.0
    page.text(MARGIN, top - used, f"{scales_said(profiles, each)} on {paper} paper", Type(NUMBER, INK, bold=True))
    for scale in dict.fromkeys(each):
        sheet = Sheet(paper, page.width, page.height, scale, (0, 0, 1, 1), (0, 0, 1, 1), (), units)
        marks.scale_bar(page, sheet, MARGIN + 3.0, top - used - 16.0, first - 20.0)
        used += 24.0
    entries = _legend(profiles)
    half = (len(entries) + 1) // 2
    left = MARGIN + first + gap
    marks.LegendBlock(entries[:half]).draw(page, left, top, column, BAND)
    marks.LegendBlock(entries[half:], "").draw(page, left + column + gap, top - 17.0, column, BAND)
    _draw_key(page, subject, (left + 2 * (column + gap), FLOOR + 2.0, page.width - MARGIN, top))


def _legend(profiles: Sequence[Profile]) -> list[tuple[marks.Swatch, str]]:
    """Only what the sections show."""
    entries = ((_shows(profiles, what), swatch, text) for what, swatch, text in ENTRIES)
    return [(swatch, text) for shown, swatch, text in entries if shown]


def _shows(profiles: Sequence[Profile], what: Callable[[Profile], object] | None) -> bool:
    return what is None or any(what(profile) for profile in profiles)


def _stands(profile: Profile, *, tree: bool) -> bool:
    return any(one.tree == tree for one in profile.cover.standing) if profile.cover is not None else False


def _lies(profile: Profile, what: str) -> object:
    return profile.cover is not None and getattr(profile.cover, what)


# What shows it (None: every section does), its swatch, its words.
ENTRIES: tuple[tuple[Callable[[Profile], object] | None, marks.Swatch, str], ...] = (
    (None, marks.line_swatch(PROPOSED_PEN), "proposed grade"),
    (
        lambda one: one.cover is not None and one.cover.day_one is not None,
        marks.line_swatch(DAY_ONE_PEN),
        "day-one grade, unsettled",
    ),
    (None, marks.line_swatch(EXISTING_PEN), "existing grade"),
    (None, marks.area_swatch(FILL_TINT, None, lambda patch: hatch(patch, 4.5, 60.0)), "fill"),
    (lambda one: _lies(one, "mulch"), marks.area_swatch(MULCH_TINT), "mulch, laid after"),
    (lambda one: _lies(one, "sod"), marks.area_swatch(SOD_TINT), "sod, stripped before"),
    (
        lambda one: float(one.fill.min()) < -LEAST_FILL,
        marks.area_swatch(CUT_STEPS[0], None, lambda patch: hatch(patch, 3.0, 0.0)),
        "cut",
    ),
    (lambda one: one.stones, marks.area_swatch(WALK, STONE_PEN), "stones, crushed stone"),
    (lambda one: one.water, marks.area_swatch(WATER, Pen(WATER_EDGE, 1.0)), "running water"),
    (lambda one: one.crossings, *keep_off_entry()),
    (lambda one: _stands(one, tree=True), marks.area_swatch(PAPER, TRUNK_PEN), "trunk"),
    (lambda one: _stands(one, tree=False), marks.area_swatch(BUILDING, pens.BUILDING_PEN, building_hatch), "building"),
)


def _draw_key(page: Page, subject: Subject, bounds: tuple[float, float, float, float]) -> None:
    """A small plan that shows where the sections run."""
    sections = section_lines(subject.site, subject.proposal)
    outline = subject.site.bed.outline
    west, south, east, north = shapely.union_all([outline, *(s.line for s in sections)]).bounds
    size = min((bounds[2] - bounds[0] - 24) / (east - west), (bounds[3] - bounds[1] - 24) / (north - south))
    ratio = 1.0 / (size * (0.0254 / 72.0))
    left = (bounds[0] + bounds[2] - size * (east - west)) / 2
    foot = (bounds[1] + bounds[3] - size * (north - south)) / 2
    frame = (left, foot, left + size * (east - west), foot + size * (north - south))
    key = Sheet("", page.width, page.height, Scale(ratio, ""), frame, (west, south, east, north), (), "m")
    page.area(key.shape(outline), SOIL)
    page.lines(key.shape(outline.boundary), replace(pens.OUTLINE_PEN, width=1.3))
    page.lines([key.shape(s.line) for s in sections], Pen(INK, 0.9))
    for section in sections:
        for place_at, other, mark in ((section.start, section.end, ""), (section.end, section.start, "′")):
            spot, far = key.points(np.array([place_at, other]))
            away = spot + 8.0 * (spot - far) / np.hypot(*(spot - far))
            page.text(
                float(away[0]), float(away[1]), section.letter + mark, Type(NUMBER + 1, INK, True, True), "centre"
            )
