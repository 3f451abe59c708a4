"""Marks: which named point of the survey is seen at which pixel of a photograph.

    point,u,v,up
    12,2951,2103,
    house SW,809,1548,
    house SW,792,1077,8.5 ft
    bur oak,1480,1690,

`u` counts from the left, `v` from the top. `up` is a height over the point: a band of a staff on it, an eave.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from terrain.errors import Faults, InputError
from terrain.field import known_points
from terrain.grid import Array
from terrain.ground import Ground
from terrain.site import Site
from terrain.survey import POINT, Columns, Table, column_lengths, point_key, read_table
from terrain.tables import csv_text
from terrain.units import as_written

# Standard deviations of where a thing stands, metres; common practice, no published source. A trunk is seen by its foot
# on this side, not by its middle.
SHOT_ERROR, BUILT_ERROR, TRUNK_ERROR, PLUMB = 0.02, 0.03, 0.1, 0.009  # the last: lean of a staff, a share of its height
_MOST_SHOWN = 12
MARKS = Columns(
    {
        "point": POINT,
        "u": ("u", "x", "px", "column", "pixel x", "x px", "across"),
        "v": ("v", "y", "py", "row", "pixel y", "y px", "down"),
        "up": ("up", "above", "over", "height", "height above"),
    },
    lengths=("up",),
    sparse=True,
)


@dataclass(frozen=True)
class MarkRow:
    """One row of a table of marks as it is written: a point's name, its pixel, and a height over it as text."""

    point: str
    u: float
    v: float
    up: str = ""


@dataclass(frozen=True)
class PictureMark:
    """One point in the picture.

    Parameters
    ----------
    name
        As the table writes it, with its height over the point where there is one.
    where
        File and row, for a message.
    place
        (3,) metres.
    error
        Standard deviation of the place, metres.
    pixel
        (2,) from the top left.
    """

    name: str
    where: str
    place: Array
    error: float
    pixel: Array


def read_marks(path: Path, label: str, site: Site, ground: Ground) -> tuple[PictureMark, ...]:
    """The marks of a table.

    Raises
    ------
    InputError
        For a table that cannot be read, every cell that is no number, and every name that is no point of the survey,
        with those there are.
    """
    table = read_table(path, label, ("point", "u", "v"), MARKS)
    heights = column_lengths(table, "up", site.units, blank=0.0)
    known = marked_places(site, ground)
    faults, found = Faults(), []
    for k, row in enumerate(table.rows):
        name, where = table.cells["point"][k], f"{label} row {row}"
        with faults.kept():
            pixel = np.array([_pixel(table, k, where, column) for column in ("u", "v")])
            place, error = _place_of(name, known, where)
            shown = name if not table.texts("up")[k] else f"{name} + {table.texts('up')[k]}"
            up = np.array([0.0, 0.0, heights[k]])
            found.append(PictureMark(shown, where, place + up, math.hypot(error, PLUMB * heights[k]), pixel))
    faults.refuse()
    return tuple(found)


def mark_rows(path: Path, label: str) -> tuple[MarkRow, ...]:
    """The rows of a table of marks, none of its names looked up. Raises `InputError` for one that cannot be read."""
    table = read_table(path, label, ("point", "u", "v"), MARKS)
    found = []
    for k, row in enumerate(table.rows):
        u, v = (_pixel(table, k, f"{label} row {row}", column) for column in ("u", "v"))
        found.append(MarkRow(table.cells["point"][k], u, v, table.texts("up")[k]))
    return tuple(found)


def marks_text(rows: Sequence[MarkRow]) -> str:
    """A table of marks as CSV, pixels to a tenth."""
    return csv_text(("point", "u", "v", "up"), [(row.point, round(row.u, 1), round(row.v, 1), row.up) for row in rows])


def marked_places(site: Site, ground: Ground) -> Mapping[str, tuple[str, Array, float]]:
    """Every point that a mark may name: by its key its name, its place (3,) in metres and the error of that."""
    found: dict[str, tuple[str, Array, float]] = {}
    for name, shot in zip(site.survey.names, site.survey.shots, strict=True):
        found.setdefault(point_key(name), (name, np.asarray(shot), SHOT_ERROR))
    for point in known_points(site):
        at = np.array([point.at])
        up = float(ground.grid.sample(ground.elevation, at)[0])
        error = TRUNK_ERROR if point.core > 0.0 else BUILT_ERROR
        found.setdefault(point_key(point.name), (point.name, np.array([*point.at, up]), error))
    return found


def _place_of(name: str, known: Mapping[str, tuple[str, Array, float]], where: str) -> tuple[Array, float]:
    if point_key(name) in known:
        _, place, error = known[point_key(name)]
        return place, error
    names = [shown for shown, _, _ in known.values()]
    more = "" if len(names) <= _MOST_SHOWN else f" and {len(names) - _MOST_SHOWN} more"
    shown = ", ".join(names[-_MOST_SHOWN:])
    raise InputError(where, f"{as_written(name)} is no point of the survey.", f"Accepted: {shown}{more}.")


def _pixel(table: Table, k: int, where: str, column: str) -> float:
    """A pixel of a row."""
    cell = table.cells[column][k]
    try:
        value = float(cell)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        title = table.titles[column]
        raise InputError(
            f"{where} {title}", f"{as_written(cell)} is no pixel.", "Accepted: a number, from the top left."
        )
    return value
