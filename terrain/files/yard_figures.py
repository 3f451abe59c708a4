"""A site file's figures in the units of a workbook's heads, to fill the workbook with."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from terrain.files.yard_book import Figure, YardFigures
from terrain.site import BOOK_TABS, Asked
from terrain.units import Units, parse_length, parse_share, parse_volume

_DECIMALS = 4
Rows = Sequence[Sequence[str]]


def yard_figures(fields: Mapping[str, Any], shots: Rows, corners: Rows, units: Units) -> YardFigures:
    """The figures of a workbook from those of a site file.

    Parameters
    ----------
    fields
        The site file as plain values; what the form has no place for is left out.
    shots, corners
        Rows as their tables write them: point, x, y, elevation, code; and x, y.
    units
        Of the yard.
    """
    columns = {name: asked for tab in BOOK_TABS for name, asked in tab.tables.items()}
    trees = [[_of_tree(tree, asked.key) for asked in columns["trees"]] for tree in fields.get("tree", ())]
    written: dict[str, Sequence[Sequence[Any]]] = {
        "shots": shots,
        "corners": _numbered(corners),
        "high points": _numbered(fields["berm"]["crest"]),
        "trees": trees,
    }
    tables = {name: [_row(columns[name], row, units) for row in rows] for name, rows in written.items()}
    return YardFigures(units, _lines(fields, units), tables)


def _lines(fields: Mapping[str, Any], units: Units) -> dict[tuple[str, str], Figure]:
    """The figures of the lines that the site file states, by table and key."""
    found: dict[tuple[str, str], Figure] = {}
    for asked in (one for tab in BOOK_TABS for one in tab.lines):
        home = fields.get(asked.table, {}) if asked.table else fields
        if asked.key in home:
            found[asked.table, asked.key] = _figure(asked, home[asked.key], units)
    return found


def _numbered(rows: Sequence[Sequence[Any]]) -> list[Sequence[Any]]:
    return [(number, *row) for number, row in enumerate(rows, start=1)]


def _row(columns: Sequence[Asked], row: Sequence[Any], units: Units) -> list[Figure]:
    return [_figure(asked, value, units) for asked, value in zip(columns, row, strict=False)]


def _of_tree(tree: Mapping[str, Any], key: str) -> Any:
    return tree["at"]["xy".index(key)] if key in ("x", "y") else tree.get(key)


def _figure(asked: Asked, value: Any, units: Units) -> Figure:
    """A figure in the unit of its head; texts as they are."""
    if value is None or value == "":
        return None
    unit = asked.units[units]
    if asked.kind == "length":
        return round(parse_length(value, units, asked.label) / parse_length(f"1 {unit}", units, ""), _DECIMALS)
    if asked.kind == "volume":
        return round(parse_volume(value, units, asked.label) / parse_volume(f"1 {unit}", units, ""), _DECIMALS)
    if asked.kind == "percent":
        return round(100.0 * parse_share(value, asked.label), _DECIMALS)
    return float(value) if asked.kind == "money" else str(value)
