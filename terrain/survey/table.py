"""Measurement tables: delimited text with a header, in the many shapes that loggers and spreadsheets write.

Comma, semicolon, tab, upright or blank delimited; any column order; decimal commas where the values are parted by
another mark than a comma. A byte-order mark, Windows line ends, blank lines, lines that start with # and a first line
such as "sep=;", which spreadsheets write, do no harm.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from terrain.errors import InputError
from terrain.limits import SHOTS_MOST
from terrain.survey.files import read_text
from terrain.survey.measured import too_many
from terrain.units import Units, parse_length, written_units


@dataclass(frozen=True)
class Columns:
    """Columns that a kind of table may have.

    `names` are what people call each meaning, `lengths` the meanings that are lengths. A `sparse` table leaves cells
    empty (a level book), so that blanks cannot stand between its values.
    """

    names: Mapping[str, tuple[str, ...]]
    lengths: tuple[str, ...]
    sparse: bool = False


POINT = ("point", "name", "id", "pt", "no", "nr", "number", "shot")
CODE = ("code", "description", "desc", "note", "notes", "remark")
ELEVATION = ("elevation", "elev", "z", "height", "level", "rl")
SHOTS = Columns(
    {
        "point": (*POINT, "p"),  # P, N, E, Z, D: the heads that many loggers write
        "x": ("x", "easting", "east", "e"),
        "y": ("y", "northing", "north", "n"),
        "elevation": ELEVATION,
        "code": (*CODE, "d"),
    },
    lengths=("x", "y", "elevation"),
)
_LONGEST = 10_000  # signs of a row
_SEPARATOR = re.compile(r"\s*\"?sep=.\"?[\s;,]*", re.IGNORECASE)
_SUFFIX = re.compile(r"^(?P<name>.*?)(?:[\s_]+|[\s_]*(?=[\[(]))[\[(]?\s*(?P<unit>[a-z]+)\.?\s*[\])]?$")


@dataclass(frozen=True)
class Table:
    """A measurement table as text.

    `rows` holds the line number of each row in the file, `cells` the text of each column by its meaning (the
    keys of `Columns.names`), `titles` the header as written and `units` the unit that it names ("" for none).
    """

    label: str
    rows: tuple[int, ...]
    cells: Mapping[str, tuple[str, ...]]
    titles: Mapping[str, str]
    units: Mapping[str, str]

    def texts(self, meaning: str) -> tuple[str, ...]:
        """The cells of a column, one for each row; blank where the table has no such column."""
        return self.cells.get(meaning, ("",) * len(self.rows))


def read_table(path: Path, label: str, needed: tuple[str, ...], columns: Columns = SHOTS) -> Table:
    """Read a measurement table and find its columns.

    Parameters
    ----------
    path
        The file.
    label
        Its name as the site file writes it; opens every message.
    needed
        Meanings (keys of `columns.names`) that must be there.
    columns
        What the columns of this kind of table are called.

    Raises
    ------
    InputError
        For a file that cannot be read, a missing header or column, or a row with too many values.
    """
    text = read_text(path, label, "Give its path from the folder of the site file.")
    lines = [
        (row, line)
        for row, line in enumerate(text.splitlines(), start=1)
        if line.strip(" \t;|,") and not line.lstrip().startswith("#") and not _SEPARATOR.fullmatch(line)
    ]
    if not lines:
        raise InputError(label, "the file holds no rows.", _example(needed))
    _refuse_size(lines, label)
    delimiter = next((mark for mark in "\t;|," if mark in lines[0][1]), " ")
    header = _split(_joined_units(lines[0][1]), delimiter)
    if columns.sparse and delimiter == " " and len(header) > 1:
        raise InputError(
            f"{label} row {lines[0][0]}",
            "blanks stand between the values, so that an empty cell cannot be told.",
            "Put commas, semicolons or tabs between the values.",
        )
    found = _columns(header, (label, lines[0][0]), needed, columns.names)
    body = [(row, _split(line, delimiter, len(header))) for row, line in lines[1:]]
    for row, values in body:
        if any(values[len(header) :]):
            raise InputError(
                f"{label} row {row}",
                f"{len(values)} values stand under {len(header)} column names.",
                "Quote a text that holds the delimiter; decimal commas need semicolons between the values.",
            )
    rows = tuple(row for row, _ in body)
    cells = {
        meaning: tuple(values[i] if i < len(values) else "" for _, values in body) for meaning, (i, _) in found.items()
    }
    return Table(
        label,
        rows,
        _decimal_points(cells, label, rows, columns.lengths) if delimiter in "\t;|" else cells,
        {meaning: header[i] for meaning, (i, _) in found.items()},
        {meaning: unit for meaning, (_, unit) in found.items()},
    )


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
    `InputError`, naming file, row and column, for a cell that is no length and for a column that mixes feet and metres.
    """
    if column not in table.cells and blank is not None:
        return [blank] * len(table.rows)
    title, unit = table.titles[column], table.units[column]
    if unit and written_units(f"1 {unit}") != units:
        raise InputError(
            f'{table.label} column "{title}"',
            f'the header says {unit}, but the site is in "{units}": mixed units.',
            "Convert the column, or name its own unit in every value.",
        )
    lengths: list[float] = []
    first: tuple[int, Units] | None = None
    for row, cell in zip(table.rows, table.cells[column], strict=True):
        where = f"{table.label} row {row} {title}"
        if blank is not None and not cell.strip("-–—"):
            lengths.append(blank)
            continue
        if not cell:
            raise InputError(where, "the value is missing.", f"Accepted: a number in {unit or units}.")
        own = written_units(cell)
        lengths.append(parse_length(f"{cell} {unit}" if unit and own is None else cell, units, where))
        system = own or units
        first = first or (row, system)
        if system != first[1]:
            raise InputError(
                where,
                f'"{cell}" is in {system}, but row {first[0]} is in {first[1]}: mixed units in one column.',
                "Use one unit in the whole column.",
            )
    return lengths


def _example(needed: tuple[str, ...]) -> str:
    return f'Add a first line that names the columns, such as "{",".join(needed)}".'


def _split(line: str, delimiter: str, width: int = 0) -> list[str]:
    """The cells of one line, without outer blanks; between blanks the last of `width` cells takes the rest."""
    if delimiter == " ":
        return line.split(maxsplit=width - 1)
    return [cell.strip() for cell in next(csv.reader([line], delimiter=delimiter, skipinitialspace=True))]


def _joined_units(header: str) -> str:
    """Keep "elevation (ft)" one word where blanks separate the columns."""
    return re.sub(r"\s+(?=[\[(])", "", header) if not re.search(r"[\t;|,]", header) else header


def _meaning(title: str, known: Mapping[str, tuple[str, ...]]) -> tuple[str, str] | None:
    """What a column title means and the unit it carries, or None for a column that is not ours."""
    word = " ".join(title.lower().split())
    suffix = _SUFFIX.match(word)
    unit = ""
    if suffix and written_units(f"1 {suffix['unit']}"):
        word, unit = suffix["name"], suffix["unit"]
    found = next((meaning for meaning, names in known.items() if word in names), None)
    return (found, unit) if found else None


def _columns(
    header: list[str], place: tuple[str, int], needed: tuple[str, ...], known: Mapping[str, tuple[str, ...]]
) -> dict[str, tuple[int, str]]:
    """Index and unit of each column that has a meaning."""
    label, row = place
    found: dict[str, tuple[int, str]] = {}
    for i, title in enumerate(header):
        meaning = _meaning(title, known)
        if meaning is None:
            continue
        if meaning[0] in found:
            other = header[found[meaning[0]][0]]
            raise InputError(
                f"{label} row {row}",
                f'the columns "{other}" and "{title}" both give the {meaning[0]}.',
                "Keep one of them.",
            )
        found[meaning[0]] = (i, meaning[1])
    missing = [meaning for meaning in needed if meaning not in found]
    if missing and _numeric(header):
        raise InputError(
            f"{label} row {row}",
            "the first line holds numbers, not the names of the columns.",
            _example(needed),
        )
    if missing:
        names = ", ".join(f'"{title}"' for title in header)
        accepted = "; ".join(f"{m}: {', '.join(known[m])}" for m in missing)
        raise InputError(
            f"{label} row {row}",
            f"no column gives the {' or the '.join(missing)}; the columns are {names}.",
            f"Accepted names: {accepted}.",
        )
    return found


def _numeric(header: list[str]) -> bool:
    """At least two cells of the line are numbers, so it cannot be a header."""
    return sum(bool(re.fullmatch(r"[+-]?[\d.,]*\d[\d.,]*", cell)) for cell in header) >= 2


def _decimal_points(
    cells: Mapping[str, tuple[str, ...]], label: str, rows: tuple[int, ...], lengths: tuple[str, ...]
) -> dict[str, tuple[str, ...]]:
    """Decimal commas turned into points; both marks in one file are refused, since "1,234" reads two ways."""
    marked: dict[str, int] = {}
    for meaning in lengths:
        for row, cell in zip(rows, cells.get(meaning, ()), strict=False):
            for mark in ",.":
                if mark in cell:
                    marked.setdefault(mark, row)
    if len(marked) == 2:
        raise InputError(
            f"{label} rows {marked[',']} and {marked['.']}",
            "one writes decimals with a comma, the other with a point.",
            "Use one of the two in the whole file, and no thousands mark.",
        )
    return {
        meaning: tuple(cell.replace(",", ".") for cell in column) if meaning in lengths else column
        for meaning, column in cells.items()
    }
