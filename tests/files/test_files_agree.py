"""What `export --check` reads back: files of one yard agree; a changed, a broken one, one of another grade is named."""

from __future__ import annotations

import json
import shutil
from dataclasses import replace
from pathlib import Path

import pytest
from exchanged import SITES
from shipped import study_of

from terrain.earth.laid import MapFix, laid_by_bearing
from terrain.files.agree import ReadBack, SideBySide, read_all_back
from terrain.files.delivered import delivered_mesh
from terrain.files.formats import FORMATS
from terrain.files.job import Job
from terrain.files.summary import as_json, summary_of
from terrain.flow import Study
from terrain.soil import round_offset


@pytest.fixture(scope="module")
def study() -> Study:
    return study_of(Path(SITES["m"]).parent.name)


@pytest.fixture(scope="module")
def results(study: Study, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Every format of one yard, and its summary."""
    folder = tmp_path_factory.mktemp("results")
    site, proposal = study.site, study.proposal
    located = laid_by_bearing(MapFix("A", (0.0, 0.0), (-93.09, 44.95)), 0.2, site.units)
    placed = replace(site, survey=replace(site.survey, located=located))
    job = Job(placed, study.ground, proposal, tuple(study.review.findings), delivered_mesh(site, proposal), 0.25)
    for one in FORMATS.values():
        one.write(job, folder)
    summary = summary_of(study, round_offset(proposal.mesh, site.bed.sod))
    (folder / "summary.json").write_text(as_json(summary), encoding="utf-8")
    return folder


def read(folder: Path) -> ReadBack:
    return read_all_back(folder, [path.name for path in folder.iterdir()])


def told(back: ReadBack, what: str) -> SideBySide:
    (found,) = [one for one in back.told if one.what == what]
    return found


@pytest.mark.slow
@pytest.mark.usefixtures("forked_readers")
def test_every_file_of_a_yard_is_read_back_and_tells_the_same(results: Path, study: Study) -> None:
    back = read(results)
    assert back.broken == ()
    assert back.agrees
    assert set(back.read) == {path.name for path in results.iterdir()}
    placed = told(back, "placed soil")
    assert placed.values[0] == ("summary.json", pytest.approx(study.work.fill_placed, rel=1e-12))
    names = {name for name, _ in placed.values}
    assert {"yard.glb", "yard.obj", "fill.ply", "yard.dxf", "surfaces.xml", "placed.tif"} <= names
    assert {name for name, _ in told(back, "shots").values} >= {"yard.dxf", "points.csv", "yard.gpkg", "shots.geojson"}
    assert {value for _, value in told(back, "grade").values} == {"finished"}


@pytest.mark.usefixtures("forked_readers")
def test_a_file_of_another_grade_soil_or_survey_is_named(results: Path, tmp_path: Path) -> None:
    shutil.copytree(results, tmp_path, dirs_exist_ok=True)
    lines = (tmp_path / "yard.obj").read_text(encoding="utf-8").splitlines()
    fill = lines.index("o fill")
    lifted = [
        f"{line.rpartition(' ')[0]} {1.02 * float(line.split()[3]):.9g}" if line.startswith("v ") else line
        for line in lines[fill:]
    ]
    (tmp_path / "yard.obj").write_text("\n".join([*lines[:fill], *lifted]) + "\n", encoding="utf-8")
    bed = json.loads((tmp_path / "bed.geojson").read_text(encoding="utf-8"))
    (tmp_path / "bed.geojson").write_text(json.dumps({**bed, "grade": "day one"}), encoding="utf-8")
    rows = (tmp_path / "points.csv").read_text(encoding="utf-8").splitlines()
    (tmp_path / "points.csv").write_text("\n".join(rows[:-1]) + "\n", encoding="utf-8")
    names = ["bed.geojson", "points.csv", "shots.geojson", "summary.json", "yard.geojson", "yard.obj"]
    back = read_all_back(tmp_path, names)
    assert not back.agrees
    assert {one.what for one in back.told if not one.agree} == {"grade", "placed soil", "shots"}
    assert told(back, "placed soil").apart == pytest.approx(0.02, abs=2e-3)
    assert ("bed.geojson", "day one") in told(back, "grade").values


@pytest.mark.slow
@pytest.mark.usefixtures("forked_readers")
def test_a_broken_file_of_every_kind_is_named(results: Path, tmp_path: Path) -> None:
    kinds = ["yard.glb", "yard.obj", "fill.ply", "table-model.3mf", "yard.dxf", "surfaces.xml", "placed.tif"]
    kinds += ["bed.geojson", "yard.gpkg", "yard.kml", "yard.kmz", "summary.json", "points.csv"]
    for name in kinds:
        data = (results / name).read_bytes()
        (tmp_path / name).write_bytes(data[: len(data) * 2 // 5])
    (tmp_path / "plan.png").write_bytes(b"no picture")
    (tmp_path / "plan.pdf").write_bytes(b"%PDF-1.7 cut")
    back = read(tmp_path)
    broken = {line.partition(":")[0].partition(" ")[0] for line in back.broken}
    told_of = {name for one in back.told for name, _ in one.values}
    # A table that was cut between two rows reads as a shorter one, whose count differs.
    assert broken | told_of >= {*kinds, "plan.png", "plan.pdf"}
    assert broken >= {*kinds, "plan.png", "plan.pdf"} - {"points.csv", "yard.obj"}
    assert not back.agrees
