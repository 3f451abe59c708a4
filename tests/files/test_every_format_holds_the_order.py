"""Each format's volume, worked out by a reader of somebody else's, is the soil that the order places."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from xml.etree import ElementTree

import ezdxf
import numpy as np
import pytest
import rasterio
import trimesh
from exchanged import between
from scipy.spatial import cKDTree
from shipped import study_of

from terrain.files.delivered import delivered_mesh
from terrain.files.formats import FORMATS
from terrain.files.job import Job
from terrain.flow import Study
from terrain.grid import Array

THINNED = 2e-3  # of the volume: meshes are delivered within 3 mm of height
ON_CELLS = 1e-2  # of the volume: a cell at the edge of the bed counts as a whole or not at all
XML = "{http://www.landxml.org/schema/LandXML-1.2}"


@pytest.fixture(scope="module", params=["larkspur-rise", pytest.param("alder-bend", marks=pytest.mark.slow)])
def study(request: pytest.FixtureRequest) -> Study:
    return study_of(request.param)


@pytest.fixture(scope="module")
def files(study: Study, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("formats")
    site, proposal = study.site, study.proposal
    job = Job(site, study.ground, proposal, (), delivered_mesh(site, proposal), 0.25)
    for name in ("glb", "obj", "ply", "dxf", "landxml", "geotiff"):
        FORMATS[name].write(job, folder)
    return folder


def solid(path: Path) -> float:
    """Volume of the fill of a mesh file, m3, by trimesh."""
    loaded = trimesh.load(path, split_objects=True) if path.suffix == ".obj" else trimesh.load(path)
    mesh = loaded.geometry["fill"] if isinstance(loaded, trimesh.Scene) else loaded
    mesh.merge_vertices(merge_tex=True, merge_norm=True)
    assert mesh.is_watertight
    return float(mesh.volume)


def of_drawing(path: Path) -> float:
    """Between the faces of two layers of the drawing, in its own unit, by ezdxf."""
    drawing = ezdxf.readfile(path)
    unit = {2: 0.3048, 6: 1.0}[drawing.header["$INSUNITS"]]

    def faces(layer: str) -> Array:
        found = drawing.modelspace().query(f'3DFACE[layer=="{layer}"]')
        return np.array([[tuple(at) for at in face.wcs_vertices()][:3] for face in found])

    return over(faces("stripped surface"), faces("proposed surface")) * unit**3


def of_surfaces(path: Path) -> float:
    """Between two surfaces of LandXML, by the letter of its schema."""
    root = ElementTree.parse(path).getroot()
    unit = 1.0 if root.find(f"{XML}Units/{XML}Metric") is not None else 0.3048

    def faces(name: str) -> Array:
        (found,) = [one for one in root.iter(f"{XML}Surface") if one.attrib["name"] == name]
        spots = {p.attrib["id"]: [float(word) for word in str(p.text).split()] for p in found.iter(f"{XML}P")}
        corners = [[spots[word] for word in str(f.text).split()] for f in found.iter(f"{XML}F")]
        return np.array(corners)[..., [1, 0, 2]]

    return over(faces("stripped"), faces("proposed")) * unit**3


def of_surfaces_by_others(path: Path) -> float:
    """The same, read by libxml2 and summed by VTK: a wedge between each face and the one over it."""
    parsed, pyvista = pytest.importorskip("lxml.etree"), pytest.importorskip("pyvista")
    root = parsed.parse(path).getroot()

    def table(name: str, tag: str) -> Array:
        found = root.xpath(f'//x:Surface[@name="{name}"]//x:{tag}', namespaces={"x": XML.strip("{}")})
        assert tag == "F" or [one.get("id") for one in found] == list(map(str, range(1, len(found) + 1)))
        return np.array([one.text.split() for one in found], dtype=float)

    low, high = (table(name, "P") for name in ("stripped", "proposed"))
    under, top = (table(name, "F").astype(int) - 1 for name in ("stripped", "proposed"))
    away, over_it = cKDTree(high[:, :2]).query(low[:, :2])
    assert away.max() < 1e-9
    assert set(map(frozenset, over_it[under].tolist())) <= set(map(frozenset, top.tolist()))
    cells = np.column_stack([np.full(len(under), 6), under, under + len(low)])
    corners = np.vstack([low, high[over_it]])[:, [1, 0, 2]]
    kinds = np.full(len(cells), pyvista.CellType.WEDGE)
    wedges = pyvista.UnstructuredGrid(cells.ravel(), kinds, corners - corners.mean(axis=0))
    metric = bool(root.xpath("//x:Metric", namespaces={"x": XML.strip("{}")}))
    return abs(float(wedges.compute_cell_sizes()["Volume"].sum())) * (1.0 if metric else 0.3048) ** 3


def over(lower: Array, upper: Array) -> float:
    """Volume between the lower triangles and those of the upper that stand over them."""
    places = {tuple(np.round(triangle[:, :2], 6).ravel()): triangle for triangle in upper}
    return between(lower, np.array([places[tuple(np.round(triangle[:, :2], 6).ravel())] for triangle in lower]))


def of_grid(path: Path) -> float:
    """Depth of placed soil, cell by cell, by rasterio."""
    with rasterio.open(path) as grid:
        unit = {"ft": 0.3048, "m": 1.0}[grid.units[0]]
        return float(grid.read(1).sum()) * grid.res[0] * grid.res[1] * unit**3


@pytest.mark.parametrize(
    ("name", "volume", "near"),
    [
        ("yard.glb", solid, THINNED),
        ("yard.obj", solid, THINNED),
        ("fill.ply", solid, THINNED),
        ("yard.dxf", of_drawing, THINNED),
        ("surfaces.xml", of_surfaces, THINNED),
        ("surfaces.xml", of_surfaces_by_others, THINNED),
        ("placed.tif", of_grid, ON_CELLS),
    ],
)
def test_the_volume_of_a_file_is_the_soil_that_the_order_places(
    name: str, volume: Callable[[Path], float], near: float, study: Study, files: Path
) -> None:
    assert volume(files / name) == pytest.approx(study.work.fill_placed, rel=near)


@pytest.mark.parametrize("name", ["yard.glb", "yard.obj"])
def test_a_model_holds_what_stands_and_lies_in_the_yard_as_the_drawing_does(
    name: str, study: Study, files: Path
) -> None:
    site = study.site
    loaded = trimesh.load(files / name, split_objects=True) if name.endswith("obj") else trimesh.load(files / name)
    parts = loaded.geometry
    meant = {"existing", "proposed", "fill"}
    for bodies, body in (
        (site.building, {"buildings"}),
        (site.walk, {"walks"}),
        (site.keep_clear, {"kept-clear"}),
        (site.tree, {"trees", "keep-offs", "root-zones"}),
    ):
        meant |= body if bodies else set()
    assert set(parts) == meant
    up = 1 if name.endswith("glb") else 2
    tallest = max(parts["trees"].bounds[1][up] - parts["existing"].bounds[1][up], 0.0)
    assert tallest > 6.0, "a tree of such a trunk is no shrub"
