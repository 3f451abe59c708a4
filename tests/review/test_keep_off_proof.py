"""The proof on the files: it holds for what the exporter writes, and breaks for every file that was tampered with."""

from __future__ import annotations

import shutil
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import trimesh
from shipped import study_of

from terrain.errors import OutputError
from terrain.files.bodies import ground_bodies
from terrain.files.delivered import delivered_mesh
from terrain.files.job import Job
from terrain.files.keep_off_proof import prove_keep_offs
from terrain.files.meshes import MeshFiles, write_bodies, write_meshes
from terrain.files.surfaces_xml import write_landxml
from terrain.flow import Study
from terrain.numerics.disc import TOUCH
from terrain.numerics.mesh import YardMesh
from terrain.soil.solid import round_offset

KINDS = ("glb", "ply", "stl")


@pytest.fixture(scope="module")
def study(root: Path) -> Study:
    return study_of("larkspur-rise")


@pytest.fixture(scope="module")
def sound(study: Study, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, MeshFiles]:
    folder = tmp_path_factory.mktemp("sound")
    return folder, write_meshes(folder, delivered_mesh(study.site, study.proposal).mesh, study.site.bed.sod)


@pytest.fixture
def written(sound: tuple[Path, MeshFiles], tmp_path: Path) -> tuple[Path, MeshFiles]:
    """The files of the yard as the command delivers them, each test its own copy to spoil."""
    shutil.copytree(sound[0], tmp_path, dirs_exist_ok=True)
    return tmp_path, sound[1]


def test_every_file_that_is_written_is_proved(study: Study, written: tuple[Path, MeshFiles]) -> None:
    folder, files = written
    proof = prove_keep_offs(folder, files.names, files.offset, study.review.trees)
    assert set(proof.files) == {f"{stem}.{kind}" for stem in ("fill", "proposed") for kind in KINDS}
    assert proof.trees == ("river birch", "sugar maple")
    # A hundredth of a millimetre for a touch, and less for single precision at the tens of metres of a yard.
    assert TOUCH < proof.tolerance < 2e-5


def keep_off_widened(study: Study, by: float) -> tuple:
    maple = study.review.trees[1]
    return (study.review.trees[0], replace(maple, keep_off=maple.nearest_fill + by))


@pytest.mark.parametrize("name", [f"{stem}.{kind}" for stem in ("fill", "proposed") for kind in KINDS])
def test_a_keep_off_a_centimetre_into_the_soil_breaks_the_proof_of_each_file(
    name: str, study: Study, written: tuple[Path, MeshFiles]
) -> None:
    folder, files = written
    with pytest.raises(OutputError, match=rf"^{name}: soil lies .*inside the keep-off of sugar maple; nothing was"):
        prove_keep_offs(folder, [name], files.offset, keep_off_widened(study, 0.10))


@pytest.mark.parametrize("kind", KINDS)
def test_a_hump_at_the_trunk_breaks_the_proof(kind: str, study: Study, written: tuple[Path, MeshFiles]) -> None:
    folder, files = written
    path = folder / f"proposed.{kind}"
    body = trimesh.load(path, force="mesh", process=False)
    maple = study.review.trees[1]
    east, north = maple.at[0] - files.offset[0], maple.at[1] - files.offset[1]
    vertices = body.vertices.copy()
    plan = np.column_stack([vertices[:, 0], -vertices[:, 2] if kind == "glb" else vertices[:, 1]])
    near = np.hypot(*(plan - (east, north)).T) < maple.keep_off - 0.3
    assert near.any()
    vertices[near, 1 if kind == "glb" else 2] += 0.002
    path.write_bytes(trimesh.Trimesh(vertices, body.faces, process=False).export(file_type=kind))
    with pytest.raises(OutputError, match=rf"proposed\.{kind}: soil lies on .* m2 inside the keep-off of sugar maple"):
        prove_keep_offs(folder, files.names, files.offset, study.review.trees)


def test_a_solid_moved_toward_the_trunk_breaks_the_proof(study: Study, written: tuple[Path, MeshFiles]) -> None:
    folder, files = written
    body = trimesh.load(folder / "fill.ply", process=False)
    maple = study.review.trees[1]
    away = np.array(maple.at) - np.array(maple.nearest_fill_at)
    step = away / np.hypot(*away) * (maple.nearest_fill - maple.keep_off + 0.05)
    moved = body.vertices + np.array([*step, 0.0])
    (folder / "fill.ply").write_bytes(trimesh.Trimesh(moved, body.faces, process=False).export(file_type="ply"))
    with pytest.raises(OutputError, match=r"fill\.ply: soil lies on .* m2 inside the keep-off of sugar maple"):
        prove_keep_offs(folder, files.names, files.offset, study.review.trees)


def test_a_file_that_cannot_be_read_back_is_not_delivered(study: Study, written: tuple[Path, MeshFiles]) -> None:
    folder, files = written
    (folder / "fill.glb").write_bytes(b"glTF, cut off")
    with pytest.raises(OutputError, match=r"fill\.glb.* read back .*not|fill\.glb.* read back .*nothing"):
        prove_keep_offs(folder, files.names, files.offset, study.review.trees)


def test_grounds_on_other_triangles_prove_nothing(study: Study, written: tuple[Path, MeshFiles]) -> None:
    folder, files = written
    body = trimesh.load(folder / "existing.ply", process=False)
    fewer = trimesh.Trimesh(body.vertices, body.faces[:-1], process=False)
    (folder / "existing.ply").write_bytes(fewer.export(file_type="ply"))
    with pytest.raises(OutputError, match="not drawn on the same triangles"):
        prove_keep_offs(folder, files.names, files.offset, study.review.trees)


@pytest.mark.parametrize("kind", ["glb", "obj"])
def test_a_file_of_several_bodies_is_proved_body_by_body(kind: str, study: Study, tmp_path: Path) -> None:
    mesh = delivered_mesh(study.site, study.proposal).mesh
    bodies, offset = ground_bodies(mesh, study.site.bed.sod), round_offset(mesh, study.site.bed.sod)
    write_bodies(tmp_path / f"yard.{kind}", bodies, offset)
    assert prove_keep_offs(tmp_path, [f"yard.{kind}"], offset, study.review.trees).files == (f"yard.{kind}",)
    with pytest.raises(OutputError, match=rf"^yard\.{kind}: soil lies on .* inside the keep-off of sugar maple"):
        prove_keep_offs(tmp_path, [f"yard.{kind}"], offset, keep_off_widened(study, 0.10))


def test_drawings_and_table_models_are_left_alone(study: Study, tmp_path: Path) -> None:
    names = ["table-model.stl", "existing.ply", "plan.pdf", "yard.dxf"]
    assert prove_keep_offs(tmp_path, names, (0.0, 0.0, 0.0), study.review.trees).files == ()


def test_a_yard_without_trees_needs_no_proof(written: tuple[Path, MeshFiles]) -> None:
    folder, files = written
    assert prove_keep_offs(folder, files.names, files.offset, ()).files == ()


def test_a_broken_proof_delivers_nothing(
    root: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture
) -> None:
    """The command with a writer that lays a hump on every trunk: status 2, one message, no file."""
    import terrain.files.study_files as study_files
    from cli.main import main

    sound = study_files.write_meshes

    def humped(folder: Path, mesh: YardMesh, sod: float, **drawn: object) -> MeshFiles:
        at = np.array([517.60, 204.40])
        near = np.hypot(*(mesh.points - at).T) < 1.5
        return sound(folder, replace(mesh, proposed=np.where(near, mesh.existing + 0.01, mesh.proposed)), sod, **drawn)

    monkeypatch.setattr(study_files, "write_meshes", humped)
    with pytest.raises(SystemExit) as ended:
        main(["shape", str(root / "examples/larkspur-rise/site.toml"), "--out", str(tmp_path / "out")])
    assert ended.value.code == 2
    assert "inside the keep-off of sugar maple; nothing was delivered" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("units", ["m", pytest.param("ft", marks=pytest.mark.slow)])
def test_surfaces_in_survey_coordinates_are_proved_in_their_own_unit(units: str, study: Study, tmp_path: Path) -> None:
    site = replace(study.site, units=units)  # the same yard, its surfaces written in feet
    thin = delivered_mesh(site, study.proposal)
    write_landxml(Job(site, study.ground, study.proposal, (), thin, 0.1), tmp_path / "surfaces.xml")
    proof = prove_keep_offs(tmp_path, ["surfaces.xml"], (1e4, 1e4, 0.0), study.review.trees)
    assert proof.files == ("surfaces.xml",)
    assert proof.tolerance == pytest.approx(TOUCH + 2e-6 * (0.3048 if units == "ft" else 1.0), rel=1e-9)
    with pytest.raises(OutputError, match=r"^surfaces\.xml: soil lies on .* inside the keep-off of sugar maple"):
        prove_keep_offs(tmp_path, ["surfaces.xml"], (0.0, 0.0, 0.0), keep_off_widened(study, 0.01))
    (tmp_path / "surfaces.xml").write_text("<LandXML", encoding="utf-8")
    with pytest.raises(OutputError, match=r"surfaces\.xml: the file was read back and could not be understood"):
        prove_keep_offs(tmp_path, ["surfaces.xml"], (0.0, 0.0, 0.0), study.review.trees)
