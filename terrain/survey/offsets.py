"""Station and offset: points by the distance along a baseline and the distance square off it, left or right.

    point,station,offset,side
    P1,0+12.5,4.2,left
    P2,0+20,6 R

The sides are those of somebody who stands at the start of the baseline and looks along it.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, replace
from pathlib import Path

from terrain.errors import InputError
from terrain.survey.headings import CODE, ELEVATION, POINT, Columns
from terrain.survey.measured import Hints
from terrain.survey.points import Place, PlacedPoint
from terrain.survey.table import Table, column_lengths, read_table
from terrain.units import Units, as_written

OFFSETS = Columns(
    {
        "point": POINT,
        "station": ("station", "sta", "sta.", "chainage", "along"),
        "offset": ("offset", "off", "o/s"),
        "side": ("side", "l/r", "left/right"),
        "elevation": ELEVATION,
        "code": CODE,
    },
    lengths=("station", "offset", "elevation"),
    sparse=True,
)
# 1+25 is 125: full stations of 100 where two digits follow, of 1000 where three do.
_STATION = re.compile(r"(?P<full>\d+)\+(?P<rest>(?P<digits>\d{2,3})(?:\.\d+)?)")
_BEFORE = re.compile(r"(?P<side>left|right|lt|rt|l|r)\.?\s*(?P<size>[\d.].*)", re.IGNORECASE)
_AFTER = re.compile(r"(?P<size>.*?[^a-z])(?P<side>left|right|lt|rt|l|r)\.?", re.IGNORECASE)


@dataclass(frozen=True)
class Offset:
    """A point along and beside a baseline: metres from its start, metres to its left (negative: right)."""

    name: str
    where: str
    station: float
    left: float
    elevation: float | None = None
    code: str = ""


def read_offsets(path: Path, label: str, units: Units, hints: Hints | None = None) -> tuple[Offset, ...]:
    """Read a table of stations and offsets; `InputError` names file, row and column of what cannot be read."""
    table = read_table(path, label, ("point", "station", "offset"), OFFSETS, hints)
    split = [
        _split(offset, side, f"{label} row {row} {table.titles['offset']}")
        for row, offset, side in zip(table.rows, table.cells["offset"], table.texts("side"), strict=True)
    ]
    plain = {
        **table.cells,
        "station": tuple(_plain_station(text) for text in table.cells["station"]),
        "offset": tuple(size for size, _ in split),
    }
    stations, sizes = (column_lengths(replace(table, cells=plain), column, units) for column in ("station", "offset"))
    elevations = column_lengths(table, "elevation", units, math.nan)
    offsets = []
    for i, (row, name) in enumerate(zip(table.rows, table.cells["point"], strict=True)):
        if not name:
            raise InputError(f"{label} row {row}", "the point has no name.", "Name the point.")
        left = _to_the_left(sizes[i], split[i][1], table, i)
        elevation = None if math.isnan(elevations[i]) else elevations[i]
        offsets.append(
            Offset(name, f'{label} row {row} "{name}"', stations[i], left, elevation, table.texts("code")[i])
        )
    return tuple(offsets)


def _to_the_left(size: float, side: str, table: Table, i: int) -> float:
    """The offset in metres to the left; refused where it does not say its side."""
    if size < 0.0 or (size > 0.0 and not side):
        raise InputError(
            f"{table.label} row {table.rows[i]} {table.titles['offset']}",
            f"{as_written(table.cells['offset'][i])} does not say which side of the baseline.",
            "Accepted: a distance with a side, such as 4.2 left or 6 R.",
        )
    return size if side == "l" else -size


def _split(offset: str, side: str, where: str) -> tuple[str, str]:
    """The offset without its side, and the side as "l", "r" or ""; from either cell."""
    match = _BEFORE.fullmatch(offset) or _AFTER.fullmatch(offset)
    size, beside = (match["size"].strip(), match["side"]) if match else (offset, "")
    words = {word.lower()[:1] for word in (side.strip("-–—"), beside) if word}
    if words - {"l", "r"} or len(words) > 1:
        raise InputError(where, f"{as_written(side or beside)} is not one side.", "Accepted: left or right.")
    return size, words.pop() if words else ""


def _plain_station(text: str) -> str:
    """A station such as 1+25.5 as one number; other texts as they are."""
    match = _STATION.fullmatch(text.replace(" ", ""))
    if match is None:
        return text
    return repr(float(match["full"]) * 10 ** len(match["digits"]) + float(match["rest"]))


def place_offset(offset: Offset, start: Place, end: Place) -> PlacedPoint:
    """The point that station and offset from the baseline `start` to `end` (metres) place."""
    length = math.dist(start, end)
    along = ((end[0] - start[0]) / length, (end[1] - start[1]) / length)
    at = (
        start[0] + offset.station * along[0] - offset.left * along[1],
        start[1] + offset.station * along[1] + offset.left * along[0],
    )
    return PlacedPoint(offset.name, at, offset.where, offset.elevation, offset.code)
