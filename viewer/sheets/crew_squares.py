"""The mound in squares that hold barrows, lift by lift: the first lift over the plan of the bed, the others beside."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from shapely import affinity
from shapely.geometry import LineString, MultiLineString, Point, box
from shapely.geometry.base import BaseGeometry

from terrain.field import BarrowSquares, CrewDay, SetOut, lift_words, squares_words, stake_words
from terrain.flow import Study
from terrain.grid import Index
from terrain.language import Language
from viewer.page import MARGIN, Page, Pen, Type, fit_size, new_page, page_of_words, text_size, tree_circles, wrap
from viewer.sheets.crew_marks import BLACK, FIGURE, FOOT, WHITE, caution, glued

LARGEST, SMALLEST = 46.0, 20.0  # points: sides of a square on paper
LINE = 17.0  # points from line to line
LETTERS = 18.0  # points that letters and numbers of squares take
ACROSS, DOWN = 16.0, 8.0  # points between tables
THIN, EDGE = Pen(BLACK, 0.5), Pen(BLACK, 1.8)
KEEP_OFF = Pen(BLACK, 1.4, (2.0, 3.0))
STRONG, PLAIN = Type(FIGURE, BLACK, bold=True), Type(FIGURE, BLACK)


@dataclass(frozen=True)
class _Table:
    """One lift on paper: its heading, its first row and column, and its counts as an array, row 0 nearest."""

    heads: tuple[str, str]
    row: int
    column: int
    counts: Index

    def size(self, cell: float) -> tuple[float, float]:
        """Width and height in points."""
        rows, columns = self.counts.shape
        words = max(text_size(head, kind)[0] for head, kind in zip(self.heads, (STRONG, PLAIN), strict=True))
        return max(LETTERS + columns * cell, words), 2 * LINE + LETTERS + rows * cell


def draw_squares(study: Study, stakes: SetOut, day: CrewDay, words: Language, kept: float = 0.0) -> Page:
    """The page of squares; `kept` points over its foot stay bare."""
    units, squares = study.site.units, day.squares
    wide, high = page_of_words(units)
    page, width = new_page(wide, high), wide - 2 * MARGIN
    top = _title(page, study, squares, words, width)
    tables = [_table(squares, number, lift_words(lift, units, words)) for number, lift in enumerate(squares.lifts)]
    cell = _cell(tables, width, top - FOOT - kept)
    for table, (left, down) in zip(tables, _places(tables, cell, width), strict=True):
        corner = MARGIN + left + LETTERS, top - down - table.size(cell)[1] + LETTERS
        if table is tables[0]:
            _draw_plan(page, study, stakes, squares, table, corner, cell)
        _draw_table(page, table, corner, cell)
    caution(page, words)
    return page


def _title(page: Page, study: Study, squares: BarrowSquares, words: Language, width: float) -> float:
    """Heading, and how the squares lie; answers how far down they go."""
    top = page.height - MARGIN - 22.0
    head = words.say("Barrows in each square: {name}", name=study.site.name)
    page.text(MARGIN, top + 6.0, head, fit_size(head, Type(16.0, BLACK, bold=True), width - 60.0, FIGURE))
    _draw_north(page, squares, (page.width - MARGIN - 14.0, top + 10.0))
    for line in wrap(glued(" ".join(squares_words(squares, study.site.units, words))), PLAIN, width):
        top -= LINE
        page.text(MARGIN, top + 3.0, line, PLAIN)
    return top - 4.0


def _table(squares: BarrowSquares, number: int, heads: tuple[str, str]) -> _Table:
    """The squares of a lift that hold anything; of the first one all, since the plan lies under it."""
    counts = np.array(squares.lifts[number].barrows)
    used = np.argwhere(counts > 0) if number else np.array([[0, 0], [squares.rows - 1, squares.columns - 1]])
    (row, column), (last, right) = used.min(axis=0), used.max(axis=0)
    return _Table(heads, int(row), int(column), counts[row : last + 1, column : right + 1])


def _cell(tables: Sequence[_Table], width: float, room: float) -> float:
    """The largest side of a square, in points, at which every table finds its place."""
    for cell in np.arange(LARGEST, SMALLEST, -0.5):
        places = _places(tables, float(cell), width)
        sizes = [table.size(float(cell)) for table in tables]
        ends = [(left + size[0], down + size[1]) for (left, down), size in zip(places, sizes, strict=True)]
        if max(right for right, _ in ends) <= width and max(foot for _, foot in ends) <= room:
            return float(cell)
    return SMALLEST


def _places(tables: Sequence[_Table], cell: float, width: float) -> list[tuple[float, float]]:
    """Left and down of each table, in points: in rows as wide as the page, one after another."""
    places, left, down, high = [], 0.0, 0.0, 0.0
    for table in tables:
        wide, tall = table.size(cell)
        if left > 0.0 and left + wide > width:
            left, down, high = 0.0, down + high + DOWN, 0.0
        places.append((left, down))
        left, high = left + wide + ACROSS, max(high, tall)
    return places


def _draw_table(page: Page, table: _Table, corner: tuple[float, float], cell: float) -> None:
    """Heading, letters, numbers, and whole barrows in every square that takes any."""
    rows, columns = table.counts.shape
    (left, bottom), small = corner, PLAIN
    for number, head in enumerate(table.heads):
        page.text(left - LETTERS, bottom + rows * cell + LINE * (1 - number) + 4.0, head, small if number else STRONG)
    for column in range(columns):
        page.text(left + (column + 0.5) * cell, bottom - 14.0, _letter(table.column + column), small, "middle")
    for row in range(rows):
        page.text(left - 4.0, bottom + (row + 0.5) * cell - 5.0, str(table.row + row + 1), small, "right")
    for row, column in np.argwhere(table.counts > 0):
        across, up = left + column * cell, bottom + row * cell
        page.lines(box(across, up, across + cell, up + cell), THIN)
        figure = str(int(table.counts[row, column]))
        wide, high = text_size(figure, STRONG)
        middle, base = across + cell / 2, up + cell / 2 - high / 2
        page.area(box(middle - wide / 2 - 1.0, base - 1.0, middle + wide / 2 + 1.0, base + high + 1.0), WHITE)
        page.text(middle, base, figure, STRONG, "middle")


def _letter(column: int) -> str:
    """A, B, ... Z, AA, ..."""
    return (chr(ord("A") + column // 26 - 1) if column >= 26 else "") + chr(ord("A") + column % 26)


def _draw_plan(
    page: Page,
    study: Study,
    stakes: SetOut,
    squares: BarrowSquares,
    table: _Table,
    corner: tuple[float, float],
    cell: float,
) -> None:
    """The bed, the fences of trees and the highest stakes, under the first lift and cut at its edge."""
    rows, columns = table.counts.shape
    edge = box(corner[0], corner[1], corner[0] + columns * cell, corner[1] + rows * cell)

    def laid(shape: BaseGeometry) -> BaseGeometry:
        return _on_page(shape, squares, corner, cell).intersection(edge)

    page.lines(laid(study.site.bed.outline.boundary), EDGE)
    for tree in tree_circles(study.site):
        page.lines(laid(tree.circle(tree.keep_off).boundary), KEEP_OFF)
        page.area(laid(tree.circle(tree.flare)), BLACK)
    named = {name for name, _ in stake_words(stakes, study.site.units, Language())}
    for stake in stakes.stakes:
        spot = laid(Point(stake.at))
        if stake.name in named and not spot.is_empty:
            cross = [
                ((spot.x - 5, spot.y - 5), (spot.x + 5, spot.y + 5)),
                ((spot.x - 5, spot.y + 5), (spot.x + 5, spot.y - 5)),
            ]
            page.lines(MultiLineString(cross), EDGE)


def _on_page(shape: BaseGeometry, squares: BarrowSquares, corner: tuple[float, float], cell: float) -> BaseGeometry:
    """Ground geometry in points, the baseline running to the right."""
    (x, y), (east, north), size = squares.frame.origin, squares.frame.along, cell / squares.side
    turn = [size * east, size * north, -size * north, size * east]
    right = corner[0] - squares.station * size - turn[0] * x - turn[1] * y
    rise = corner[1] - squares.offset * size - turn[2] * x - turn[3] * y
    return affinity.affine_transform(shape, [*turn, right, rise])


def _draw_north(page: Page, squares: BarrowSquares, at: tuple[float, float]) -> None:
    """An arrow to the north about a place of the page."""
    east, north = squares.frame.along
    # North on the page: its part along the baseline to the right, its part to the left of it upwards.
    right, up = north, east
    tail, tip = ((at[0] + sign * 12.0 * right, at[1] + sign * 12.0 * up) for sign in (-1.0, 1.0))
    page.lines(LineString([tail, tip]), EDGE)
    barbs = [(tip[0] - 6 * right + sign * 4 * up, tip[1] - 6 * up - sign * 4 * right) for sign in (-1.0, 1.0)]
    page.lines(LineString([barbs[0], tip, barbs[1]]), EDGE)
    page.text(at[0] - 22.0, at[1] - 5.0, "N", STRONG, "middle")
