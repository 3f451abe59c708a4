"""Where on earth, as [survey] writes it: the number of a system, or points of the yard known on the map.

crs   = "EPSG:2264"                                        # x and y are coordinates of this system
place = { point = "A", lat = 44.95, lon = -93.09, toward = "B", bearing = "12 deg" }
place = [{ point = "A", lat = 44.95, lon = -93.09 }, { point = "B", lat = 44.9502, lon = -93.0899 }]
place = [{ point = "A", east = 512340.12, north = 4512345.67 }, ...]      # in the units of `crs`
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from terrain.errors import InputError
from terrain.survey import Place
from terrain.units import as_written

_ACCEPTED = (
    'Accepted: { point = "A", lat = 44.95, lon = -93.09, toward = "B", bearing = "12 deg" }, or a list of two points '
    "and more, each with lat and lon, or with east and north in the units of crs."
)
_KEYS = ("point", "lat", "lon", "toward", "bearing", "east", "north")
_MOST_LATITUDE = 85.0  # degrees: no yard lies nearer a pole, where longitude means little
_BEARING = re.compile(r"([+-]?\d+(?:\.\d+)?)\s*(?:deg|degrees|°)?")


@dataclass(frozen=True)
class PlaceKey:
    """One point of the yard, by its name or its place in metres, as the map knows it.

    `on_map` is longitude and latitude, or east and north in the system's own unit where `grid`. `bearing` is that of
    the line to `toward`, or of the survey's y where there is none: radians clockwise from true north.
    """

    point: str | Place
    on_map: tuple[float, float]
    grid: bool
    toward: str | Place | None = None
    bearing: float | None = None


def read_place(value: Any, place: Callable[[Any], Place]) -> tuple[PlaceKey, ...]:
    """The points of `place`; `place` reads [x, y]. Raises `InputError` without a `where`."""
    tables = [value] if isinstance(value, Mapping) else value
    if not isinstance(tables, Sequence) or isinstance(tables, str) or not tables:
        raise InputError("", f"{as_written(value)} is no place on a map.", _ACCEPTED)
    keys = tuple(_one(table, place) for table in tables)
    fault = _fault(keys)
    if fault is not None:
        raise InputError("", *fault)
    return keys


def _fault(keys: Sequence[PlaceKey]) -> tuple[str, str] | None:
    """What is wrong with the points together, and what would do; None where nothing is."""
    first, alone = keys[0], len(keys) == 1
    if len({key.grid for key in keys}) > 1:
        return "some points have lat and lon, others east and north.", _ACCEPTED
    if alone and first.grid:
        return "one point with east and north lays no plane.", "Accepted: two such points and more."
    if alone and first.bearing is None:
        problem = "one point says where, not which way: it has no bearing."
        return problem, 'Add toward = "B", bearing = "12 deg", clockwise from true north.'
    if not alone and any(key.bearing is not None for key in keys):
        return "two points say which way already, and a bearing stands beside them.", "Leave it out."
    return None


def _one(table: Any, place: Callable[[Any], Place]) -> PlaceKey:
    if not isinstance(table, Mapping):
        raise InputError("", f"{as_written(table)} is no place on a map.", _ACCEPTED)
    grid = "east" in table or "north" in table
    pair = ("east", "north") if grid else ("lon", "lat")
    _refuse_keys(table, pair)
    _refuse_way(table)
    first, second = (_number(table[key], key) for key in pair)
    if not grid:
        _refuse_degrees(first, second)
    bearing = _bearing(table["bearing"]) if "bearing" in table else None
    toward = _point(table["toward"], place) if "toward" in table else None
    return PlaceKey(_point(table["point"], place), (first, second), grid, toward, bearing)


def _refuse_keys(table: Mapping[str, Any], pair: tuple[str, str]) -> None:
    """Refuse a key that is none, and one that is missing."""
    strange = next((key for key in table if key not in _KEYS), None)
    if strange is not None:
        raise InputError("", f"{as_written(strange)} is no key of a place.", f"Known keys: {', '.join(_KEYS)}.")
    missing = next((key for key in ("point", *pair) if key not in table), None)
    if missing is not None:
        raise InputError("", f"{as_written(table)} lacks {missing}.", _ACCEPTED)
    if pair[0] == "east" and not {"lat", "lon"}.isdisjoint(table):
        raise InputError("", "lat and lon stand beside east and north.", "Keep one pair.")


def _refuse_way(table: Mapping[str, Any]) -> None:
    """Refuse a line without its bearing."""
    if "toward" in table and "bearing" not in table:
        raise InputError("", "toward has no bearing.", 'Add bearing = "12 deg", clockwise from true north.')


def _number(value: Any, key: str) -> float:
    if not isinstance(value, int | float) or isinstance(value, bool) or not math.isfinite(value):
        raise InputError("", f"{key} = {as_written(value)} is no number.", "Accepted: such as 44.9512345, in degrees.")
    return float(value)


def _refuse_degrees(lon: float, lat: float) -> None:
    if abs(lat) > _MOST_LATITUDE:
        hint = " Are lat and lon exchanged?" if abs(lat) <= 180.0 and abs(lon) <= _MOST_LATITUDE else ""
        accepted = f"Accepted: {-_MOST_LATITUDE:g} to {_MOST_LATITUDE:g} degrees."
        raise InputError("", f"lat = {lat:g} is no latitude of a yard.{hint}", accepted)
    if abs(lon) > 180.0:
        raise InputError("", f"lon = {lon:g} is no longitude.", "Accepted: -180 to 180 degrees, negative to the west.")


def _bearing(value: Any) -> float:
    text = f"{value}" if isinstance(value, int | float) and not isinstance(value, bool) else value
    found = _BEARING.fullmatch(text.strip()) if isinstance(text, str) else None
    if found is None or abs(float(found[1])) > 360.0:
        accepted = 'Accepted: degrees clockwise from true north, such as "12 deg".'
        raise InputError("", f"{as_written(value)} is no bearing.", accepted)
    return math.radians(float(found[1]))


def _point(value: Any, place: Callable[[Any], Place]) -> str | Place:
    return value.strip() if isinstance(value, str) and value.strip() else place(value)
