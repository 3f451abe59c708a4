"""Points, lines and polygons of a GeoJSON or a map file, by the code in their properties."""

from __future__ import annotations

from pathlib import Path

from terrain.errors import InputError
from terrain.grid import Array
from terrain.site import as_points
from terrain.survey.geojson import Feature, features_of, position
from terrain.survey.headings import CODE, ELEVATION, POINT
from terrain.survey.maps import read_map
from terrain.survey.measured import Measured, MeasuredLine, ReadOptions, refuse_many
from terrain.units import parse_length, unit_length

_CODES = (*CODE, "layer")
_NAMES = (*(name for name in POINT if name != "id"), "id")
_SHOTS = "shots"  # as our own map files call their layer of shots


def read(path: Path, label: str, asked: ReadOptions) -> Measured:
    """Read the points and lines of a GeoJSON or a map file, in survey coordinates.

    A point's elevation is its third ordinate, or a property elevation (elev, z, height, level, rl), which may carry a
    unit; its name and code are properties too, named like the columns of a table. A line's or polygon's code stands in
    the property code, description or layer. Raises `InputError` for what is neither, and for
    longitude and latitude that cannot be brought to the survey.
    """
    thing, said = read_map(path, label, asked.located, asked.units)
    factor = unit_length(asked.units)
    points: list[tuple[float, float, float]] = []
    names: list[str] = []
    codes: list[str] = []
    lines: list[MeasuredLine] = []
    for feature in _asked_for(list(features_of(thing, label)), asked):
        code = feature.text(_CODES)
        if feature.kind != "Point":
            lines.append(MeasuredLine(code, _line(feature, factor), feature.where))
            continue
        points.append(_point(feature, factor, asked))
        names.append(feature.text(_NAMES))
        codes.append(code)
    refuse_many(len(points), label)
    return Measured(as_points(points), tuple(names), tuple(codes), lines=tuple(lines), notes=said)


def _asked_for(features: list[Feature], asked: ReadOptions) -> list[Feature]:
    """Points of the layers of shots alone, where layers are named or one is called so; lines of every layer."""
    named = {name.casefold() for name in asked.layers.get("shots", ())}
    layers = {feature.text(("layer",)).casefold() for feature in features if feature.kind == "Point"}
    chosen = named or ({_SHOTS} if _SHOTS in layers else layers)
    return [f for f in features if f.kind != "Point" or f.text(("layer",)).casefold() in chosen]


def _point(feature: Feature, factor: float, asked: ReadOptions) -> tuple[float, float, float]:
    easting, northing, elevation = position(feature.coordinates, feature.where)
    written = feature.text(ELEVATION)
    if written:
        return easting * factor, northing * factor, parse_length(written, asked.units, f"{feature.where} elevation")
    return easting * factor, northing * factor, elevation * factor


def _line(feature: Feature, factor: float) -> Array:
    """The line, or the outer ring of a polygon."""
    rings = feature.coordinates
    ring = rings[0] if feature.kind == "Polygon" and isinstance(rings, list) and rings else rings
    if not isinstance(ring, list) or len(ring) < 2:
        raise InputError(feature.where, f"the {feature.kind} has fewer than two points.", "Draw it again.")
    return as_points([position(point, feature.where) for point in ring]) * factor
