"""The mound in squares that hold barrows, lift by lift: the first lift over the plan of the bed, the others beside."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import MultiLineString, MultiPoint, Point, Polygon, box
from shapely.geometry.base import BaseGeometry

from terrain.field import BarrowSquares, CrewDay, SetOut, lift_words, squares_words, stake_words
from terrain.flow import Study
from terrain.grid import Index
from terrain.language import Language
from terrain.site import north_of
from viewer.page import (
    BLACK,
    FIGURE,
    LARGE_FOOT,
    MARGIN,
    Page,
    Pen,
    Type,
    heading_lines,
    marks,
    new_page,
    page_of_words,
    text_size,
    tree_circles,
    wrap,
)
from viewer.sheets.crew_marks import glued

LARGEST, SMALLEST = 46.0, 20.0  # points: sides of a square on paper
LINE = 17.0  # points from line to line
HEADED = MARGIN + 22.0  # points from the edge of the paper down to the first line under the heading
LETTERS = 18.0  # points that letters and numbers of squares take
ACROSS, DOWN = 16.0, 8.0  # points between tables
CROSS = 4.0  # points: half of a cross
# Of a figure in its square: the middle, then as far to the sides and corners as it may go.
SEATS = ((0, 0), (-1, 1), (1, 1), (-1, -1), (1, -1), (0, 1), (0, -1), (-1, 0), (1, 0))
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


@dataclass(frozen=True)
class _Plan:
    """The ground under the first lift on paper."""

    squares: BarrowSquares
    table: _Table
    corner: tuple[float, float]
    cell: float

    def laid(self, shape: BaseGeometry) -> BaseGeometry:
        """Ground geometry on the paper, cut at the edge of the squares."""
        rows, columns = self.table.counts.shape
        (left, bottom), cell = self.corner, self.cell
        edge = box(left, bottom, left + columns * cell, bottom + rows * cell)
        return _on_page(shape, self.squares, self.corner, cell).intersection(edge)


def draw_squares(study: Study, stakes: SetOut, day: CrewDay, words: Language, kept: float = 0.0) -> Page:
    """The page of squares; `kept` points over its foot stay bare."""
    squares = day.squares
    wide, high = page_of_words(study.site.units)
    page, width = new_page(wide, high), wide - 2 * MARGIN
    top = _title(page, study, squares, words, width)
    tables = _tables(study, squares, words)
    cell = _cell(tables, width, top - LARGE_FOOT - kept)
    for table, (left, down) in zip(tables, _places(tables, cell, width), strict=True):
        corner = MARGIN + left + LETTERS, top - down - table.size(cell)[1] + LETTERS
        lines: tuple[BaseGeometry, ...] = ()
        crosses: tuple[Point, ...] = ()
        if table is tables[0]:
            plan = _Plan(squares, table, corner, cell)
            lines, crosses = _draw_plan(page, study, plan), _crosses(study, stakes, plan)
        _draw_table(page, table, corner, cell, (crosses, lines))
        for spot in crosses:
            _draw_cross(page, spot)
    return page


def room_under(study: Study, day: CrewDay, words: Language) -> float:
    """Points that stay bare over the foot of the page of squares where these are as small as they may be."""
    width = page_of_words(study.site.units)[0] - 2 * MARGIN
    tables = _tables(study, day.squares, words)
    places = _places(tables, SMALLEST, width)
    foot = max(down + table.size(SMALLEST)[1] for (_, down), table in zip(places, tables, strict=True))
    return _under_title(study, day.squares, words) - LARGE_FOOT - foot


def _tables(study: Study, squares: BarrowSquares, words: Language) -> list[_Table]:
    units = study.site.units
    return [_table(squares, number, lift_words(lift, units, words)) for number, lift in enumerate(squares.lifts)]


def _title(page: Page, study: Study, squares: BarrowSquares, words: Language, width: float) -> float:
    """Heading, and how the squares lie; answers how far down they go."""
    top = page.height - HEADED
    _draw_north(page, squares, (page.width - MARGIN - 16.0, top + 2.0), north_of(study.site).turn)
    for number, (line, kind) in enumerate(_heading(study, squares, words, width)):
        page.text(MARGIN, top + (3.0 if number else 6.0) - number * LINE, line, kind)
    return _under_title(study, squares, words)


def _heading(study: Study, squares: BarrowSquares, words: Language, width: float) -> list[tuple[str, Type]]:
    """The lines over the squares, each with its type: the yard's name, and how the squares lie; the arrow has room."""
    head = words.say("Barrows in each square: {name}", name=study.site.name)
    heads, kind = heading_lines(head, Type(16.0, BLACK, bold=True), width - 60.0, FIGURE)
    lying = glued(" ".join(squares_words(squares, study.site.units, words)))
    return [*((line, kind) for line in heads), *((line, PLAIN) for line in wrap(lying, PLAIN, width - 40.0))]


def _under_title(study: Study, squares: BarrowSquares, words: Language) -> float:
    """How far down those lines go."""
    wide, high = page_of_words(study.site.units)
    return high - HEADED - LINE * (len(_heading(study, squares, words, wide - 2 * MARGIN)) - 1) - 4.0


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


def _draw_table(
    page: Page,
    table: _Table,
    corner: tuple[float, float],
    cell: float,
    drawn: tuple[Sequence[Point], Sequence[BaseGeometry]],
) -> None:
    """Heading, letters, numbers, and whole barrows in every square that takes any, clear of what is drawn there."""
    rows, columns = table.counts.shape
    (left, bottom), small, (crosses, lines) = corner, PLAIN, drawn
    hard, soft = _round(crosses), shapely.union_all(lines)
    for number, head in enumerate(table.heads):
        page.text(left - LETTERS, bottom + rows * cell + LINE * (1 - number) + 4.0, head, small if number else STRONG)
    for column in range(columns):
        page.text(left + (column + 0.5) * cell, bottom - 14.0, _letter(table.column + column), small, "middle")
    for row in range(rows):
        page.text(left - 4.0, bottom + (row + 0.5) * cell - 5.0, str(table.row + row + 1), small, "right")
    for row, column in np.argwhere(table.counts > 0):
        square = box(*_square(left, bottom, cell, int(row), int(column)))
        page.lines(square, THIN)
        figure = str(int(table.counts[row, column]))
        room = seat_of(figure, square, hard, soft)
        page.area(room, "#ffffff")
        page.text(room.centroid.x, room.bounds[1] + 1.0, figure, STRONG, "middle")


def _square(left: float, bottom: float, cell: float, row: int, column: int) -> tuple[float, float, float, float]:
    across, up = left + column * cell, bottom + row * cell
    return across, up, across + cell, up + cell


def seat_of(figure: str, square: Polygon, hard: BaseGeometry, soft: BaseGeometry) -> Polygon:
    """Where in a square its figure stands: in the middle, or where it lies on nothing drawn, least of all on `hard`."""
    wide, high = text_size(figure, STRONG)
    middle, reach = square.centroid, square.bounds[2] - square.bounds[0]
    aside, up = (max((reach - size) / 2.0 - 2.0, 0.0) for size in (wide, high))
    seats = [
        box(x - wide / 2.0 - 1.0, y - high / 2.0 - 1.0, x + wide / 2.0 + 1.0, y + high / 2.0 + 1.0)
        for x, y in ((middle.x + i * aside, middle.y + j * up) for i, j in SEATS)
    ]
    return min(seats, key=lambda seat: (seat.intersection(hard).area, seat.intersection(soft).length > 0.0))


def _letter(column: int) -> str:
    """A, B, ... Z, AA, ..."""
    return (chr(ord("A") + column // 26 - 1) if column >= 26 else "") + chr(ord("A") + column % 26)


def _draw_plan(page: Page, study: Study, plan: _Plan) -> tuple[BaseGeometry, ...]:
    """The bed and the fences of trees, under the first lift and cut at its edge; answers their lines."""
    bed = plan.laid(study.site.bed.outline.boundary)
    page.lines(bed, EDGE)
    lines = [bed]
    for tree in tree_circles(study.site):
        fence = plan.laid(tree.circle(tree.keep_off).boundary)
        page.lines(fence, KEEP_OFF)
        page.area(plan.laid(tree.circle(tree.flare)), BLACK)
        lines.append(fence)
    return tuple(lines)


def _crosses(study: Study, stakes: SetOut, plan: _Plan) -> tuple[Point, ...]:
    """Where the highest stakes stand on the paper; one cross for those that stand closer than two crosses can.

    A cross that leaves a figure no room in its square stays out: the barrows are what the page is for.
    """
    found: list[Point] = []
    places = {stake.name: stake.at for stake in stakes.stakes}
    for name, _ in stake_words(stakes, study.site.units, Language()):
        spot = plan.laid(Point(places[name]))
        if not isinstance(spot, Point) or spot.is_empty or any(spot.distance(one) <= 3 * CROSS for one in found):
            continue
        if _leave_room(plan, [*found, spot]):
            found.append(spot)
    return tuple(found)


def _leave_room(plan: _Plan, crosses: Sequence[Point]) -> bool:
    """Whether every figure finds a seat off the crosses."""
    drawn = _round(crosses)
    for row, column in np.argwhere(plan.table.counts > 0):
        square = box(*_square(*plan.corner, plan.cell, int(row), int(column)))
        if square.intersects(drawn):
            seat = seat_of(str(int(plan.table.counts[row, column])), square, drawn, Point())
            if seat.intersects(drawn):
                return False
    return True


def _round(crosses: Sequence[Point]) -> BaseGeometry:
    """The paper that crosses take."""
    return MultiPoint(crosses).buffer(CROSS + 1.0, cap_style="square")


def _draw_cross(page: Page, spot: Point) -> None:
    x, y = spot.x, spot.y
    cross = [((x - CROSS, y - CROSS), (x + CROSS, y + CROSS)), ((x - CROSS, y + CROSS), (x + CROSS, y - CROSS))]
    page.lines(MultiLineString(cross), EDGE)


def _on_page(shape: BaseGeometry, squares: BarrowSquares, corner: tuple[float, float], cell: float) -> BaseGeometry:
    """Ground geometry in points, the baseline running to the right."""
    (x, y), (east, north), size = squares.frame.origin, squares.frame.along, cell / squares.side
    turn = [size * east, size * north, -size * north, size * east]
    right = corner[0] - squares.station * size - turn[0] * x - turn[1] * y
    rise = corner[1] - squares.offset * size - turn[2] * x - turn[3] * y
    return affinity.affine_transform(shape, [*turn, right, rise])


def _draw_north(page: Page, squares: BarrowSquares, at: tuple[float, float], turn: float) -> None:
    """The arrow to the north, `turn` clockwise from the survey's y, about a place of the page."""
    x, y = squares.frame.along
    east, north = x * math.cos(turn) - y * math.sin(turn), x * math.sin(turn) + y * math.cos(turn)
    # North on the page: its part along the baseline to the right, its part to the left of it upwards.
    marks.north_arrow(page, at, 46.0, math.atan2(north, east), Type(FIGURE, BLACK, bold=True))
