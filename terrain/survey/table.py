"""Measurement tables: delimited text with a header, or a tab of a workbook, in the many shapes that people write.

Comma, semicolon, tab, upright or blank delimited; any column order; decimal commas where the values are parted by
another mark than a comma. A byte-order mark, Windows line ends, blank lines, lines that start with # and a first line
such as "sep=;", which spreadsheets write, do no harm, nor do lines above the header.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from terrain.errors import Faults, InputError
from terrain.limits import SHOTS_MOST
from terrain.survey.files import read_table_text
from terrain.survey.headings import SHOTS, Columns, columns_of, example_header, missing_from, refuse_lacking, titled
from terrain.survey.measured import Hints, too_many
from terrain.survey.workbook import WORKBOOKS, Tab, cell_name, read_workbook, tabs_that_fit
from terrain.units import Units, as_written, parse_length, written_units

_PLAIN = 1e9  # metres: a number beyond is looked at more closely
_LONGEST_NUMBER = 40  # characters of a bare number
_DASHES = "-–—"
_LONGEST = 10_000  # signs of a row
_ABOVE = 20  # lines that may stand above a header
_SEPARATOR = re.compile(r"\s*\"?sep=.\"?[\s;,]*", re.IGNORECASE)


@dataclass(frozen=True)
class Table:
    """A measurement table as text.

    `rows` holds the line number of each row in the file, `cells` the text of each column by its meaning (the
    keys of `Columns.names`), `titles` the header as written and `units` the unit that it names ("" for none);
    `notes` say what was guessed. Of a workbook `tab` is the tab, and `letters` has each column's.
    """

    label: str
    rows: tuple[int, ...]
    cells: Mapping[str, tuple[str, ...]]
    titles: Mapping[str, str]
    units: Mapping[str, str]
    notes: tuple[str, ...] = ()
    tab: str = ""
    letters: Mapping[str, str] = field(default_factory=dict)

    def texts(self, meaning: str) -> tuple[str, ...]:
        """The cells of a column, one for each row; blank where the table has no such column."""
        return self.cells.get(meaning, ("",) * len(self.rows))

    def place(self, row: int, meaning: str) -> str:
        """Where a person finds a value: "shots.csv row 14 elevation", "yard.xlsx Shots C14"."""
        if self.tab:
            return f"{self.label} {self.tab} {self.letters[meaning]}{row}"
        return f"{self.label} row {row} {self.titles[meaning]}"


@dataclass(frozen=True)
class _Header:
    """A header that was found: its number among the lines, its cells, and each column's index and unit by meaning."""

    number: int
    cells: Sequence[str]
    found: Mapping[str, tuple[int, str]]


def read_table(
    path: Path,
    label: str,
    needed: tuple[str, ...],
    columns: Columns = SHOTS,
    hints: Hints | None = None,
    tab: str = "Shots",
) -> Table:
    """Read a measurement table and find its columns.

    Parameters
    ----------
    path
        The file: delimited text, or a workbook by its ending.
    label
        Its name as the site file writes it; opens every message.
    needed
        Meanings (keys of `columns.names`) that must be there.
    columns
        What the columns of this kind of table are called.
    hints
        Its encoding and its headings, where they are unusual.
    tab
        The tab of a workbook that is taken where several would do.

    Raises
    ------
    InputError
        For a file that cannot be read, a missing header or column, and all rows with too many values.
    """
    hints = hints or Hints()
    if path.suffix.lower() in WORKBOOKS:
        return _from_workbook(path, label, needed, columns, hints, tab)
    text, note = read_table_text(path, label, hints.encoding)
    lines = _lines(text, label, needed)
    delimiters = [next((mark for mark in "\t;|," if mark in line), " ") for _, line in lines[:_ABOVE]]
    first = [
        (row, _split(_joined_units(line), mark)) for (row, line), mark in zip(lines[:_ABOVE], delimiters, strict=True)
    ]
    header = _header(first, label, needed, columns, hints)
    delimiter, (row, _) = delimiters[header.number], lines[header.number]
    _refuse_blanks(f"{label} row {row}", header, delimiter, columns)
    body = [(row, _split(line, delimiter, len(header.cells))) for row, line in lines[header.number + 1 :]]
    _refuse_width(body, len(header.cells), label)
    table = _table(label, header, body)
    if delimiter in "\t;|":
        table = replace(table, cells=_decimal_points(table, columns.lengths))
    return replace(table, notes=tuple(filter(None, [note, _above(label, header, row)])))


def _from_workbook(path: Path, label: str, needed: tuple[str, ...], columns: Columns, hints: Hints, tab: str) -> Table:
    """The tab of a workbook that has the columns: the one that goes by the name, or the only one."""

    def header_of(one: Tab) -> _Header:
        return _header(one.rows[:_ABOVE], f"{label} {one.name}", needed, columns, hints)

    one = tabs_that_fit(read_workbook(path, label), label, header_of, tab)
    header = header_of(one)
    row = one.rows[header.number][0]
    if len(one.rows) - header.number - 1 > SHOTS_MOST.value:
        raise too_many(len(one.rows) - header.number - 1, "rows", f"{label} {one.name}")
    one.refuse_unworked(label, {i for i, _ in header.found.values()}, row)
    table = _table(label, header, one.rows[header.number + 1 :])
    letters = {meaning: cell_name(i) for meaning, (i, _) in header.found.items()}
    table = replace(table, tab=one.name, letters=letters, notes=tuple(filter(None, [_above(label, header, row)])))
    return replace(table, cells=_decimal_points(table, columns.lengths))


def _above(label: str, header: _Header, row: int) -> str:
    """The note on what stands above the header."""
    return f"{label}: what stands above its heads in row {row} was left out." if header.number else ""


def _table(label: str, header: _Header, body: Sequence[tuple[int, Sequence[str]]]) -> Table:
    found = header.found
    cells = {meaning: tuple("".join(values[i : i + 1]) for _, values in body) for meaning, (i, _) in found.items()}
    return Table(
        label,
        tuple(row for row, _ in body),
        cells,
        {meaning: header.cells[i] for meaning, (i, _) in found.items()},
        {meaning: unit for meaning, (_, unit) in found.items()},
    )


def _header(
    lines: Sequence[tuple[int, Sequence[str]]],
    label: str,
    needed: tuple[str, ...],
    columns: Columns,
    hints: Hints,
) -> _Header:
    """The first line that gives what is needed; where none does, the refusal of the one that gives most of it."""
    if not lines:
        raise InputError(label, "it holds no rows.", example_header(needed))
    best, most = 0, 1
    for number, line in enumerate(lines):
        try:
            header = _read_header(number, line, label, columns, hints)
        except InputError:
            continue
        if not missing_from(header.found, needed, columns):
            return header
        if len(header.found) > most:
            best, most = number, len(header.found)
    header = _read_header(best, lines[best], label, columns, hints)
    refuse_lacking(header.cells, f"{label} row {lines[best][0]}", needed, header.found, columns)
    return header


def _read_header(number: int, line: tuple[int, Sequence[str]], label: str, columns: Columns, hints: Hints) -> _Header:
    row, cells = line
    where = f"{label} row {row}"
    return _Header(number, cells, columns_of(cells, where, titled(cells, columns.names, hints, where)))


def _lines(text: str, label: str, needed: tuple[str, ...]) -> list[tuple[int, str]]:
    """The lines that hold the header and the rows, each with its number in the file."""
    lines = [(row, line) for row, line in enumerate(text.splitlines(), start=1) if _says_something(line)]
    if not lines:
        raise InputError(label, "the file holds no rows.", example_header(needed))
    _refuse_size(lines, label)
    return lines


def _refuse_blanks(where: str, header: _Header, delimiter: str, columns: Columns) -> None:
    """Refuse a table that leaves cells empty and has blanks between its values."""
    if columns.sparse and delimiter == " " and len(header.cells) > 1:
        raise InputError(
            where,
            "blanks stand between the values, so that an empty cell cannot be told.",
            "Put commas, semicolons or tabs between the values.",
        )


def _says_something(line: str) -> bool:
    """Whether a line is neither blank, nor a remark, nor a spreadsheet's word on its delimiter."""
    return bool(line.strip(" \t;|,")) and not line.lstrip().startswith("#") and not _SEPARATOR.fullmatch(line)


def _refuse_width(body: Sequence[tuple[int, list[str]]], width: int, label: str) -> None:
    """Refuse every row with more values than the header has names."""
    faults = Faults()
    faults.found += [
        InputError(
            f"{label} row {row}",
            f"{len(values)} values stand under {width} column names.",
            "Quote a text that holds the delimiter; decimal commas need semicolons between the values.",
        )
        for row, values in body
        if any(values[width:])
    ]
    faults.refuse()


def _refuse_size(lines: Sequence[tuple[int, str]], label: str) -> None:
    """Refuse more rows than anybody measures, and a row longer than anybody writes."""
    if len(lines) - 1 > SHOTS_MOST.value:
        raise too_many(len(lines) - 1, "rows", label)
    for row, line in lines:
        if len(line) > _LONGEST:
            problem = f"the row has {len(line):,} signs."
            raise InputError(f"{label} row {row}", problem, f"Accepted: up to {_LONGEST:,}; is a quote left open?")


def column_lengths(table: Table, column: str, units: Units, blank: float | None = None) -> list[float]:
    """One numeric column in metres; a bare number is in the header's unit, or else in the site's.

    An empty cell, or one with a dash, stands for `blank`; where that is None, every cell must hold a value. Raises
    `InputError`, naming file, row and column, for every cell that is no length and for a column that mixes feet and
    metres.
    """
    if column not in table.cells and blank is not None:
        return [blank] * len(table.rows)
    title, unit = table.titles[column], table.units[column]
    if unit and written_units(f"1 {unit}") != units:
        raise InputError(
            f'{table.label} column "{title}"' if not table.tab else f"{table.label} {table.tab} column {title}",
            f'the header says {unit}, but the site is in "{units}": mixed units.',
            "Convert the column, or name its own unit in every value.",
        )
    faults = Faults()
    reader = _LengthReader(unit, units)
    lengths: list[float] = []
    for row, cell in zip(table.rows, table.cells[column], strict=True):
        if blank is not None and not cell.strip(_DASHES):
            lengths.append(blank)
            continue
        try:
            lengths.append(reader.read(row, cell, table.place(row, column)))
        except InputError as fault:
            faults.found.append(fault)
    faults.refuse()
    return lengths


class _LengthReader:
    """Reads the cells of one column, one after another: all must be in the system of the first."""

    def __init__(self, unit: str, units: Units) -> None:
        self.unit, self.units = unit, units
        self.bare = parse_length(f"1 {unit}" if unit else 1, units, "")
        self.first: tuple[int, Units] | None = None

    def read(self, row: int, cell: str, where: str) -> float:
        """The length in metres; `where` is what a message calls the cell."""
        metres = self._bare(cell)
        own: Units | None = None
        if metres is None:
            if not cell:
                raise InputError(where, "the value is missing.", f"Accepted: a number in {self.unit or self.units}.")
            own = written_units(cell)
            try:
                metres = parse_length(f"{cell} {self.unit}" if self.unit and own is None else cell, self.units, where)
            except InputError as fault:
                raise InputError(where, f"{as_written(cell)} is not a length.", fault.accepted) from None
        system = own or self.units
        self.first = self.first or (row, system)
        if system != self.first[1]:
            raise InputError(
                where,
                f'"{cell}" is in {system}, but row {self.first[0]} is in {self.first[1]}: mixed units in one column.',
                "Use one unit in the whole column.",
            )
        return metres

    def _bare(self, cell: str) -> float | None:
        """A plain number of the column's unit, metres; None for anything that has to be looked at more closely."""
        if len(cell) > _LONGEST_NUMBER or "_" in cell:
            return None
        try:
            metres = float(cell) * self.bare
        except ValueError:
            return None
        return metres if abs(metres) < _PLAIN else None  # also None for what is no number


def _split(line: str, delimiter: str, width: int = 0) -> list[str]:
    """The cells of one line, without outer blanks; between blanks the last of `width` cells takes the rest."""
    if delimiter == " ":
        return line.split(maxsplit=width - 1)
    return [cell.strip() for cell in next(csv.reader([line], delimiter=delimiter, skipinitialspace=True))]


def _joined_units(header: str) -> str:
    """Keep "elevation (ft)" one word where blanks separate the columns."""
    return re.sub(r"(?<!\s)\s+(?=[\[(])", "", header) if not re.search(r"[\t;|,]", header) else header


def _decimal_points(table: Table, lengths: tuple[str, ...]) -> dict[str, tuple[str, ...]]:
    """Decimal commas turned into points; both marks in one file are refused, since "1,234" reads two ways."""
    marked: dict[str, int] = {}
    for meaning in lengths:
        for row, cell in zip(table.rows, table.cells.get(meaning, ()), strict=False):
            for mark in ",.":
                if mark in cell:
                    marked.setdefault(mark, row)
    if len(marked) == 2:
        raise InputError(
            " ".join(filter(None, [table.label, table.tab, f"rows {marked[',']} and {marked['.']}"])),
            "one writes decimals with a comma, the other with a point.",
            "Use one of the two in the whole file, and no thousands mark.",
        )
    return {
        meaning: tuple(cell.replace(",", ".") for cell in column) if meaning in lengths else column
        for meaning, column in table.cells.items()
    }
