"""The marks round a drawing: words in blocks, legend, scale bar, north arrow, caution line. All in points."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Protocol

import shapely
from shapely.geometry import LineString, Polygon, box

from viewer.lettering import BODY, HEADING, NUMBER, SMALL, TITLE, Type, fit_size, text_size, wrap
from viewer.page import Page, Pen
from viewer.palette import FAINT, INK, SOFT_INK
from viewer.sheet import MARGIN, Bounds, Sheet, bar_length
from terrain.units import unit_length

CAUTION = (
    "Planning drawing. Locate buried services before any dig; local code and licensed practice decide."
)

Swatch = Callable[[Page, Bounds], None]


class Block(Protocol):
    """A block of words or marks that stands in a panel."""

    def height(self, width: float) -> float:
        """Height in points at a width in points."""
        ...

    def draw(self, page: Page, left: float, top: float, width: float) -> None:
        """Draw with the upper left corner given."""
        ...


@dataclass(frozen=True)
class TitleBlock:
    """Site name, what the drawing is, the units and the date."""

    name: str
    drawing: str
    remark: str
    day: date = field(default_factory=date.today)

    def _lines(self, width: float) -> list[tuple[str, Type, float]]:
        title = Type(TITLE, title=True, bold=True)
        names = wrap(self.name, title, width)[:3]
        rows = [(line, fit_size(line, title, width, 9.0), TITLE * 1.18) for line in names]
        rows += [(self.drawing, Type(HEADING, bold=True), 17.0)]
        small = Type(NUMBER, SOFT_INK)
        told = f"{self.remark} Drawn {self.day.day} {self.day:%B %Y}."
        return rows + [(line, small, 11.5) for line in wrap(told, small, width)]

    def height(self, width: float) -> float:
        """Height in points."""
        return sum(step for _, _, step in self._lines(width))

    def draw(self, page: Page, left: float, top: float, width: float) -> None:
        """Draw the lines from the top down."""
        for text, kind, step in self._lines(width):
            top -= step
            page.text(left, top + 0.22 * step, text, kind)


@dataclass(frozen=True)
class FactsBlock:
    """A heading and rows of "what: figure", the figure strong."""

    heading: str
    rows: Sequence[tuple[str, str]]

    def height(self, width: float) -> float:
        """Height in points."""
        return 17.0 + sum(self._row_height(row, width) for row in self.rows)

    def _row_height(self, row: tuple[str, str], width: float) -> float:
        what, figure = row
        room = width - text_size(what, Type(NUMBER, SOFT_INK))[0] - 8.0
        return 13.0 if text_size(figure, Type(BODY, bold=True))[0] <= room else 24.0

    def draw(self, page: Page, left: float, top: float, width: float) -> None:
        """Draw heading, a rule, and the rows."""
        page.text(left, top - 10.0, self.heading, Type(HEADING, bold=True))
        top -= 17.0
        for row in self.rows:
            high = self._row_height(row, width)
            page.text(left, top - 9.5, row[0], Type(NUMBER, SOFT_INK))
            figure = fit_size(row[1], Type(BODY, bold=True), width, SMALL)
            page.text(left + width, top - high + 3.5, row[1], figure, anchor="right")
            top -= high
            page.lines(LineString([(left, top), (left + width, top)]), Pen(FAINT, 0.4))


@dataclass(frozen=True)
class NotesBlock:
    """A heading and sentences, each led by its mark; what finds no room is counted."""

    heading: str
    notes: Sequence[tuple[str, str]]
    most: float = 130.0

    def _rows(self, width: float) -> list[tuple[str, str]]:
        kind = Type(SMALL)
        rows: list[tuple[str, str]] = []
        for count, (mark, text) in enumerate(self.notes):
            lines = wrap(text, kind, width - 18.0)
            if 17.0 + 10.0 * (len(rows) + len(lines) + 1) > self.most:
                return [*rows, ("", f"and {len(self.notes) - count} more in summary.json")]
            rows += [(mark if k == 0 else "", line) for k, line in enumerate(lines)]
        return rows

    def height(self, width: float) -> float:
        """Height in points."""
        return 17.0 + 10.0 * len(self._rows(width))

    def draw(self, page: Page, left: float, top: float, width: float) -> None:
        """Draw heading and sentences."""
        page.text(left, top - 10.0, self.heading, Type(HEADING, bold=True))
        top -= 17.0
        for mark, line in self._rows(width):
            top -= 10.0
            page.text(left, top + 2.5, mark, Type(SMALL, bold=True))
            page.text(left + 18.0, top + 2.5, line, Type(SMALL))


@dataclass(frozen=True)
class LegendBlock:
    """What each mark on the drawing means."""

    entries: Sequence[tuple[Swatch, str]]
    heading: str = "Legend"

    def height(self, width: float) -> float:
        """Height in points."""
        return 17.0 + sum(self._entry_height(text, width) for _, text in self.entries)

    def _entry_height(self, text: str, width: float) -> float:
        return 3.0 + 10.5 * len(wrap(text, Type(NUMBER), width - 36.0))

    def draw(self, page: Page, left: float, top: float, width: float) -> None:
        """Draw heading, swatches and texts."""
        page.text(left, top - 10.0, self.heading, Type(HEADING, bold=True))
        top -= 17.0
        for swatch, text in self.entries:
            high = self._entry_height(text, width)
            middle = top - high / 2
            swatch(page, (left, middle - 5.0, left + 28.0, middle + 5.0))
            for k, line in enumerate(wrap(text, Type(NUMBER), width - 36.0)):
                page.text(left + 36.0, top - 9.5 - 10.5 * k, line, Type(NUMBER))
            top -= high


@dataclass(frozen=True)
class ScaleBlock:
    """The scale in words, its bar, and the north arrow beside it."""

    sheet: Sheet

    def height(self, width: float) -> float:
        """Height in points."""
        return 62.0

    def draw(self, page: Page, left: float, top: float, width: float) -> None:
        """Draw the arrow at the right, words and bar at the left."""
        room = width - 44.0
        words = f"{self.sheet.scale.text} on {self.sheet.paper} paper"
        page.text(left, top - 14.0, words, fit_size(words, Type(BODY, bold=True), room, SMALL))
        scale_bar(page, self.sheet, left + 3.0, top - 34.0, room - 10.0)
        north_arrow(page, left + width - 16.0, top - 30.0, 50.0)


def scale_bar(page: Page, sheet: Sheet, left: float, up: float, room: float) -> None:
    """A bar in four pieces, dark and light, marked in the site's units at its ends and its middle."""
    length = bar_length(sheet.scale, sheet.units, room - 24.0)
    quarter = length / 4 * unit_length(sheet.units) * sheet.scale.points
    for k in range(4):
        piece = box(left + k * quarter, up, left + (k + 1) * quarter, up + 5.0)
        page.area(piece, INK if k % 2 == 0 else "#ffffff")
        page.lines(piece, Pen(INK, 0.7))
    for k, text in ((0, "0"), (2, f"{length / 2:g}"), (4, f"{length:g} {sheet.units}")):
        page.text(left + k * quarter, up - 10.0, text, Type(NUMBER), anchor="middle")


def north_arrow(page: Page, across: float, up: float, high: float) -> None:
    """A leaf that points north: its left half dark, its right half light, an N on the stem."""
    half, tip, foot = 0.17 * high, up + 0.5 * high, up - 0.18 * high
    rise = tip - foot
    bulge = [(0.0, 0.0), (0.62, 0.16), (0.98, 0.36), (0.92, 0.55), (0.6, 0.76), (0.25, 0.92), (0.0, 1.0)]
    left_edge = [(across - half * out, foot + rise * share) for out, share in bulge]
    right_edge = [(across + half * out, foot + rise * share) for out, share in bulge]
    page.area(Polygon(left_edge), INK)
    page.lines(Polygon(left_edge + right_edge[-2:0:-1]), Pen(INK, 0.9))
    page.lines(LineString([(across, foot), (across, foot - 0.1 * high)]), Pen(INK, 1.4))
    page.text(across, foot - 0.1 * high - 10.5, "N", Type(HEADING, bold=True, title=True), anchor="middle")


def caution_line(page: Page, note: str = CAUTION) -> None:
    """The caution at the foot of every sheet."""
    page.lines(
        LineString([(MARGIN, MARGIN + 17.0), (page.width - MARGIN, MARGIN + 17.0)]), Pen(FAINT, 0.6)
    )
    kind = fit_size(note, Type(SMALL, SOFT_INK), page.width - 2 * MARGIN, 6.0)
    page.text(MARGIN, MARGIN + 4.0, note, kind)


def flow(page: Page, panels: Sequence[Bounds], blocks: Sequence[Block], gap: float = 14.0) -> None:
    """Stand the blocks in the panels, top to bottom, on to the next panel when one is full."""
    at = 0
    left, bottom, right, top = panels[0]
    for block in blocks:
        high = block.height(right - left)
        if top - high < bottom - 1.0 and at + 1 < len(panels) and top < panels[at][3]:
            at += 1
            left, bottom, right, top = panels[at]
            high = block.height(right - left)
        block.draw(page, left, top, right - left)
        top -= high + gap


def frame_line(page: Page, sheet: Sheet) -> None:
    """The thin edge of the drawing."""
    page.lines(sheet.room, Pen(FAINT, 0.8))


def line_swatch(pen: Pen) -> Swatch:
    """A short piece of a line."""

    def draw(page: Page, bounds: Bounds) -> None:
        middle = (bounds[1] + bounds[3]) / 2
        page.lines(LineString([(bounds[0], middle), (bounds[2], middle)]), pen)

    return draw


def area_swatch(colour: str, edge: Pen | None = None, lines: Callable[[Polygon], shapely.Geometry] | None = None) -> Swatch:
    """A small patch of a tint, with its edge and its hatch."""

    def draw(page: Page, bounds: Bounds) -> None:
        patch = box(*bounds)
        page.area(patch, colour)
        if lines is not None:
            page.lines(lines(patch), Pen(SOFT_INK, 0.5))
        if edge is not None:
            page.lines(patch, edge)

    return draw
