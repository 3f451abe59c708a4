"""A yard's workbook as the fields of a site file, and the cell that each of them stands in."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from terrain.errors import Faults, InputError, InputErrors
from terrain.site.sheet_form import (
    BED,
    BOOK_TABS,
    CORNER_COLUMNS,
    SHOTS_TAB,
    TOP_COLUMNS,
    TREE_COLUMNS,
    TREES_TAB,
    YARD,
    YARD_LINES,
    Asked,
    label_and_unit,
)
from terrain.survey import Tab, cell_name, read_workbook
from terrain.units import Units, parse_length

_HEADS_WITHIN = 20  # rows above the heads of a table


@dataclass
class SheetFields:
    """Fields as a site file has them, and by the words that messages open with the cell that a person looks for."""

    fields: dict[str, Any] = field(default_factory=dict)
    cells: dict[str, str] = field(default_factory=dict)

    def retold(self, fault: InputError) -> InputError:
        """The same fault, or each of several, at its cell in place of its key."""
        if isinstance(fault, InputErrors):
            return InputErrors([self.retold(one) for one in fault.faults])
        keys = [key for key in self.cells if fault.where == key or fault.where.startswith(f"{key} ")]
        if not keys:
            return fault
        key = max(keys, key=len)
        return InputError(self.cells[key] + fault.where[len(key) :], fault.problem, fault.accepted)


@dataclass(frozen=True)
class _Written:
    """What stands in a cell, the cell as a message calls it, and the unit that its head names ("" for none)."""

    text: str
    cell: str
    unit: str


_Row = dict[str, _Written]


def fields_of_workbook(path: Path, label: str) -> SheetFields:
    """The fields of a yard's workbook.

    Raises
    ------
    InputError
        For a file that is no workbook or lacks a tab, a line of the tab Yard that the form does not have, and a figure
        that is none; the message names the cell.
    """
    tabs = _tabs(read_workbook(path, path.name), label)
    sheet, faults = SheetFields(), Faults()
    for part in (_yard, _bed, _trees):
        with faults.kept():
            part(tabs, label, sheet)
    faults.refuse()
    sheet.fields.setdefault("survey", {})["shots"] = path.name
    sheet.cells[f"{label} [survey] shots"] = f"{label} {SHOTS_TAB}"
    return sheet


def workbook_as_text(path: Path) -> str:
    """A workbook as the text of a site file, whose shots stay in the workbook; raises as `fields_of_workbook`."""
    import tomlkit

    return tomlkit.dumps(fields_of_workbook(path, str(path)).fields)


def _tabs(found: Sequence[Tab], label: str) -> Mapping[str, Tab]:
    """The four tabs by their names; a yard without trees may leave out theirs."""
    known = {tab.name.casefold(): tab for tab in found}
    missing = [tab.name for tab in BOOK_TABS if tab.name.casefold() not in known and tab.name != TREES_TAB]
    if missing:
        names = ", ".join(tab.name for tab in found) or "none"
        raise InputError(
            label,
            f"the workbook has no tab {missing[0]}; its tabs are {names}.",
            "Accepted: a workbook of a yard, as hummock new --sheet writes it. A table of shots alone goes into a site "
            'file: shots = "shots.xlsx".',
        )
    return {tab.name: known[tab.name.casefold()] for tab in BOOK_TABS if tab.name.casefold() in known}


def _units_of(tabs: Mapping[str, Tab], label: str) -> Units:
    lines = {label_and_unit(cells[0])[0]: (row, cells) for row, cells in tabs[YARD].rows if cells[0]}
    if "units" not in lines:
        raise InputError(f"{label} {YARD}", "the line units is missing.", "Keep the lines of the form.")
    row, cells = lines["units"]
    text = "".join(cells[1:2])
    if text not in ("ft", "m"):
        raise InputError(f"{label} {YARD} B{row}", f'"{text}" is not a unit of a yard.', "Accepted: ft or m.")
    return "ft" if text == "ft" else "m"


def _yard(tabs: Mapping[str, Tab], label: str, sheet: SheetFields) -> None:
    """The lines of the tab Yard: label, figure, and what is told beside them."""
    tab, units, faults = tabs[YARD], _units_of(tabs, label), Faults()
    tab.refuse_unworked(label, {1}, 0)
    for row, cells in tab.rows:
        if len(cells) > 1 and cells[1]:
            cell = f"{label} {YARD} B{row}"
            with faults.kept():
                asked = _line_called(cells[0], cell)
                written = _Written(cells[1], cell, label_and_unit(cells[0])[1])
                _put(sheet, label, asked, _value(asked, written, units), cell)
    faults.refuse()


def _line_called(text: str, cell: str) -> Asked:
    """The line of the form that a label names."""
    word = label_and_unit(text)[0]
    found = next((one for one in YARD_LINES if label_and_unit(one.label)[0] == word), None)
    if found is None:
        lines = ", ".join(one.label for one in YARD_LINES)
        raise InputError(cell, f'"{text}" is no line of the form.', f"Its lines: {lines}.")
    return found


def _put(sheet: SheetFields, label: str, asked: Asked, value: object, cell: str) -> None:
    """A figure at its key, and the cell that it came from."""
    home = sheet.fields.setdefault(asked.table, {}) if asked.table else sheet.fields
    home[asked.key] = value
    sheet.cells[f"{label} [{asked.table}] {asked.key}" if asked.table else f"{label} {asked.key}"] = cell


def _value(asked: Asked, written: _Written, units: Units) -> object:
    """What a cell says, as a site file would write it; refused at the cell where it is no such figure."""
    if asked.kind == "text":
        return written.text
    text = _with_point(written.text)
    number = _number(text)
    if asked.kind == "money":
        if number is None:
            raise InputError(written.cell, f'"{written.text}" is not a price.', "Accepted: a figure alone.")
        return number
    if number is None:
        return _with_own_unit(asked, text, units, written.cell)
    if asked.kind == "percent" and 0.0 < number < 1.0:
        return f"{100.0 * number:g} %"  # a cell that shows 8 % holds 0.08
    return f"{text} {written.unit or asked.units[units]}"


def _with_point(text: str) -> str:
    """A decimal comma as a point."""
    return text.replace(",", ".") if text.count(",") == 1 and "." not in text else text


def _with_own_unit(asked: Asked, text: str, units: Units, cell: str) -> str:
    """A figure that carries its unit; a length is looked at here, so that its cell is named."""
    if asked.kind == "length":
        parse_length(text, units, cell)
    return text


def _number(text: str) -> float | None:
    try:
        number = float(text)
    except ValueError:
        return None
    return number if abs(number) < 1e12 and "_" not in text else None


def _bed(tabs: Mapping[str, Tab], label: str, sheet: SheetFields) -> None:
    """The bed line and the high points, side by side."""
    tab, units = tabs[BED], _units_of(tabs, label)
    corners = [_pair(row) for _, row in _table(tab, label, CORNER_COLUMNS, units)]
    if not corners:
        raise InputError(f"{label} {BED}", "there is no corner of the bed.", "Write x and y of three or more.")
    sheet.fields.setdefault("bed", {})["outline"] = corners
    sheet.cells[f"{label} [bed] outline"] = f"{label} {BED}"
    tops = _table(tab, label, TOP_COLUMNS, units)
    if not tops:
        problem = "there is no high point."
        raise InputError(f"{label} {BED}", problem, "Write x, y and the height over the ground of one or more.")
    crest = []
    for number, (place, row) in enumerate(tops, start=1):
        crest.append([*_pair(row), _needed(row, "height", place)])
        sheet.cells[f"{label} [berm] crest point {number}"] = place
    sheet.fields.setdefault("berm", {})["crest"] = crest
    sheet.cells[f"{label} [berm] crest"] = f"{label} {BED}"


def _trees(tabs: Mapping[str, Tab], label: str, sheet: SheetFields) -> None:
    """A tree a row."""
    if TREES_TAB not in tabs:
        return
    rows = _table(tabs[TREES_TAB], label, TREE_COLUMNS, _units_of(tabs, label))
    trees = [_tree(number, place, row, label, sheet) for number, (place, row) in enumerate(rows, start=1)]
    if trees:
        sheet.fields["tree"] = trees


def _tree(number: int, place: str, row: _Row, label: str, sheet: SheetFields) -> dict[str, Any]:
    name = row["name"].text if "name" in row else f"tree {number}"
    entry: dict[str, Any] = {"name": name, "at": _pair(row)}
    key = f'{label} [[tree]] {number} "{name}"'
    sheet.cells[key] = place
    for asked in TREE_COLUMNS[3:]:
        if asked.key in row:
            entry[asked.key] = row[asked.key].text
            sheet.cells[f"{key} {asked.key}"] = row[asked.key].cell
    return entry


def _table(tab: Tab, label: str, columns: Sequence[Asked], units: Units) -> list[tuple[str, _Row]]:
    """The rows of one table of a tab with their first cells, every figure as a site file would write it."""
    head, found = _heads(tab, label, columns)
    tab.refuse_unworked(label, [column for column, _ in found.values()], head)
    faults, rows = Faults(), []
    for number, cells in tab.rows:
        row: _Row = {}
        for asked in columns if number > head else ():
            with faults.kept():
                row |= _read_cell(asked, cells, found, f"{label} {tab.name} ", number, units)
        place = f"{label} {tab.name} {cell_name(found['x'][0])}{number}"
        if row and not any(fault.where.endswith(str(number)) for fault in faults.found):
            with faults.kept():
                for key in ("x", "y"):
                    _needed(row, key, f"{label} {tab.name} {cell_name(found[key][0])}{number}")
            rows.append((place, row))
    faults.refuse()
    return rows


def _read_cell(
    asked: Asked, cells: Sequence[str], found: Mapping[str, tuple[int, str]], where: str, number: int, units: Units
) -> _Row:
    """One cell of a row by its key; {} where it is empty, or only counts the rows."""
    column, unit = found.get(asked.key, (len(cells), ""))
    text = "".join(cells[column : column + 1])
    if not text or asked.key in ("corner", "top"):
        return {}
    cell = f"{where}{cell_name(column)}{number}"
    return {asked.key: _Written(str(_value(asked, _Written(text, cell, unit), units)), cell, unit)}


def _heads(tab: Tab, label: str, columns: Sequence[Asked]) -> tuple[int, dict[str, tuple[int, str]]]:
    """The row of a table's heads, and each column with the unit that its head names.

    Tables stand side by side: one begins at its first head and has each of its heads once.
    """
    words = {label_and_unit(one.label)[0]: one.key for one in columns}
    for row, cells in tab.rows[:_HEADS_WITHIN]:
        found = _columns_from([label_and_unit(cell) for cell in cells], words)
        if {"x", "y"} <= found.keys():
            return row, found
    wanted = ", ".join(one.label for one in columns)
    raise InputError(f"{label} {tab.name}", f"no row has the heads {wanted}.", "Keep the heads of the form.")


def _columns_from(heads: Sequence[tuple[str, str]], words: Mapping[str, str]) -> dict[str, tuple[int, str]]:
    """Column and unit of each key, from the first head of the table on; {} where that does not stand here."""
    first = next(iter(words))
    begins = next((i for i, (word, _) in enumerate(heads) if word == first), len(heads))
    found: dict[str, tuple[int, str]] = {}
    for i, (word, unit) in enumerate(heads[begins:], start=begins):
        if word in words:
            found.setdefault(words[word], (i, unit))
    return found


def _pair(row: _Row) -> list[str]:
    return [row["x"].text, row["y"].text]


def _needed(row: _Row, key: str, cell: str) -> str:
    if key not in row:
        raise InputError(cell, f"the {key} is missing.", "Write it, or empty the row.")
    return row[key].text
