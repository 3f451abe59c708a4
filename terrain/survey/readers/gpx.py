"""Waypoints, routes and tracks of a GPX file (GPX 1.1), as a feature collection."""

from __future__ import annotations

import math
import xml.etree.ElementTree as ET
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from terrain.errors import InputError
from terrain.survey.measured import ReadOptions
from terrain.survey.readers.xml_tree import text_of, tree_of

_EARTH = "EPSG:4326"
_LINES = (("rte", "rtept"), ("trkseg", "trkpt"))


def read(path: Path, label: str, asked: ReadOptions) -> Mapping[str, Any]:
    """Every waypoint as a point, every route and piece of a track as a line; elevations are metres.

    Raises `InputError` for what is no GPX and for places that are none.
    """
    top = tree_of(path.read_bytes(), label)
    if top.tag != "gpx":
        raise InputError(label, f"its root is <{top.tag}>, not <gpx>.", "Accepted: GPX.")
    features = list(_features(top, label))
    heights = any(len(f["geometry"]["coordinates"]) == 3 for f in features if f["geometry"]["type"] == "Point")
    said = [f"{label}: a receiver's elevations are good to some metres; level the shots."] if heights else []
    return {"system": _EARTH, "features": features, "notes": said}


def _features(top: ET.Element, label: str) -> Iterator[Mapping[str, Any]]:
    for number, mark in enumerate(top.iterfind("wpt"), start=1):
        properties = {"name": text_of(mark, "name"), "code": text_of(mark, "desc") or text_of(mark, "sym")}
        yield _feature("Point", _place(mark, f"{label} waypoint {number}"), properties)
    for outer, inner in _LINES:
        for number, line in enumerate(top.iter(outer), start=1):
            where = f"{label} {outer} {number}"
            places = [_place(point, where) for point in line.iterfind(inner)]
            if len(places) > 1:
                yield _feature("LineString", places, {"name": text_of(line, "name"), "code": text_of(line, "desc")})


def _feature(kind: str, coordinates: object, properties: Mapping[str, str]) -> Mapping[str, Any]:
    return {"type": "Feature", "geometry": {"type": kind, "coordinates": coordinates}, "properties": properties}


def _place(point: ET.Element, where: str) -> list[float]:
    written = [point.get("lon", ""), point.get("lat", "")]
    height = text_of(point, "ele")
    try:
        place = [float(value) for value in (*written, *([height] if height else []))]
    except ValueError:
        place = [math.nan]
    if not all(map(math.isfinite, place)):
        shown = ", ".join((*written, height))
        raise InputError(where, f'"{shown}" is no lon, lat and ele.', "Accepted: degrees, and metres.")
    return place
