"""A file of results read back for what it says of the yard: the reader of `export --check`, in a process of its own.

What a file tells is a few plain values, by the names below; a kind of file that tells none of them is opened and gone
through, so that one that is broken is found.
"""

from __future__ import annotations

import csv
import io
import json
import zipfile
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import numpy as np

from terrain.errors import InputError, OutputError
from terrain.extras import library
from terrain.files.check import read_bodies
from terrain.files.read_landxml import read_landxml
from terrain.grid import Array
from terrain.survey import map_features, read_text

PLACED, GRADE, SHOTS, ORDERED = "placed soil", "grade", "shots", "soil to order"
_CELLS = "placed.tif"
_LARGEST = 64 * 2**20
Told = Mapping[str, Any]


def read(path: Path, label: str) -> Told:
    """What a file tells: volumes in m3, the grade as a word, how many shots; nothing for a kind that tells nothing.

    Raises `InputError` for a file that cannot be read as what its name says.
    """
    reader = _BY_ENDING.get(path.suffix.lower())
    try:
        return {} if reader is None else reader(path, label)
    except OutputError as error:
        raise InputError(label, f"it cannot be read back ({error}).", "Write it again.") from None


def _mesh(path: Path, label: str) -> Told:
    bodies = read_bodies(path)
    fill = bodies.get("fill") or (next(iter(bodies.values())) if path.stem == "fill" else None)
    grade = {}
    if path.suffix == ".glb":
        head = path.read_bytes()
        tree = json.loads(head[20 : 20 + int.from_bytes(head[12:16], "little")])
        grade = {GRADE: str(tree["scenes"][0]["extras"]["grade"])}
    return grade if fill is None else {PLACED: fill.volume, **grade}


def _surfaces(path: Path, label: str) -> Told:
    bodies, _ = read_landxml(path)
    proposed = bodies["proposed"]
    # Without a layer of sod the ground under the fill is the existing one.
    under = bodies.get("stripped", bodies["existing"])
    return {PLACED: _between(under.vertices[under.faces], proposed.vertices[proposed.faces])}


def _drawing(path: Path, label: str) -> Told:
    ezdxf: Any = library("ezdxf", label, "reading a drawing back")
    drawing = ezdxf.readfile(path)
    unit = {2: 0.3048, 6: 1.0, 21: 0.3048}[drawing.header["$INSUNITS"]]
    space = drawing.modelspace()

    def faces(layer: str) -> Array:
        found = space.query(f'3DFACE[layer=="{layer}"]')
        return np.array([[tuple(at) for at in face.wcs_vertices()][:3] for face in found]).reshape(-1, 3, 3)

    volume = _between(faces("stripped surface"), faces("proposed surface")) * unit**3
    grade = drawing.header.custom_vars.get("Grade")
    # A drawing without that layer, of an older version or of no fill, tells nothing of the soil.
    placed = {PLACED: volume} if "stripped surface" in drawing.layers else {}
    return {**placed, SHOTS: len(space.query('POINT[layer=="shots"]')), GRADE: str(grade)}


def _between(lower: Array, upper: Array) -> float:
    """Volume between triangles and those of the upper surface that stand over them, both (m, 3, 3)."""
    over = {tuple(np.round(triangle[:, :2], 5).ravel()): triangle[:, 2] for triangle in upper}
    missing = np.full(3, np.nan)
    tops = np.array([over.get(tuple(np.round(triangle[:, :2], 5).ravel()), missing) for triangle in lower])
    p, q = lower[:, 1, :2] - lower[:, 0, :2], lower[:, 2, :2] - lower[:, 0, :2]
    area = 0.5 * np.abs(p[:, 0] * q[:, 1] - p[:, 1] * q[:, 0])
    return float(area @ (tops - lower[:, :, 2]).mean(axis=1)) if len(lower) else 0.0


def _grid(path: Path, label: str) -> Told:
    rasterio: Any = library("rasterio", label, "reading a height grid back")
    with rasterio.Env(GDAL_DISABLE_READDIR_ON_OPEN="EMPTY_DIR"), rasterio.open(path, driver="GTiff") as grid:
        heights = grid.read(1)
        unit = {"ft": 0.3048, "m": 1.0}[grid.units[0]]
        told: dict[str, Any] = {GRADE: str(grid.tags()["GRADE"])}
        if path.name == _CELLS:
            told[PLACED] = float(heights.sum()) * grid.res[0] * grid.res[1] * unit**3
    return told


def _json(path: Path, label: str) -> Told:
    tree = json.loads(read_text(path, label, most=_LARGEST))
    told: dict[str, Any] = {}
    if isinstance(tree.get("earthwork"), dict):
        told[PLACED] = tree["earthwork"]["fill_placed_m3"]
    if isinstance(tree.get("order"), dict):
        told[ORDERED] = tree["order"]["quantity_loose_m3"]
    if tree.get("type") == "FeatureCollection":
        told |= {GRADE: tree["grade"]} | ({SHOTS: len(tree["features"])} if path.name.startswith("shots.") else {})
    return told


def _map(path: Path, label: str) -> Told:
    found = map_features(path, label)
    count = sum(feature["properties"].get("layer") == "shots" for feature in found)
    return {SHOTS: count} if count else {}


def _table(path: Path, label: str) -> Told:
    rows = list(csv.reader(io.StringIO(read_text(path, label))))
    if len({len(row) for row in rows}) > 1:
        raise InputError(label, "its rows are not all as long as its heading.", "Write it again.")
    return {SHOTS: len(rows) - 1} if path.name == "points.csv" else {}


def _picture(path: Path, label: str) -> Told:
    from PIL import Image

    with Image.open(path) as picture:
        picture.load()
    return {}


def _sheet(path: Path, label: str) -> Told:
    data = path.read_bytes()
    if not (data.startswith(b"%PDF-") and b"%%EOF" in data[-64:]):
        raise InputError(label, "it is no whole PDF.", "Write it again.")
    return {}


def _book(path: Path, label: str) -> Told:
    with zipfile.ZipFile(path) as archive:
        broken = archive.testzip()
    if broken is not None:
        raise InputError(label, f"{broken} in it is broken.", "Write it again.")
    return {}


_BY_ENDING: Mapping[str, Callable[[Path, str], Told]] = {
    **dict.fromkeys((".glb", ".obj", ".ply", ".stl", ".3mf"), _mesh),
    ".xml": _surfaces,
    ".dxf": _drawing,
    ".tif": _grid,
    **dict.fromkeys((".json", ".geojson"), _json),
    **dict.fromkeys((".gpkg", ".kml", ".kmz"), _map),
    ".csv": _table,
    ".png": _picture,
    ".pdf": _sheet,
    ".xlsx": _book,
}
