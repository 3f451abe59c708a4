"""GeoJSON (RFC 7946) in survey coordinates: its features one by one, and their positions as they stand."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from terrain.errors import InputError
from terrain.survey.files import read_text
from terrain.survey.nested import plain_values
from terrain.units import as_written

_MULTI = {"MultiPoint": "Point", "MultiLineString": "LineString", "MultiPolygon": "Polygon"}
_FARTHEST = 1e12  # of any unit: no coordinates on the ground run so far
_ACCEPTED = "Accepted: GeoJSON features of points, lines and polygons."


@dataclass(frozen=True)
class Feature:
    """One simple geometry: its type, its coordinates as written, its properties with small-letter keys, its place."""

    kind: str
    coordinates: Any
    properties: Mapping[str, Any]
    where: str

    def text(self, names: Sequence[str]) -> str:
        """The first of the named properties, as text; empty where there is none."""
        value = next((self.properties[name] for name in names if self.properties.get(name) is not None), "")
        return str(value).strip()


def is_geojson(text: str) -> bool:
    """Whether a text is meant as JSON and not as a table."""
    return text.lstrip().startswith("{")


def read_json(path: Path, label: str) -> Mapping[str, Any]:
    """The object in a JSON file; `InputError` names the line of a fault."""
    return parse_json(read_text(path, label), label)


def parse_json(text: str, label: str) -> Mapping[str, Any]:
    """As `read_json`, from a text."""
    try:
        thing = plain_values(json.loads(text, parse_constant=_no_number), label)
    except json.JSONDecodeError as error:
        raise InputError(
            f"{label} line {error.lineno}", f"this is not valid JSON: {error.msg}.", "Write it again as GeoJSON."
        ) from None
    except RecursionError:
        raise InputError(label, "this JSON is nested without end.", _ACCEPTED) from None
    except ValueError as error:  # a word for a number, a number of thousands of digits
        raise InputError(label, f"it holds a number that is none: {error}.", _ACCEPTED) from None
    if not isinstance(thing, Mapping):
        raise InputError(label, f"{as_written(thing)} is no GeoJSON object.", _ACCEPTED)
    return thing


def _no_number(word: str) -> float:
    raise ValueError(word)


def features_of(thing: Mapping[str, Any], label: str) -> Iterator[Feature]:
    """Every simple geometry of a geometry, a feature or a collection, counted from 1.

    Raises `InputError` for a member that is none of these.
    """
    members = thing.get("features") if thing.get("type") == "FeatureCollection" else [thing]
    if not isinstance(members, list):
        raise InputError(label, "the GeoJSON FeatureCollection has no features.", _ACCEPTED)
    for i, member in enumerate(members, start=1):
        where = f"{label} feature {i}" if len(members) > 1 else label
        if not isinstance(member, Mapping):
            raise InputError(where, f"{as_written(member)} is no feature.", _ACCEPTED)
        feature = member.get("type") == "Feature"
        geometry, properties = (member.get("geometry"), _properties(member)) if feature else (member, {})
        yield from _simple(geometry, properties, where)


def _properties(feature: Mapping[str, Any]) -> dict[str, Any]:
    """The properties of a feature by their names in small letters, its id among them."""
    written = feature.get("properties")
    properties = {str(key).lower(): value for key, value in written.items()} if isinstance(written, Mapping) else {}
    if feature.get("id") is not None:
        properties.setdefault("id", feature["id"])
    return properties


def _simple(geometry: object, properties: Mapping[str, Any], where: str) -> Iterator[Feature]:
    """A geometry's simple parts; none for a feature without geometry."""
    if geometry is None:
        return
    if not isinstance(geometry, Mapping):
        raise InputError(where, f"{as_written(geometry)} is no geometry.", _ACCEPTED)
    kind, coordinates = str(geometry.get("type")), geometry.get("coordinates")
    if kind == "GeometryCollection":
        parts = geometry.get("geometries")
        for part in parts if isinstance(parts, list) else ():
            yield from _simple(part, properties, where)
    elif kind in _MULTI:
        if not isinstance(coordinates, list):
            raise InputError(where, f"the {kind} has no coordinates.", _ACCEPTED)
        for part in coordinates:
            yield Feature(_MULTI[kind], part, properties, where)
    elif kind in _MULTI.values():
        yield Feature(kind, coordinates, properties, where)
    else:
        raise InputError(where, f"a GeoJSON {as_written(kind)} is no geometry.", _ACCEPTED)


def position(value: object, where: str) -> tuple[float, float, float]:
    """One position in the file's own unit; the elevation is nan where it has none."""
    listed = isinstance(value, Sequence) and not isinstance(value, str)
    ordinates = [part for part in value if _is_number(part)] if listed else []  # type: ignore[attr-defined]
    if len(ordinates) not in (2, 3) or len(ordinates) != len(value):  # type: ignore[arg-type]
        raise InputError(where, f"{as_written(value)} is not a position [x, y] or [x, y, elevation].", _ACCEPTED)
    if not all(abs(part) < _FARTHEST for part in ordinates):
        raise InputError(where, f"{as_written(value)} lies nowhere on the ground.", _ACCEPTED)
    east, north, elevation = (*map(float, ordinates), float("nan"))[:3]
    return east, north, elevation


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)
