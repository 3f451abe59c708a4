"""Files as the libraries and programs open them that our users have: no error, no warning, the same figures."""

from __future__ import annotations

import json
import shutil
import subprocess
from pathlib import Path

import numpy as np
import openpyxl
import pyogrio
import pytest
import shapely
import trimesh
from shipped import study_of

from terrain.files.delivered import delivered_mesh
from terrain.files.formats import FORMATS
from terrain.files.job import Job
from terrain.files.meshes import write_meshes
from terrain.files.workbook.book import write_book

pytestmark = pytest.mark.slow
SCRIPTS = Path(__file__).resolve().parents[1] / "web" / "scripts"
VALIDATE = """
import fs from "node:fs"; import validator from "gltf-validator";
const told = await validator.validateBytes(new Uint8Array(fs.readFileSync(process.argv[1])), {maxIssues: 20});
console.log(JSON.stringify(told));
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The models, the drawing and the workbook of the second example."""
    place = tmp_path_factory.mktemp("opened")
    study = study_of("larkspur-rise")
    site, proposal = study.site, study.proposal
    job = Job(site, study.ground, proposal, tuple(study.review.findings), delivered_mesh(site, proposal), 0.25)
    for name in ("glb", "3mf", "stl", "dxf", "csv"):
        FORMATS[name].write(job, place)
    (place / "meshes").mkdir()
    write_meshes(place / "meshes", proposal.mesh, site.bed.sod)
    write_book(study, place / "order.xlsx")
    return place


@pytest.mark.parametrize("name", ["yard.glb", "meshes/existing.glb", "meshes/proposed.glb", "meshes/fill.glb"])
def test_a_model_is_valid_by_the_formats_own_validator(name: str, folder: Path) -> None:
    """The validator of the Khronos group, which owns glTF 2.0 (the package gltf-validator)."""
    node = shutil.which("node")
    if node is None or not (SCRIPTS / "node_modules" / "gltf-validator").is_dir():
        pytest.skip("no node, or its packages are not installed (npm ci in tests/web/scripts)")
    command = [node, "--input-type=module", "--eval", VALIDATE, "--", str(folder / name)]
    ended = subprocess.run(command, cwd=SCRIPTS, capture_output=True, text=True, timeout=120, check=False)
    assert ended.returncode == 0, ended.stderr
    told = json.loads(ended.stdout)
    issues = told["issues"]
    assert (issues["numErrors"], issues["numWarnings"]) == (0, 0), issues["messages"]
    assert told["info"]["version"] == "2.0"
    assert told["info"]["totalTriangleCount"] > 1000


def test_the_validator_would_tell(folder: Path, tmp_path: Path) -> None:
    """A byte of the header changed is an error: the test above can fail."""
    node = shutil.which("node")
    if node is None or not (SCRIPTS / "node_modules" / "gltf-validator").is_dir():
        pytest.skip("no node, or its packages are not installed (npm ci in tests/web/scripts)")
    spoiled = bytearray((folder / "yard.glb").read_bytes())
    spoiled[4] = 9
    (tmp_path / "spoiled.glb").write_bytes(spoiled)
    command = [node, "--input-type=module", "--eval", VALIDATE, "--", str(tmp_path / "spoiled.glb")]
    ended = subprocess.run(command, cwd=SCRIPTS, capture_output=True, text=True, timeout=120, check=False)
    assert json.loads(ended.stdout)["issues"]["numErrors"] > 0


def test_a_table_model_is_read_by_the_formats_own_library(folder: Path) -> None:
    """lib3mf is the 3MF consortium's; the STL beside it is read by trimesh and holds the same body."""
    lib3mf = pytest.importorskip("lib3mf")
    wrapper = lib3mf.get_wrapper()
    model = wrapper.CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromFile(str(folder / "table-model.3mf"))
    assert reader.GetWarningCount() == 0
    assert model.GetUnit() == lib3mf.ModelUnit.MilliMeter
    bodies = model.GetMeshObjects()
    assert bodies.MoveNext()
    body = bodies.GetCurrentMeshObject()
    assert body.IsValid()
    assert body.IsManifoldAndOriented()
    points = np.array([spot.Coordinates[:] for spot in body.GetVertices()])
    corners = points[np.array([face.Indices[:] for face in body.GetTriangleIndices()])]
    volume = np.einsum("ij,ij->i", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])).sum() / 6.0
    assert volume == pytest.approx(trimesh.load(folder / "table-model.stl").volume, rel=1e-5)


def test_the_drawing_is_opened_by_gdal_with_every_layer(folder: Path) -> None:
    """GDAL reads the drawing as a map file does: the faces between two layers hold the soil, the bed is the bed."""
    study = study_of("larkspur-rise")
    _, _, shapes, (layers,) = pyogrio.raw.read(folder / "yard.dxf", columns=["Layer"])
    shapes = shapely.from_wkb(shapes)
    assert {"existing surface", "stripped surface", "proposed surface"} <= set(layers)
    top, under = (_faces(shapes[layers == f"{name} surface"]) for name in ("proposed", "stripped"))
    places = {tuple(np.round(face[:, :2], 6).ravel()): face for face in top}
    over = np.array([places[tuple(np.round(face[:, :2], 6).ravel())] for face in under])
    p, q = under[:, 1, :2] - under[:, 0, :2], under[:, 2, :2] - under[:, 0, :2]
    area = 0.5 * np.abs(p[:, 0] * q[:, 1] - p[:, 1] * q[:, 0])
    assert area @ (over - under)[:, :, 2].mean(axis=1) == pytest.approx(study.work.fill_placed, rel=2e-3)


def _faces(shapes: np.ndarray) -> np.ndarray:
    """(m, 3, 3) corners of triangles, each with the corner that closes it left out."""
    return np.array([shapely.get_coordinates(shape, include_z=True)[:3] for shape in shapes])


def test_the_tables_are_opened_by_pandas_with_figures_as_figures(folder: Path) -> None:
    """Unasked, as a table is opened: the shots are the survey's, the fill of the design points is that of the mound."""
    pandas = pytest.importorskip("pandas")
    study = study_of("larkspur-rise")
    shots, design = pandas.read_csv(folder / "points.csv"), pandas.read_csv(folder / "design.csv")
    assert shots[["x (m)", "y (m)", "elevation (m)"]].to_numpy() == pytest.approx(study.site.survey.shots, abs=1e-6)
    high = {name: design[f"{name} (m)"].to_numpy() for name in ("x", "y", "elevation", "existing", "fill")}
    assert high["elevation"] - high["existing"] == pytest.approx(high["fill"], abs=3e-6)
    on = study.proposal.grid.sample(study.proposal.elevation, np.column_stack([high["x"], high["y"]]))
    assert high["elevation"] == pytest.approx(on, abs=0.02)
    pages = pandas.read_excel(folder / "order.xlsx", sheet_name=None, header=None)
    assert any(study.site.name in page.astype(str).to_numpy() for page in pages.values())


def test_the_workbook_recalculated_by_libreoffice_gives_the_same_figures(folder: Path, tmp_path: Path) -> None:
    """Saved without what its formulas gave, so that the program must work every one of them itself."""
    office = shutil.which("soffice") or shutil.which("libreoffice")
    if office is None:
        pytest.skip("no LibreOffice on this machine (Debian: apt-get install libreoffice-calc-nogui)")
    formulas = openpyxl.load_workbook(folder / "order.xlsx")
    formulas.save(tmp_path / "bare.xlsx")
    own_place = f"-env:UserInstallation=file://{tmp_path / 'profile'}"
    command = [office, own_place, "--headless", "--convert-to", "xlsx:Calc MS Excel 2007 XML", "--outdir", "worked"]
    ended = subprocess.run(
        [*command, "bare.xlsx"], cwd=tmp_path, capture_output=True, text=True, timeout=240, check=False
    )
    assert ended.returncode == 0, ended.stderr
    bare, ours, theirs = (
        openpyxl.load_workbook(path, data_only=True)
        for path in (tmp_path / "bare.xlsx", folder / "order.xlsx", tmp_path / "worked" / "bare.xlsx")
    )
    compared = 0
    for page in formulas:
        for cell in (cell for row in page for cell in row if str(cell.value).startswith("=")):
            at = cell.coordinate
            own, other = ours[page.title][at].value, theirs[page.title][at].value
            assert bare[page.title][at].value is None
            if isinstance(own, int | float):
                assert other == pytest.approx(own, rel=1e-6, abs=1e-6), f"{page.title}!{at} {cell.value}"
            else:
                assert (other or "") == (own or ""), f"{page.title}!{at} {cell.value}"
            compared += 1
    assert compared > 100
