"""Busts are named, and sound surveys are left in peace."""

from __future__ import annotations

import numpy as np
import pytest
from real_ground import Array, Random, smooth_garden, spread_out, terrain_crop, yard_returns
from survey_sites import FOOT, site_of

from terrain import model_ground
from terrain.ground.doubtful import find_doubtful
from terrain.ground.model_averaging import likely_ground
from terrain.ground.shots import local_shots


def doubtful_rows(shots: Array, accuracy: float) -> set[int]:
    ready = local_shots(shots, accuracy)
    return {miss.row for miss in find_doubtful(ready, likely_ground(ready))}


def garden(random: Random, count: int = 50) -> Array:
    return smooth_garden(spread_out(count, random), random, 0.02)


def with_busts(shots: Array, rows: Array, size: float, random: Random) -> Array:
    bust = shots.copy()
    bust[rows, 2] += size * random.choice([-1.0, 1.0], len(rows))
    return bust


def test_a_bust_is_named_in_the_site_s_units_and_does_not_pull_the_ground_to_itself() -> None:
    shots = garden(np.random.default_rng(17))
    shots[16, 2] -= 0.8
    ground = model_ground(site_of(shots))
    (named,) = ground.check.doubtful
    assert named.name == "17"
    assert named.at == pytest.approx(shots[16, :2] * FOOT, abs=1e-12)
    assert named.residual == pytest.approx(-0.8 * FOOT, abs=0.06 * FOOT)
    assert 0.0 < named.deviation < 0.1 * FOOT
    assert named.text.startswith("Shot 17 stands 0.")
    assert named.text.endswith(" ft below its neighbours.")
    assert ground.check.shots == 50
    there = ground.grid.sample(ground.elevation, shots[16:17, :2] * FOOT)[0]
    assert there == pytest.approx((shots[16, 2] + 0.8) * FOOT, abs=0.06 * FOOT)
    facets = model_ground(site_of(shots), "triangulation")  # they go through every shot, and say how far off they are
    assert facets.grid.sample(facets.elevation, shots[16:17, :2] * FOOT)[0] < (shots[16, 2] + 0.3) * FOOT
    assert facets.grid.sample(facets.deviation, shots[16:17, :2] * FOOT)[0] > 0.4 * FOOT


@pytest.mark.slow
def test_two_and_three_busts_do_not_hide_each_other() -> None:
    for count in (2, 3):
        found = 0
        for seed in range(10):
            random = np.random.default_rng([count, seed])
            rows = random.permutation(50)[:count]
            found += len(doubtful_rows(with_busts(garden(random), rows, 0.5, random), 0.02) & set(rows))
        assert found >= 0.9 * 10 * count


def test_too_few_shots_are_not_judged() -> None:
    shots = garden(np.random.default_rng(2), 7)
    shots[3, 2] += 5.0
    assert doubtful_rows(shots, 0.02) == set()


def test_a_perfect_plane_has_no_doubtful_shot() -> None:
    places = spread_out(40, np.random.default_rng(3))
    assert doubtful_rows(np.column_stack([places, 100.0 + places @ [0.1, -0.05]]), 0.0) == set()


def test_a_bust_on_a_perfect_plane_is_found() -> None:
    places = spread_out(40, np.random.default_rng(3))
    heights = 100.0 + places @ [0.1, -0.05]
    heights[20] += 0.3
    assert doubtful_rows(np.column_stack([places, heights]), 0.0) == {20}


def test_a_near_repeat_with_another_height_is_found() -> None:
    shots = garden(np.random.default_rng(5))
    shots = np.vstack([shots, shots[10] + [0.1, 0.0, 0.6]])
    assert doubtful_rows(shots, 0.02) & {10, 50}


def test_a_bust_in_a_large_survey_is_found() -> None:
    random = np.random.default_rng(9)
    shots = smooth_garden(random.uniform(0.0, 1.0, (500, 2)) * [60, 40], random, 0.02)
    assert doubtful_rows(with_busts(shots, np.array([123]), 0.5, random), 0.02) == {123}


@pytest.mark.parametrize(
    "gardens", [pytest.param(30, marks=pytest.mark.slow), pytest.param(100, marks=pytest.mark.fuzz)]
)
def test_half_a_foot_is_found_in_over_95_of_100_smooth_gardens(gardens: int) -> None:
    found = false = 0
    for seed in range(gardens):
        random = np.random.default_rng([50, seed])
        shots = garden(random)
        false += bool(doubtful_rows(shots, 0.02))
        row = int(random.integers(50))
        found += row in doubtful_rows(with_busts(shots, np.array([row]), 0.5, random), 0.02)
    assert found > 0.95 * gardens
    assert false < 0.05 * gardens


@pytest.mark.parametrize(
    "ground", [pytest.param("terrain", marks=pytest.mark.fuzz), pytest.param("yard", marks=pytest.mark.slow)]
)
def test_sound_surveys_of_real_ground_raise_few_false_alarms(ground: str) -> None:
    # The yard has bumps of half a foot, a yard across, that 50 shots meet once: its bound is wider than 5 %.
    surveys, returns, alarms = 100, yard_returns(), 0
    for seed in range(surveys):
        random = np.random.default_rng([51, seed])
        every = terrain_crop(random) if ground == "terrain" else returns
        shots = every[random.permutation(len(every))[:50]]
        alarms += bool(doubtful_rows(shots, 0.3 if ground == "terrain" else 0.03))
    assert alarms <= (5 if ground == "terrain" else 14)
