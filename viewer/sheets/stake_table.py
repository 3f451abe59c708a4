"""The stakes as a table that a crew reads at the tape, in the order of walking, on one page where they fit."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from shapely.geometry import LineString, box

from terrain.field import (
    SetOut,
    Stake,
    depth_words,
    offset_words,
    reading_notes,
    rod_words,
    show_tape,
    stakes_by_tapes,
)
from terrain.flow import Study
from terrain.units import Units, show_length
from viewer.page import (
    CHOSEN,
    FAINT,
    FLOOR,
    INK,
    LEAST,
    MARGIN,
    SOFT_INK,
    DrawingOptions,
    Page,
    Pen,
    Stamp,
    Type,
    heading_lines,
    marks,
    new_page,
    page_of_words,
    stamp,
    text_size,
)
from viewer.sheets.order_blocks import WordsBlock

HEAD = 54.0  # points that the title takes
GAP = 6.0  # points between two columns of figures
BESIDE = 16.0  # points between two tables side by side
FOOT = FLOOR
NOTES = 260.0  # points that the sentences over the table may take
BAND = "#f1efe9"  # behind every other row


@dataclass(frozen=True)
class _Layout:
    """Tables side by side, points of a row, points of its letters."""

    tables: int
    row: float
    size: float


# The first with the fewest sheets is taken, of those whose columns find their width.
_LAYOUTS = (
    _Layout(1, 20.0, 11.5),
    _Layout(1, 15.0, 10.5),
    _Layout(1, 12.4, 9.8),
    _Layout(1, 10.6, 9.0),
    _Layout(2, 14.0, 8.5),
    _Layout(2, 11.5, 8.0),
    _Layout(2, 10.2, 7.6),
    _Layout(2, 9.2, 7.2),
    _Layout(3, 10.2, 7.0),
)


@dataclass(frozen=True)
class _Row:
    """One line of a table: a stake's figures, or what its tapes run from."""

    cells: tuple[str, ...] = ()
    heading: str = ""

    def high(self, layout: _Layout, wide: float) -> int:
        """How many rows it takes on a page so wide: a heading of long names takes several."""
        return len(self.lines(layout, wide)[0]) if self.heading else 1

    def lines(self, layout: _Layout, wide: float) -> tuple[list[str], Type]:
        """The heading's lines and their type."""
        return heading_lines(self.heading, Type(layout.size, INK, bold=True), _table_width(wide, layout.tables), LEAST)


def stake_tables(study: Study, stakes: SetOut, asked: DrawingOptions = CHOSEN, beside: int = 1) -> list[Page]:
    """The sentences and the stakes: one page where they find room, or one sheet of so many `beside` each other."""
    rows, heads = list(_rows(stakes, study.site.units)), _heads(stakes)
    wide, high = page_of_words(study.site.units, asked.paper)
    tops = _tops(study, stakes, (wide, high))
    wider = [one for one in _LAYOUTS if _across(one, rows, heads, wide)] or [_LAYOUTS[0]]
    across = [one for one in wider if _headings_fit(one, rows, wide)] or wider
    split = [(one, _split(one, rows, tops, wide)) for one in across]
    # The first is in the largest type.
    layout, tables = min(split, key=lambda laid: math.ceil(len(laid[1]) / laid[0].tables / beside))
    pages: list[Page] = []
    for first in range(0, len(tables), layout.tables):
        page = new_page(wide, high)
        top = _draw_top(page, study, stakes, first=not pages)
        pages.append(page)
        for number, table in enumerate(tables[first : first + layout.tables]):
            _draw_table(page, layout, number, (heads, _widths(rows, heads, layout.size)), table, top)
        stamp(page, Stamp(study.site, f"Set-out to the {stakes.stage} grade: stakes in the order of walking"))
    return pages


def _tops(study: Study, stakes: SetOut, size: tuple[float, float]) -> tuple[float, float]:
    """Where the tables begin on the first page, and on every other, points."""
    later = size[1] - MARGIN - HEAD
    return later - _notes_height(study, stakes, size[0]), later


def _split(layout: _Layout, rows: Sequence[_Row], tops: tuple[float, float], wide: float) -> list[list[_Row]]:
    """The rows of each table; one that goes on under the heading of the table before has it again."""
    tables: list[list[_Row]] = []
    lines, heading = 0, _Row()
    for number, row in enumerate(rows):
        heading = row if row.heading else heading
        needed = row.high(layout, wide) + (1 if row.heading else 0)
        if number == 0 or sum(one.high(layout, wide) for one in tables[-1]) + needed > lines:
            lines = int((tops[len(tables) >= layout.tables] - FOOT) / layout.row) - 1  # less the heads
            tables.append([heading] if heading.heading and not row.heading else [])
        tables[-1].append(row)
    return tables


def _draw_top(page: Page, study: Study, stakes: SetOut, *, first: bool) -> float:
    """Title and, on the first page, the sentences; answers where the tables begin, points."""
    units, top, wide = study.site.units, page.height - MARGIN, page.width - 2 * MARGIN
    remark = f"Elevations in {'feet' if units == 'ft' else 'metres'}. Build: {stakes.stage} grade over the ground now."
    block = marks.TitleBlock("Stakes in the order of walking", remark, f"Set-out to the {stakes.stage} grade")
    top -= block.draw(page, MARGIN, top, wide, top) + 6.0
    if first:
        top -= WordsBlock("", reading_notes(stakes, study)).draw(page, MARGIN, top, wide, NOTES) + 6.0
    return top


def _notes_height(study: Study, stakes: SetOut, wide: float) -> float:
    """Points that the sentences take, found on a page that is thrown away."""
    page = new_page(wide, 2 * NOTES)
    return WordsBlock("", reading_notes(stakes, study)).draw(page, MARGIN, 2 * NOTES, wide - 2 * MARGIN, NOTES) + 12.0


def _heads(stakes: SetOut) -> tuple[str, ...]:
    places = ("stake", "station", f"offset{_one_side(stakes)}") if stakes.step else ("stake", "first", "second")
    return (*places, "build", "grade", *(("rod",) if stakes.level else ()), "marks")


def _one_side(stakes: SetOut) -> str:
    """ " left" or " right" where all stakes stand on one side of the string, else nothing."""
    lefts = {stake.offset > 0.0 for stake in stakes.stakes}
    return (" left" if lefts.pop() else " right") if len(lefts) == 1 else ""


def _rows(stakes: SetOut, units: Units) -> Iterator[_Row]:
    """The stakes in order; a heading where other points than before are taped from."""
    for tapes, group in stakes_by_tapes(stakes):
        if not stakes.step:
            side = "left" if tapes.left else "right"
            yield _Row(heading=f"Tape from {tapes.start.name}, then {tapes.end.name}; all to the {side}, looking along")
        yield from (_Row(_cells(stake, stakes, units)) for stake in group)


def _cells(stake: Stake, stakes: SetOut, units: Units) -> tuple[str, ...]:
    tapes, grade = stake.tapes, stakes.grade(stake)
    if stakes.step:
        offset = show_tape(abs(stake.offset), units) if _one_side(stakes) else offset_words(stake.offset, units)
        place = [show_tape(stake.station, units), offset]
    else:
        place = [show_tape(tapes.from_start, units), show_tape(tapes.from_end, units)]
    figures = [depth_words(stakes.depth(stake), units), show_length(grade, units, "elevation").split(" ")[0]]
    figures += [rod_words(stakes, grade, units)] if stakes.level else []
    return (stake.name, *place, *figures, stake.what)


def _widths(rows: Sequence[_Row], heads: Sequence[str], size: float) -> list[float]:
    """Points that each column of figures takes; the words at the end take what is left."""
    kind = Type(size, INK, bold=True)
    cells = [heads, *(row.cells for row in rows if row.cells)]
    return [max(text_size(one[k], kind)[0] for one in cells) for k in range(len(heads) - 1)]


def _table_width(wide: float, tables: int) -> float:
    return (wide - 2 * MARGIN - (tables - 1) * BESIDE) / tables


def _across(layout: _Layout, rows: Sequence[_Row], heads: Sequence[str], wide: float) -> bool:
    """Whether every column finds its width."""
    needed = sum(_widths(rows, heads, layout.size)) + GAP * (len(heads) - 1)
    return needed <= _table_width(wide, layout.tables)


def _headings_fit(layout: _Layout, rows: Sequence[_Row], wide: float) -> bool:
    """Whether every heading finds its width in one line of type that can be read."""
    widths = (text_size(row.heading, Type(LEAST, INK, bold=True))[0] for row in rows if row.heading)
    return max(widths, default=0.0) <= _table_width(wide, layout.tables)


def _draw_table(
    page: Page,
    layout: _Layout,
    number: int,
    columns: tuple[Sequence[str], Sequence[float]],
    rows: Sequence[_Row],
    top: float,
) -> None:
    """Draw one table from the top down: its rows under the heads of its columns, each as wide as it needs."""
    heads, widths = columns
    width = _table_width(page.width, layout.tables)
    left = MARGIN + number * (width + BESIDE)
    rights = [left + sum(widths[: k + 1]) + GAP * k for k in range(len(widths))]
    edges, soft = (left, rights, left + width), Type(max(layout.size - 1.0, LEAST), SOFT_INK)
    _draw_cells(page, heads, edges, top - 0.75 * layout.row, soft)
    top -= layout.row
    page.lines(LineString([(left, top), (left + width, top)]), Pen(SOFT_INK, 0.8))
    for count, row in enumerate(rows):
        base = top - 0.74 * layout.row
        if row.heading:
            lines, kind = row.lines(layout, page.width)
            for down, line in enumerate(lines):
                page.text(left, base - down * layout.row, line, kind)
        else:
            if count % 2:
                page.area(box(left, top - layout.row, left + width, top), BAND)
            _draw_cells(page, row.cells, edges, base, Type(layout.size, INK))
        top -= row.high(layout, page.width) * layout.row
        page.lines(LineString([(left, top), (left + width, top)]), Pen(FAINT, 0.3))


def _draw_cells(
    page: Page, cells: Sequence[str], edges: tuple[float, list[float], float], base: float, kind: Type
) -> None:
    """The name at the left, figures to their right edges, the words last where they find room."""
    left, rights, end = edges
    strong = Type(kind.size, kind.colour, bold=True)
    page.text(left, base, cells[0], strong)
    for right, text in zip(rights[1:], cells[1:-1], strict=True):
        page.text(right, base, text, strong if text.startswith(("fill", "cut")) else kind, "right")
    soft, start = Type(max(kind.size - 1.5, LEAST), SOFT_INK), rights[-1] + GAP
    if text_size(cells[-1], soft)[0] <= end - start:  # else the sentences over the tables tell it of these stakes
        page.text(start, base, cells[-1], soft)
