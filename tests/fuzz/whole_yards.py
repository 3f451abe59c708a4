"""Whole site folders, invented, of which one file at a time is spoiled: every format and every kind of table."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import numpy as np
from invented_yard import BED, SHOTS, SITE

Files = Mapping[str, bytes]
FEATURES = """
boundary = [[-5, -5], [60, -5], [60, 60], [-5, 60]]

[[walk]]
name = "path"
line = "walk.geojson"
width = "3 ft"
paved = true

[[heap]]
name = "tip"
outline = [[2, 32], [8, 32], [8, 38], [2, 38]]

[[basin]]
name = "rain garden"
center = [46, 34]
size = ["6 ft", "4 ft"]
depth = "8 in"

[[channel]]
name = "swale"
line = [[4, 10], [8, 3], [20, 2]]
width = "1 ft"
depth = "4 in"
side_slope = "3:1"

[[terrace]]
name = "seat"
outline = [[12, 15], [17, 15], [17, 19], [12, 19]]
height = "10 in"

[[retained_edge]]
name = "stones"
line = [[20, 14], [30, 14]]
height = "12 in"

[[view_from]]
name = "porch"
at = [15, 38]
"""
SURVEYS = {
    "tapes": """[survey]
accuracy = "0.02 ft"
level_book = "levels.csv"
benchmark = { point = "BM", elevation = 100.0 }
points = { 1 = [0, 0], 2 = [50, 0], 4 = [0, 45] }
ties = "ties.csv"
offsets = "offsets.csv"
baseline = ["1", "2"]
breaklines = [["1", "2"], [[0, 4, 100], [5, 4, 100]]]
""",
    "tables": '[survey]\nshots = "shots.csv"\nbreaklines = "kerb.csv"\nleave_out = ["5b"]\nsurface = "kriging"\n',
    **{
        name: f'[survey]\nshots = "shots.{name}"\nwithin = "60 ft"\nthin_to = 200\nfile_units = "ft"\n'
        for name in ("geojson", "dxf", "las", "laz", "tif")
    },
}
TABLES = {
    "shots.csv": SHOTS + "5b,26,21,100.7,ground\n",
    "bed.csv": BED,
    "kerb.csv": "line,x,y,elevation\na,0,4,100\na,5,4,100\nb,40,2,100.4\nb,44,2,100.5\n",
    "levels.csv": (
        "point,bs,is,fs\nBM,4.00,,\n1,,4.00,\n2,,3.40,\n5,,3.30,\nTP,4.50,,5.00\n3,,2.10,\n4,,2.60,\nBM,,,3.50\n"
    ),
    "ties.csv": "point,from,distance,from 2,distance 2,side,code\n5,1,32.0156212,2,32.0156212,left of 1 to 2,oak\n",
    "offsets.csv": "point,station,offset\n3,0+50,45 L\n",
    "walk.geojson": '{"type": "LineString", "coordinates": [[4, 6], [9, 7], [30, 8]]}',
}
FOREIGN = ("dxf", "las", "laz", "tif")
BINARY = ("shots.las", "shots.laz", "shots.tif")


def yards(folder: Path) -> dict[str, Files]:
    """Site folders by the kind of survey, each file by its name."""
    folder.mkdir(exist_ok=True)
    made = {name: text.encode() for name, text in TABLES.items()} | _foreign(folder)
    before, after = SITE[: SITE.index("[survey]")], SITE[SITE.index("[bed]") :]
    start, _, rest = FEATURES.lstrip().partition("\n")
    found = {}
    for kind, survey in SURVEYS.items():
        bed = after.replace('"bed.csv"', '"bed.geojson"') if kind == "geojson" else after
        site = f"{before}{start}\n{survey}\n{bed}\n{rest}"
        named = {name: data for name, data in made.items() if f'"{name}"' in site}
        found[kind] = {"site.toml": site.encode(), **named}
    return found


def _foreign(folder: Path) -> dict[str, bytes]:
    places = np.array([row.split(",")[1:4] for row in SHOTS.splitlines()[1:]], dtype=float)
    random = np.random.default_rng(7)
    plan = random.uniform((0, 0), (50, 45), (300, 2))
    dense = np.column_stack([plan, 100.0 + 0.02 * plan[:, 0]])
    return {
        "shots.geojson": _geojson(places),
        "bed.geojson": b'{"type": "Polygon", "coordinates": [[[10, 14], [45, 14], [45, 30], [10, 30]]]}',
        "shots.dxf": _drawing(folder / "a.dxf", places),
        "shots.las": _cloud(folder / "a.las", dense),
        "shots.laz": _cloud(folder / "a.laz", dense),
        "shots.tif": _grid(folder / "a.tif"),
    }


def _geojson(places: np.ndarray) -> bytes:
    def feature(kind: str, at: Any, **properties: Any) -> dict[str, Any]:
        return {"type": "Feature", "properties": properties, "geometry": {"type": kind, "coordinates": at}}

    points = [feature("Point", at, name=f"p{i}", code="ground") for i, at in enumerate(places.tolist())]
    line = feature("LineString", places[:2].tolist(), code="breakline")
    area = feature("MultiPolygon", [[[[1, 1], [4, 1], [4, 4], [1, 1]]]], code="walk")
    return json.dumps({"type": "FeatureCollection", "features": [*points, line, area]}).encode()


def _drawing(path: Path, places: np.ndarray) -> bytes:
    import ezdxf

    made = ezdxf.new("R2000", units=2)
    space = made.modelspace()
    for at in places.tolist():
        space.add_point(at, dxfattribs={"layer": "SPOTS"})
    on = {"layer": "BL"}
    space.add_lwpolyline([(0, 4, 0, 0, 0.4), (5, 4, 0, 0, 0)], dxfattribs={**on, "elevation": 100})
    space.add_circle((20, 20, 100), 3, dxfattribs=on)
    space.add_ellipse((30, 20, 100), (4, 0, 0), 0.5, dxfattribs=on)
    space.add_spline([(0, 0, 100), (5, 5, 100), (9, 4, 100), (12, 1, 100)], dxfattribs=on)
    made.saveas(path)
    return path.read_bytes()


def _cloud(path: Path, places: np.ndarray) -> bytes:
    import laspy

    header = laspy.LasHeader(point_format=6, version="1.4")
    header.scales = [0.001] * 3
    header.vlrs.append(laspy.vlrs.known.WktCoordinateSystemVlr('LOCAL_CS["yard",UNIT["foot",0.3048]]'))
    las = laspy.LasData(header)
    las.x, las.y, las.z = places.T
    las.classification = np.full(len(places), 2)
    las.write(path)
    return path.read_bytes()


def _grid(path: Path) -> bytes:
    import rasterio

    down, across = np.mgrid[0:20, 0:22]
    told = {"driver": "GTiff", "height": 20, "width": 22, "count": 1, "dtype": "float32", "compress": "deflate"}
    with rasterio.open(path, "w", transform=rasterio.transform.from_origin(-1, 46, 2.4, 2.4), **told) as file:
        file.write((100.0 + 0.02 * across + 0.03 * down).astype("float32"), 1)
    return path.read_bytes()


def write(folder: Path, files: Files) -> Path:
    """Write a site folder; the path of its site file."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, data in files.items():
        (folder / name).write_bytes(data)
    return folder / "site.toml"


def places_to_spoil(made: Mapping[str, Files]) -> Iterator[tuple[str, str]]:
    """Every (kind of survey, file of it); beside a foreign file, the other files are those of the other kinds."""
    for kind, files in made.items():
        yield from ((kind, name) for name in files if kind not in FOREIGN or name == f"shots.{kind}")
