"""Every table (CSV) that is written: the header first, and no text that a spreadsheet would run."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Sequence

Cell = str | int | float | None
# A spreadsheet takes a cell that begins so for a formula or a command, also when a saved table is opened again; the
# full-width forms count as the plain ones in some of them.
_STARTS = ("=", "+", "-", "@", "|", "%", "＝", "＋", "－", "＠")
_NUMBER = re.compile(r"[-+]?(\d+(\.\d*)?|\.\d+)([eE][-+]?\d+)?", re.ASCII)


def csv_text(heads: Sequence[str], rows: Iterable[Sequence[Cell]]) -> str:
    """A table as CSV text with the line ends of RFC 4180; None is an empty cell.

    Figures, also as text, stay figures; every other text is guarded. Raises `ValueError` for a row that is not as long
    as the header.
    """
    text = io.StringIO()
    table = csv.writer(text)
    table.writerow([guarded(head) for head in heads])
    for row in rows:
        if len(row) != len(heads):
            raise ValueError(f"{len(row)} cells under {len(heads)} heads")
        table.writerow([_cell(value) for value in row])
    return text.getvalue()


def _cell(value: Cell) -> str:
    if value is None:
        return ""
    text = value if isinstance(value, str) else str(value)
    return text if _NUMBER.fullmatch(text) else guarded(text)


def guarded(text: str) -> str:
    """The text, led by an apostrophe where a spreadsheet could take it for a formula; control marks become blanks."""
    plain = "".join(mark if mark.isprintable() else " " for mark in text)
    # A spreadsheet may look past blanks, and past marks that it cannot show, for the first one that it can.
    return f"'{plain}" if text[:1] in ("\t", "\r", "\n") or plain.lstrip().startswith(_STARTS) else plain
