"""Scans by other writers: one small yard in many formats, units, axes and ways of writing numbers.

The yard is a plane that falls 3 % to the east and rises 2 % to the north, with two poles on it, 12 m by 9 m.
"""

from __future__ import annotations

import csv
from collections.abc import Callable
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path

import numpy as np
import pytest

EAST, NORTH = -0.03, 0.02
GRID_PLACE = np.array([512_340.0, 4_512_345.0, 214.0])  # a plane grid: seven digits


def height(places: np.ndarray) -> np.ndarray:
    return np.asarray(EAST * places[:, 0] + NORTH * places[:, 1])


def yard_points(count: int = 9000) -> np.ndarray:
    """Points in metres, z upward; a twentieth of them on two poles."""
    chance = np.random.default_rng(5)
    plan = chance.uniform((0.0, 0.0), (12.0, 9.0), (count, 2))
    points = np.column_stack([plan, height(plan)])
    for x, y in ((3.0, 4.0), (9.0, 6.0)):
        angle, up = chance.uniform(0.0, 2 * np.pi, count // 40), chance.uniform(0.0, 2.2, count // 40)
        pole = np.column_stack([x + 0.08 * np.cos(angle), y + 0.08 * np.sin(angle), up])
        pole[:, 2] += height(pole)
        points = np.vstack([points, pole])
    return points


def on_side(points: np.ndarray) -> np.ndarray:
    """With y upward, as glTF has it."""
    return points[:, [0, 2, 1]] * (1.0, 1.0, -1.0)


def yard_faces() -> tuple[np.ndarray, np.ndarray]:
    """The bare plane as a surface of few large triangles: corners and faces."""
    x, y = np.meshgrid(np.linspace(0.0, 12.0, 4), np.linspace(0.0, 9.0, 4))
    corners = np.column_stack([x.ravel(), y.ravel()])
    a = np.array([4 * row + column for row in range(3) for column in range(3)])
    faces = np.vstack([np.column_stack([a, a + 1, a + 5]), np.column_stack([a, a + 5, a + 4])])
    return np.column_stack([corners, height(corners)]), faces


@dataclass(frozen=True)
class ForeignScan:
    """A file: its name, what writes it, what takes its numbers to the site (metres of a unit, shift), and what the site
    file has to state ("" for what is found).
    """

    name: str
    write: Callable[[Path], object]
    unit: float = 1.0
    shift: tuple[float, float, float] = (0.0, 0.0, 0.0)
    stated_unit: float = 0.0
    stated_up: str = ""
    within: float = 1e-3


def _trimesh_cloud(points: np.ndarray, **how: object) -> Callable[[Path], object]:
    def write(path: Path) -> object:
        trimesh = pytest.importorskip("trimesh")
        return trimesh.PointCloud(points).export(path, **how)

    return write


def _trimesh_mesh(up_y: bool = False, times: float = 1.0, **how: object) -> Callable[[Path], object]:
    def write(path: Path) -> object:
        trimesh = pytest.importorskip("trimesh")
        corners, faces = yard_faces()
        corners = times * (on_side(corners) if up_y else corners)
        return trimesh.Trimesh(corners, faces, process=False).export(path, **how)

    return write


def _scene(path: Path) -> object:
    """Half of the yard moved by a node of the scene, as many exporters do."""
    trimesh = pytest.importorskip("trimesh")
    corners, faces = yard_faces()
    west = trimesh.Trimesh(on_side(corners), faces, process=False)
    scene = trimesh.Scene()
    scene.add_geometry(west, transform=trimesh.transformations.translation_matrix((0.0, 1.5, 0.0)))
    return scene.export(path)


def _vtk_ply(points: np.ndarray, kind: str, text: bool = False) -> Callable[[Path], object]:
    def write(path: Path) -> object:
        pyvista = pytest.importorskip("pyvista")
        vertices = np.column_stack([np.ones(len(points), int), np.arange(len(points))]).ravel()
        cloud = pyvista.PolyData(points.astype(kind), verts=vertices)
        return cloud.save(path, binary=not text)

    return write


def _vtk_mesh(path: Path) -> object:
    pyvista = pytest.importorskip("pyvista")
    corners, faces = yard_faces()
    body = pyvista.PolyData(corners, np.column_stack([np.full(len(faces), 3), faces]).ravel())
    return body.save(path)


def _laspy(points: np.ndarray, form: int, offset: bool = True, wkt: str = "", ground: bool = False):  # type: ignore[no-untyped-def]
    def write(path: Path) -> None:
        laspy = pytest.importorskip("laspy")
        header = laspy.LasHeader(point_format=form, version="1.4" if form > 5 else "1.2")
        header.scales, header.offsets = [0.001] * 3, np.floor(points.min(axis=0)) if offset else [0.0] * 3
        if wkt:
            header.vlrs.append(laspy.vlrs.known.WktCoordinateSystemVlr(wkt))
        las = laspy.LasData(header)
        las.x, las.y, las.z = points.T
        if ground:
            las.classification = np.where(np.arange(len(points)) < 9000, 2, 5).astype(np.uint8)
        las.write(path)

    return write


def _numpy(points: np.ndarray, form: str = "%.4f", **how: object) -> Callable[[Path], object]:
    return lambda path: np.savetxt(path, points, fmt=form, **how)


def _pandas(points: np.ndarray, **how: object) -> Callable[[Path], object]:
    def write(path: Path) -> object:
        pandas = pytest.importorskip("pandas")
        return pandas.DataFrame(points, columns=["X", "Y", "Z"]).to_csv(path, index=False, float_format="%.4f", **how)

    return write


def _csv_with_colour(path: Path) -> None:
    with path.open("w", encoding="utf-8", newline="") as stream:
        rows = csv.writer(stream)
        rows.writerow(["//X", "Y", "Z", "R", "G", "B"])
        rows.writerows([*(f"{value:.4f}" for value in row), 120, 130, 90] for row in yard_points())


def _gdal_xyz(path: Path) -> None:
    """A grid of heights as the raster library writes it: x, y, z a line."""
    rasterio = pytest.importorskip("rasterio")
    columns, rows = np.meshgrid(np.arange(120), np.arange(90))
    places = np.column_stack([(columns.ravel() + 0.5) * 0.1, 9.0 - (rows.ravel() + 0.5) * 0.1])
    heights = height(places).reshape(90, 120).astype("float64")
    grid = rasterio.transform.from_origin(0.0, 9.0, 0.1, 0.1)
    told = {"driver": "GTiff", "height": 90, "width": 120, "count": 1, "dtype": "float64", "transform": grid}
    with rasterio.MemoryFile() as memory:
        with memory.open(**told) as file:
            file.write(heights, 1)
        with memory.open() as file:
            import_module("rasterio.shutil").copy(file, str(path), driver="XYZ")


FOOT, SURVEY_FOOT = 0.3048, 1200.0 / 3937.0
FEET_TEXT = 'LOCAL_CS["y",UNIT["US survey foot",0.304800609601219]]'
FAR = tuple(GRID_PLACE.tolist())
PTS = {"header": "9450", "comments": ""}
SCANS: tuple[ForeignScan, ...] = (
    ForeignScan("trimesh-binary.ply", _trimesh_cloud(yard_points())),
    ForeignScan("trimesh-text.ply", _trimesh_cloud(yard_points(), encoding="ascii")),
    ForeignScan("trimesh-surface.ply", _trimesh_mesh(), stated_up="z"),
    ForeignScan("trimesh-surface-lying.obj", _trimesh_mesh(up_y=True), stated_up="y"),
    ForeignScan("trimesh-in-millimetres.obj", _trimesh_mesh(times=1000.0), unit=1e-3, stated_up="z"),
    ForeignScan("trimesh.glb", _trimesh_mesh(up_y=True)),
    ForeignScan("trimesh-moved-by-a-node.glb", _scene, shift=(0.0, 0.0, 1.5)),
    ForeignScan("trimesh-z-up-against-the-format.glb", _trimesh_mesh()),
    ForeignScan("vtk-binary.ply", _vtk_ply(yard_points(), "float32")),
    ForeignScan("vtk-text.ply", _vtk_ply(yard_points(), "float32", text=True)),
    ForeignScan("vtk-lying.ply", _vtk_ply(on_side(yard_points()), "float32")),
    ForeignScan("vtk-surface.obj", _vtk_mesh, stated_up="z"),
    ForeignScan("laspy-1.2.las", _laspy(yard_points(), 3)),
    ForeignScan("laspy-seven-digits.las", _laspy(yard_points() + GRID_PLACE, 6), shift=FAR),
    ForeignScan("laspy-seven-digits.laz", _laspy(yard_points() + GRID_PLACE, 6, ground=True), shift=FAR),
    ForeignScan(
        "laspy-us-survey-feet.laz",
        _laspy(
            (yard_points() + GRID_PLACE) / SURVEY_FOOT, 6, wkt='LOCAL_CS["y",UNIT["US survey foot",0.304800609601219]]'
        ),
        unit=SURVEY_FOOT,
        shift=FAR,
    ),
    ForeignScan("numpy.xyz", _numpy(yard_points())),
    ForeignScan("numpy-seven-digits.xyz", _numpy(yard_points() + GRID_PLACE), shift=FAR),
    ForeignScan("numpy-feet.xyz", _numpy(yard_points() / FOOT), unit=FOOT, stated_unit=FOOT, within=2e-3),
    ForeignScan("numpy-exponents.txt", _numpy(yard_points(), "%.6e")),
    ForeignScan("numpy-with-count.pts", _numpy(np.column_stack([yard_points(), np.ones(9450)]), **PTS)),
    ForeignScan("pandas.csv", _pandas(yard_points())),
    ForeignScan("pandas-decimal-commas.csv", _pandas(yard_points(), sep=";", decimal=",")),
    ForeignScan("csv-with-colour.txt", _csv_with_colour),
    ForeignScan("gdal.xyz", _gdal_xyz),
)
