"""The foot of the sheet of sections: title, key, where they run, scale; and the pens that they share."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely

from viewer.page import (
    CUT_STEPS,
    EXISTING,
    FILL_STEPS,
    FLOOR,
    INK,
    LEAST_FILL,
    MARGIN,
    OUTLINE,
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
    marks,
    pens,
    section_lines,
)
from viewer.sheets.profile import Profile

TITLE = "Two sections through the mound"
BAND = 92.0  # points over the title block for title, key and scale
NUMBER = 10.0  # larger than on the maps: a section is wide and shrinks much on a phone

EXISTING_PEN = Pen(EXISTING, 1.0, (5.0, 2.6))
PROPOSED_PEN = Pen(PROPOSED, 1.9)
STONE_PEN = Pen(OUTLINE, 0.8)
FILL_TINT = FILL_STEPS[1]


def draw_band(page: Page, subject: Subject, paper: str, scale: Scale, profiles: Sequence[Profile]) -> None:
    """Title, legend, key plan and scale at the foot."""
    crossed = any(profile.crossings for profile in profiles)
    dug = any(float(profile.fill.min()) < -LEAST_FILL for profile in profiles)
    units = subject.site.units
    top = FLOOR + BAND - 4.0
    length = "feet" if units == "ft" else "metres"
    told = f"Proposed: the {subject.grade} grade. True scale, the same both ways."
    remark = f"{told} Elevations and distances in {length}."
    marks.TitleBlock(TITLE, remark).draw(page, MARGIN, top, 270.0, BAND)
    entries: list[tuple[marks.Swatch, str]] = [
        (marks.line_swatch(PROPOSED_PEN), "proposed grade"),
        (marks.line_swatch(EXISTING_PEN), "existing grade"),
        (marks.area_swatch(FILL_TINT, None, lambda patch: hatch(patch, 4.5, 60.0)), "fill"),
    ]
    if dug:
        entries.append((marks.area_swatch(CUT_STEPS[0], None, lambda patch: hatch(patch, 3.0, 0.0)), "cut"))
    if any(profile.stones for profile in profiles):
        entries.append((marks.area_swatch(WALK, STONE_PEN), "stones; crushed stone under and behind"))
    if any(profile.water for profile in profiles):
        entries.append((marks.area_swatch(WATER, Pen(WATER_EDGE, 1.0)), "running water"))
    if crossed:
        entries.append((marks.line_swatch(pens.KEEP_OFF_PEN), "keep-off: no fill, no digging"))
    marks.LegendBlock(entries).draw(page, MARGIN + 300.0, top, 150.0, BAND)
    _draw_key(page, subject, (MARGIN + 460.0, FLOOR + 2.0, page.width - MARGIN - 178.0, top))
    sheet = Sheet(paper, page.width, page.height, scale, (0, 0, 1, 1), (0, 0, 1, 1), (), units)
    words = f"{scale.text} on {paper} paper"
    left = page.width - MARGIN - 165.0
    page.text(left, top - 12.0, words, Type(NUMBER + 1.0, INK, bold=True))
    marks.scale_bar(page, sheet, left + 3.0, top - 32.0, 165.0)


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
