"""LandXML surfaces read back: the triangles of each, in metres."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from collections.abc import Mapping
from pathlib import Path

import numpy as np

from terrain.errors import OutputError
from terrain.files.bodies import Body
from terrain.files.surfaces_xml import SCHEMA
from terrain.units import unit_length

_NAMES = {"LandXML": SCHEMA}
DIGITS = 1e-6  # of the file's unit: the last digit of a coordinate


def read_landxml(path: Path) -> tuple[Mapping[str, Body], float]:
    """The surfaces of a file by name, east, north and up in metres, and the metres of its last digit.

    Raises
    ------
    OutputError
        If it cannot be read as such a file.
    """
    try:
        top = ET.parse(path).getroot()  # a file of our own, just written
        imperial = top.find("LandXML:Units/LandXML:Imperial", _NAMES) is not None
        unit = unit_length("ft" if imperial else "m")
        found = [_surface(surface, unit) for surface in top.iterfind("LandXML:Surfaces/LandXML:Surface", _NAMES)]
    except (ET.ParseError, OSError, ValueError, AttributeError, IndexError) as error:
        raise OutputError(f"{path.name}: the file was read back and could not be understood ({error}).") from error
    return {body.name: body for body in found}, DIGITS * unit


def _surface(surface: ET.Element, unit: float) -> Body:
    """One surface: its points stand as northing, easting, elevation, its faces as numbers of points from 1."""
    spots = [(element.text or "").split() for element in surface.iterfind(".//LandXML:Pnts/LandXML:P", _NAMES)]
    faces = [(element.text or "").split() for element in surface.iterfind(".//LandXML:Faces/LandXML:F", _NAMES)]
    points = np.array(spots, dtype=float)[:, [1, 0, 2]] * unit
    return Body(surface.get("name", ""), points, np.array(faces, dtype=np.int64) - 1, closed=False)
