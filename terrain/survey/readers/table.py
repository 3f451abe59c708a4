"""Shots in a table: delimited text with a header."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from terrain.errors import Faults, InputError
from terrain.limits import FOOT, ROD
from terrain.site import as_points
from terrain.survey.measured import Measured, ReadOptions
from terrain.survey.table import Table, column_lengths, read_table
from terrain.units import Units, show_length


def read(path: Path, label: str, asked: ReadOptions, whole: bool = True) -> Measured:
    """Read a table of shots.

    Parameters
    ----------
    path, label
        The file, and its name as the site file writes it.
    asked
        Units of bare numbers.
    whole
        Every row must give a place and an elevation. False: a level book or tapes give the rest by the point's name,
        so that a row may leave either out, or the table the columns.

    Raises
    ------
    InputError
        Naming file, row and column.
    """
    hints = replace(asked.hints, strict=True)
    table = read_table(path, label, ("x", "y", "elevation") if whole else ("point",), hints=hints)
    blank, faults = None if whole else math.nan, Faults()
    columns: list[list[float]] = []
    rod = "rod" in table.cells and "elevation" not in table.cells
    for column in ("x", "y", "rod" if rod else "elevation"):
        with faults.kept():
            columns.append(column_lengths(table, column, asked.units, blank))
    faults.refuse()
    if rod:
        columns[2] = _elevations(columns[2], table, asked.units)
    return Measured(
        as_points(list(zip(*columns, strict=True))),
        table.texts("point"),
        table.texts("code"),
        rows=table.rows,
        notes=(*table.notes, *([_ROD_NOTE[asked.units].format(label)] if rod else [])),
    )


# Elevation of the level's line of sight, where a table holds rod readings and nobody said it.
_SIGHT: Mapping[Units, float] = {"ft": 100.0 * FOOT, "m": 30.0}
_ROD_NOTE: Mapping[Units, str] = {
    "ft": "{}: rod readings, taken down from the level; elevations count from 100 ft at its line of sight.",
    "m": "{}: rod readings, taken down from the level; elevations count from 30 m at its line of sight.",
}


def _elevations(readings: list[float], table: Table, units: Units) -> list[float]:
    """Elevations of rod readings from one place of the level, metres; none is longer than a rod."""
    faults = Faults()
    for row, reading in zip(table.rows, readings, strict=True):
        if not math.isnan(reading) and not 0.0 <= reading <= ROD.value:
            where, shown = table.place(row, "rod"), show_length(reading, units, "elevation")
            longest = show_length(ROD.value, units, "elevation")
            faults.found.append(InputError(where, f"{shown} is no rod reading.", f"Accepted: 0 to {longest}."))
    faults.refuse()
    return [_SIGHT[units] - reading for reading in readings]
