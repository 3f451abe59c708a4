"""What each sign measures, on forms whose answer is known."""

from __future__ import annotations

import numpy as np
import pytest
from shapely.geometry import box

from terrain.grid import Grid
from terrain.look import Look, natural_look
from terrain.look.water import filled

GRID = Grid(-8.0, -6.0, 0.08, 201, 151)
X, Y = np.meshgrid(GRID.x, GRID.y)
R = np.hypot(X, Y)
BED = box(-8.0, -6.0, 8.0, 6.0)
LEVEL = np.zeros(GRID.shape)


def look(fill: np.ndarray, existing: np.ndarray = LEVEL) -> Look:
    return natural_look(GRID, existing, existing + np.maximum(fill, 0.0), BED)


def raised_cosine(radius: float = 4.0) -> np.ndarray:
    return 0.5 * (1.0 + np.cos(np.pi * np.minimum(R / radius, 1.0)))


def test_a_straight_cone_shows_the_marks_of_a_cone() -> None:
    seen = look(1.0 - R / 4.0)
    assert seen["cone"].value > 0.99
    # The rest lies within the smoothing of edge and apex: 0.14 of the half width, which bends the face for twice that.
    assert seen["straight_faces"].value > 0.43
    assert seen["sharp_toe"].value == pytest.approx(1.0, abs=0.2)
    assert seen["sharp_peak"].present
    assert seen["same_all_round"].value > 0.99
    assert not seen["flat_top"].present
    assert not seen["loaf"].present


def test_a_raised_cosine_is_round_but_has_neither_straight_faces_nor_sharp_edges() -> None:
    # the slope sin(pi r/a) is within half its size of even, over one half width, only for |cot(pi r/a)| < 1/(2 pi)
    seen = look(raised_cosine())
    assert seen["cone"].present
    assert seen["straight_faces"].value < 0.2
    assert seen["sharp_toe"].value < 0.35  # sin(pi/10) and a little, a twentieth of the way in from the edge
    assert not seen["sharp_peak"].present


def test_the_level_share_of_a_frustum_is_that_of_its_top() -> None:
    # The top has radius 2; the upper half of the mound, above 0.5, has radius 3. A bell curve of 0.31 m rounds the rim:
    # the slope comes to 0.15 of 1 over 3.85, 8 % of the side's 0.5, where 8 % of the curve lie past it, 1.4 widths in.
    seen = look(np.minimum(1.0, (4.0 - R) / 2.0))
    assert seen["flat_top"].value == pytest.approx(((2.0 - 1.4 * 0.31) / 3.0) ** 2, abs=0.02)


def test_a_prism_repeats_its_section_over_its_straight_length() -> None:
    length, half = 5.0, 1.2
    seen = look(np.minimum(1.0 - np.abs(Y) / half, (length + half - np.abs(X)) / half))
    assert seen["loaf"].value == pytest.approx(length / (length + half), abs=0.1)
    assert seen["parallel_contours"].value > 0.6
    assert seen["loaf"].at == pytest.approx((0.0, 0.0), abs=0.4)


def test_a_bend_does_not_hide_a_loaf() -> None:
    bent = Y - 0.06 * X**2  # over the length of its normal, about the distance from the crest
    section = np.clip(1.0 - np.abs(bent) / np.hypot(1.0, 0.12 * X) / 1.2, 0.0, 1.0)
    seen = look(section * (np.abs(X) < 5.0))
    assert seen["loaf"].present


@pytest.mark.parametrize("treads", [2, 3, 4])
def test_steps_are_called_however_many(treads: int) -> None:
    seen = look(np.ceil(np.clip(1.0 - R / 5.0, 0.0, 1.0) * treads) / treads)
    assert seen["stepped"].present
    radius = float(np.hypot(*seen["stepped"].at))
    assert 5.0 / treads - 0.3 < radius < 5.0  # on a tread, not on the top


def test_an_even_slope_has_no_step() -> None:
    assert look(1.0 - R / 4.0)["stepped"].value < 0.05


def test_twins_repeat_and_unlike_ends_do_not() -> None:
    def humps(second: float) -> np.ndarray:
        return np.exp(-((X - 2.2) ** 2) - Y**2) + second * np.exp(-((X + 2.2) ** 2) - Y**2)

    assert look(humps(1.0))["same_all_round"].value > 0.99
    assert not look(humps(0.7))["same_all_round"].present


def test_like_sides_alone_are_no_mark() -> None:
    lopsided = np.exp(-0.5 * (X / np.where(X > 0.0, 3.0, 1.5)) ** 2 - 0.5 * (Y / 0.9) ** 2)
    assert not look(lopsided)["same_all_round"].present


def test_a_ring_holds_water_to_the_depth_of_its_hollow() -> None:
    # crest 1.0 at r = 2.5, floor 0.4 in the middle: 0.6 deep over a height of 1.0
    ring = np.where(R < 2.5, 0.4 + 0.6 * np.sin(0.5 * np.pi * R / 2.5) ** 2, np.cos(0.5 * np.pi * (R - 2.5) / 2.5))
    seen = look(np.where(R < 5.0, ring, 0.0))
    assert seen["holds_water"].value == pytest.approx(0.6, abs=0.02)
    assert np.hypot(*seen["holds_water"].at) < 0.2


def test_a_hollow_that_was_there_before_is_not_the_mounds_doing() -> None:
    hollow = -0.8 * np.exp(-((X - 5.0) ** 2 + Y**2) / 0.5)
    mound = np.where(R < 3.0, 0.5 * (1.0 + np.cos(np.pi * R / 3.0)), 0.0)
    assert look(mound, existing=hollow)["holds_water"].value < 0.01


def test_a_dam_across_a_fall_holds_water() -> None:
    # a crescent open uphill on ground that falls 5 % to the south
    arm = np.exp(-(((R - 3.0) / 0.6) ** 2)) * (Y < 0.5)
    seen = look(arm, existing=0.05 * Y)
    assert seen["holds_water"].value > 0.1
    assert seen["holds_water"].at[1] < 0.0


def test_water_stands_level_in_a_pit_and_runs_off_a_slope() -> None:
    slope = 0.1 * X
    pit = slope - np.where(R < 1.0, 0.5, 0.0)
    assert filled(slope) == pytest.approx(slope, abs=1e-12)
    standing = filled(pit)[R < 0.9]
    assert standing == pytest.approx(standing[0], abs=1e-12)
    assert standing[0] == pytest.approx(-0.1, abs=0.02)  # the low rim of the pit, one cell of 0.08 m at 10 %


@pytest.mark.benchmark
def test_all_signs_take_less_than_80_ms_for_a_quarter_million_nodes() -> None:
    from time import perf_counter

    grid = Grid(0.0, 0.0, 0.02, 500, 500)
    x, y = np.meshgrid(grid.x - 5.0, grid.y - 5.0)
    fill = np.maximum(np.exp(-((x / 2.0) ** 2) - (y / 1.2) ** 2) * (1.0 + 0.3 * np.sin(x + y)) - 0.02, 0.0)
    times = []
    for _ in range(6):
        start = perf_counter()
        natural_look(grid, 0.02 * x, 0.02 * x + fill, box(0.0, 0.0, 10.0, 10.0))
        times.append(perf_counter() - start)
    assert min(times) < 0.080
