"""Places of a KML or KMZ file (OGC 12-007r2): points, lines and areas with their names, as a feature collection."""

from __future__ import annotations

import io
import math
import xml.etree.ElementTree as ET
import zipfile
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from terrain.errors import InputError
from terrain.survey.files import LARGEST_TEXT
from terrain.survey.measured import ReadOptions
from terrain.survey.readers.xml_tree import text_of, tree_of

_EARTH = "EPSG:4326"
_DEEPEST = 16  # geometries in each other
_ACCEPTED = "Accepted: longitude,latitude in degrees, such as -93.0912345,44.9512345."


def read(path: Path, label: str, asked: ReadOptions) -> Mapping[str, Any]:
    """Every placemark, with the name of its folder as `layer`; elevations are metres.

    Raises `InputError` for what is no KML and for places that are none.
    """
    data = path.read_bytes()
    top = tree_of(_unpacked(data, label) if data.startswith(b"PK") else data, label)
    if top.tag != "kml":
        raise InputError(label, f"its root is <{top.tag}>, not <kml>.", "Accepted: KML.")
    features = list(_features(top, "", label))
    return {"system": _EARTH, "features": features, "notes": []}


def _unpacked(data: bytes, label: str) -> bytes:
    """The document of an archive: the first KML in it, by the standard."""
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        name = next((name for name in archive.namelist() if name.lower().endswith(".kml")), None)
        if name is None:
            raise InputError(label, "the archive holds no KML.", "Accepted: KMZ with a .kml inside.")
        with archive.open(name) as stream:
            found = stream.read(LARGEST_TEXT + 1)
    if len(found) > LARGEST_TEXT:
        raise InputError(label, "the KML inside is larger than 16 MiB.", "Keep what lies about the bed.")
    return found


def _features(parent: ET.Element, layer: str, label: str) -> Iterator[Mapping[str, Any]]:
    for element in parent:
        if element.tag in ("Document", "Folder"):
            inside = text_of(element, "name") if element.tag == "Folder" else layer
            yield from _features(element, inside, label)
        elif element.tag == "Placemark":
            name = text_of(element, "name")
            properties = {"layer": layer, **_extended(element), "name": name}
            where = f'{label} placemark "{name}"' if name else f"{label} placemark"
            for geometry in _geometries(element, where, 0):
                yield {"type": "Feature", "geometry": geometry, "properties": properties}


def _extended(mark: ET.Element) -> dict[str, str]:
    """Values of a placemark by name: plain data and those of a schema."""
    found = {data.get("name", ""): text_of(data, "value") for data in mark.iterfind("ExtendedData/Data")}
    for data in mark.iterfind("ExtendedData/SchemaData/SimpleData"):
        found[data.get("name", "")] = (data.text or "").strip()
    return {key.lower(): value for key, value in found.items() if key}


def _geometries(parent: ET.Element, where: str, depth: int) -> Iterator[Mapping[str, Any]]:
    if depth > _DEEPEST:
        raise InputError(where, "its geometries stand in each other without end.", "Write them flat.")
    for element in parent:
        if element.tag == "MultiGeometry":
            yield from _geometries(element, where, depth + 1)
        elif element.tag == "Point":
            (place, *_) = _places(element, where)
            yield {"type": "Point", "coordinates": place}
        elif element.tag in ("LineString", "LinearRing"):
            yield {"type": "LineString", "coordinates": _places(element, where)}
        elif element.tag == "Polygon":
            rings = [*element.iterfind("outerBoundaryIs/LinearRing"), *element.iterfind("innerBoundaryIs/LinearRing")]
            if not rings:
                raise InputError(where, "the Polygon has no outer ring.", _ACCEPTED)
            yield {"type": "Polygon", "coordinates": [_places(ring, where) for ring in rings]}


def _places(element: ET.Element, where: str) -> list[list[float]]:
    """The coordinates of an element: tuples apart by blanks, their values by commas without any."""
    places = [_place(written, where) for written in (element.findtext("coordinates") or "").split()]
    if not places:
        raise InputError(where, f"the {element.tag} has no coordinates.", _ACCEPTED)
    return places


def _place(written: str, where: str) -> list[float]:
    try:
        place = [float(value) for value in written.split(",")]
    except ValueError:
        place = []
    if len(place) not in (2, 3) or not all(map(math.isfinite, place)):
        raise InputError(where, f'"{written}" is no place.', _ACCEPTED)
    return place
