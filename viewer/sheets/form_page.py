"""The form of a yard to print and fill in with a pencil: a page for each tab of the workbook, in the same order."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from shapely.geometry import LineString, box

from terrain.site import BOOK_TABS, Asked, SheetTab
from terrain.units import Units
from viewer.page import (
    BODY,
    FAINT,
    INK,
    LEAST,
    MARGIN,
    SMALL,
    SOFT_INK,
    Page,
    Pen,
    Type,
    fit_size,
    marks,
    new_page,
    page_of_words,
    save_book,
    wrap,
)

ROW = 21.0  # points: a pencil's line
LINE = 39.0  # points of a line with one remark under it
HEAD = 30.0
BESIDE = 14.0  # points between two tables
FRAME = Pen(INK, 0.6)
RULE = Pen(FAINT, 0.4)
_SHARES = {"text": 1.3, "length": 1.0, "volume": 1.0, "percent": 1.0, "money": 1.0}  # of a table's width, by column


def draw_form(units: Units, path: Path) -> Path:
    """Write the form as a PDF, letter or A4 by the units."""
    return save_book([_page(tab, units) for tab in BOOK_TABS], path)


def _page(tab: SheetTab, units: Units) -> Page:
    wide, high = page_of_words(units, None)
    page, width = new_page(wide, high), wide - 2 * MARGIN
    title = marks.TitleBlock("Yard: ____________________________", "Date: ______________  by: ______________", tab.name)
    top = high - MARGIN
    top -= title.draw(page, MARGIN, top, width, top) + 6.0
    for line in wrap(tab.remark, Type(SMALL, SOFT_INK), width):
        top -= 11.0
        page.text(MARGIN, top, line, Type(SMALL, SOFT_INK))
    top -= 14.0
    if tab.lines:
        _lines(page, tab.lines, units, top, width)
    tables = list(tab.tables.values())
    each = sum(_share(columns) for columns in tables)
    left = MARGIN
    for columns in tables:
        room = (width - BESIDE * (len(tables) - 1)) * _share(columns) / each
        _table(page, columns, units, (left, top, room))
        left += room + BESIDE
    return page


def _lines(page: Page, lines: Sequence[Asked], units: Units, top: float, width: float) -> None:
    """A line each: what is asked, a frame to write in, and what would do under it."""
    label, frame = 0.42 * width, 0.58 * width
    for asked in lines:
        page.text(MARGIN, top - 14.0, asked.head(units), Type(BODY, INK, bold=True))
        page.lines(box(MARGIN + label, top - ROW + 1.0, MARGIN + label + frame, top), FRAME)
        told = "; ".join(filter(None, [asked.told, " / ".join(asked.choices[:6])]))
        if told:
            kind = Type(SMALL, SOFT_INK)
            page.text(MARGIN, top - ROW - 9.0, told, fit_size(told, kind, width, LEAST))
        top -= LINE


def _table(page: Page, columns: Sequence[Asked], units: Units, room: tuple[float, float, float]) -> None:
    """Heads and empty rows down to the foot of the page."""
    left, top, width = room
    foot = MARGIN + 8.0
    rows = int((top - HEAD - foot) / ROW)
    low = top - HEAD - rows * ROW
    across = left
    for asked in columns:
        own = width * _SHARES[asked.kind] / _share(columns)
        head, kind = asked.head(units), Type(BODY, INK, bold=True)
        page.text(across + 3.0, top - HEAD + 8.0, head, fit_size(head, kind, own - 6.0, LEAST))
        page.lines(LineString([(across, low), (across, top)]), RULE)
        across += own
    page.lines([LineString([(left, y), (left + width, y)]) for y in (top - HEAD - k * ROW for k in range(rows))], RULE)
    page.lines(box(left, low, left + width, top), FRAME)


def _share(columns: Sequence[Asked]) -> float:
    return sum(_SHARES[asked.kind] for asked in columns)
