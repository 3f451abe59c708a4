"""Shapes of a shapefile, with the values and the system of the files beside it."""

from __future__ import annotations

import io
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from terrain.errors import InputError
from terrain.extras import library
from terrain.survey.files import LARGEST_TEXT, NoFileError, read_bytes
from terrain.survey.measured import ReadOptions, refuse_many

_START = b"\x00\x00\x27\x0a"  # file code 9994
_POINTS = (1, 11, 21)  # types of shape: point, with z, with m (ESRI Shapefile Technical Description, 1998, table 1)
_SEVERAL = (8, 18, 28)
_HEIGHTS = (11, 13, 15, 18)
_LINES = (3, 13, 23)


def read(path: Path, label: str, asked: ReadOptions) -> Mapping[str, Any]:
    """Every shape with its values by their names in small letters.

    The table (.dbf), the system (.prj) and the code page (.cpg) are read where they lie beside the file under its name;
    a link is none of them. Raises `InputError` for what is no shapefile.
    """
    shapefile: Any = library("shapefile", label, "reading a shapefile", "maps")
    data = path.read_bytes()
    if not data.startswith(_START):
        raise InputError(label, "this is not a shapefile, whatever its name says.", "Accepted: a shapefile.")
    table = _beside(path, ".dbf")
    parts = {"shp": io.BytesIO(data)} | ({"dbf": io.BytesIO(table)} if table else {})
    encoding = _beside(path, ".cpg").decode("ascii", "ignore").strip() or "utf-8"
    with shapefile.Reader(**parts, encoding=encoding, encodingErrors="replace") as reader:
        refuse_many(len(reader), label)
        features = list(_features(reader, with_values=bool(table)))
    system = _beside(path, ".prj").decode("utf-8", "ignore").strip()
    said = [] if system else [f"{label}: no .prj lies beside it; its numbers were taken as the survey's."]
    return {"system": system, "features": features, "notes": said}


def _beside(path: Path, ending: str) -> bytes:
    """The file of the same name with another ending, in small or capital letters; nothing where there is none."""
    for written in (ending, ending.upper()):
        try:
            beside = path.with_suffix(written)
            return read_bytes(beside, beside.name, most=LARGEST_TEXT, follow=False)
        except NoFileError:
            continue
    return b""


def _features(reader: Any, *, with_values: bool) -> Iterator[Mapping[str, Any]]:
    """Every shape with its row of the table."""
    rows = reader.iterRecords() if with_values else ({} for _ in range(len(reader)))
    for shape, row in zip(reader.iterShapes(), rows, strict=True):
        values = row.as_dict() if with_values else row
        kept = {key.lower(): value for key, value in values.items() if isinstance(value, str | int | float)}
        for geometry in _geometries(shape):
            yield {"type": "Feature", "geometry": geometry, "properties": kept}


def _geometries(shape: Any) -> Iterator[Mapping[str, Any]]:
    """A shape as GeoJSON: points and lines with their heights, areas by their rings in plan."""
    kind, points = shape.shapeType, [list(map(float, point[:2])) for point in shape.points]
    if kind in _HEIGHTS:
        points = [[*point, float(height)] for point, height in zip(points, shape.z, strict=True)]
    if kind in (*_POINTS, *_SEVERAL):
        yield from ({"type": "Point", "coordinates": point} for point in points)
    elif kind in _LINES:
        ends = [*shape.parts[1:], len(points)]
        yield from (
            {"type": "LineString", "coordinates": points[start:end]}
            for start, end in zip(shape.parts, ends, strict=True)
        )
    elif points:
        yield dict(shape.__geo_interface__)
