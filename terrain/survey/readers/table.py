"""Shots in a table: delimited text with a header."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

from terrain.errors import Faults
from terrain.site import as_points
from terrain.survey.measured import Measured, ReadOptions
from terrain.survey.table import column_lengths, read_table


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
    for column in ("x", "y", "elevation"):
        with faults.kept():
            columns.append(column_lengths(table, column, asked.units, blank))
    faults.refuse()
    return Measured(
        as_points(list(zip(*columns, strict=True))),
        table.texts("point"),
        table.texts("code"),
        rows=table.rows,
        notes=table.notes,
    )
