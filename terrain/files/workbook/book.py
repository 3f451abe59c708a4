"""The order as a workbook (Office Open XML, ISO/IEC 29500) whose figures follow each other, price and total alike."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from terrain.files.workbook.book_heights import COLUMNS, FIRST, column, heights_page
from terrain.files.workbook.book_order import order_page
from terrain.files.workbook.book_soil import soil_page, thin_unit, volume_unit
from terrain.files.workbook.cells import Cell, Worksheet, book_name, values_of
from terrain.flow import Study
from terrain.numerics import Values
from terrain.tables import guarded
from terrain.units import Units

_FORMATS: dict[str, dict[str, object]] = {
    "title": {"bold": True, "font_size": 15},
    "note": {"italic": True, "font_color": "#5f574b"},
    "head": {"bold": True, "bottom": 1, "text_wrap": True, "valign": "bottom"},
    "text": {},
    "none": {"align": "right"},
    # The third part is for nothing at all, which a dash tells better than a row of noughts.
    "volume": {"num_format": "#,##0.0;-#,##0.0;–"},
    "fine": {"num_format": "#,##0.00;-#,##0.00;–"},
    "factor": {"num_format": "0.000"},
    "share": {"num_format": "0.0 %"},
    "count": {"num_format": "#,##0;-#,##0;–"},
    "money": {"num_format": "#,##0.00;-#,##0.00;–"},
}
CHART_ROWS = 24  # rows that the chart covers
_LETTER, _A4 = 1, 9  # paper sizes by the numbers of the format
# A frame and a tint, so that a grey print shows them too.
_GIVEN: dict[str, object] = {"border": 1, "bg_color": "#f6e8c3", "locked": False}


def order_pages(study: Study) -> tuple[Worksheet, ...]:
    """The pages of the workbook, in reading order."""
    return order_page(study), soil_page(study), heights_page(study)


def write_book(study: Study, path: Path) -> None:
    """Write the workbook.

    Every figure that follows from another is a formula in named cells, written with the value that it has now, so that
    readers that do not calculate show it. Texts are written as texts and guarded, so that none can run as a formula.
    """
    import xlsxwriter

    pages = order_pages(study)
    values = values_of(pages)
    options = {"in_memory": True}  # no other files anywhere, which a kill could leave behind
    options |= {"strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}
    with xlsxwriter.Workbook(path, options) as book:
        styles = _Styles(book)
        for page in pages:
            _write_page(book, page, values, styles, study.site.units)
        _draw_curve(book, study)


def _page_class() -> Any:
    """The library's page, without its search of every formula for functions newer than the first standard's.

    We write none of these, and thirty searches in each of nine hundred formulas took half the time of the book.
    """
    from xlsxwriter import worksheet

    base: Any = worksheet.Worksheet

    class OldFormulas(base):  # type: ignore[misc]
        def _prepare_formula(self, formula: str, expand_future_functions: bool = False) -> str:
            return formula.removeprefix("=")

    return OldFormulas


class _Styles:
    """The formats of a workbook, each made once."""

    def __init__(self, book: Any) -> None:
        self._book = book
        self._made: dict[tuple[str, bool, bool, bool], Any] = {}

    def of(self, cell: Cell, first: bool) -> Any:
        """The format of a cell; words past the first column keep off the figure before them."""
        key = (cell.style, cell.given, cell.strong, first)
        if key not in self._made:
            look = {**_FORMATS[cell.style], **(_GIVEN if cell.given else {}), **({"bold": True} if cell.strong else {})}
            if not first and cell.style in ("text", "note"):
                look["indent"] = 1
            elif not first and cell.style == "head":
                look["align"] = "right"
            self._made[key] = self._book.add_format(look)
        return self._made[key]


def _write_page(book: Any, page: Worksheet, values: Values, styles: _Styles, units: Units) -> None:
    sheet = book.add_worksheet(page.title, _page_class())
    sheet.set_paper(_LETTER if units == "ft" else _A4)
    sheet.set_footer("&C&P / &N")
    sheet.fit_to_pages(1, 0)
    sheet.hide_gridlines(2)
    for index, width in enumerate(page.widths):
        folded = page.folded is not None and index >= page.folded
        sheet.set_column(index, index, width, None, {"level": 1, "hidden": True} if folded else {})
    if page.folded is not None:
        sheet.print_area(0, 0, len(page.rows) + CHART_ROWS, page.folded - 1)
        sheet.set_landscape()
    for number, row in enumerate(page.rows):
        for index, cell in enumerate(row):
            _write_cell(sheet, number, index, cell, values, styles.of(cell, index == 0))
            if cell.name:
                book.define_name(book_name(cell.name), f"={page.title}!{_absolute(number, index)}")


def _write_cell(sheet: Any, number: int, index: int, cell: Cell, values: Values, style: Any) -> None:
    if cell.formula is not None:
        figure = values.of(cell.formula) if cell.content is None else cell.content
        sheet.write_formula(number, index, f"={cell.written}", style, float(figure))
    elif isinstance(cell.content, str):
        if cell.content:
            sheet.write_string(number, index, guarded(cell.content), style)
    elif cell.content is None:
        sheet.write_blank(number, index, None, style)
    else:
        sheet.write_number(number, index, cell.content, style)


def _absolute(number: int, index: int) -> str:
    return f"${column(index)}${number + 1}"


def _draw_curve(book: Any, study: Study) -> None:
    """Height at the top against soil, as a chart that follows the cells."""
    units = study.site.units
    last = FIRST - 1 + len(study.heights) - 1
    chart = book.add_chart({"type": "scatter", "subtype": "straight_with_markers"})
    for name, step, look in (
        ("to order", "soil_order", {"color": "#543005", "width": 2.25}),
        ("expected", "expected", {"color": "#bf812d", "width": 1.5}),
        ("low end", "low", {"color": "#8c8579", "width": 1.0, "dash_type": "dash"}),
        ("high end", "high", {"color": "#8c8579", "width": 1.0, "dash_type": "dash"}),
    ):
        tops, soils = ([page_name, FIRST - 1, at, last, at] for page_name, at in _columns("top", step))
        marker = {"type": "circle", "size": 5} if step == "soil_order" else {"type": "none"}
        chart.add_series({"name": name, "categories": tops, "values": soils, "line": look, "marker": marker})
    chart.set_x_axis({"name": f"top over existing grade, {thin_unit(units)[0]}", "major_gridlines": {"visible": True}})
    chart.set_y_axis({"name": f"soil, {volume_unit(units)} loose"})
    chart.set_legend({"position": "bottom"})
    chart.set_size({"width": 720, "height": 400})
    book.get_worksheet_by_name("Heights").insert_chart(last + 2, 0, chart)


def _columns(*names: str) -> list[tuple[str, int]]:
    return [("Heights", COLUMNS.index(name)) for name in names]
