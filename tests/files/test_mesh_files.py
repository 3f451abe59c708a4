"""What is written is what was shaped: closed, true to size, in the stated axes, exact to single precision."""

from __future__ import annotations

import json
import struct
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import trimesh
from berm_yards import StarYard, circle, cone, kidney, raised_cosine
from examples_drawn import drawn
from hypothesis import given, settings, strategies as st

from terrain.errors import OutputError
from terrain.files.meshes import FORMATS, MeshFiles, write_meshes
from terrain.grid import Array
from terrain.numerics.mesh import YardMesh
from terrain.numerics.prisms import prism_volume

SOD = 0.05


def a_yard() -> StarYard:
    return StarYard(kidney(4.0), raised_cosine(0.7), centre=(1203.7, 8455.2), plane=(31.4, 0.04, -0.02))


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, YardMesh, MeshFiles]:
    folder = tmp_path_factory.mktemp("meshes")
    mesh = a_yard().mesh()
    return folder, mesh, write_meshes(folder, mesh, SOD)


def load(path: Path, *, process: bool = True) -> trimesh.Trimesh:
    """One body of a file, turned back to Z up, with coincident vertices merged as loaders do."""
    body = trimesh.load(path, force="mesh", process=process)
    if path.suffix == ".glb":
        body = trimesh.Trimesh(
            np.column_stack([body.vertices[:, 0], -body.vertices[:, 2], body.vertices[:, 1]]),
            body.faces,
            process=process,
        )
    return body


def facet_slopes(vertices: Array, faces: Array) -> Array:
    normals = np.cross(vertices[faces[:, 1]] - vertices[faces[:, 0]], vertices[faces[:, 2]] - vertices[faces[:, 0]])
    return np.hypot(normals[:, 0], normals[:, 1]) / np.abs(normals[:, 2])


def test_nine_files_are_named_and_there(written) -> None:
    folder, _, files = written
    expected = {f"{name}.{kind}" for name in ("existing", "proposed", "fill") for kind in FORMATS}
    assert set(files.names) == expected == {path.name for path in folder.iterdir()}


@pytest.mark.parametrize("kind", FORMATS)
def test_fill_is_closed_in_every_format(written, kind: str) -> None:
    folder, mesh, _ = written
    body = load(folder / f"fill.{kind}")
    expected = prism_volume(mesh.points, mesh.triangles[mesh.inside], mesh.existing - SOD, mesh.proposed).fill
    assert body.is_watertight
    assert body.is_winding_consistent
    assert body.volume == pytest.approx(expected, rel=1e-5)


@pytest.mark.parametrize("kind", FORMATS)
@pytest.mark.parametrize("sod", [0.0, 0.03])
def test_a_mound_that_runs_out_to_nothing_is_closed_in_every_format(tmp_path: Path, kind: str, sod: float) -> None:
    mesh = StarYard(circle(4.0), raised_cosine(0.7), spokes=120, rings=100, plane=(2.0, 0.03, 0.01)).mesh()
    write_meshes(tmp_path, mesh, sod)
    body = load(tmp_path / f"fill.{kind}")
    assert body.is_watertight
    assert body.is_winding_consistent
    expected = prism_volume(mesh.points, mesh.triangles[mesh.inside], mesh.existing - sod, mesh.proposed).fill
    assert body.volume == pytest.approx(expected, rel=1e-5)


@pytest.mark.parametrize("kind", FORMATS)
@pytest.mark.parametrize("name", ["existing", "proposed"])
def test_surfaces_cover_the_whole_yard_and_stand_where_the_survey_says(written, name: str, kind: str) -> None:
    folder, mesh, files = written
    body = load(folder / f"{name}.{kind}")
    lifted = np.column_stack([mesh.points, getattr(mesh, name)]) - files.offset
    assert len(body.faces) == len(mesh.triangles)
    assert body.bounds == pytest.approx(np.array([lifted.min(axis=0), lifted.max(axis=0)]), abs=1e-6)
    assert np.all(body.face_normals[:, 2] > 0.0)  # seen from above


def altitudes(points: Array, triangles: Array) -> Array:
    """Shortest plan altitude of each triangle, metres."""
    corners = points[triangles]
    edges = corners - np.roll(corners, 1, axis=1)
    doubled = np.abs(edges[:, 0, 0] * edges[:, 1, 1] - edges[:, 0, 1] * edges[:, 1, 0])
    return doubled / np.hypot(edges[..., 0], edges[..., 1]).max(axis=1)


@pytest.mark.parametrize("kind", FORMATS)
@pytest.mark.parametrize("name", ["existing", "proposed"])
def test_facet_slopes_of_the_file_are_those_of_the_design(written, name: str, kind: str) -> None:
    folder, mesh, _ = written
    body = load(folder / f"{name}.{kind}", process=False)
    heights = getattr(mesh, name)
    level = np.column_stack([mesh.points - mesh.points.mean(axis=0), heights - heights.mean()])
    off = np.abs(facet_slopes(body.vertices, body.faces) - facet_slopes(level, mesh.triangles))
    breadth = altitudes(mesh.points, mesh.triangles)
    # Coordinates under 16 m are off by up to half a micrometre, and slopes by that over the breadth of a
    # facet.
    assert (off * breadth).max() < 5e-7
    assert off[breadth > 0.05].max() < 1e-5


def test_vertices_on_the_outline_are_exact_to_single_precision(written) -> None:
    folder, _, files = written
    body = load(folder / "proposed.ply", process=False)
    outline = a_yard().outline.exterior.coords[:-1] - np.array(files.offset[:2])
    rows = {tuple(row) for row in body.vertices[:, :2].astype(np.float32).tolist()}
    assert all(tuple(corner) in rows for corner in outline.astype(np.float32).tolist())


def test_offset_is_round_and_keeps_the_numbers_small(written) -> None:
    folder, mesh, files = written
    assert all(float(value).is_integer() for value in files.offset)
    assert load(folder / "fill.stl").bounds.min() >= 0.0
    assert load(folder / "existing.stl").bounds.max() < np.ptp(mesh.points, axis=0).max() + 1.0


def glb_tree(path: Path) -> dict:
    data = path.read_bytes()
    magic, version, _ = struct.unpack("<4sII", data[:12])
    assert (magic, version) == (b"glTF", 2)
    length, kind = struct.unpack("<I4s", data[12:20])
    assert kind == b"JSON"
    return json.loads(data[20 : 20 + length])


@pytest.mark.parametrize("name", ["existing", "proposed", "fill"])
def test_glb_names_its_node_and_stands_upright(written, name: str) -> None:
    folder, mesh, files = written
    tree = glb_tree(folder / f"{name}.glb")
    assert [node["name"] for node in tree["nodes"] if "mesh" in node] == [name]
    position = tree["accessors"][tree["meshes"][0]["primitives"][0]["attributes"]["POSITION"]]
    low, high = np.array(position["min"]), np.array(position["max"])
    assert high[1] - low[1] < 2.0 < high[0] - low[0]  # Y is the short way: up
    northmost = -low[2] + files.offset[1]
    if name == "existing":
        assert northmost == pytest.approx(mesh.points[:, 1].max(), abs=1e-5)


def test_nothing_placed_writes_no_fill(tmp_path: Path) -> None:
    files = write_meshes(tmp_path, StarYard(circle(4.0), cone(0.0), spokes=16, rings=4).mesh(), 0.0)
    assert {name.partition(".")[0] for name in files.names} == {"existing", "proposed"}
    assert not (tmp_path / "fill.stl").exists()


def test_a_folder_that_is_not_there_is_named(tmp_path: Path) -> None:
    with pytest.raises(OutputError, match=r"existing\.glb cannot be written: No such file or directory"):
        write_meshes(tmp_path / "gone", a_yard().mesh(), SOD)


@settings(max_examples=drawn(25))
@given(
    seed=st.integers(0, 2**32 - 1),
    zeros=st.floats(0.0, 0.9),
    sod=st.sampled_from([0.0, 0.05]),
    corner=st.sampled_from([0.0, 417.3, 1e6]),
)
def test_any_pattern_of_fill_is_closed_after_a_round_trip(
    tmp_path_factory: pytest.TempPathFactory, seed: int, zeros: float, sod: float, corner: float
) -> None:
    from scipy.spatial import Delaunay

    rng = np.random.default_rng(seed)
    points = corner + rng.uniform(0.0, 30.0, (120, 2))
    triangles = Delaunay(points - corner).simplices.astype(np.int64)
    existing = 90.0 + rng.normal(0.0, 0.2, len(points))
    depth = np.where(rng.random(len(points)) < zeros, 0.0, rng.choice([1e-7, 1e-6, 1e-5, 0.1, 0.5], len(points)))
    inside = rng.random(len(triangles)) < 0.7
    folder = tmp_path_factory.mktemp("pattern")
    files = write_meshes(folder, YardMesh(points, triangles, inside, existing, existing + depth), sod)
    if "fill.stl" not in files.names:
        assert not (depth[triangles[inside]] > 1e-5).any()
        return
    for kind in FORMATS:
        body = load(folder / f"fill.{kind}")
        assert body.is_watertight
        assert body.is_winding_consistent


@pytest.mark.benchmark
def test_nine_files_of_fifty_thousand_nodes_take_under_two_seconds(tmp_path: Path) -> None:
    mesh = StarYard(kidney(6.0), raised_cosine(0.7), spokes=500, rings=97).mesh()
    assert len(mesh.points) > 50_000 - 1
    write_meshes(tmp_path, replace(mesh), SOD)  # imports are not what is timed
    start = time.perf_counter()
    write_meshes(tmp_path, mesh, SOD)
    assert time.perf_counter() - start < 2.0
