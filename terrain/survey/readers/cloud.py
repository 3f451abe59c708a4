"""Ground points of a LAS or LAZ point cloud, thinned to shots."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import numpy as np

from terrain.earth import SURVEY_FOOT
from terrain.errors import InputError
from terrain.extras import library
from terrain.grid import Array, Mask
from terrain.numerics import Stored
from terrain.survey.measured import Measured, ReadOptions, settled_unit
from terrain.survey.readers.cut import refuse_cut, whole_points
from terrain.survey.readers.dense import in_window, shots_of, window_box
from terrain.survey.readers.reference import ReferenceUnits, unit_of_number, units_of_text
from terrain.survey.readers.thinning import Thinning

# Standard class names of the LAS specification 1.4 R15, ASPRS 2019, table 17.
_CLASS_NAMES = {
    0: "never classified",
    1: "unclassified",
    2: "ground",
    3: "low vegetation",
    4: "medium vegetation",
    5: "high vegetation",
    6: "building",
    7: "low noise",
    8: "model key point",
    9: "water",
}
# Unit codes and keys of the GeoTIFF specification (OGC 19-008).
_UNIT_CODES = {9001: 1.0, 9002: 0.3048, 9003: SURVEY_FOOT}
_MODEL, _GEOGRAPHIC, _PROJECTED, _PLANE_UNIT, _HEIGHT_UNIT = 1024, 2, 3072, 3076, 4099


def read(path: Path, label: str, asked: ReadOptions) -> Measured:
    """Read the ground points of a cloud.

    Points that the file marks as withheld are not read, nor are those outside `asked.window`. Raises `InputError` for
    a file that is no LAS, for coordinates in degrees, and where no point is of the classes asked for.
    """
    laspy, units = plane_cloud(path, label)
    with laspy.open(path) as reader:
        east, notes = settled_unit(units.plane, asked, label, "coordinates")
        up, more = _height_unit(units, asked, label)
        thinning = Thinning(asked.most)
        classes = _pour(reader, thinning, asked, np.array([east, east, up]), label)
    ground = sum(classes[number] for number in set(asked.classes))
    if not ground:
        raise _nothing(label, asked, classes)
    kept = ", ".join(_class_name(number) for number in asked.classes)
    said = f"{ground:,} of {sum(classes.values()):,} points are of class {kept}"
    return shots_of(thinning, label, asked, said, (*notes, *more))


def plane_cloud(path: Path, label: str) -> tuple[Any, ReferenceUnits]:
    """The library that opens a cloud, and the units that the file names.

    Raises `InputError` where the library is not there, for a file that is no LAS or is cut, and for degrees.
    """
    laspy: Any = library("laspy", label, "reading a point cloud")
    if path.suffix.lower() == ".laz":
        library("lazrs", label, "reading a compressed point cloud")
    refuse_cut(laspy, path, label)
    with laspy.open(path) as reader:
        units = named_units(reader)
    if units.degrees:
        raise InputError(
            label, "its coordinates are degrees of longitude and latitude.", "Write it in plane coordinates."
        )
    return laspy, units


def _height_unit(units: ReferenceUnits, asked: ReadOptions, label: str) -> tuple[float, tuple[str, ...]]:
    """The unit of heights: named, or that of the coordinates, with a note."""
    if units.height is not None or units.plane is None:
        return settled_unit(units.height, asked, label, "heights")
    factor, _ = settled_unit(units.plane, asked, label, "heights")
    return factor, (f"{label}: the file does not name the unit of its heights; that of its coordinates was taken.",)


def named_units(reader: Any) -> ReferenceUnits:
    """The units that the header's records name: well-known text before keys."""
    text, values = _records(reader.header)
    by_text = units_of_text(text)
    by_keys = ReferenceUnits(
        _UNIT_CODES.get(values.get(_PLANE_UNIT, 0)),
        _UNIT_CODES.get(values.get(_HEIGHT_UNIT, 0)),
        values.get(_MODEL) == _GEOGRAPHIC,
    )
    number = values.get(_PROJECTED, 0)
    known = by_text.plane is not None or by_keys.plane is not None or number in (0, 32767)
    by_number = ReferenceUnits() if known else unit_of_number(number)
    found = (by_text, by_keys, by_number)
    plane, height = _first(one.plane for one in found), _first(one.height for one in found)
    return ReferenceUnits(plane, height, by_text.degrees or by_keys.degrees)


def _records(header: Any) -> tuple[str, dict[int, int]]:
    """The first well-known text of a header's records, "" where there is none, and the keys that hold a number."""
    records = [*header.vlrs, *(header.evlrs or ())]
    text = str(_first(getattr(record, "string", None) for record in records) or "")
    keys = _first(getattr(record, "geo_keys", None) for record in records) or ()
    return text, {key.id: key.value_offset for key in keys if key.tiff_tag_location == 0}


def _first(values: Iterable[Any]) -> Any:
    """The first that there is."""
    return next((value for value in values if value is not None), None)


def _pour(reader: Any, thinning: Thinning, asked: ReadOptions, factors: Array, label: str) -> Counter[int]:
    """Put the points of the classes asked for into the thinning; how many points each class has in the window."""
    counts = np.zeros(256, dtype=np.int64)
    scale, offset = np.asarray(reader.header.scales), np.asarray(reader.header.offsets)
    for chunk in whole_points(reader, label):
        kinds = np.ascontiguousarray(chunk.classification)
        wanted = np.logical_or.reduce([kinds == kind for kind in asked.classes])
        out = np.asarray(chunk.withheld, dtype=bool)
        if asked.window is not None:
            out |= ~_in_box(chunk, asked, factors)
        if out.any():
            kinds, wanted = kinds[~out], wanted & ~out
        counts += np.bincount(kinds, minlength=256)
        x, y, z = (np.compress(wanted, np.ascontiguousarray(chunk.array[axis])) for axis in "XYZ")
        stored = Stored((x, y, z), scale * factors, offset * factors)
        thinning.pour(stored) if asked.window is None else thinning.add(in_window(stored.points(), asked))
    return Counter({int(kind): int(counts[kind]) for kind in np.flatnonzero(counts)})


def _in_box(chunk: Any, asked: ReadOptions, factors: Array) -> Mask:
    """(n,) True for the points in the box about the window."""
    west, south, east, north = window_box(asked)
    x, y = np.asarray(chunk.x) * factors[0], np.asarray(chunk.y) * factors[1]
    inside: Mask = (x >= west) & (x <= east) & (y >= south) & (y <= north)
    return inside


def _class_name(number: int) -> str:
    return f"{number} ({_CLASS_NAMES[number]})" if number in _CLASS_NAMES else str(number)


def _nothing(label: str, asked: ReadOptions, classes: Counter[int]) -> InputError:
    wanted = " or ".join(_class_name(number) for number in asked.classes)
    there = ", ".join(f"{_class_name(number)}: {count:,}" for number, count in sorted(classes.items()))
    where = " within the stated distance of the bed" if asked.window is not None else ""
    return InputError(
        label,
        f"no point{where} is of class {wanted}; points by class: {there or 'none'}.",
        "Name the ground's classes, such as classes = [2] under [survey].",
    )
