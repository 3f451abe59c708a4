"""One GLB of the whole yard, OBJ, and the table model: named, coloured, closed, true to size, and checked when read."""

from __future__ import annotations

import json
import struct
import zipfile
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
import trimesh
from berm_yards import StarYard, kidney, raised_cosine
from hypothesis import given, strategies as st

from terrain.errors import OutputError
from terrain.files import check
from terrain.files.bodies import Body, ground_bodies, table_model
from terrain.files.check import check_mesh_file, read_bodies
from terrain.files.meshes import write_bodies
from terrain.files.model_glb import linear
from terrain.files.standing_bodies import tree_body
from terrain.grid import Array
from terrain.numerics.mesh import YardMesh
from terrain.numerics.prisms import prism_volume
from terrain.site.model import Tree
from terrain.site.standing import tree_form
from viewer.page.palette import FILL_STEPS, SOIL, channels
from viewer.pictures.tint import depth_tint

SOD = 0.05
OFFSET = (1200.0, 8450.0, 31.0)
OAK = Tree("oak", (2.0, 3.0), 0.6, 0.8, 1.5)


@pytest.fixture(scope="module")
def mesh() -> YardMesh:
    yard = StarYard(kidney(4.0), raised_cosine(0.7), centre=(1203.7, 8455.2), plane=(31.4, 0.04, -0.02))
    return replace(yard, spokes=96, rings=24).mesh()


@pytest.fixture(scope="module")
def bodies(mesh: YardMesh) -> tuple[Body, ...]:
    trees = tree_body(
        (OAK, replace(OAK, at=(6.0, 1.0), dripline=3.0)),
        lambda places: np.full(len(places), 0.4),
        (0.0, 0.0, 0.0),
        {"bark": np.array([0.4, 0.3, 0.2]), "leaves": np.array([0.2, 0.5, 0.2])},
    )
    return (*ground_bodies(mesh, SOD, depth_tint(float(mesh.fill.max()))), trees)


def placed(mesh: YardMesh) -> float:
    return prism_volume(mesh.points, mesh.triangles[mesh.inside], mesh.existing - SOD, mesh.proposed).fill


def glb_parts(path: Path) -> tuple[dict, bytes]:
    data = path.read_bytes()
    magic, version, length = struct.unpack("<4sII", data[:12])
    assert (magic, version, length) == (b"glTF", 2, len(data))
    size, kind = struct.unpack("<I4s", data[12:20])
    assert kind == b"JSON"
    rest = data[20 + size :]
    assert struct.unpack("<I4s", rest[:8]) == (len(rest) - 8, b"BIN\0")
    return json.loads(data[20 : 20 + size]), rest[8:]


def attribute(tree: dict, binary: bytes, name: str, key: str) -> Array:
    """Values of an attribute of a named mesh, read by the letter of the specification."""
    (mesh,) = [one for one in tree["meshes"] if one["name"] == name]
    accessor = tree["accessors"][mesh["primitives"][0]["attributes"][key]]
    view = tree["bufferViews"][accessor["bufferView"]]
    assert view["byteOffset"] % 4 == 0
    kind = {5126: "<f4", 5123: "<u2"}[accessor["componentType"]]
    wide = {"VEC3": 3, "VEC4": 4}[accessor["type"]]
    values = np.frombuffer(binary[view["byteOffset"] :][: view["byteLength"]], kind).reshape(-1, wide).astype(float)
    assert len(values) == accessor["count"]
    return values / 65535.0 if accessor.get("normalized") else values


def test_a_glb_names_ground_fill_and_trees_and_stands_upright(tmp_path: Path, bodies: tuple[Body, ...]) -> None:
    path = tmp_path / "yard.glb"
    write_bodies(path, bodies, OFFSET)
    tree, binary = glb_parts(path)
    assert [node["name"] for node in tree["nodes"]] == ["existing", "proposed", "fill", "trees"]
    assert tree["scenes"][0]["extras"]["offset_m"] == list(OFFSET)
    upright = attribute(tree, binary, "existing", "POSITION")
    flat = bodies[0].vertices
    assert upright == pytest.approx(np.column_stack([flat[:, 0], flat[:, 2], -flat[:, 1]]), abs=1e-6)
    normals = attribute(tree, binary, "proposed", "NORMAL")
    assert np.linalg.norm(normals, axis=1) == pytest.approx(1.0, abs=1e-6)
    assert (normals[:, 1] > 0.7).all()  # no slope of this yard is steeper than 1:1


def test_what_lies_under_a_see_through_body_shows(tmp_path: Path, bodies: tuple[Body, ...]) -> None:
    path = tmp_path / "yard.glb"
    write_bodies(path, (replace(bodies[0], opacity=0.3), *bodies[1:]), OFFSET)
    tree, _ = glb_parts(path)
    worn = [tree["materials"][mesh["primitives"][0]["material"]] for mesh in tree["meshes"]]
    assert [material.get("alphaMode", "OPAQUE") for material in worn] == ["BLEND", "OPAQUE", "OPAQUE", "OPAQUE"]
    assert worn[0]["pbrMetallicRoughness"]["baseColorFactor"][3] == 0.3


def test_faces_are_short_numbers_where_these_reach_and_long_ones_beyond(tmp_path: Path) -> None:
    for count, kind in ((300, 5123), (70_000, 5125)):  # unsigned short, unsigned int
        vertices = np.column_stack([np.arange(count + 2.0), np.arange(count + 2.0) % 2, np.zeros(count + 2)])
        faces = np.column_stack([np.arange(count), np.arange(1, count + 1), np.arange(2, count + 2)])
        path = tmp_path / f"{count}.glb"
        write_bodies(path, (Body("strip", vertices, faces.astype(np.int64), False),))
        tree, _ = glb_parts(path)
        assert tree["accessors"][tree["meshes"][0]["primitives"][0]["indices"]]["componentType"] == kind


def test_an_independent_reader_finds_the_fill_closed_and_of_the_placed_volume(
    tmp_path: Path, mesh: YardMesh, bodies: tuple[Body, ...]
) -> None:
    path = tmp_path / "yard.glb"
    write_bodies(path, bodies, OFFSET)
    fill = trimesh.load(path).geometry["fill"]
    assert fill.is_watertight
    assert fill.volume == pytest.approx(placed(mesh), rel=1e-4)


def test_colours_in_a_glb_are_linear_light_of_the_palette(
    tmp_path: Path, mesh: YardMesh, bodies: tuple[Body, ...]
) -> None:
    path = tmp_path / "yard.glb"
    write_bodies(path, bodies, OFFSET)
    colours = attribute(*glb_parts(path), "proposed", "COLOR_0")[:, :3]
    deepest, bare = int(np.argmax(mesh.fill)), int(np.argmin(mesh.fill))
    assert colours[deepest] == pytest.approx(linear(np.array(channels(FILL_STEPS[3]))), abs=1e-4)
    assert colours[bare] == pytest.approx(linear(np.array(channels(SOIL))), abs=1e-4)


@pytest.mark.parametrize(("screen", "light"), [(0.0, 0.0), (0.04045, 0.0031308), (0.5, 0.2140411), (1.0, 1.0)])
def test_linear_light_follows_the_srgb_curve(screen: float, light: float) -> None:
    # IEC 61966-2-1: the knee at 0.04045 is 0.0031308; 0.5 is 0.214041 (worked by hand from its formula).
    assert linear(np.array([screen]))[0] == pytest.approx(light, abs=1e-6)


@given(share=st.floats(0.0, 1.0))
def test_deeper_fill_is_darker(share: float) -> None:
    shallow, deep = depth_tint(1.0)(np.array([0.002 + 0.9 * share, 0.002 + 0.9 * share + 0.05]))
    assert deep.sum() < shallow.sum()


def test_trees_are_closed_solids_of_the_measured_trunk(bodies: tuple[Body, ...]) -> None:
    trees = trimesh.Trimesh(bodies[3].vertices, bodies[3].faces, process=False)
    assert trees.is_watertight
    parts = trees.split()
    assert len(parts) == 4
    trunk = min(parts, key=lambda part: part.extents[0])
    assert trunk.extents[0] == pytest.approx(OAK.trunk, abs=1e-6)
    assert all(part.volume > 0.0 for part in parts)
    # A London plane of 60 cm in a city is 16.6 m high (PSW-GTR-253); a crown of a measured dripline is as wide as that.
    crowns = sorted((part for part in parts if part.extents[0] > 1.0), key=lambda part: part.extents[0])
    assert [round(float(crown.bounds[1][2] - 0.4), 1) for crown in crowns] == [round(tree_form(OAK).height, 1)] * 2
    assert crowns[0].extents[0] == pytest.approx(6.0, abs=0.2)


def test_an_obj_holds_every_body_by_name(tmp_path: Path, mesh: YardMesh, bodies: tuple[Body, ...]) -> None:
    path = tmp_path / "yard.obj"
    write_bodies(path, bodies[:3], OFFSET)
    assert "add 1200 to x, 8450 to y, 31 to z" in path.read_text().splitlines()[0]
    parts = trimesh.load(path, split_objects=True, process=False).geometry
    assert set(parts) == {"existing", "proposed", "fill"}
    assert parts["fill"].is_watertight
    assert parts["fill"].volume == pytest.approx(placed(mesh), rel=1e-4)


@pytest.mark.parametrize(("scale", "base"), [(100.0, 0.005), (50.0, 0.003)])
@pytest.mark.parametrize("kind", ["stl", "3mf"])
def test_a_table_model_is_the_yard_to_scale_on_its_plate(
    tmp_path: Path, mesh: YardMesh, scale: float, base: float, kind: str
) -> None:
    path = tmp_path / f"table-model.{kind}"
    write_bodies(path, (table_model(mesh, scale, base),))
    solid = trimesh.load(path) if kind == "stl" else as_trimesh(*read_package(path))
    assert solid.is_watertight
    yard = np.ptp(np.column_stack([mesh.points, mesh.proposed]), axis=0) * 1000.0 / scale
    assert solid.extents == pytest.approx([yard[0], yard[1], yard[2] + base * 1000.0], abs=1e-3)
    low = float(mesh.proposed.min())
    over = prism_volume(mesh.points, mesh.triangles, np.full(len(mesh.points), low), mesh.proposed).fill
    area = prism_volume(mesh.points, mesh.triangles, np.zeros(len(mesh.points)), np.ones(len(mesh.points))).fill
    expected = (over / scale**3 + area / scale**2 * base) * 1e9  # mm3
    assert solid.volume == pytest.approx(expected, rel=1e-4)


def read_package(path: Path) -> tuple[Array, Array]:
    """A 3MF package read by the letter of its specification: the part that the relationship names."""
    core = "{http://schemas.microsoft.com/3dmanufacturing/core/2015/02}"
    with zipfile.ZipFile(path) as package:
        assert package.testzip() is None
        assert "[Content_Types].xml" in package.namelist()
        (relation,) = ElementTree.fromstring(package.read("_rels/.rels"))
        root = ElementTree.fromstring(package.read(relation.attrib["Target"].lstrip("/")))
    assert root.attrib["unit"] == "millimeter"
    (item,) = root.iter(f"{core}item")
    (thing,) = [one for one in root.iter(f"{core}object") if one.attrib["id"] == item.attrib["objectid"]]
    vertices = [[float(v.attrib[axis]) for axis in "xyz"] for v in thing.iter(f"{core}vertex")]
    faces = [[int(t.attrib[f"v{corner}"]) for corner in (1, 2, 3)] for t in thing.iter(f"{core}triangle")]
    return np.array(vertices), np.array(faces)


def as_trimesh(vertices: Array, faces: Array) -> trimesh.Trimesh:
    return trimesh.Trimesh(vertices, faces, process=False)


def spoiled(body: Body, how: str) -> Body:
    if how == "open":
        return replace(body, faces=body.faces[1:])
    if how == "small":
        return replace(body, vertices=body.vertices * 0.999)
    if how == "no area":
        return replace(body, faces=np.vstack([body.faces[:-1], [[0, 0, 1]]]))
    return replace(body, faces=body.faces[:, ::-1])


@pytest.mark.parametrize(
    ("how", "said"),
    [("open", "faces"), ("small", "in place of"), ("no area", "without area"), ("inside out", "in place of")],
)
@pytest.mark.parametrize("kind", ["glb", "obj", "ply", "stl", "3mf"])
def test_a_file_that_is_not_what_was_meant_is_refused(
    tmp_path: Path, bodies: tuple[Body, ...], how: str, said: str, kind: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / f"fill.{kind}"
    some = (bodies[0], spoiled(bodies[2], how)) if kind in ("glb", "obj") else (spoiled(bodies[2], how),)
    with monkeypatch.context() as patch:
        patch.setattr("terrain.files.meshes.check_mesh_file", lambda path, meant: None)
        write_bodies(path, some)
    with pytest.raises(OutputError, match=rf"fill\.{kind}: the file was read back and fill .*{said}.*not delivered"):
        check_mesh_file(path, [bodies[2]])


def test_a_missing_body_and_a_broken_file_are_refused(tmp_path: Path, bodies: tuple[Body, ...]) -> None:
    path = tmp_path / "yard.glb"
    write_bodies(path, bodies[:2])
    with pytest.raises(OutputError, match="fill is missing"):
        check_mesh_file(path, bodies)
    open_fill = replace(bodies[2], faces=np.vstack([bodies[2].faces[1:], bodies[2].faces[1:2]]))
    assert "is not closed" in list(check.faults(open_fill, bodies[2]))
    (tmp_path / "table-model.3mf").write_bytes(b"no package")
    with pytest.raises(OutputError, match="could not be understood"):
        check_mesh_file(tmp_path / "table-model.3mf", bodies[:1])


def test_what_was_written_is_what_is_read(tmp_path: Path, bodies: tuple[Body, ...]) -> None:
    write_bodies(tmp_path / "yard.glb", bodies)
    for name, body in read_bodies(tmp_path / "yard.glb").items():
        (meant,) = [one for one in bodies if one.name == name]
        assert body.vertices == pytest.approx(meant.vertices, abs=1e-6)
        assert (check.face_areas(body) > 0.0).all()
