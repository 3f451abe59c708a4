"""Whatever yard is shaped, its fill is closed in every format and its three volumes agree."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
import trimesh
from random_sites import random_yard

from terrain.errors import InputError
from terrain.files.bodies import ground_bodies, table_model
from terrain.files.delivered import delivered_mesh
from terrain.files.meshes import FORMATS, write_bodies, write_meshes
from terrain.numerics.prisms import prism_volume
from terrain.shape.berm import shape_berm
from terrain.shape.proposal import Proposal
from terrain.site.model import Site
from terrain.soil.measure import measure_earthwork


def check_delivered(site: Site, proposal: Proposal, folder: Path) -> None:
    """Every mesh format of the thinned yard passes the check that follows its writing."""
    mesh = delivered_mesh(site, proposal).mesh
    bodies = ground_bodies(mesh, site.bed.sod)
    write_bodies(folder / "yard.glb", bodies)
    write_bodies(folder / "yard.obj", bodies)
    for scale in (25.0, 100.0, 500.0):
        write_bodies(folder / "table-model.stl", (table_model(mesh, scale, 0.005),))
        write_bodies(folder / "table-model.3mf", (table_model(mesh, scale, 0.005),))


def check_yard(seed: int, sod: float, folder: Path) -> None:
    site, ground = random_yard(seed)
    site = replace(site, bed=replace(site.bed, sod=sod))
    try:
        proposal = shape_berm(site, ground)
    except InputError:
        return  # no room for any mound
    work, mesh = measure_earthwork(site, ground, proposal), proposal.mesh
    exact = prism_volume(mesh.points, mesh.triangles[mesh.inside], mesh.existing - sod, mesh.proposed).fill
    assert work.fill_placed == pytest.approx(exact, rel=1e-6, abs=1e-5)
    # Rough ground at a coarse cell: 1 %, or a thousandth of the bed's area times a centimetre where little is
    # placed.
    assert work.checks.grid == pytest.approx(work.checks.mesh, rel=0.01, abs=1e-5 * work.worked_area)
    assert work.checks.sections == pytest.approx(work.checks.mesh, rel=0.01, abs=1e-5 * work.worked_area)
    files = write_meshes(folder, mesh, sod)
    if seed % 6 == 2:
        check_delivered(site, proposal, folder)
    if "fill.stl" not in files.names:
        assert work.fill_placed == 0.0
        return
    for kind in FORMATS:
        body = trimesh.load(folder / f"fill.{kind}", force="mesh")
        assert body.is_watertight, f"yard {seed} {kind}"
        assert body.is_winding_consistent, f"yard {seed} {kind}"
        assert body.volume == pytest.approx(work.fill_placed, rel=1e-4, abs=1e-5)


@pytest.mark.parametrize(("seed", "sod"), [(2, 0.05), (5, 0.0)])
def test_a_few_random_yards_close(seed: int, sod: float, tmp_path: Path) -> None:
    check_yard(seed, sod, tmp_path)


@pytest.mark.parametrize(
    ("yards", "sod"),
    [
        pytest.param(10, 0.05, marks=pytest.mark.slow),
        pytest.param(10, 0.0, marks=pytest.mark.slow),
        *(pytest.param(60, sod, marks=pytest.mark.fuzz) for sod in (0.05, 0.0)),
    ],
)
def test_many_random_yards_close(yards: int, sod: float, tmp_path: Path) -> None:
    for seed in range(yards):
        check_yard(seed, sod, tmp_path)
