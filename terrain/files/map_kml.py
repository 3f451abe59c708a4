"""Outline, trees, their zones and stakes as KML for a phone; KMZ is the same in an archive.

Follows OGC 12-007r2 (KML 2.3): longitude, latitude in degrees; shapes lie on the ground. Colours are written as
opacity, blue, green, red; every thing carries its name, so that no colour has to be told apart.
"""

from __future__ import annotations

import io
import xml.etree.ElementTree as ET
import zipfile
from collections.abc import Sequence
from pathlib import Path

import shapely
from shapely.geometry import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from terrain.errors import OutputError
from terrain.files.features import DEGREE_PLACES, MapFeature, map_layers, on_earth
from terrain.files.job import Job

_SPACE = "http://www.opengis.net/kml/2.2"
_WARNING = (
    "A phone shows where it is to some 5 m: this finds the yard and the bed. Stakes are set by tape and level, from "
    "the set-out sheet."
)
_FOLDERS = (("bed", "Bed"), ("trees", "Trees"), ("zones", "Root zones"), ("yard", "Yard"), ("stakes", "Stakes"))
# Line and area of each layer: opacity, blue, green, red. Brown for soil, green for trees, grey for what stands there.
_STYLES = {
    "bed": ("ff0a518c", "6622a1d8"),
    "zones": ("ff505a01", "33acb45a"),
    "yard": ("ff404040", "66969696"),
}
_DAY = (1980, 1, 1, 0, 0, 0)  # of the archive's one entry, so that the same yard makes the same file


def write_kml(job: Job, path: Path) -> None:
    """Write the file, by its ending. Raises `OutputError` where it cannot be, or the yard is nowhere on earth."""
    text = _document(job)
    try:
        if path.suffix == ".kml":
            path.write_bytes(text)
            return
        packed = io.BytesIO()
        with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
            archive.writestr(zipfile.ZipInfo("doc.kml", _DAY), text, zipfile.ZIP_DEFLATED)
        path.write_bytes(packed.getvalue())
    except OSError as error:
        raise OutputError(f"{path} cannot be written: {error.strerror or error}") from error


def _document(job: Job) -> bytes:
    top = ET.Element("kml", xmlns=_SPACE)
    document = ET.SubElement(top, "Document")
    _text(document, "name", job.site.name)
    _text(document, "description", f"{_WARNING} Lengths in {job.site.units}; {job.grade} grade.")
    for layer, (line, area) in _STYLES.items():
        style = ET.SubElement(document, "Style", id=layer)
        _text(ET.SubElement(style, "LineStyle"), "color", line)
        _text(ET.SubElement(style, "PolyStyle"), "color", area)
    layers = map_layers(job)
    for layer, title in _FOLDERS:
        _folder(document, (layer, title), layers.get(layer, ()), job)
    ET.indent(top)
    return bytes(ET.tostring(top, encoding="utf-8", xml_declaration=True))


def _folder(document: ET.Element, called: tuple[str, str], features: Sequence[MapFeature], job: Job) -> None:
    layer, title = called
    if not features:
        return
    folder = ET.SubElement(document, "Folder")
    _text(folder, "name", title)
    for feature in features:
        assert feature.shape is not None
        mark = ET.SubElement(folder, "Placemark")
        _text(mark, "name", f"{feature.values.get('name', '')}{' ' + what if (what := _what(feature)) else ''}")
        _text(mark, "description", _told(feature, job.site.units))
        if layer in _STYLES:
            _text(mark, "styleUrl", f"#{layer}")
        _geometry(mark, on_earth(feature.shape, job))


def _what(feature: MapFeature) -> str:
    """What distinguishes two marks of one name: a tree's two zones."""
    what = str(feature.values.get("what", ""))
    return what if what in ("keep-off", "root zone") else ""


def _told(feature: MapFeature, units: str) -> str:
    rows = [
        f"{key.replace('_', ' ')}: {value if isinstance(value, str) else f'{value:.2f} {units}'}"
        for key, value in feature.values.items()
        if key not in ("name", "code")
    ]
    return "; ".join(rows)


def _text(parent: ET.Element, tag: str, text: str) -> None:
    ET.SubElement(parent, tag).text = text


def _geometry(parent: ET.Element, shape: BaseGeometry) -> None:
    if isinstance(shape, Polygon):
        area = ET.SubElement(parent, "Polygon")
        for tag, ring in [("outerBoundaryIs", shape.exterior), *(("innerBoundaryIs", r) for r in shape.interiors)]:
            _text(ET.SubElement(ET.SubElement(area, tag), "LinearRing"), "coordinates", _listed(ring))
    elif isinstance(shape, Point | LineString):
        _text(ET.SubElement(parent, shape.geom_type), "coordinates", _listed(shape))
    else:
        several = ET.SubElement(parent, "MultiGeometry")
        for part in shapely.get_parts(shape):
            _geometry(several, part)


def _listed(line: BaseGeometry) -> str:
    places = shapely.get_coordinates(line).tolist()
    return " ".join(f"{lon:.{DEGREE_PLACES}f},{lat:.{DEGREE_PLACES}f}" for lon, lat in places)
