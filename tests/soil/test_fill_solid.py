"""The fill solid is closed, faces outward and holds exactly the volume between the two surfaces."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import trimesh
from berm_yards import StarYard, circle, cone, kidney, raised_cosine
from hypothesis import given, strategies as st

from terrain.numerics.half_edges import with_reverse
from terrain.numerics.mesh import YardMesh
from terrain.numerics.prisms import prism_volume
from terrain.soil.solid import Solid, fill_solid, round_offset


def assert_closed(solid: Solid) -> trimesh.Trimesh:
    """Closed as indexed, and again after coincident vertices are merged as every loader does."""
    raw = trimesh.Trimesh(solid.vertices, solid.faces, process=False)
    assert raw.is_watertight
    assert raw.is_winding_consistent
    assert raw.area_faces.min() > 0.0
    merged = trimesh.Trimesh(solid.vertices, solid.faces, process=True)
    assert merged.is_watertight
    assert len(merged.vertices) == len(solid.vertices)
    assert raw.volume == pytest.approx(solid.volume, rel=1e-9, abs=1e-9)
    return raw


def volume_between(mesh: YardMesh, sod: float) -> float:
    return prism_volume(mesh.points, mesh.triangles[mesh.inside], mesh.existing - sod, mesh.proposed).fill


def square_lattice(size: int, cell: float = 1.0) -> tuple[np.ndarray, np.ndarray]:
    """Points of a size x size lattice and its triangles, two a cell."""
    north, east = np.mgrid[0:size, 0:size]
    points = cell * np.column_stack([east.ravel(), north.ravel()]).astype(float)
    corner = (np.arange(size - 1)[:, None] * size + np.arange(size - 1)).ravel()
    lower = np.column_stack([corner, corner + 1, corner + size + 1])
    upper = np.column_stack([corner, corner + size + 1, corner + size])
    return points, np.concatenate([lower, upper]).astype(np.int64)


def lattice_yard(size: int, fill: np.ndarray, inside: np.ndarray) -> YardMesh:
    points, triangles = square_lattice(size)
    existing = 50.0 + 0.03 * points[:, 0] - 0.02 * points[:, 1]
    return YardMesh(points, triangles, inside, existing, existing + fill)


@pytest.mark.parametrize("sod", [0.0, 0.05])
@pytest.mark.parametrize("radius", [circle(4.0), kidney(4.0)])
def test_a_berm_with_and_without_sod_is_closed_and_exact(radius, sod: float) -> None:
    mesh = StarYard(radius, raised_cosine(0.6), plane=(30.0, 0.03, -0.02)).mesh()
    body = assert_closed(fill_solid(mesh, sod))
    assert body.volume == pytest.approx(volume_between(mesh, sod), rel=1e-6)


def test_without_sod_the_solid_has_no_walls() -> None:
    solid = fill_solid(StarYard(circle(4.0), cone(0.8)).mesh(), 0.0)
    corners = solid.vertices[solid.faces]
    plan = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])[:, 2]
    assert np.abs(plan).min() > 1e-6  # an upright face has no plan area


def test_with_sod_the_walls_stand_upright_on_the_outline() -> None:
    yard = StarYard(circle(4.0), cone(0.8), spokes=64, rings=12)
    solid = fill_solid(yard.mesh(), 0.05)
    mesh = trimesh.Trimesh(solid.vertices, solid.faces, process=False)
    walls = np.abs(mesh.face_normals[:, 2]) < 1e-9
    assert mesh.area_faces[walls].sum() == pytest.approx(0.05 * yard.outline.exterior.length, rel=1e-6)


def test_a_keep_off_hole_stays_open() -> None:
    mesh = StarYard(circle(4.0), cone(0.8), spokes=64, rings=12).mesh()
    inner = np.arange(len(mesh.triangles)) < 64 * 5  # the innermost rings are kept off
    holed = replace(mesh, inside=mesh.inside & ~inner)
    body = assert_closed(fill_solid(holed, 0.05))
    assert body.euler_number == 0  # a ring, not a ball
    assert body.volume == pytest.approx(volume_between(holed, 0.05), rel=1e-9)


def test_parts_that_touch_in_one_corner_do_not_share_an_upright_edge() -> None:
    points, triangles = square_lattice(3)
    cell = {i: [i, i + 4] for i in range(4)}
    inside = np.zeros(len(triangles), dtype=bool)
    inside[cell[0] + cell[3]] = True  # south-west and north-east squares meet in the middle
    mesh = YardMesh(points, triangles, inside, np.zeros(9), np.full(9, 0.3))
    body = assert_closed(fill_solid(mesh, 0.1))
    assert len(body.split()) == 2
    assert body.volume == pytest.approx(2 * 0.4, abs=1e-5)


def test_two_mounds_that_meet_along_a_line_of_no_fill_stay_closed() -> None:
    points, triangles = square_lattice(3)
    fill = np.where(points[:, 0] == 1.0, 0.0, 0.5)
    mesh = YardMesh(points, triangles, np.ones(8, dtype=bool), np.zeros(9), fill)
    body = assert_closed(fill_solid(mesh, 0.0))
    assert body.volume == pytest.approx(volume_between(mesh, 0.0), abs=2e-5)


def test_fill_stops_at_the_line_where_finished_grade_meets_stripped_ground() -> None:
    # Ground level, finished grade falls 1 in 1 across it: the fill is a wedge 1/2 * 1 * 1 on a width of 2.
    points, triangles = square_lattice(3)
    mesh = YardMesh(points, triangles, np.ones(8, dtype=bool), np.zeros(9), 1.0 - points[:, 0])
    body = assert_closed(fill_solid(mesh, 0.0))
    assert body.volume == pytest.approx(1.0, rel=1e-12)
    assert body.bounds[:, 0] - 1.0 == pytest.approx([-1.0, 0.0], abs=1e-12)


@given(st.lists(st.tuples(st.integers(0, 9), st.integers(0, 9)), max_size=40))
def test_edges_with_their_reverse_are_those_that_looking_for_each_finds(edges: list[tuple[int, int]]) -> None:
    listed = np.array(edges, dtype=np.int64).reshape(-1, 2)
    assert with_reverse(listed).tolist() == [(b, a) in edges for a, b in edges]


def test_nothing_placed_gives_a_solid_without_faces() -> None:
    mesh = StarYard(circle(4.0), cone(0.0), spokes=16, rings=4).mesh()
    solid = fill_solid(mesh, 0.0)
    assert solid.faces.shape == (0, 3)
    assert solid.volume == 0.0


def test_volume_does_not_depend_on_where_the_survey_has_its_origin() -> None:
    near = fill_solid(StarYard(kidney(4.0), cone(0.8)).mesh(), 0.05)
    far = fill_solid(StarYard(kidney(4.0), cone(0.8), centre=(1e6, 3e6)).mesh(), 0.05)
    assert far.volume == pytest.approx(near.volume, rel=1e-7)
    assert np.abs(far.vertices).max() < 20.0


def test_offset_is_whole_metres_south_west_of_and_below_the_yard() -> None:
    mesh = StarYard(circle(4.0), cone(0.8), centre=(512.3, 77.9), plane=(30.02, 0.0, 0.0)).mesh()
    offset = round_offset(mesh, 0.05)
    assert all(float(value).is_integer() for value in offset)
    least = np.array([*mesh.points.min(axis=0), 30.02 - 0.05])
    assert np.all((least - offset >= 0.0) & (least - offset < 1.0))


@given(st.data())
def test_any_pattern_of_fill_no_fill_and_cut_closes(data: st.DataObject) -> None:
    size = 4
    levels = st.sampled_from([0.0, 0.0, 0.2, 0.35, 0.6, 1e-7, -0.1, -0.25])
    fill = np.array(data.draw(st.lists(levels, min_size=size**2, max_size=size**2)))
    count = 2 * (size - 1) ** 2
    inside = np.array(data.draw(st.lists(st.booleans(), min_size=count, max_size=count)))
    sod = data.draw(st.sampled_from([0.0, 0.05, 0.1]))
    mesh = lattice_yard(size, fill, inside)
    solid = fill_solid(mesh, sod)
    expected = volume_between(mesh, sod)
    if len(solid.faces) == 0:
        assert expected == pytest.approx(0.0, abs=1e-4)
        return
    body = assert_closed(solid)
    assert body.volume == pytest.approx(expected, abs=1e-4)  # a hair or a film on a few square metres


def test_a_cone_holds_a_third_of_its_base_times_height() -> None:
    yard = StarYard(circle(12.0), cone(2.0), rings=8, spokes=4096)
    assert fill_solid(yard.mesh(), 0.0).volume == pytest.approx(math.pi * 144.0 * 2.0 / 3.0, rel=1e-6)
