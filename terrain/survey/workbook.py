"""Tabs of a workbook (.xlsx) as rows of texts, read in the bounded process that reads foreign files."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from terrain.errors import InputError
from terrain.survey.readers.apart import WORKBOOK, read_parts_apart

WORKBOOKS = (".xlsx", ".xlsm")


@dataclass(frozen=True)
class Tab:
    """A tab: its rows that hold anything, each with its number, and the cells whose formula has no result."""

    name: str
    rows: tuple[tuple[int, tuple[str, ...]], ...]
    unworked: Mapping[tuple[int, int], str] = field(default_factory=dict)

    def cell(self, row: int, column: int) -> str:
        """The text of a cell by its row's number (from 1) and its column's (from 0); "" where there is none."""
        cells = self.by_row.get(row, ())
        return cells[column] if column < len(cells) else ""

    @property
    def by_row(self) -> Mapping[int, tuple[str, ...]]:
        """The rows by their numbers."""
        return dict(self.rows)

    def refuse_unworked(self, label: str, columns: Iterable[int], above: int) -> None:
        """Refuse a formula without its result in some columns, below a row."""
        wanted = set(columns)
        for (row, column), formula in self.unworked.items():
            if column in wanted and row > above:
                raise InputError(
                    f"{label} {self.name} {cell_name(column)}{row}",
                    f'the formula "{formula}" has no result in the file.',
                    "Open the workbook in a spreadsheet and save it, or write the figure itself.",
                )


def cell_name(column: int) -> str:
    """The letters of a column counted from 0: "A", "Z", "AA"."""
    letters = ""
    column += 1
    while column:
        column, rest = divmod(column - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters


def read_workbook(path: Path, label: str) -> tuple[Tab, ...]:
    """Every tab that shows and holds anything.

    Raises
    ------
    InputError
        For a file that is no workbook, that promises more than a yard's, or that the bounded process gave up on.
    """
    parts = read_parts_apart(WORKBOOK, path, label)
    return tuple(_tab(one) for one in parts["tabs"])


def _tab(told: Mapping[str, Any]) -> Tab:
    rows = tuple((int(row), tuple(str(cell).strip() for cell in cells)) for row, cells in told["rows"])
    unworked = {(int(row), int(column)): str(formula) for row, column, formula in told["unworked"]}
    return Tab(str(told["name"]), rows, unworked)


def tabs_that_fit(tabs: Sequence[Tab], label: str, header_of: Callable[[Tab], object], wanted: str) -> Tab:
    """The one tab that has the heads that are needed: the one called `wanted`, or the only one that fits.

    `header_of` raises `InputError` for a tab without them. Refused where none fits, with what the columns of each were
    taken for, and where several do.
    """
    named = [tab for tab in tabs if tab.name.casefold() == wanted.casefold()]
    if named:
        header_of(named[0])
        return named[0]
    fits: list[Tab] = []
    refused: list[InputError] = []
    for tab in tabs:
        try:
            header_of(tab)
            fits.append(tab)
        except InputError as fault:
            refused.append(fault)
    if len(fits) == 1:
        return fits[0]
    if fits:
        names = ", ".join(f'"{tab.name}"' for tab in fits)
        raise InputError(label, f"the tabs {names} all have the heads that are looked for.", f"Call one {wanted}.")
    if not refused:
        raise InputError(label, "no tab of the workbook holds anything.", "Accepted: a tab with heads and rows.")
    raise refused[0]
