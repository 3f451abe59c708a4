"""Outlines: a list of points, a table of points or a GeoJSON polygon becomes one valid polygon in metres."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
from shapely.geometry import Polygon
from shapely.geometry.polygon import orient
from shapely.validation import explain_validity

from terrain.errors import InputError
from terrain.limits import CORNERS_MOST
from terrain.survey import (
    WORKBOOKS,
    Feature,
    Folder,
    column_lengths,
    features_of,
    in_plane,
    is_geojson,
    is_map,
    parse_json,
    read_map,
    read_table,
    read_table_text,
)
from terrain.units import Units, as_written, parse_length, show_place

Ring = list[tuple[float, float]]

_LAYERS = ("bed", "outline")
_SMALLEST = 0.01  # m2: less than a spade's width either way encloses no bed
_ACCEPTED = "Accepted: a list of [x, y] points, a CSV file with x and y, or a GeoJSON polygon."


def read_outline(value: object, units: Units, folder: Folder) -> Polygon:
    """Return the polygon, in metres, anticlockwise, that an outline as written means.

    Parameters
    ----------
    value
        [[x, y], ...] in the site's units (or texts with units), the path of a CSV or GeoJSON file, a GeoJSON
        object, a polygon or an (n, 2) array in metres. GeoJSON coordinates are survey coordinates in the
        site's units. The closing point may be left out.
    units
        The site's units.
    folder
        Where paths start, and which files they may name.

    Raises
    ------
    InputError
        For a thing that is no outline, one that crosses itself (with the place) or one that encloses no
        ground. `where` is empty unless a file is named.
    """
    if isinstance(value, Polygon):
        return _valid(value, units, "")
    if isinstance(value, str):
        return _from_file(folder.file(value), value or '""', units, folder)
    if isinstance(value, Mapping):
        return _from_geojson(_in_plane(value, "", units, folder), units, "")
    if isinstance(value, np.ndarray) and value.ndim == 2 and value.shape[1] == 2:
        return _polygon([[(float(x), float(y)) for x, y in value]], units, "")
    return _polygon([_ring(value, units, "")], units, "")


def _from_file(path: Path, label: str, units: Units, folder: Folder) -> Polygon:
    if is_map(path):
        return _from_map(path, label, units, folder)
    text = "" if path.suffix.lower() in WORKBOOKS else read_table_text(path, label)[0]
    if not is_geojson(text):
        table = read_table(path, label, ("x", "y"), tab="Bed")
        ring = list(zip(column_lengths(table, "x", units), column_lengths(table, "y", units), strict=True))
        return _polygon([ring], units, label)
    return _from_geojson(_in_plane(parse_json(text, label), label, units, folder), units, label)


def _in_plane(thing: Mapping[str, Any], label: str, units: Units, folder: Folder) -> Mapping[str, Any]:
    """A GeoJSON object in survey coordinates."""
    moved, said = in_plane(thing, label, folder.located, units)
    folder.said.extend(said)
    return moved


def _from_map(path: Path, label: str, units: Units, folder: Folder) -> Polygon:
    """The one area of a map file, that of a layer for beds where there are several, or the one line that goes round."""
    thing, said = read_map(path, label, folder.located, units)
    folder.said.extend(said)
    areas, lines = _of_kind(thing, label, "Polygon"), _of_kind(thing, label, "LineString")
    found = areas or lines
    beds = [one for one in found if one.text(("layer",)).casefold() in _LAYERS]
    if len(found) > 1 and beds:
        found = beds
    if len(found) != 1:
        problem = f"it holds {len(areas)} areas and {len(lines)} lines."
        raise InputError(label, problem, 'Accepted: one area, one on a layer "bed", or one line round it.')
    rings = found[0].coordinates if areas else [found[0].coordinates]
    return _polygon([_ring(ring, units, label) for ring in rings], units, label)


def _of_kind(thing: Mapping[str, Any], label: str, kind: str) -> list[Feature]:
    return [feature for feature in features_of(thing, label) if feature.kind == kind]


def _from_geojson(thing: Mapping[str, Any], units: Units, where: str) -> Polygon:
    """The one polygon of a geometry, a feature or a collection of one feature."""
    kind = thing.get("type")
    coordinates = _listed(thing.get("coordinates"))
    if kind == "Polygon":
        if not coordinates:
            raise InputError(where, "the GeoJSON polygon has no coordinates.", _ACCEPTED)
        return _polygon([_ring(ring, units, where) for ring in coordinates], units, where)
    if kind == "FeatureCollection":
        members = _listed(thing.get("features"))
    elif kind == "MultiPolygon":
        members = [{"type": "Polygon", "coordinates": rings} for rings in coordinates]
    elif kind == "Feature":
        members = [thing.get("geometry")]
    else:
        raise InputError(where, f"a GeoJSON {as_written(kind)} is not a polygon.", _ACCEPTED)
    shapes = _mappings(members)
    if len(shapes) != 1:
        raise InputError(where, f"the GeoJSON {kind} holds {len(shapes)} shapes.", "Accepted: exactly one polygon.")
    return _from_geojson(shapes[0], units, where)


def _mappings(members: list[Any]) -> list[Mapping[str, Any]]:
    return [member for member in members if isinstance(member, Mapping)]


def _listed(value: Any) -> list[Any]:
    """What is a list, or nothing."""
    return value if isinstance(value, list) else []


def _ring(points: object, units: Units, where: str) -> Ring:
    """A list of [x, y] points in metres; a third ordinate, which GeoJSON allows, is left out."""
    if not isinstance(points, Sequence) or isinstance(points, str):
        raise InputError(where, f"{as_written(points)} is not an outline.", _ACCEPTED)
    ring: Ring = []
    for i, point in enumerate(points, start=1):
        if not isinstance(point, Sequence) or isinstance(point, str) or len(point) not in (2, 3):
            raise InputError(where, f"point {i}, {as_written(point)}, is not a pair [x, y].", _ACCEPTED)
        try:
            ring.append((parse_length(point[0], units, ""), parse_length(point[1], units, "")))
        except InputError as error:
            raise InputError(where, f"point {i}: {error.problem}", error.accepted) from None
    return ring


def _polygon(rings: list[Ring], units: Units, where: str) -> Polygon:
    """A valid polygon of a shell and its holes."""
    corners = sum(len(ring) for ring in rings)
    if corners > CORNERS_MOST.value:
        problem = f"the outline has {corners:,} corners."
        raise InputError(where, problem, f"Accepted: up to {CORNERS_MOST.value:,.0f}.")
    shell, *holes = [_without_repeats(ring) for ring in rings]
    for ring in (shell, *holes):
        if len(ring) < 3:
            raise InputError(where, f"an outline needs at least 3 different points; this has {len(ring)}.", _ACCEPTED)
    return _valid(Polygon(shell, holes), units, where)


def _without_repeats(ring: Ring) -> Ring:
    """The ring without points that repeat the one before, and without its closing point."""
    kept = [point for i, point in enumerate(ring) if i == 0 or point != ring[i - 1]]
    return kept[:-1] if len(kept) > 1 and kept[0] == kept[-1] else kept


def _valid(polygon: Polygon, units: Units, where: str) -> Polygon:
    if polygon.is_empty or polygon.convex_hull.area < _SMALLEST:
        raise InputError(where, "the outline encloses no ground: its area is zero.", _ACCEPTED)
    if not polygon.is_valid:
        raise InputError(where, _fault(polygon, units), "List the points in order around the outline, each once.")
    if polygon.area < _SMALLEST:
        raise InputError(where, "the outline encloses no ground: its area is zero.", _ACCEPTED)
    return orient(polygon)


def _fault(polygon: Polygon, units: Units) -> str:
    """What is wrong with the polygon and where, in the site's coordinates."""
    reason = explain_validity(polygon)
    found = re.search(r"\[(\S+) (\S+)\]", reason)
    place = f" at {show_place(float(found[1]), float(found[2]), units)}" if found else ""
    if "intersection" in reason.lower():
        return f"the outline crosses or touches itself{place}."
    if "hole" in reason.lower():
        return f"a hole of the outline does not lie inside it{place}."
    return f"the outline is not one closed piece of ground{place}."
