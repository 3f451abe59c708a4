"""Two sections through the mound at true scale, and one of them with larger heights, which says so."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from terrain.grid import Array, Mask
from terrain.numerics import merged
from terrain.units import Units, unit_length
from viewer.page import (
    CUT_STEPS,
    FAINT,
    INK,
    LEAST,
    LEAST_FILL,
    MARGIN,
    PAPER,
    PROPOSED,
    SOFT_INK,
    SOIL,
    WALK,
    WATER,
    WATER_EDGE,
    Page,
    Pen,
    Stamp,
    Subject,
    Type,
    cut_gaps,
    hatch,
    heading_lines,
    new_page,
    numbered,
    pens,
    section_lines,
    stamp,
    turned,
)
from viewer.sheets import layers
from viewer.sheets.profile import profile_of
from viewer.sheets.section_axis import Axis
from viewer.sheets.section_band import (
    EXISTING_PEN,
    FILL_TINT,
    NUMBER,
    PROPOSED_PEN,
    STONE_PEN,
    TITLE,
    draw_band,
    scales_said,
)
from viewer.sheets.section_cover import draw_cover, draw_standing, runs
from viewer.sheets.section_shelves import (
    BELOW,
    BESIDE,
    CAP,
    FOOTROOM,
    GUTTER,
    HEADROOM,
    LETTERS,
    Drawn,
    needed_height,
    section_paper,
    shelves,
    tallest,
)
from viewer.sheets.section_stones import StonesCut
from viewer.sheets.section_words import draw_leaders, keep_off_marks, unnamed, words


def draw_sections(subject: Subject, folder: Path) -> list[Path]:
    """Write sections.png (200 dots per inch) into `folder`."""
    (page,) = numbered([sections_page(subject)])
    return [page.save(folder / "sections.png")]


def sections_page(subject: Subject, whole: bool = False) -> Page:
    """Both sections at true scale and the long one with its heights drawn larger, beside or under each other.

    As wide as the paper, as large as round scales allow; `whole`: as high as the paper too.
    """
    profiles = [profile_of(subject, section) for section in section_lines(subject.site, subject.proposal)]
    name, each = section_paper(profiles, subject.site.units, subject.asked.paper)
    wide, high = turned(name)
    rows = shelves(profiles, each, wide)
    needed = needed_height(rows)
    page = new_page(wide, max(needed, high) if whole else needed)
    spare = (page.height - needed) / (len(rows) + 1)
    top = page.height - CAP - spare
    for shelf in rows:
        left = MARGIN
        for one in shelf:
            across, tall = one.size
            axis = Axis(left + GUTTER, top - tall + FOOTROOM, one.profile.low - BELOW, one.scale.points, one.times)
            right = page.width - MARGIN if one is shelf[-1] else left + across - 0.5 * BESIDE
            _draw_profile(page, one, axis, subject.site.units, right)
            left += across
        top -= tallest(shelf) + spare
    draw_band(page, subject, name, each, rows[-1][-1].times, profiles)
    stamp(page, Stamp(subject.site, TITLE, scales_said(profiles, each), name))
    return page


def _draw_profile(page: Page, drawn: Drawn, axis: Axis, units: Units, right: float) -> None:
    """One section: ground, fill, lines, scales at its edges, callouts; words reach to `right` at most."""
    profile = drawn.profile
    page.begin(drawn.name)
    existing = axis.points(profile.stations, profile.existing)
    proposed = axis.points(profile.stations, profile.proposed)
    base = np.array([[existing[-1, 0], axis.foot], [existing[0, 0], axis.foot]])
    page.area(Polygon(np.vstack([existing, base])), SOIL)
    triangles, placed, calls = words(drawn, axis, units, right)
    gaps = [item.box for item in placed] + [triangle for triangle, _, _ in triangles]
    _draw_scales(page, drawn, axis, units, gaps)
    if profile.cover is not None:
        draw_standing(page, axis, (profile.stations, profile.existing), profile.cover, gaps)
    fill = area_where(profile.fill > LEAST_FILL, existing, proposed)
    page.area(fill, FILL_TINT)
    page.lines(cut_gaps([hatch(fill, 4.5, 60.0)], gaps), Pen(PROPOSED, 0.45))
    cut = area_where(profile.fill < -LEAST_FILL, existing, proposed)
    page.area(cut, CUT_STEPS[0])
    page.lines(cut_gaps([hatch(cut, 3.0, 0.0)], gaps), Pen(CUT_STEPS[3], 0.45))
    for crossing in profile.crossings:
        edges, _ = keep_off_marks(profile, axis, crossing)
        page.lines(edges, pens.KEEP_OFF_PEN)
    page.lines(LineString(existing), EXISTING_PEN)
    covered = np.abs(profile.fill) > LEAST_FILL
    page.lines([LineString(proposed[a:b]) for a, b in runs(covered)], PROPOSED_PEN)
    if profile.cover is not None:
        draw_cover(page, axis, profile.stations, (profile.existing, profile.proposed), profile.cover)
    for water in profile.water:
        page.area(axis.shape(water.area), WATER)
        page.lines(axis.shape(water.surface), Pen(WATER_EDGE, 1.0))
    _draw_stones(page, axis, profile.stones, gaps)
    page.lines([triangle for triangle, _, _ in triangles], Pen(INK, 0.9))
    draw_leaders(page, placed, calls)
    _draw_note(page, axis, unnamed(placed, calls, axis, units), right)
    layers.write_labels(page, placed)


def _draw_note(page: Page, axis: Axis, text: str, right: float) -> None:
    """What found no place over the ground stands under the distances."""
    lines, kind = heading_lines(text, Type(NUMBER), right - axis.left + GUTTER, LEAST)
    for number, line in enumerate(lines if text else ()):
        page.text(axis.left - GUTTER, axis.foot - 24.0 - 8.0 * number, line, kind)


def _draw_stones(page: Page, axis: Axis, walls: Sequence[StonesCut], gaps: Sequence[BaseGeometry]) -> None:
    """The courses of every wall that the section crosses, with the crushed stone under and behind them."""
    for wall in walls:
        bedding, drain, *stones = (axis.shape(shape) for shape in (wall.bedding, wall.drain, *wall.stones))
        for crushed in (bedding, drain):
            page.area(crushed, PAPER)
            page.lines(cut_gaps([hatch(crushed, 2.2, 45.0)], gaps), Pen(SOFT_INK, 0.35))
        for stone in stones:
            page.area(stone, WALK)
            page.lines(stone.exterior, STONE_PEN)


def area_where(mask: Mask, existing: Array, proposed: Array) -> BaseGeometry:
    """The ground between existing and proposed grade on the paper, where the mask holds."""
    parts = [Polygon(np.vstack([existing[a:b], proposed[a:b][::-1]])) for a, b in runs(mask)]
    return merged(parts)


def _draw_scales(page: Page, drawn: Drawn, axis: Axis, units: Units, gaps: Sequence[BaseGeometry]) -> None:
    """Elevations at the left, distances along the foot, both in the site's units; lines leave gaps for words."""
    profile = drawn.profile
    unit = unit_length(units)
    step = _tick(axis.rise * unit, 20.0)
    right = axis.left + axis.size * profile.section.length
    first = int(np.ceil(axis.datum / unit / step))
    for k in range(first, int(np.floor((profile.high + 0.1) / unit / step)) + 1):
        up = float(axis.points(np.zeros(1), np.array([k * step * unit]))[0, 1])
        page.lines(cut_gaps([LineString([(axis.left - 4.0, up), (right, up)])], gaps), Pen(FAINT, 0.45))
        page.text(axis.left - 7.0, up - 3.6, f"{k * step:g}", Type(NUMBER, SOFT_INK), "right")
    step = _tick(axis.size * unit, 42.0)
    page.lines(LineString([(axis.left, axis.foot), (right, axis.foot)]), Pen(SOFT_INK, 0.7))
    for k in range(int(profile.section.length / unit / step) + 1):
        across = axis.left + axis.size * k * step * unit
        page.lines(LineString([(across, axis.foot), (across, axis.foot - 3.5)]), Pen(SOFT_INK, 0.7))
        text = f"{k * step:g}" if k else f"0 {units}"
        page.text(across, axis.foot - 14.0, text, Type(NUMBER, SOFT_INK), "middle")
    up = axis.foot + axis.rise * (profile.high - axis.datum) + HEADROOM - 26.0
    page.text(axis.left - GUTTER, up, drawn.name, LETTERS)


def _tick(unit_points: float, least: float) -> float:
    """Round step in the site's units that stands at least `least` points apart."""
    steps = [base * 10.0**power for power in range(-1, 4) for base in (1.0, 2.0, 5.0)]
    return next((step for step in steps if step * unit_points >= least), steps[-1])
