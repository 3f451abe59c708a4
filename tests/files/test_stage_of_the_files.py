"""Every format can be written as built on day one, and says in the file which grade it holds."""

from __future__ import annotations

import json
import sys
import zipfile
from dataclasses import replace
from pathlib import Path

import ezdxf
import numpy as np
import pytest
import rasterio

from terrain.files.delivered import delivered_mesh
from terrain.files.formats import FORMATS
from terrain.files.job import Job
from terrain.files.stage_grades import graded
from terrain.flow import Study, run_site
from terrain.numerics.prisms import prism_volume
from terrain.site.model import Soil

sys.path.append(str(Path(__file__).parents[1] / "laws"))
from random_sites import random_yard


@pytest.fixture(scope="module")
def study() -> Study:
    site, ground = random_yard(3, 0.5)
    return run_site(replace(site, soil=Soil(settlement=0.1)), ground=ground)


@pytest.fixture(scope="module")
def built(study: Study, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Every format, written as built on day one."""
    folder, proposal = tmp_path_factory.mktemp("built"), graded(study, "day one")
    mesh = delivered_mesh(study.site, proposal, 0.0)
    job = Job(study.site, study.ground, proposal, (), mesh, 0.1, grade="day one")
    for one in (known for known in FORMATS.values() if not known.of_earth):
        one.write(job, folder)
    return folder


def test_all_fill_stands_a_tenth_higher_on_day_one_and_cut_as_it_is(study: Study) -> None:
    proposal, mesh = graded(study, "day one"), graded(study, "day one").mesh
    assert graded(study, "finished") is study.proposal
    assert proposal.fill == pytest.approx(study.work.day_one_factor * study.proposal.fill, abs=1e-12)
    assert study.work.day_one_factor == pytest.approx(1.1)
    over = proposal.elevation - study.ground.elevation
    assert over == pytest.approx(proposal.fill - proposal.cut, abs=1e-9)
    old = study.proposal.mesh
    volumes = [prism_volume(m.points, m.triangles, m.existing, m.proposed) for m in (old, mesh)]
    assert volumes[1].fill == pytest.approx(1.1 * volumes[0].fill, rel=1e-9)
    assert volumes[1].cut == pytest.approx(volumes[0].cut, abs=1e-9)


def test_every_file_names_the_grade(built: Path) -> None:
    for name in ("proposed.ply", "table-model.stl", "yard.obj", "surfaces.xml", "yard.glb", "design.csv"):
        assert b"day one" in (built / name).read_bytes(), name
    with zipfile.ZipFile(built / "table-model.3mf") as package:
        assert "day one" in package.read("3D/3dmodel.model").decode()
    drawing = ezdxf.readfile(built / "yard.dxf")
    assert drawing.header.custom_vars.get("Grade") == "day one"
    assert drawing.layers.get("proposed surface").description == "day one grade"
    with rasterio.open(built / "proposed.tif") as grid:
        assert grid.tags()["GRADE"] == "day one"
    told = [json.loads(path.read_text())["grade"] for path in built.glob("*.json")]
    assert set(told) == {"day one"}
    assert len(told) >= 4


def test_the_grids_hold_day_one(built: Path, study: Study) -> None:
    with rasterio.open(built / "fill.tif") as grid:
        fill = np.flipud(grid.read(1)) - 0.0
    assert fill == pytest.approx(1.1 * study.proposal.fill - study.proposal.cut, abs=1e-5)
