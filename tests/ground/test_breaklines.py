"""Breaklines: the surface is exact on them, may crease there, and says how each method takes them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from examples_drawn import drawn
from hypothesis import given, settings, strategies as st
from real_ground import Array, smooth_garden, spread_out
from scipy.spatial import Delaunay
from survey_sites import FOOT, site_of

from terrain import interpolate, model_ground
from terrain.ground.choose import fit_ground
from terrain.ground.creases import with_breaklines
from terrain.ground.doubtful import find_doubtful
from terrain.ground.shots import local_shots
from terrain.numerics.constrained import with_edges
from terrain.numerics.shot_facets import triangulated
from terrain.site.model import Site

METHODS = ("triangulation", "thin_plate", "kriging")
WALL = 1.0  # metres that the ground drops within 5 cm


def along(line: Array, count: int) -> tuple[Array, Array]:
    """Places (count, 2) on a line of two points, and its heights there."""
    share = np.linspace(0.0, 1.0, count)[:, None]
    spots = line[0] + share * (line[1] - line[0])
    return spots[:, :2], spots[:, 2]


def walled(random: np.random.Generator, count: int = 60) -> tuple[Array, list[Array]]:
    """Shots on two levels with a wall between them, its top and its foot; all exact."""
    places = random.uniform([0.0, 0.0], [20.0, 12.0], (count, 2))
    places = places[np.abs(places[:, 0] - 10.0) > 0.3]
    low = places[:, 0] > 10.0
    heights = 5.0 + 0.02 * places[:, 1] - WALL * low
    top = np.array([[9.975, -1.0, 4.98], [9.975, 13.0, 5.26]])
    foot = np.array([[10.025, -1.0, 4.98 - WALL], [10.025, 13.0, 5.26 - WALL]])
    return np.column_stack([places, heights]), [top, foot]


@pytest.mark.parametrize("method", METHODS)
def test_on_a_breakline_the_surface_is_exact(method: str) -> None:
    random = np.random.default_rng(1)
    shots = smooth_garden(spread_out(50, random), random, 0.0) * FOOT
    bends = np.array([[3.0, 2.0], [9.0, 4.0], [15.0, 11.0]])
    line = np.column_stack([bends, interpolate(shots, bends, "kriging")[0] + [0.0, 0.05, 0.0]])
    for part in (line[:2], line[1:]):
        places, heights = along(part, 40)
        answered = interpolate(shots, places, method, breaklines=[line])[0]
        # The smooth methods pass through points a quarter of a shot spacing apart, and bend a little between them.
        assert answered == pytest.approx(heights, abs=1e-6 if method == "triangulation" else 0.02)


def test_triangulation_creases_at_a_wall_and_the_levels_stay_flat() -> None:
    random = np.random.default_rng(2)
    shots, lines = walled(random)
    places = random.uniform([0.5, 0.5], [19.5, 11.5], (400, 2))
    places = places[np.abs(places[:, 0] - 10.0) > 0.05]
    truth = 5.0 + 0.02 * places[:, 1] - WALL * (places[:, 0] > 10.0)
    inside = Delaunay(shots[:, :2]).find_simplex(places) >= 0
    creased = interpolate(shots, places, "auto", breaklines=lines)[0]
    assert creased[inside] == pytest.approx(truth[inside], abs=1e-6)
    without = interpolate(shots, places, "triangulation")[0]
    assert np.abs(without - truth)[inside].max() > 0.3


def test_auto_takes_the_method_that_creases_and_the_notes_say_why() -> None:
    site = with_lines(garden_site(), [np.array([[5.0, 4.0, 30.5], [13.0, 8.0, 30.6]])])
    ground = model_ground(site)
    assert ground.check.method == "triangulation"
    assert set(ground.check.errors) == set(METHODS)
    assert any("creases along 1 breakline; the smooth methods cannot" in note for note in ground.notes)
    asked = model_ground(site, "kriging")
    assert any("Kriging passes through 1 breakline but cannot crease there" in note for note in asked.notes)
    assert np.isfinite(asked.deviation).all()


def test_a_breakline_makes_the_ground_beside_it_surer() -> None:
    site = garden_site()
    line = np.array([[5.0, 4.0, 30.5], [13.0, 8.0, 30.6]])
    surer = model_ground(with_lines(site, [line]), "kriging")
    spot = np.array([[9.0, 6.0]])
    plain = model_ground(site, "kriging")
    assert surer.grid.sample(surer.deviation, spot)[0] < 0.5 * plain.grid.sample(plain.deviation, spot)[0]


def test_a_shot_on_a_breakline_gives_way_and_is_named_where_it_disagrees() -> None:
    site = garden_site()
    shots = site.survey.shots
    off = shots[7] + [0.0, 0.0, 0.2]
    line = np.array([shots[3], off])
    ground = model_ground(with_lines(site, [line]))
    assert any("Shot 8 stands on a breakline and 0.66 ft below it; the line is used." in n for n in ground.notes)
    assert not any("Shot 4 " in note for note in ground.notes)
    assert ground.grid.sample(ground.elevation, off[None, :2])[0] == pytest.approx(off[2], abs=0.03)


def test_no_point_of_a_breakline_is_called_doubtful() -> None:
    random = np.random.default_rng(3)
    shots = smooth_garden(spread_out(50, random), random, 0.02) * FOOT
    ridge = np.array([[4.0, 3.0, 33.0], [12.0, 9.0, 33.0]])  # far above the shots
    fitted = fit_ground(with_breaklines(local_shots(shots, 0.006), [ridge]))
    assert all(miss.row < 50 for miss in find_doubtful(fitted.shots, fitted.likely))


def test_lines_that_cross_share_one_point() -> None:
    random = np.random.default_rng(4)
    shots = smooth_garden(spread_out(30, random), random, 0.0) * FOOT
    crossing = [np.array([[4.0, 2.0, 30.0], [12.0, 10.0, 31.0]]), np.array([[4.0, 10.0, 30.0], [12.0, 2.0, 31.0]])]
    laid = with_breaklines(local_shots(shots, 0.0), crossing)
    middle = laid.local(np.array([[8.0, 6.0]]))
    meeting = np.flatnonzero(np.hypot(*(laid.places - middle).T) < 1e-6)
    assert len(meeting) == 1
    assert np.count_nonzero(laid.edges == meeting[0]) == 4
    assert laid.heights[meeting[0]] + laid.base == pytest.approx(30.5, abs=1e-6)


@settings(max_examples=drawn(30))
@given(st.integers(0, 10_000))
def test_constrained_triangles_cover_the_hull_once_and_are_delaunay_where_nothing_forbids(seed: int) -> None:
    random = np.random.default_rng(seed)
    points = random.uniform(0.0, 10.0, (40, 2))
    edge = np.array([[0, 1]])
    plain = Delaunay(points)
    forced = with_edges(points, plain.simplices.astype(np.int64), edge)
    sides = np.sort(np.vstack([forced[:, [0, 1]], forced[:, [1, 2]], forced[:, [2, 0]]]), axis=1)
    assert (sides == [0, 1]).all(axis=1).any()

    def area(triangles: Array) -> float:
        a, b, c = (points[triangles[:, k]] for k in range(3))
        return float(np.abs((b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0]).sum() / 2.0)

    assert area(forced) == pytest.approx(area(plain.simplices), rel=1e-9)
    across: dict[tuple[int, int], list[int]] = {}
    for triangle in forced.tolist():
        for k in range(3):
            side = tuple(sorted((triangle[k - 1], triangle[k - 2])))
            across.setdefault(side, []).append(triangle[k])
    for side, tips in across.items():
        if side != (0, 1) and len(tips) == 2:
            assert opposite_angles(points, side, tips) <= np.pi + 1e-6


def opposite_angles(points: Array, side: tuple[int, int], tips: list[int]) -> float:
    """Sum of the angles at the two corners across from a side: at most half a turn where it is Delaunay."""
    total = 0.0
    for tip in tips:
        first, second = points[side[0]] - points[tip], points[side[1]] - points[tip]
        total += float(np.arccos(first @ second / np.linalg.norm(first) / np.linalg.norm(second)))
    return total


def test_left_out_shots_do_not_reach_across_a_wall() -> None:
    shots, lines = walled(np.random.default_rng(5))
    fitted = fit_ground(with_breaklines(local_shots(shots, 0.0), lines))
    assert fitted.errors["triangulation"] == pytest.approx(0.0, abs=1e-6)  # both levels are planes
    assert fitted.errors["triangulation"] < 0.1 * fitted.errors["thin_plate"]
    assert triangulated(fitted.tin, fitted.shots.places) == pytest.approx(fitted.shots.heights, abs=1e-9)


def garden_site() -> Site:
    random = np.random.default_rng(8)
    return site_of(smooth_garden(spread_out(50, random), random, 0.02))


def with_lines(site: Site, lines: list[Array]) -> Site:
    return replace(site, survey=replace(site.survey, breaklines=tuple(lines)))
