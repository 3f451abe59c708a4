"""Points, lines and polygons of a GeoJSON file, by the code in their properties."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np

from terrain.errors import InputError
from terrain.grid import Array
from terrain.site import as_points
from terrain.survey.geojson import Feature, features_of, position, read_json
from terrain.survey.headings import CODE, ELEVATION, POINT
from terrain.survey.measured import Measured, MeasuredLine, ReadOptions, refuse_many
from terrain.units import parse_length, unit_length

_CODES = (*CODE, "layer")
_NAMES = (*(name for name in POINT if name != "id"), "id")
_SMALLEST = 0.01  # a yard in degrees is smaller than this, a yard in feet or metres is not


def read(path: Path, label: str, asked: ReadOptions) -> Measured:
    """Read the points and lines of a GeoJSON file.

    A point's elevation is its third ordinate, or a property elevation (elev, z, height, level, rl), which may carry a
    unit; its name and code are properties too, named like the columns of a table. A line's or polygon's code stands in
    the property code, description or layer. Raises `InputError` for what is not GeoJSON and for degrees.
    """
    thing = read_json(path, label)
    factor = unit_length(asked.units)
    points: list[tuple[float, float, float]] = []
    names: list[str] = []
    codes: list[str] = []
    lines: list[MeasuredLine] = []
    for feature in features_of(thing, label):
        code = feature.text(_CODES)
        if feature.kind != "Point":
            lines.append(MeasuredLine(code, _line(feature, factor), feature.where))
            continue
        points.append(_point(feature, factor, asked))
        names.append(feature.text(_NAMES))
        codes.append(code)
    refuse_many(len(points), label)
    shots = as_points(points)
    _refuse_degrees(np.vstack([shots, *(line.points for line in lines)]) / factor, label)
    return Measured(shots, tuple(names), tuple(codes), lines=tuple(lines), notes=_reference(thing, label, asked))


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


def _refuse_degrees(places: Array, label: str) -> None:
    """Longitude and latitude are no plan."""
    if len(places) < 2 or not np.isfinite(places[:, :2]).all():
        return
    spread = float(np.ptp(places[:, :2], axis=0).max())
    if spread < _SMALLEST and np.abs(places[:, 0]).max() <= 180.0 and np.abs(places[:, 1]).max() <= 90.0:
        middle = ", ".join(f"{value:.5f}" for value in places[:, :2].mean(axis=0))
        raise InputError(
            label,
            f"the coordinates, near {middle}, look like degrees of longitude and latitude.",
            "Accepted: survey coordinates in feet or metres; write the file in a plane coordinate system.",
        )


def _reference(thing: Mapping[str, Any], label: str, asked: ReadOptions) -> tuple[str, ...]:
    """A note on a coordinate reference that the file names and that was not worked with."""
    crs = thing.get("crs")
    if not isinstance(crs, Mapping):
        return ()
    properties = crs.get("properties")
    name = properties.get("name") if isinstance(properties, Mapping) else None
    return (f"{label}: the file names the reference {name or crs}; its coordinates were taken in {asked.units}.",)
