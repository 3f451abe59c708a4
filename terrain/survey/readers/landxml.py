"""Surfaces of a LandXML file, of any version: the points of one as shots, its breaklines as lines.

A point stands as northing, easting, elevation and is called by its id; a face names three of them, and one marked
i="1" is not there (LandXML-1.2 schema, P, F, Breakline). Versions differ for surfaces in their name alone, so that
elements are found by their local names.
"""

from __future__ import annotations

import xml.etree.ElementTree as ET
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from terrain.earth import SURVEY_FOOT, between, system_of
from terrain.errors import InputError
from terrain.grid import Array, Index
from terrain.survey.measured import Measured, MeasuredLine, ReadOptions, refuse_many, settled_unit
from terrain.survey.readers.xml_tree import tree_of

_UNITS = {
    "foot": 0.3048,
    "ussurveyfoot": SURVEY_FOOT,
    "inch": 0.0254,
    "meter": 1.0,
    "metre": 1.0,
    "centimeter": 0.01,
    "millimeter": 0.001,
    "kilometer": 1000.0,
}
_GROUND = ("exist", "ground", "topo", "survey")  # in the name of the surface that is there before anything is built


@dataclass(frozen=True)
class XmlSurface:
    """A surface: its name, (n, 3) points as easting, northing, elevation in the file's unit, (m, 3) corners of its
    visible faces, and its breaklines, (k, 3) each.
    """

    name: str
    points: Array
    faces: Index
    breaklines: tuple[Array, ...]


@dataclass(frozen=True)
class XmlSurfaces:
    """Every surface of a file; metres in its unit, None where it names none; the number of its system, "" for none."""

    surfaces: tuple[XmlSurface, ...]
    unit: float | None
    system: str


def read(path: Path, label: str, asked: ReadOptions) -> Measured:
    """The points of one surface as shots: of the one that `asked.layers["shots"]` names, of the only one, or of the one
    whose name says that it is the ground that is there.

    Raises `InputError` for what is no LandXML, and where several surfaces could be meant.
    """
    found = surfaces_of(path.read_bytes(), label)
    surface = _chosen(found.surfaces, asked, label)
    refuse_many(len(surface.points), label)
    factor, notes = settled_unit(found.unit, asked, label, "coordinates")
    parts = [surface.points, *surface.breaklines]
    if asked.located is not None and found.system and system_of(found.system) != system_of(asked.located.system):
        places = np.vstack(parts)
        moved = between(found.system, asked.located.system, places[:, :2]) * asked.located.unit
        placed = np.column_stack([moved, places[:, 2] * factor])
        notes = (*notes, f"{label}: places of {found.system} were brought to {asked.located.name}.")
    else:
        placed = np.vstack(parts) * factor
    shots, *lines = np.split(placed, np.cumsum([len(part) for part in parts])[:-1])
    said = f'{label}: the points of the surface "{surface.name}" were taken as shots, without its triangles.'
    return Measured(
        shots,
        ("",) * len(shots),
        ("",) * len(shots),
        lines=tuple(
            MeasuredLine("breakline", line, f'{label} "{surface.name}" breakline {number}')
            for number, line in enumerate(lines, start=1)
        ),
        notes=(*notes, said),
    )


def _chosen(surfaces: Sequence[XmlSurface], asked: ReadOptions, label: str) -> XmlSurface:
    """The surface that is asked for, the one that is the ground by its name, or the only one."""
    named = [name.casefold() for name in asked.layers.get("shots", ())]
    found = [surface for surface in surfaces if surface.name.casefold() in named]
    if not named:
        found = [surface for surface in surfaces if _is_ground(surface)] or list(surfaces)
    if len(found) == 1:
        return found[0]
    names = ", ".join(f'"{surface.name}"' for surface in surfaces)
    problem = f"it holds {len(surfaces)} surfaces{': ' * bool(names)}{names}."
    raise InputError(label, problem, 'Accepted: one, or one by its name: layers = { shots = ["..."] }.')


def _is_ground(surface: XmlSurface) -> bool:
    return any(word in surface.name.casefold() for word in _GROUND)


def surfaces_of(data: bytes, label: str) -> XmlSurfaces:
    """Every surface of the text of a file. Raises `InputError` for what is no LandXML."""
    top = tree_of(data, label)
    if top.tag != "LandXML":
        raise InputError(label, f"its root is <{top.tag}>, not <LandXML>.", "Accepted: LandXML.")
    units = next((child for element in top.iter("Units") for child in element), None)
    unit = None if units is None else _UNITS.get(str(units.get("linearUnit", "")).lower())
    system = next((element.get("epsgCode", "") for element in top.iter("CoordinateSystem")), "")
    surfaces = [_surface(element, label) for element in top.iter("Surface")]
    known = f"EPSG:{system}" if system.isdigit() else ""
    return XmlSurfaces(tuple(surface for surface in surfaces if len(surface.points)), unit, known)


def _surface(element: ET.Element, label: str) -> XmlSurface:
    name = " ".join(element.get("name", "").split())
    where = f'{label} surface "{name}"'
    spots: list[list[float]] = []
    rows: dict[str, int] = {}
    for point in element.iterfind("Definition/Pnts/P"):
        rows[point.get("id", "")] = len(spots)
        spots.append(_numbers(point.text, where, 3))
    points = np.array(spots, dtype=float).reshape(-1, 3)[:, [1, 0, 2]]
    faces = [
        _corners(face.text, rows, where) for face in element.iterfind("Definition/Faces/F") if face.get("i") != "1"
    ]
    lines = [
        np.array(_numbers(line.text, where), dtype=float).reshape(-1, 3)[:, [1, 0, 2]]
        for line in element.iterfind("SourceData/Breaklines/Breakline/PntList3D")
    ]
    return XmlSurface(name, points, np.array(faces, dtype=np.int64).reshape(-1, 3), tuple(lines))


def _numbers(text: str | None, where: str, count: int | None = None) -> list[float]:
    """The numbers of an element: `count` of them, or any whole number of threes."""
    try:
        found = [float(word) for word in (text or "").split()]
    except ValueError:
        found = []
    if (count is not None and len(found) != count) or len(found) % 3 or not np.isfinite(found).all():
        raise InputError(where, f'"{(text or "")[:60]}" is no northing, easting, elevation.', "Write the file again.")
    return found


def _corners(text: str | None, rows: dict[str, int], where: str) -> list[int]:
    corners = [rows.get(word, -1) for word in (text or "").split()]
    if len(corners) != 3 or min(corners, default=-1) < 0:
        problem = f'the face "{(text or "")[:60]}" has no three points.'
        raise InputError(where, problem, "Accepted: triangles of its points.")
    return corners
