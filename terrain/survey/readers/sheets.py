"""The tabs of a workbook as rows of texts. Runs in the bounded process: a workbook is an archive of XML by a stranger.

Nothing is worked out: a formula counts by the result that the program which saved it left in the file. No macro, no
link and no picture is looked at.
"""

from __future__ import annotations

import datetime
import re
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from terrain.errors import InputError
from terrain.extras import library
from terrain.limits import BOOK_MEMBERS_MOST, BOOK_ROWS_MOST, BOOK_UNPACKED_MOST
from terrain.survey.measured import ReadOptions

_COLUMNS_MOST = 60  # of a tab that are read: a table of shots has ten
_LONGEST = 2000  # signs of a cell
_MIB = 2**20
# An XML part that declares entities of its own: no spreadsheet writes one, and it could unfold without end.
_DECLARES = re.compile(rb"<!\s*(DOCTYPE|ENTITY)|<\0!\0(D\0O\0C|E\0N\0T)|\0<\0!\0(D\0O\0C|E\0N\0T)", re.IGNORECASE)


def read(path: Path, label: str, asked: ReadOptions) -> dict[str, Any]:
    """Read every tab that shows.

    Returns
    -------
    dict
        `tabs`: each its `name`, its `rows` ([number, texts]) and `unworked` ([row, column from 0, formula]) cells.

    Raises
    ------
    InputError
        For a file that is no workbook, that unpacks to more than a yard's, or whose parts declare entities.
    """
    del asked  # a workbook is read whole
    openpyxl: Any = library("openpyxl", label, "reading a workbook")
    _refuse_packed(path, label)
    worked = openpyxl.load_workbook(path, read_only=True, data_only=True)
    written = openpyxl.load_workbook(path, read_only=True, data_only=False)
    tabs = []
    for sheet in worked.worksheets:
        if sheet.sheet_state == "visible":
            rows = list(_rows(sheet, label))
            tabs.append(
                {
                    "name": sheet.title,
                    "rows": rows,
                    "unworked": list(_unworked(written[sheet.title], dict(rows), label)),
                }
            )
    return {"tabs": tabs}


def _refuse_packed(path: Path, label: str) -> None:
    """Refuse an archive that promises too much; the reader of archives unpacks no more than is promised."""
    try:
        with zipfile.ZipFile(path) as archive:
            members = archive.infolist()
            size = sum(member.file_size for member in members)
            if len(members) > BOOK_MEMBERS_MOST.value or size > BOOK_UNPACKED_MOST.value:
                raise InputError(
                    label,
                    f"the workbook unpacks to {size / _MIB:,.0f} MiB in {len(members):,} parts, more than "
                    f"{BOOK_UNPACKED_MOST.value / _MIB:,.0f} MiB or {BOOK_MEMBERS_MOST.value:,.0f} parts.",
                    "Accepted: a workbook of the yard's figures alone.",
                )
            for member in members:
                if member.filename.lower().endswith((".xml", ".rels")) and _DECLARES.search(archive.read(member)):
                    problem = "a part of the workbook declares entities, which no spreadsheet writes."
                    raise InputError(label, problem, "Save it again with a spreadsheet program.")
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError) as error:
        raise InputError(
            label, f"this is not a readable workbook: {error}.", "Save it again as .xlsx, without a password."
        ) from None


def _rows(sheet: Any, label: str) -> Iterator[tuple[int, list[str]]]:
    """The rows that hold anything, each with its number."""
    sheet.reset_dimensions()  # what a file says of its own size is no promise
    for number, cells in enumerate(sheet.iter_rows(max_col=_COLUMNS_MOST, values_only=True), start=1):
        if number > BOOK_ROWS_MOST.value:
            problem = f"the tab {sheet.title} has more than {BOOK_ROWS_MOST.value:,.0f} rows."
            raise InputError(label, problem, "Keep the rows about the bed.")
        texts = [_text(cell) for cell in cells]
        if any(texts):
            yield number, texts


def _unworked(sheet: Any, rows: dict[int, list[str]], label: str) -> Iterator[tuple[int, int, str]]:
    """Cells with a formula that has no result."""
    for number, cells in _rows(sheet, label):
        known = rows.get(number, [])
        for column, text in enumerate(cells):
            if text.startswith("=") and not (column < len(known) and known[column]):
                yield number, column, text


def _text(cell: object) -> str:
    """A cell as a person would write it: no ".0" behind a whole number, a slope that became a time of day as it was."""
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return "true" if cell else "false"
    if isinstance(cell, float):
        return str(int(cell)) if cell.is_integer() and abs(cell) < 1e15 else repr(cell)
    if isinstance(cell, datetime.time):
        return f"{cell.hour}:{cell.minute}"
    return str(cell)[:_LONGEST]
