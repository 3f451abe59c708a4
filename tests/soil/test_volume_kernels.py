"""Laws of the volume kernels: closed forms, symmetry, refinement, and a slow second implementation."""

from __future__ import annotations

import math

import numpy as np
import pytest
from berm_yards import Form, StarYard, circle, cone, paraboloid, raised_cosine
from hypothesis import given, strategies as st

from terrain.grid import Array
from terrain.numerics.end_areas import end_area_volume
from terrain.numerics.prisms import positive_mean, prism_volume, triangle_areas
from terrain.numerics.unit_area import SplitMethod, grid_volume, node_weights, unit_area_volume

DEFAULT_CELL = 0.25  # feet, as the site file of the design page shows it
METHODS: tuple[SplitMethod, ...] = (
    "four corners",
    "proportional",
    "bilinear",
    "rising diagonals",
    "falling diagonals",
)
depths = st.floats(-2.0, 2.0, allow_nan=False).map(lambda value: round(value, 6))


def frustum(height: float, top_share: float) -> Form:
    return lambda share: height * np.clip((1.0 - share) / (1.0 - top_share), 0.0, 1.0)


def spherical_cap(base: float, height: float) -> Form:
    sphere = (base**2 + height**2) / (2.0 * height)
    return lambda share: np.sqrt(sphere**2 - np.minimum((base * share) ** 2, base**2)) - (sphere - height)


# Radius, form and closed volume in feet and cubic feet: M6 to M10, exact geometry.
MOUNDS = {
    "frustum 4:1": (12.0, frustum(2.0, 4.0 / 12.0), 435.634181),
    "spherical cap": (10.0, spherical_cap(10.0, 2.0), 318.348056),
    "paraboloid": (10.0, paraboloid(2.0), 314.159265),
    "raised cosine": (10.0, raised_cosine(2.0), 186.835311),
    "cone 6:1": (12.0, cone(2.0), 301.592895),
}


@pytest.mark.parametrize("name", MOUNDS)
@pytest.mark.parametrize("shift", [0.0, 0.37])
def test_grid_volume_of_a_mound_meets_its_closed_form_at_the_default_cell(name: str, shift: float) -> None:
    radius, form, exact = MOUNDS[name]
    yard = StarYard(circle(radius), form, centre=(shift, 2.0 * shift))
    _, fill, _ = yard.grid(DEFAULT_CELL)
    result = grid_volume(fill, DEFAULT_CELL**2)
    assert result.fill == pytest.approx(exact, rel=0.002)
    assert result.cut == 0.0
    assert unit_area_volume(fill, DEFAULT_CELL**2) == pytest.approx(result.net, rel=1e-12)


@pytest.mark.parametrize("name", MOUNDS)
def test_prisms_on_triangles_meet_the_closed_form(name: str) -> None:
    radius, form, exact = MOUNDS[name]
    mesh = StarYard(circle(radius), form, spokes=512, rings=120).mesh()
    result = prism_volume(mesh.points, mesh.triangles, mesh.existing, mesh.proposed)
    assert result.fill == pytest.approx(exact, rel=5e-4)  # chords of 512 spokes lose 2.5e-5, chords of form the rest


def test_error_of_the_grid_falls_with_the_square_of_the_cell() -> None:
    # Franke's function on the unit square, exact 0.4069695895; 6 x 6 and 11 x 11 nodes as computed in the
    # references.
    def franke(count: int) -> Array:
        x, y = np.meshgrid(np.linspace(0, 1, count), np.linspace(0, 1, count))
        return (
            0.75 * np.exp(-((9 * x - 2) ** 2 + (9 * y - 2) ** 2) / 4)
            + 0.75 * np.exp(-((9 * x + 1) ** 2) / 49 - (9 * y + 1) / 10)
            + 0.5 * np.exp(-((9 * x - 7) ** 2 + (9 * y - 3) ** 2) / 4)
            - 0.2 * np.exp(-((9 * x - 4) ** 2) - (9 * y - 7) ** 2)
        )

    coarse, fine = (unit_area_volume(franke(n), 1.0 / (n - 1) ** 2) for n in (6, 11))
    assert (coarse, fine) == pytest.approx((0.3977823442, 0.4048552160), abs=5e-9)
    assert (0.4069695895 - coarse) / (0.4069695895 - fine) == pytest.approx(4.35, abs=0.01)


def test_end_areas_overstate_a_cone_frustum_by_a_known_amount() -> None:
    # M6: the two end areas of the frustum give 502.654825 where the truth is 435.634181 (computed).
    areas = math.pi * np.array([144.0, 16.0])
    assert end_area_volume(areas, np.array([0.0, 2.0])) == pytest.approx(502.654825, abs=5e-7)


@given(st.lists(depths, min_size=12, max_size=12), st.sampled_from(METHODS))
def test_swapping_the_surfaces_swaps_cut_and_fill(values: list[float], method: SplitMethod) -> None:
    depth = np.array(values).reshape(3, 4)
    there, back = grid_volume(depth, 0.25, method=method), grid_volume(-depth, 0.25, method=method)
    assert (back.cut, back.fill) == pytest.approx((there.fill, there.cut), rel=1e-12, abs=1e-12)
    assert there.cut >= 0.0
    assert there.fill >= 0.0


@given(st.lists(depths, min_size=12, max_size=12))
def test_net_of_every_split_of_the_four_point_surface_is_the_unit_area_volume(values: list[float]) -> None:
    depth = np.array(values).reshape(3, 4)
    for method in METHODS[:3]:
        net = grid_volume(depth, 0.25, method=method).net
        assert net == pytest.approx(unit_area_volume(depth, 0.25), rel=1e-9, abs=1e-9)


@given(st.lists(depths, min_size=4, max_size=4))
def test_bilinear_split_agrees_with_a_fine_slow_sum(values: list[float]) -> None:
    depth = np.array(values).reshape(2, 2)
    at = (np.arange(400) + 0.5) / 400
    u, v = np.meshgrid(at, at)
    south = depth[0, 0] * (1 - u) + depth[0, 1] * u
    north = depth[1, 0] * (1 - u) + depth[1, 1] * u
    surface = south * (1 - v) + north * v
    result = grid_volume(depth, 1.0, method="bilinear")
    assert result.fill == pytest.approx(np.maximum(surface, 0.0).mean(), abs=2e-5)  # mid-point rule, 400 x 400
    assert result.cut == pytest.approx(np.maximum(-surface, 0.0).mean(), abs=2e-5)


@given(st.tuples(depths, depths, depths))
def test_positive_part_of_a_triangle_agrees_with_a_fine_slow_sum(corners: tuple[float, float, float]) -> None:
    count = 200
    first, second = np.meshgrid(np.arange(count), np.arange(count))
    lower = first + second < count
    upper = first + second < count - 1
    centres = np.concatenate(
        [
            np.column_stack([first[lower] + 1 / 3, second[lower] + 1 / 3]),
            np.column_stack([first[upper] + 2 / 3, second[upper] + 2 / 3]),
        ]
    )
    share = centres / count
    depth = corners[0] * (1 - share.sum(axis=1)) + share @ np.array(corners[1:])
    exact = positive_mean(np.array([corners]))[0]
    assert exact == pytest.approx(np.maximum(depth, 0.0).mean(), abs=5e-5)


@given(st.tuples(depths, depths, depths), st.permutations([0, 1, 2]))
def test_positive_part_does_not_depend_on_the_order_of_corners(corners, order) -> None:
    values = np.array([corners])
    assert positive_mean(values[:, order]) == pytest.approx(positive_mean(values), rel=1e-12, abs=1e-15)
    mean = positive_mean(values) - positive_mean(-values)
    assert mean == pytest.approx(np.mean(values), abs=1e-12)


def test_tiny_depths_do_not_divide_by_zero() -> None:
    with np.errstate(all="raise", under="ignore"):
        result = positive_mean(np.array([[1e-200, 0.0, -1e-200], [0.0, 0.0, 0.0], [1e-200, -1.0, -1.0]]))
    assert np.all(np.isfinite(result))
    assert np.all(result >= 0.0)


def test_nodes_of_an_irregular_pit_are_weighted_by_the_cells_that_share_them() -> None:
    # An L of three cells: five nodes of one cell, two of two and one (the inner corner) of three.
    cells = np.array([[True, True], [True, False]])
    weights = node_weights(cells)
    assert weights.tolist() == [[1, 2, 1], [2, 3, 1], [1, 1, 0]]
    assert unit_area_volume(np.ones((3, 3)), 5.0, cells) == pytest.approx(15.0, rel=1e-12)


def test_winding_of_triangles_does_not_change_a_volume() -> None:
    points = np.array([[0.0, 0.0], [3.0, 0.0], [0.0, 4.0]])
    clockwise = np.array([[0, 2, 1]])
    assert triangle_areas(points, clockwise)[0] == -6.0
    assert prism_volume(points, clockwise, np.zeros(3), np.ones(3)).fill == pytest.approx(6.0, rel=1e-12)


def test_a_triangle_that_the_surfaces_cross_is_divided_along_their_line() -> None:
    # One corner 1 m over, two 2 m under: the small triangle of thirds of two sides is filled, (A / 9) (1 / 3); fill
    # less cut is A times the mean of the three corners.
    points = np.array([[0.0, 0.0], [3.0, 0.0], [0.0, 4.0]])
    volumes = prism_volume(points, np.array([[0, 1, 2]]), np.zeros(3), np.array([1.0, -2.0, -2.0]))
    assert volumes.fill == pytest.approx(6.0 / 27.0, rel=1e-12)
    assert volumes.cut == pytest.approx(6.0 / 27.0 + 6.0, rel=1e-12)


def test_a_datum_shift_changes_nothing() -> None:
    mesh = StarYard(circle(4.0), cone(0.8)).mesh()
    here = prism_volume(mesh.points, mesh.triangles, mesh.existing, mesh.proposed)
    raised = prism_volume(mesh.points, mesh.triangles, mesh.existing + 1000.0, mesh.proposed + 1000.0)
    assert raised.fill == pytest.approx(here.fill, rel=1e-9)
