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
    lines = {
        (asked.table, asked.key): _figure(asked, value, units)
        for tab in BOOK_TABS
        for asked in tab.lines
        if (value := (fields.get(asked.table, {}) if asked.table else fields).get(asked.key)) is not None
    }
    columns = {name: asked for tab in BOOK_TABS for name, asked in tab.tables.items()}
    tops = [(number, *point) for number, point in enumerate(fields["berm"]["crest"], start=1)]
    trees = [[_of_tree(tree, asked.key) for asked in columns["trees"]] for tree in fields.get("tree", ())]
    written: dict[str, Sequence[Sequence[Any]]] = {
        "shots": shots,
        "corners": [(number, *corner) for number, corner in enumerate(corners, start=1)],
        "high points": tops,
        "trees": trees,
    }
    tables = {
        name: [[_figure(asked, value, units) for asked, value in zip(columns[name], row, strict=False)] for row in rows]
        for name, rows in written.items()
    }
    return YardFigures(units, lines, tables)


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
