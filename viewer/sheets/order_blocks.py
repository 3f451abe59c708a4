"""Blocks of the order sheet: the figure that matters with its range, and plain tables."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate

from shapely.geometry import LineString, Polygon, box

from terrain.soil import words
from terrain.units import Units, show_volume, unit_volume
from viewer.page import (
    BODY,
    FAINT,
    FILL_STEPS,
    HEADING,
    INK,
    LEAST,
    NUMBER,
    PROPOSED,
    SMALL,
    SOFT_INK,
    Page,
    Pen,
    Type,
    fit_size,
    hatch,
    text_size,
    wrap,
)
from viewer.sheets.order_sheet import OrderSheet

FIGURE = 30.0  # points: read at arm's length, and on a phone before zooming in
LABEL = 62.0  # points that the first words of a row take
GAPS = (9.0, 7.0, 5.0)  # points between columns of figures, wide to close
STEPS, FORMULA = (
    (12.0, 11.0, 10.2, 9.6),
    7.8,
)  # points of a row beside its formula, loose to close, and of a line of that
LEAD = 12.0  # points from line to line of a table
_WHAT, _MUCH = Type(NUMBER, SOFT_INK), Type(NUMBER, bold=True)  # the two columns of a row of pairs


@dataclass(frozen=True)
class HeroBlock:
    """What to order, large; how sure that is, in words and as a strip."""

    sheet: OrderSheet

    def draw(self, page: Page, left: float, top: float, width: float, room: float) -> float:
        """Draw the figure at the left and the strip of the range at the right."""
        order, units = self.sheet.order, self.sheet.site.units
        half = width * 0.5
        used = self._figures(page, left, top, half)
        text_left, text_width = left + half + 16.0, half - 16.0
        down = 4.0
        for sentence in (*self.sheet.first, *words.sure_words(order, units)):
            for line in wrap(sentence, Type(BODY), text_width):
                down += 12.5
                page.text(text_left, top - down, line, Type(BODY))
        down += 18.0
        range_strip(page, self.sheet, (text_left, top - down - 26.0, text_left + text_width, top - down))
        return max(used, down + 28.0)

    def _figures(self, page: Page, left: float, top: float, width: float) -> float:
        """Each soil to buy, then mulch and gravel."""
        order, units = self.sheet.order, self.sheet.site.units
        used = 0.0
        bought = [(words.item_words(item, units), item.name) for item in order.soils] or [("no soil", "to order")]
        size = FIGURE if len(bought) == 1 else 22.0
        for figure, name in bought:
            used += size * (1.12 if used == 0.0 else 1.3)
            kind = fit_size(figure, Type(size, bold=True), width, 12.0)
            page.text(left, top - used + 4.0, figure, kind)
            used += 12.0
            label = f"{name}, {self.sheet.site.soil.kind}" if order.soils else name
            page.text(left, top - used + 1.0, label, fit_size(label, Type(BODY, SOFT_INK), width, SMALL))
        for item in order.covers:
            used += 15.0
            text = f"{words.item_words(item, units)} of {item.name}"
            page.text(left, top - used + 2.0, text, fit_size(text, Type(HEADING, bold=True), width, SMALL))
        return used


def range_strip(page: Page, sheet: OrderSheet, bounds: tuple[float, float, float, float]) -> None:
    """The 90 % range as a hatched bar, what is expected as a line in it, the order as a mark on it."""
    order, units = sheet.order, sheet.site.units
    if order.high <= 0.0:
        return
    left, bottom, right, _ = bounds
    there = order.on_hand + order.quantity
    low, high = min(order.low, there), max(order.high, there)
    spread = max(high - low, 1e-9)

    def across(volume: float) -> float:
        return left + 22.0 + (right - left - 44.0) * (volume - low) / spread

    bar = box(across(order.low), bottom + 9.0, across(order.high), bottom + 17.0)
    page.area(bar, FILL_STEPS[0])
    page.lines(hatch(bar, 4.0), Pen(FILL_STEPS[1], 0.6))
    page.lines(bar, Pen(PROPOSED, 0.7))
    middle = across(order.expected)
    page.lines(LineString([(middle, bottom + 6.0), (middle, bottom + 20.0)]), Pen(INK, 1.2))
    at = across(there)
    page.area(Polygon([(at, bottom + 17.0), (at - 4.5, bottom + 25.0), (at + 4.5, bottom + 25.0)]), INK)
    told, strong = "on hand and order" if order.on_hand else "order", Type(SMALL, bold=True)
    half = text_size(told, strong)[0] / 2.0
    page.text(min(max(at, left + half), right - half), bottom + 27.0, told, strong, "middle")
    ends = [(across(order.low), order.low), (across(order.high), order.high)]
    if all(abs(middle - place) > 34.0 for place, _ in ends):
        ends.append((middle, order.expected))
    for place, volume in ends:
        page.text(place, bottom - 1.0, _bare(volume, units), Type(SMALL, SOFT_INK), "middle")


def _bare(volume: float, units: Units) -> str:
    """A volume without its unit, which the words beside it name."""
    return f"{volume / unit_volume(units):.1f}" if volume > 0.0 else show_volume(0.0, units).split(" ")[0]


@dataclass(frozen=True)
class WordsBlock:
    """Sentences under a heading; no heading where it is empty, nothing at all without sentences."""

    heading: str
    sentences: Sequence[str]

    def draw(self, page: Page, left: float, top: float, width: float, room: float) -> float:
        """Draw heading and sentences, as many lines as there is room for; nothing where there is none for a line."""
        if not self.sentences or room < (27.0 if self.heading else 10.0):
            return 0.0
        used = 0.0
        if self.heading:
            page.text(left, top - 10.0, self.heading, Type(HEADING, bold=True))
            used = 17.0
        for line in self._lines(width, room - used):
            used += 10.0
            page.text(left, top - used + 2.5, line, Type(SMALL))
        return used

    def _lines(self, width: float, room: float) -> list[str]:
        """As many whole sentences as there is room for, and how many are left over."""
        lines: list[str] = []
        for number, sentence in enumerate(self.sentences):
            more, rest = wrap(sentence, Type(SMALL), width), len(self.sentences) - number
            if 10.0 * (len(lines) + len(more) + (rest > 1)) > room:
                return [*lines, f"and {rest} more in order.csv"]
            lines += more
        return lines


@dataclass(frozen=True)
class FormulaBlock:
    """Rows of a label, the formula under it in small letters, its figure and its measure, in two columns.

    They stand as far apart as `high` points have room for.
    """

    rows: Sequence[tuple[str, str, str, str]]
    high: float

    def draw(self, page: Page, left: float, top: float, width: float, room: float) -> float:
        """Draw the rows, half of the height at the left."""
        column, kind = (width - 18.0) / 2.0, Type(LEAST, SOFT_INK)
        lines = [wrap(formula, kind, column - 6.0) for _, formula, _, _ in self.rows]
        step, first = self._set([len(one) for one in lines])
        used = [0.0, 0.0]
        for number, (label, _, figure, measure) in enumerate(self.rows):
            side = int(number >= first)
            here, start = top - used[side], left + side * (column + 18.0)
            page.text(start, here - 8.0, label, Type(SMALL))
            page.text(start + column - 34.0, here - 8.0, figure, Type(SMALL, bold=True), "right")
            page.text(start + column - 30.0, here - 8.0, measure, Type(SMALL, SOFT_INK))
            for down, line in enumerate(lines[number]):
                page.text(start + 6.0, here - 15.0 - FORMULA * down, line, kind)
            used[side] += step + FORMULA * len(lines[number])
        return max(used)

    def _set(self, lines: Sequence[int]) -> tuple[float, int]:
        """Points that a row takes beside its formula, and how many rows stand in the first column."""
        for step in STEPS:
            down = list(accumulate(step + FORMULA * count for count in lines))
            first = next((k for k, under in enumerate(down, start=1) if under >= down[-1] / 2.0), 0)
            if not down or max(down[first - 1], down[-1] - down[first - 1]) <= self.high:
                break
        return step, first


@dataclass(frozen=True)
class PairsBlock:
    """A heading, and rows of what (soft) and how much (strong), the second over as many lines as it takes."""

    heading: str
    rows: Sequence[tuple[str, str]]

    def height(self, width: float) -> float:
        """Points of height that heading and rows take at a width."""
        return 17.0 + sum(_pair_high(row) for row in self._set(width)[1])

    def draw(self, page: Page, left: float, top: float, width: float, room: float) -> float:
        """Draw heading and rows, each over a rule."""
        page.text(left, top - 10.0, self.heading, Type(HEADING, bold=True))
        used, (label, rows) = 17.0, self._set(width)
        for row in rows:
            for column, lines, style in zip((left, left + label), row, (_WHAT, _MUCH), strict=True):
                for number, line in enumerate(lines):
                    page.text(column, top - used - 9.5 - 10.5 * number, line, style)
            used += _pair_high(row)
            page.lines(LineString([(left, top - used), (left + width, top - used)]), Pen(FAINT, 0.4))
        return used

    def _set(self, width: float) -> tuple[float, list[tuple[list[str], list[str]]]]:
        """Points that the first words of a row take, and the lines of every row: of what, and of how much."""
        widest = max((text_size(what, _WHAT)[0] + 8.0 for what, _ in self.rows), default=LABEL)
        label = min(max(LABEL, widest), 0.5 * width)
        rows = [(wrap(what, _WHAT, label - 4.0), wrap(much, _MUCH, width - label)) for what, much in self.rows]
        return label, rows


def _pair_high(row: tuple[Sequence[str], Sequence[str]]) -> float:
    return 10.5 * max(map(len, row)) + 3.5


@dataclass(frozen=True)
class TableBlock:
    """A heading, column heads, and rows whose first cell is words and whose others are figures.

    `strong` marks the rows that are set bold; left out: none.
    """

    heading: str
    heads: Sequence[str]
    rows: Sequence[Sequence[str]]
    strong: Sequence[bool] = ()

    def draw(self, page: Page, left: float, top: float, width: float, room: float) -> float:
        """Draw the table from the top down; the first column takes what the figures leave."""
        page.text(left, top - 10.0, self.heading, Type(HEADING, bold=True))
        edges = self._edges(left, width)
        used = 17.0 + LEAD
        for head, edge in zip(self.heads[1:], edges, strict=True):
            page.text(edge, top - used + 3.0, head, Type(SMALL, SOFT_INK), "right")
        page.text(left, top - used + 3.0, self.heads[0], Type(SMALL, SOFT_INK))
        page.lines(LineString([(left, top - used), (left + width, top - used)]), Pen(FAINT, 0.6))
        for number, row in enumerate(self.rows):
            used += self._row(page, left, top - used, edges, row, self._kind(number))
        return used

    def _edges(self, left: float, width: float) -> list[float]:
        """The right edges of the columns of figures, set from the right, closer where the words would else be torn."""
        words = max((text_size(row[0], self._kind(number))[0] for number, row in enumerate(self.rows)), default=0.0)
        for gap in GAPS:
            edges, edge = [], left + width
            for column in range(len(self.heads) - 1, 0, -1):
                edges.append(edge)
                cells = [(row[column], self._kind(number)) for number, row in enumerate(self.rows)]
                edge -= max(text_size(*cell)[0] for cell in [(self.heads[column], Type(SMALL)), *cells]) + gap
            if edge - left >= words:
                break
        return edges[::-1]

    def _kind(self, number: int) -> Type:
        return Type(NUMBER, bold=bool(self.strong) and self.strong[number])

    def _row(
        self, page: Page, left: float, top: float, edges: Sequence[float], row: Sequence[str], kind: Type
    ) -> float:
        widest = max(text_size(cell, kind)[0] for cell in row[1:2]) if len(row) > 1 else 0.0
        lines = wrap(row[0], kind, max(edges[0] - widest - GAPS[-1] - left, 40.0))
        for number, line in enumerate(lines):
            page.text(left, top - LEAD * (number + 1) + 3.0, line, kind)
        for cell, edge in zip(row[1:], edges, strict=True):
            page.text(edge, top - LEAD + 3.0, cell, kind, "right")
        return LEAD * len(lines)
