"""The workbook of a yard (Office Open XML, ISO/IEC 29500): four tabs to fill in, which every command reads."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from terrain.site import BOOK_TABS, Asked, SheetTab
from terrain.tables import guarded
from terrain.units import Units

Figure = str | float | None
_ROOM = 40  # rows of a table that are framed and print
_WIDE = {"text": 16, "length": 12, "volume": 14, "percent": 12, "money": 14}
_LETTER, _A4 = 1, 9  # paper sizes by the numbers of the format
_MOST = 1e6  # figures that a cell of a measure takes; more is a slip


@dataclass(frozen=True)
class YardFigures:
    """What the tabs are filled with: figures of the lines by (table, key), and rows of each table by its name."""

    units: Units
    lines: Mapping[tuple[str, str], Figure]
    tables: Mapping[str, Sequence[Sequence[Figure]]]


def write_yard_book(figures: YardFigures, path: Path) -> None:
    """Write the workbook: heads with their units, framed cells to write in, lists to choose from, ready to print."""
    import xlsxwriter

    options = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}
    with xlsxwriter.Workbook(path, options) as book:
        styles = {
            "title": book.add_format({"bold": True, "font_size": 15}),
            "note": book.add_format({"italic": True, "font_color": "#5f574b"}),
            "head": book.add_format({"bold": True, "bottom": 1, "text_wrap": True, "valign": "bottom"}),
            "figure": book.add_format({"border": 1, "bg_color": "#f6e8c3", "num_format": "0.###"}),
            # Text cells: "4:1" typed into another one becomes a time of day.
            "text": book.add_format({"border": 1, "bg_color": "#f6e8c3", "num_format": "@"}),
        }
        for tab in BOOK_TABS:
            page = book.add_worksheet(tab.name)
            page.set_paper(_LETTER if figures.units == "ft" else _A4)
            page.set_portrait()
            page.fit_to_pages(1, 0)
            page.set_footer("&L&A&R&P of &N")
            page.write_string(0, 0, tab.name, styles["title"])
            page.write_string(1, 0, tab.remark, styles["note"])
            if tab.lines:
                _write_lines(page, tab, figures, styles)
            _write_tables(page, tab, figures, styles)


def _write_lines(page: Any, tab: SheetTab, figures: YardFigures, styles: Mapping[str, Any]) -> None:
    """A line each: label, framed cell, one line of help."""
    page.set_column(0, 0, 26)
    page.set_column(1, 1, 24)
    page.set_column(2, 2, 52)
    for number, asked in enumerate(tab.lines, start=3):
        page.write_string(number, 0, asked.head(figures.units))
        _write_cell(page, number, 1, figures.lines.get((asked.table, asked.key)), asked, styles)
        page.write_string(number, 2, asked.told, styles["note"])
        _check_cells(page, (number, 1, number, 1), asked)


def _write_tables(page: Any, tab: SheetTab, figures: YardFigures, styles: Mapping[str, Any]) -> None:
    """Tables side by side, a column of room between them, framed down to the last row that prints."""
    start, last = 0, 3
    for name, columns in tab.tables.items():
        rows = figures.tables.get(name, ())
        last = max(last, 3 + max(_ROOM, len(rows) + 10))
        for i, asked in enumerate(columns, start=start):
            page.set_column(i, i, _WIDE[asked.kind])
            page.write_string(3, i, asked.head(figures.units), styles["head"])
            _check_cells(page, (4, i, last, i), asked)
            for number in range(4, last + 1):
                row = rows[number - 4] if number - 4 < len(rows) else ()
                _write_cell(page, number, i, row[i - start] if i - start < len(row) else None, asked, styles)
        page.set_column(start + len(columns), start + len(columns), 3)
        start += len(columns) + 1
    if tab.tables:
        page.freeze_panes(4, 0)
        page.repeat_rows(3)
        page.print_area(0, 0, last, start - 2)


def _write_cell(page: Any, row: int, column: int, figure: Figure, asked: Asked, styles: Mapping[str, Any]) -> None:
    style = styles["text" if asked.kind == "text" else "figure"]
    if isinstance(figure, str):
        page.write_string(row, column, guarded(figure), style)
    elif figure is None:
        page.write_blank(row, column, None, style)
    else:
        page.write_number(row, column, figure, style)


def _check_cells(page: Any, area: tuple[int, int, int, int], asked: Asked) -> None:
    """A list to choose from, or a hint where a word stands in place of a figure; both may be overruled."""
    if asked.choices:
        page.data_validation(*area, {"validate": "list", "source": list(asked.choices), "error_type": "information"})
    elif asked.kind in ("length", "volume", "percent", "money"):
        words = "A figure in the unit of the head, or with a unit of its own, such as 18 in or 0.45 m."
        check = {"validate": "decimal", "criteria": "between", "minimum": -_MOST, "maximum": _MOST}
        page.data_validation(*area, {**check, "error_type": "information", "error_message": words})
