"""Any line becomes edges of the mesh, and nothing else changes: no height, no volume, no gap, no fold."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
import shapely
from examples_drawn import drawn
from hypothesis import given, settings, strategies as st
from random_sites import random_yard
from shapely.geometry import LineString, box

from terrain.files import delivered
from terrain.files.bodies import ground_bodies, table_model
from terrain.files.breaklines import SNAP, with_lines
from terrain.files.check import face_areas
from terrain.files.delivered import delivered_mesh
from terrain.files.thinning import fill_and_cut
from terrain.grid import Array
from terrain.numerics.mesh import YardMesh
from terrain.shape.berm import shape_berm
from terrain.shape.proposal import Proposal
from terrain.site.model import Site

SEEDS = (1, 6, 11)


@cache
def shaped(seed: int) -> tuple[Site, Proposal]:
    site, ground = random_yard(seed, 0.2)
    return site, shape_berm(site, ground)


def a_line(rng: np.random.Generator, mesh: YardMesh, site: Site, kind: str) -> Array:
    low, high = mesh.points.min(axis=0), mesh.points.max(axis=0)
    count = int(rng.integers(2, 7))
    if kind == "anywhere":
        return np.asarray(rng.uniform(low - 1.0, high + 1.0, (count, 2)))
    if kind == "through vertices":
        return mesh.points[rng.integers(0, len(mesh.points), count)]
    if kind == "hard by vertices":
        return mesh.points[rng.integers(0, len(mesh.points), count)] + rng.choice([1e-4, 4e-4, 6e-4])
    if kind == "along the outline":
        return np.array(site.bed.outline.exterior.coords)[:count]
    return rng.uniform(low, high) + np.cumsum(rng.normal(0.0, 0.002, (count, 2)), axis=0)


def sides_of(mesh: YardMesh) -> Array:
    pairs = np.vstack([mesh.triangles[:, list(pair)] for pair in ((0, 1), (1, 2), (2, 0))])
    return np.sort(pairs, axis=1)


def areas(mesh: YardMesh) -> Array:
    a, b, c = (mesh.points[mesh.triangles[:, k]] for k in range(3))
    return 0.5 * ((b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0])


def share_on_edges(mesh: YardMesh, line: LineString) -> float:
    segments = shapely.linestrings(mesh.points[np.unique(sides_of(mesh), axis=0)])
    strip = line.buffer(2.0 * SNAP)
    near = segments[shapely.STRtree(segments).query(strip, predicate="covers")]
    return float(line.intersection(shapely.union_all(near).buffer(2.0 * SNAP)).length / line.length)


KINDS = ("anywhere", "through vertices", "hard by vertices", "along the outline", "tiny")


@pytest.mark.slow
@settings(max_examples=drawn(25))
@given(
    seed=st.integers(0, 2**32 - 1),
    yard=st.sampled_from(SEEDS),
    kinds=st.lists(st.sampled_from(KINDS), min_size=1, max_size=4),
)
def test_any_lines_become_edges_and_change_nothing_else(seed: int, yard: int, kinds: list[str]) -> None:
    rng = np.random.default_rng(seed)
    site, proposal = shaped(yard)
    fine = proposal.mesh
    lines = [a_line(rng, fine, site, kind) for kind in kinds]
    mesh, on_line = with_lines(fine, lines)
    assert areas(mesh).min() > 0.0
    assert areas(mesh).sum() == pytest.approx(areas(fine).sum(), rel=1e-9)
    assert np.unique(sides_of(mesh), axis=0, return_counts=True)[1].max() <= 2
    assert fill_and_cut(mesh) == pytest.approx(fill_and_cut(fine), rel=1e-9, abs=1e-9)
    assert (mesh.points[: len(fine.points)] == fine.points).all()
    assert on_line[len(fine.points) :].all()
    yard_box = box(*fine.points.min(axis=0), *fine.points.max(axis=0))
    for line in lines:
        for part in shapely.get_parts(LineString(line).intersection(yard_box)):
            if part.geom_type == "LineString" and part.length > 20.0 * SNAP:
                assert share_on_edges(mesh, part) > 0.99


def test_no_lines_leave_the_mesh_as_it_is() -> None:
    _, proposal = shaped(1)
    mesh, on_line = with_lines(proposal.mesh, [])
    assert mesh is proposal.mesh
    assert not on_line.any()


def test_where_a_line_cannot_be_followed_the_mesh_is_right_and_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    def cannot(*_: object) -> None:
        raise ArithmeticError("no")

    monkeypatch.setattr(delivered, "with_lines", cannot)
    site, proposal = shaped(1)
    result = delivered_mesh(site, proposal)
    assert "could not be made to follow every breakline" in result.note
    assert fill_and_cut(result.mesh) == pytest.approx(fill_and_cut(proposal.mesh), rel=1e-3, abs=1e-6)


@pytest.mark.parametrize("scale", [20.0, 100.0, 1000.0])
@pytest.mark.parametrize("seed", SEEDS)
def test_no_body_of_a_random_yard_has_a_face_without_area(seed: int, scale: float) -> None:
    site, proposal = shaped(seed)
    mesh = delivered_mesh(site, proposal).mesh
    for body in (*ground_bodies(mesh, 0.05), table_model(mesh, scale, 0.005)):
        assert face_areas(body).min() > 0.0, body.name
