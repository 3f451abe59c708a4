"""Lines: two or more places in order, from a list, a table of places or a GeoJSON line."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from pathlib import Path

from terrain.errors import InputError
from terrain.limits import CORNERS_MOST
from terrain.survey.files import Folder, read_table_text
from terrain.survey.geojson import features_of, is_geojson, position
from terrain.survey.maps import is_map, read_map
from terrain.survey.points import Place
from terrain.survey.table import column_lengths, read_table
from terrain.units import Units, as_written, parse_length, show_place, unit_length

_ACCEPTED = "Accepted: two or more points, such as [[4, 6], [9, 7]], or a file: a CSV with x and y, or a GeoJSON line."
_SAME = 1e-6  # metres: two points nearer than this make no leg of a line


def read_line(value: object, units: Units, folder: Folder) -> tuple[Place, ...]:
    """Return the places of a line, in metres, in order.

    Parameters
    ----------
    value
        [[x, y], ...] in the site's units (or texts with units), or the path of a CSV or GeoJSON file in the survey's
        coordinates.
    units
        The site's units.
    folder
        Where paths start, and which files they may name.

    Raises
    ------
    InputError
        For a thing that is no line, and for a point that repeats the one before. `where` is empty unless a file is
        named.
    """
    if isinstance(value, str) and value.strip():
        places = _from_file(folder.file(value), value, units, folder)
        _refuse_repeats(places, value, units)
        return places
    if not isinstance(value, Sequence) or isinstance(value, str) or len(value) < 2:
        raise InputError("", f"{as_written(value)} is not a line.", _ACCEPTED)
    places = tuple(_place(point, units) for point in value)
    _refuse_repeats(places, "", units)
    return places


def _place(value: object, units: Units) -> Place:
    if not isinstance(value, Sequence) or isinstance(value, str) or len(value) != 2:
        raise InputError("", f"{as_written(value)} is not a place.", _ACCEPTED)
    return parse_length(value[0], units, ""), parse_length(value[1], units, "")


def _from_file(path: Path, label: str, units: Units, folder: Folder) -> tuple[Place, ...]:
    if not is_map(path) and not is_geojson(read_table_text(path, label)[0]):
        table = read_table(path, label, ("x", "y"))
        columns = [column_lengths(table, column, units) for column in ("x", "y")]
        return tuple(zip(*columns, strict=True))
    return _from_map(path, label, units, folder)


def _from_map(path: Path, label: str, units: Units, folder: Folder) -> tuple[Place, ...]:
    """The one line of a GeoJSON or a map file."""
    thing, said = read_map(path, label, folder.located, units)
    folder.said.extend(said)
    lines = [feature for feature in features_of(thing, label) if feature.kind == "LineString"]
    if len(lines) != 1 or not isinstance(lines[0].coordinates, list):
        kind = "file" if is_map(path) else "GeoJSON"
        raise InputError(label, f"the {kind} holds {len(lines)} lines.", "Accepted: exactly one LineString.")
    factor = unit_length(units)
    spots = [position(point, lines[0].where) for point in lines[0].coordinates]
    return tuple((easting * factor, northing * factor) for easting, northing, _ in spots)


def _refuse_repeats(places: Sequence[Place], where: str, units: Units) -> None:
    if len(places) > CORNERS_MOST.value:
        problem = f"the line has {len(places):,} points."
        raise InputError(where, problem, f"Accepted: up to {CORNERS_MOST.value:,.0f}.")
    if len(places) < 2:
        raise InputError(where, f"the line has {len(places)} point{'s' if len(places) != 1 else ''}.", _ACCEPTED)
    for before, after in itertools.pairwise(places):
        if math.dist(before, after) < _SAME:
            raise InputError(where, f"the line repeats the point {show_place(*after, units)}.", "Leave it out.")
