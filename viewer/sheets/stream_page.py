"""A stream on paper: its long section with bed, water, drops, pools, basin and lift at true scale; its sheets drawn
flat; sills, lists and what to heed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from shapely.geometry import LineString, Point, Polygon, box

from terrain.estimates import show_about
from terrain.flow import Study
from terrain.limits import SHEET_LAP
from terrain.review import stream_findings
from terrain.units import Units, show_length, show_place
from terrain.waterworks import (
    LinerSheet,
    Reach,
    StreamNeeds,
    laid_rows,
    sheet_words,
    sill_words,
    tolerance_words,
    water_rows,
)
from viewer.page import (
    CUT_STEPS,
    EXISTING,
    FAINT,
    FLOOR,
    HEADING,
    INK,
    MARGIN,
    PROPOSED,
    SMALL,
    SOFT_INK,
    Page,
    Pen,
    Scale,
    Stamp,
    Type,
    hatch,
    marks,
    new_page,
    numbered,
    page_of_words,
    save_book,
    scales,
    stamp,
    text_size,
    titled,
)
from viewer.sheets.order_blocks import PairsBlock, TableBlock
from viewer.sheets.section_axis import Axis

BED_PEN, BANK_PEN = Pen(PROPOSED, 1.8), Pen(EXISTING, 0.8, (5.0, 2.6))
WATER, WATER_PEN = CUT_STEPS[0], Pen(CUT_STEPS[3], 0.9)
PIPE_PEN, DIMENSION_PEN, THIN_PEN = Pen(INK, 1.0, (7.0, 3.0)), Pen(SOFT_INK, 0.7), Pen(SOFT_INK, 0.5)
SHEET_PEN, CUT_PEN, LAP_PEN = Pen(INK, 0.8), Pen(PROPOSED, 1.3), Pen(PROPOSED, 0.9, (3.0, 2.0))
GAP = 16.0  # points between blocks
GUTTER, AT_PUMP = 66.0, 30.0  # points at the left for the lift, and at the right for the word of the pump
ROW, BESIDE = 11.0, 2.5  # points from one row of names over the section to the next; from a line to its name
TALLEST = 210.0  # points of height for the section, and for the sheets
FLAT_TALLEST = 150.0
BETWEEN = 0.65  # metres on paper between the end of a stream and its basin
KEY = "Brown: bed. Grey dashes: the ground beside it. Tinted: water. Black dashes: the pipe, not where it is laid."
CAUTION = (
    "Planning figures: flows and depths are estimates. Locate buried services before any dig; local code and licensed "
    "practice decide."
)


def draw_streams(study: Study, path: Path) -> Path:
    """Write the sheets of every stream as one PDF."""
    return save_book(numbered(stream_pages(study)), path, titled(study.site, "Streams"))


def stream_pages(study: Study, paper: str | None = None) -> list[Page]:
    """Two pages a stream: drawings, then lists; `paper` is that of the drawings they go with."""
    return [page for needs in study.streams for page in (_drawn(study, needs, paper), _told(study, needs, paper))]


def long_section(needs: StreamNeeds, units: Units) -> Page:
    """The long section of a stream by itself."""
    wide = page_of_words(units, None)[0] - 2 * MARGIN
    section = LongDrawing(needs, units, wide - GUTTER - AT_PUMP)
    page = new_page(wide, section.labels_high + section.height + 2 * GAP)
    foot = section.draw(page, GUTTER, page.height - section.labels_high)
    page.text(0.0, foot - GAP, KEY, Type(SMALL, SOFT_INK))
    return page


def _drawn(study: Study, needs: StreamNeeds, paper: str | None) -> Page:
    """Long section, sheets drawn flat, sills."""
    units = study.site.units
    wide, high = page_of_words(units, paper)
    page = new_page(wide, high)
    width, top = wide - 2 * MARGIN, high - MARGIN
    section = LongDrawing(needs, units, width - GUTTER - AT_PUMP)
    what = f"Finished grade. True scale, {section.scale.text}."
    title = marks.TitleBlock(f"Long section of {needs.materials.name}", what)
    top -= title.draw(page, MARGIN, top, width, top) + section.labels_high
    top = section.draw(page, MARGIN + GUTTER, top) - GAP
    page.text(MARGIN, top, KEY, Type(SMALL, SOFT_INK))
    top -= GAP
    top = _draw_flat(page, needs.materials.lining.sheets, units, (MARGIN, top, width)) - GAP
    _sill_table(needs, units).draw(page, MARGIN, top, width, top - FLOOR)
    stamp(page, Stamp(study.site, f"Long section of {needs.materials.name}", section.scale.text, caution=CAUTION))
    return page


def _told(study: Study, needs: StreamNeeds, paper: str | None) -> Page:
    """Water, what is laid, and what to heed."""
    units = study.site.units
    wide, high = page_of_words(units, paper)
    page = new_page(wide, high)
    width, top = wide - 2 * MARGIN, high - MARGIN
    title = marks.TitleBlock(
        f"What {needs.materials.name} needs", "Estimates, of two figures at most; ranges in brackets."
    )
    top -= title.draw(page, MARGIN, top, width, top) + GAP
    for heading, rows in (("Water", water_rows(needs, units)), ("What is laid", laid_rows(needs, units))):
        top -= PairsBlock(heading, list(rows)).draw(page, MARGIN, top, width, top) + GAP
    found = sorted(stream_findings(study.review.checks), key=lambda one: list(_MARKS).index(one.level))
    notes = [(finding.level, finding.text) for finding in found]
    heed = marks.NotesBlock("What to heed", [(_MARKS[level], text) for level, text in notes], "stream.json")
    heed.draw(page, MARGIN, top, width, top - FLOOR)
    stamp(page, Stamp(study.site, f"What {needs.materials.name} needs", caution=CAUTION))
    return page


_MARKS = {"stop": "Stop", "caution": "!", "note": "–"}


def _sill_table(needs: StreamNeeds, units: Units) -> TableBlock:
    """Every sill: place, elevations, fall."""
    rows = [
        (
            f"{sill.name}, {show_place(*sill.at, units)}",
            show_length(sill.station, units, "distance"),
            show_length(sill.day_one, units, "sill"),
            show_length(sill.elevation, units, "sill"),
            sill_words(sill, units),
        )
        for sill in needs.materials.parts.sills
    ]
    heads = ("", "from the top", "set on day one", "finished", "water")
    return TableBlock(f"Sills, each level and to its height within {tolerance_words(units)}", heads, rows)


@dataclass(frozen=True)
class LongDrawing:
    """The long section of a stream and its basin, in a width of points."""

    needs: StreamNeeds
    units: Units
    width: float

    @property
    def _far(self) -> tuple[float, float]:
        """Where the basin begins and ends, metres along the section."""
        last = self.needs.wet[-1].reach
        start = last.start + last.length + BETWEEN
        return start, start + self.needs.store.area**0.5

    @property
    def _levels(self) -> tuple[float, float]:
        """The lowest and the highest elevation that shows."""
        reaches = [one.reach for one in self.needs.wet]
        return min(self.needs.floor, *(one.foot for one in reaches)), max(
            one.top + one.hollow + one.bank for one in reaches
        )

    @property
    def scale(self) -> Scale:
        """The largest round scale at which it fits."""
        low, high = self._levels
        steps = scales(self.units)
        fits = (s for s in steps if self._far[1] * s.points <= self.width and (high - low) * s.points <= TALLEST)
        return next(fits, steps[-1])

    @property
    def height(self) -> float:
        """Points from the lowest to the highest that shows, without the names over it."""
        low, high = self._levels
        return (high - low) * self.scale.points

    def draw(self, page: Page, left: float, top: float) -> float:
        """Draw it down from `top`, station 0 at `left`; answers its lowest point."""
        axis = Axis(left, top - self.height, self._levels[0], self.scale.points)
        self._draw_stream(page, axis)
        self._draw_basin(page, axis)
        self._draw_lift(page, axis)
        return axis.foot

    def _draw_stream(self, page: Page, axis: Axis) -> None:
        for one in self.needs.wet:
            page.area(axis.shape(_water(one.reach, one.usual.depth + one.reach.hollow)), WATER)
        floor = [point for one in self.needs.wet for point in _floor(one.reach)]
        page.lines(_line(axis, floor), BED_PEN)
        for one in self.needs.wet:
            deep = one.usual.depth + one.reach.hollow
            page.lines(_line(axis, [(x, z + deep) for x, z in _floor(one.reach)]), WATER_PEN)
            page.lines(
                _line(axis, [(x, z + one.reach.hollow + one.reach.bank) for x, z in _floor(one.reach)]), BANK_PEN
            )
        self._label(page, axis)

    def _label(self, page: Page, axis: Axis) -> None:
        """Drops and pools by name over the section, each beside its line, which passes no other name."""
        kind, foot = Type(SMALL), self._over(axis)
        for (x, z, text), row in zip(self._names(), self._rows(), strict=True):
            across, up = axis.points(np.array([x]), np.array([z]))[0]
            page.lines(LineString([(across, up + 3.0), (across, foot + ROW * row + 6.0)]), THIN_PEN)
            page.text(across + BESIDE, foot + ROW * row, text, kind)

    def _over(self, axis: Axis) -> float:
        """How high the lowest row of names stands, points."""
        return float(axis.points(np.array([0.0]), np.array([self._levels[1]]))[0, 1]) + 10.0

    def _rows(self) -> list[int]:
        """The row of each name from the lowest, 0: over every one whose line it would lie on."""
        kind, names = Type(SMALL), self._names()
        starts = [x * self.scale.points for x, _, _ in names]
        ends = [x + BESIDE + text_size(text, kind)[0] + 3.0 for x, (_, _, text) in zip(starts, names, strict=True)]
        rows = [0] * len(names)
        for k in reversed(range(len(names))):
            under = [rows[j] for j in range(k + 1, len(names)) if starts[j] < ends[k]]
            rows[k] = max(under, default=-1) + 1
        return rows

    @property
    def labels_high(self) -> float:
        """Points that the names take over the section."""
        return 16.0 + ROW * (1 + max(self._rows(), default=0))

    def _names(self) -> list[tuple[float, float, str]]:
        """Station, elevation and words of every drop and pool, from the top down."""
        sills = self.needs.materials.parts.sills
        drops = [
            (sill.station, sill.elevation, f"{sill.name}, {show_about(sill.height, 'thin', self.units)}")
            for sill in sills
            if sill.height > 0.0
        ]
        pools = [
            (one.reach.start + one.reach.length / 2.0, one.reach.top + one.reach.hollow + one.usual.depth, "pool")
            for one in self.needs.wet
            if one.reach.kind == "pool"
        ]
        return sorted([*drops, *pools])

    def _draw_basin(self, page: Page, axis: Axis) -> None:
        """The basin as a box, its water while the pump rests and while it runs, and the intake's least depth."""
        needs, (start, end) = self.needs, self._far
        full = needs.floor + needs.store.full
        running = full - needs.level_drop.value
        stones = axis.shape(box(start, needs.floor, end, full))
        page.area(axis.shape(box(start, needs.floor, end, running)), WATER)
        page.lines(hatch(stones, 7.0, 60.0), Pen(FAINT, 0.4))
        page.lines(_line(axis, [(start, full), (start, needs.floor), (end, needs.floor), (end, full)]), BED_PEN)
        up = np.inf
        for level, text in (
            (full, "at rest"),
            (running, "running"),
            (needs.floor + needs.store.intake, "least"),
        ):
            page.lines(_line(axis, [(start, level), (end, level)]), WATER_PEN)
            x, y = axis.points(np.array([start]), np.array([level]))[0]
            up = min(y - 2.5, up - 8.5)
            page.text(x - 4.0, up, text, Type(SMALL), "right")

    def _draw_lift(self, page: Page, axis: Axis) -> None:
        """The pipe from the pump up to the top, and the lift as a dimension at the left."""
        needs, (start, end) = self.needs, self._far
        lowest = needs.floor + needs.store.intake
        top = lowest + needs.duty.lift.value
        pump = (start + 0.3 * (end - start), needs.floor + 0.05)
        low, _ = self._levels
        page.lines(_line(axis, [pump, (pump[0], low), (-0.15, low), (-0.15, top), (0.0, top)]), PIPE_PEN)
        # Its word stands beside the basin, clear of stones and water.
        (x, _), (beside, y) = axis.points(np.array([pump[0], end]), np.array([pump[1], pump[1]]))
        page.area(Point(x, y).buffer(2.0), INK)
        page.lines(LineString([(x, y), (beside + 3.0, y)]), THIN_PEN)
        page.text(beside + 5.0, y - 2.5, "pump", Type(SMALL))
        x = axis.left - 24.0
        (_, foot), (_, head) = axis.points(np.zeros(2), np.array([lowest, top]))
        page.lines(LineString([(x, foot), (x, head)]), DIMENSION_PEN)
        for y in (foot, head):
            page.lines(LineString([(x - 3.5, y), (x + 3.5, y)]), DIMENSION_PEN)
        lift = show_about(needs.duty.lift.value, "head", self.units)
        page.text(x - 4.0, (foot + head) / 2.0, f"lift {lift}", Type(SMALL, bold=True), "right")


def _floor(reach: Reach) -> list[tuple[float, float]]:
    return [(reach.start, reach.top), (reach.start + reach.length, reach.foot)]


def _water(reach: Reach, deep: float) -> Polygon:
    (left, top), (right, foot) = _floor(reach)
    return Polygon([(left, top), (right, foot), (right, foot + deep), (left, top + deep)])


def _line(axis: Axis, places: Sequence[tuple[float, float]]) -> LineString:
    stations, levels = np.array(places, dtype=float).T
    return LineString(axis.points(stations, levels))


def _draw_flat(page: Page, sheets: Sequence[LinerSheet], units: Units, place: tuple[float, float, float]) -> float:
    """Every sheet as it comes off the roll, with the stream on it; `place` is left, top and width; answers its foot."""
    left, top, width = place
    gap = 24.0
    long = sum(sheet.length for sheet in sheets)
    room = width - gap * (len(sheets) - 1)
    steps = scales(units)
    wide = max(sheet.width for sheet in sheets)
    scale = next((s for s in steps if long * s.points <= room and wide * s.points <= FLAT_TALLEST), steps[-1])
    size, start = scale.points, left
    page.text(left, top - 10.0, f"Sheets, drawn flat, {scale.text}", Type(HEADING, bold=True))
    top -= 30.0
    for sheet in sheets:
        _draw_sheet(page, sheet, (left, top - wide * size / 2.0, size))
        words = f"{sheet.name}: {sheet_words(sheet, units)}"
        page.text(left, top - wide * size - 12.0, words, Type(SMALL, bold=True))
        left += sheet.length * size + gap
    lap = show_length(SHEET_LAP.value, units)
    told = f"Each in one piece; the stream's else lapped at a drop (dashed), upper over lower by {lap} and more."
    page.text(start, top - wide * size - 23.0, f"{told} Hatched: cut away or folded.", Type(SMALL))
    return top - wide * size - 30.0


def _draw_sheet(page: Page, sheet: LinerSheet, place: tuple[float, float, float]) -> None:
    """One sheet, its middle line from (left, up) on, at so many points to the metre."""
    left, up, size = place
    half = sheet.width / 2.0
    whole = box(left, up - half * size, left + sheet.length * size, up + half * size)
    outline = Polygon([(left + x * size, up + y * size) for x, y in sheet.cut])
    page.lines(hatch(whole.difference(outline), 5.0), Pen(FAINT, 0.5))
    page.lines(whole, SHEET_PEN)
    page.lines(outline, CUT_PEN)
    for along in sheet.laps:
        x = left + along * size
        page.lines(LineString([(x, up - half * size), (x, up + half * size)]), LAP_PEN)
    if sheet.folds:
        page.lines(Polygon([(left + x * size, up + y * size) for x, y in sheet.folds]), THIN_PEN)
