"""Measurement tables: delimited text with a header, in the many shapes that loggers and spreadsheets write.

Comma, semicolon, tab, upright or blank delimited; any column order; decimal commas where the values are parted by
another mark than a comma. A byte-order mark, Windows line ends, blank lines, lines that start with # and a first line
such as "sep=;", which spreadsheets write, do no harm.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from terrain.errors import Faults, InputError
from terrain.limits import SHOTS_MOST
from terrain.survey.files import read_table_text
from terrain.survey.measured import Hints, too_many
from terrain.units import Units, parse_length, written_units


@dataclass(frozen=True)
class Columns:
    """Columns that a kind of table may have.

    `names` are what people call each meaning, `lengths` the meanings that are lengths. A `sparse` table leaves cells
    empty (a level book), so that blanks cannot stand between its values. Where a table lacks a meaning, another may do:
    `instead` names it.
    """

    names: Mapping[str, tuple[str, ...]]
    lengths: tuple[str, ...]
    sparse: bool = False
    instead: Mapping[str, str] = field(default_factory=dict)


_PLAIN = 1e9  # metres: a number beyond is looked at more closely
_LONGEST_HEADING = 200  # characters: the pattern of a unit takes longer than its length
_LONGEST_NUMBER = 40  # characters of a bare number
_DASHES = "-–—"
POINT = ("point", "name", "id", "pt", "no", "nr", "number", "shot")
CODE = ("code", "description", "desc", "note", "notes", "remark")
ELEVATION = ("elevation", "elev", "z", "height", "level", "rl")
ROD_READING = ("rod", "rod reading", "reading", "staff", "staff reading")
SHOTS = Columns(
    {
        "point": (*POINT, "p"),  # P, N, E, Z, D: the heads that many loggers write
        "x": ("x", "easting", "east", "e"),
        "y": ("y", "northing", "north", "n"),
        "elevation": ELEVATION,
        "rod": ROD_READING,
        "code": (*CODE, "d"),
    },
    lengths=("x", "y", "elevation", "rod"),
    instead={"elevation": "rod"},
)
_LONGEST = 10_000  # signs of a row
_SEPARATOR = re.compile(r"\s*\"?sep=.\"?[\s;,]*", re.IGNORECASE)
_SUFFIX = re.compile(r"^(?P<name>.*?)(?:[\s_]+|[\s_]*(?=[\[(]))[\[(]?\s*(?P<unit>[a-z]+)\.?\s*[\])]?$")


@dataclass(frozen=True)
class Table:
    """A measurement table as text.

    `rows` holds the line number of each row in the file, `cells` the text of each column by its meaning (the
    keys of `Columns.names`), `titles` the header as written and `units` the unit that it names ("" for none);
    `notes` say what was guessed.
    """

    label: str
    rows: tuple[int, ...]
    cells: Mapping[str, tuple[str, ...]]
    titles: Mapping[str, str]
    units: Mapping[str, str]
    notes: tuple[str, ...] = ()

    def texts(self, meaning: str) -> tuple[str, ...]:
        """The cells of a column, one for each row; blank where the table has no such column."""
        return self.cells.get(meaning, ("",) * len(self.rows))


def read_table(
    path: Path, label: str, needed: tuple[str, ...], columns: Columns = SHOTS, hints: Hints | None = None
) -> Table:
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
    hints
        Its encoding and its headings, where they are unusual.

    Raises
    ------
    InputError
        For a file that cannot be read, a missing header or column, and all rows with too many values.
    """
    hints = hints or Hints()
    text, note = read_table_text(path, label, hints.encoding)
    lines = _lines(text, label, needed)
    delimiter, header = _header(lines[0], label, columns)
    place = (label, lines[0][0])
    found = _columns(header, place, _titled(header, columns.names, hints, place))
    _refuse_lacking(header, place, needed, found, columns)
    body = [(row, _split(line, delimiter, len(header))) for row, line in lines[1:]]
    _refuse_width(body, len(header), label)
    rows = tuple(row for row, _ in body)
    cells = {meaning: tuple("".join(values[i : i + 1]) for _, values in body) for meaning, (i, _) in found.items()}
    if delimiter in "\t;|":
        cells = _decimal_points(cells, label, rows, columns.lengths)
    return Table(
        label,
        rows,
        cells,
        {meaning: header[i] for meaning, (i, _) in found.items()},
        {meaning: unit for meaning, (_, unit) in found.items()},
        tuple(filter(None, [note])),
    )


def _lines(text: str, label: str, needed: tuple[str, ...]) -> list[tuple[int, str]]:
    """The lines that hold the header and the rows, each with its number in the file."""
    lines = [(row, line) for row, line in enumerate(text.splitlines(), start=1) if _says_something(line)]
    if not lines:
        raise InputError(label, "the file holds no rows.", _example(needed))
    _refuse_size(lines, label)
    return lines


def _header(line: tuple[int, str], label: str, columns: Columns) -> tuple[str, list[str]]:
    """The delimiter, and the names of the columns as they are written."""
    row, text = line
    delimiter = next((mark for mark in "\t;|," if mark in text), " ")
    header = _split(_joined_units(text), delimiter)
    if columns.sparse and delimiter == " " and len(header) > 1:
        raise InputError(
            f"{label} row {row}",
            "blanks stand between the values, so that an empty cell cannot be told.",
            "Put commas, semicolons or tabs between the values.",
        )
    return delimiter, header


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
            f'{table.label} column "{title}"',
            f'the header says {unit}, but the site is in "{units}": mixed units.',
            "Convert the column, or name its own unit in every value.",
        )
    faults = Faults()
    reader = _LengthReader(table.label, title, unit, units)
    lengths: list[float] = []
    for row, cell in zip(table.rows, table.cells[column], strict=True):
        if blank is not None and not cell.strip(_DASHES):
            lengths.append(blank)
            continue
        try:
            lengths.append(reader.read(row, cell))
        except InputError as fault:
            faults.found.append(fault)
    faults.refuse()
    return lengths


class _LengthReader:
    """Reads the cells of one column, one after another: all must be in the system of the first."""

    def __init__(self, label: str, title: str, unit: str, units: Units) -> None:
        self.label, self.title, self.unit, self.units = label, title, unit, units
        self.bare = parse_length(f"1 {unit}" if unit else 1, units, "")
        self.first: tuple[int, Units] | None = None

    def read(self, row: int, cell: str) -> float:
        """The length in metres."""
        metres = self._bare(cell)
        own: Units | None = None
        if metres is None:
            where = f"{self.label} row {row} {self.title}"
            if not cell:
                raise InputError(where, "the value is missing.", f"Accepted: a number in {self.unit or self.units}.")
            own = written_units(cell)
            metres = parse_length(f"{cell} {self.unit}" if self.unit and own is None else cell, self.units, where)
        system = own or self.units
        self.first = self.first or (row, system)
        if system != self.first[1]:
            raise InputError(
                f"{self.label} row {row} {self.title}",
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


def _titled(
    header: list[str], known: Mapping[str, tuple[str, ...]], hints: Hints, place: tuple[str, int]
) -> Mapping[str, tuple[str, ...]]:
    """The names of each meaning, with the heading that the site file states in their place."""
    names = dict(known)
    plain = {_plain_title(title): title for title in header}
    for meaning in known.keys() & hints.columns.keys():
        stated = hints.columns[meaning]
        if _plain_title(stated) in plain:
            # No other column stands for the meaning then, and this one for nothing else.
            word, _ = _word_and_unit(stated)
            names = {other: tuple(n for n in spellings if n != word) for other, spellings in names.items()}
            names[meaning] = (word,)
        elif hints.strict:
            shown = ", ".join(f'"{title}"' for title in header)
            raise InputError(
                f"{place[0]} row {place[1]}",
                f'no column is called "{stated}", as [survey] columns has it; the columns are {shown}.',
                "Accepted: one of them.",
            )
    return names


def _plain_title(title: str) -> str:
    return " ".join(title.casefold().split())


def _word_and_unit(title: str) -> tuple[str, str]:
    """A heading without the unit that ends it, in small letters, and that unit ("" for none)."""
    word = _plain_title(title)
    suffix = _SUFFIX.match(word) if len(word) <= _LONGEST_HEADING else None
    if suffix and written_units(f"1 {suffix['unit']}"):
        return suffix["name"], suffix["unit"]
    return word, ""


def _example(needed: tuple[str, ...]) -> str:
    return f'Add a first line that names the columns, such as "{",".join(needed)}".'


def _split(line: str, delimiter: str, width: int = 0) -> list[str]:
    """The cells of one line, without outer blanks; between blanks the last of `width` cells takes the rest."""
    if delimiter == " ":
        return line.split(maxsplit=width - 1)
    return [cell.strip() for cell in next(csv.reader([line], delimiter=delimiter, skipinitialspace=True))]


def _joined_units(header: str) -> str:
    """Keep "elevation (ft)" one word where blanks separate the columns."""
    return re.sub(r"(?<!\s)\s+(?=[\[(])", "", header) if not re.search(r"[\t;|,]", header) else header


def _meaning(title: str, known: Mapping[str, tuple[str, ...]]) -> tuple[str, str] | None:
    """What a column title means and the unit it carries, or None for a column that is not ours."""
    word, unit = _word_and_unit(title)
    found = next((meaning for meaning, names in known.items() if word in names), None)
    return (found, unit) if found else None


def _columns(
    header: list[str], place: tuple[str, int], known: Mapping[str, tuple[str, ...]]
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
    return found


def _refuse_lacking(
    header: list[str],
    place: tuple[str, int],
    needed: tuple[str, ...],
    found: Mapping[str, tuple[int, str]],
    columns: Columns,
) -> None:
    """Refuse a header that lacks what is needed, and what would do instead."""
    missing = [meaning for meaning in needed if meaning not in found and columns.instead.get(meaning) not in found]
    if missing:
        raise _lacking(header, f"{place[0]} row {place[1]}", needed, {one: columns.names[one] for one in missing})


def _lacking(
    header: list[str], where: str, needed: tuple[str, ...], missing: Mapping[str, tuple[str, ...]]
) -> InputError:
    """A header that lacks columns, with the names that would do for each."""
    if _numeric(header):
        return InputError(where, "the first line holds numbers, not the names of the columns.", _example(needed))
    names = ", ".join(f'"{title}"' for title in header)
    accepted = "; ".join(f"{meaning}: {', '.join(spellings)}" for meaning, spellings in missing.items())
    return InputError(
        where,
        f"no column gives the {' or the '.join(missing)}; the columns are {names}.",
        f"Accepted names: {accepted}. Other headings: name them under [survey], such as "
        'columns = { x = "Easting (grid)" }.',
    )


def _numeric(header: list[str]) -> bool:
    """At least two cells of the line are numbers, so it cannot be a header."""
    bodies = [cell.removeprefix("+").removeprefix("-") for cell in header]
    return sum(bool(re.fullmatch(r"[\d.,]+", body)) and any(map(str.isdigit, body)) for body in bodies) >= 2


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
