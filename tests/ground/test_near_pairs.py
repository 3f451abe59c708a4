"""Shots close together with different elevations are named; those that a slope or a wall explains are not."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from real_ground import Array, smooth_garden, spread_out, yard_returns
from survey_sites import FOOT, site_of

from terrain.ground.creases import with_breaklines
from terrain.ground.existing import model_ground
from terrain.ground.near_pairs import steep_pairs
from terrain.ground.shots import local_shots


def garden(rise: float, count: int = 40) -> Array:
    """Shots in feet, the last 3 inches beside shot 13 and higher by `rise`."""
    random = np.random.default_rng(6)
    shots = smooth_garden(spread_out(count, random), random, 0.02)
    return np.vstack([shots, shots[12] + [0.25, 0.0, rise]])


def test_the_wrong_one_of_a_near_pair_is_named_with_its_neighbour() -> None:
    ground = model_ground(site_of(garden(0.6)))
    texts = [shot.text for shot in ground.check.doubtful if shot.name in ("13", "41")]
    assert len(texts) == 1
    assert texts[0].startswith("Shot 41 stands 0.")
    pair = "Shot 41 stands 0.60 ft above shot 13, 3 in from it: one is wrong, or a wall is between."
    assert texts[0] == pair or "above its neighbours" in texts[0]
    assert ground.check.shots == 41  # it stays in


def test_pair_is_judged_by_the_shots_around_it() -> None:
    for rise in (0.6, -0.6):
        (pair,) = steep_pairs(local_shots(garden(rise) * FOOT, 0.006))
        assert (pair.row, pair.other) == (40, 12)
        assert np.sign(pair.residual) == np.sign(rise)
        assert abs(pair.rise) > 0.9 * 0.6 * FOOT


def test_a_pair_within_its_errors_and_a_slope_is_left_alone() -> None:
    assert steep_pairs(local_shots(garden(0.2) * FOOT, 0.006)) == ()
    assert steep_pairs(local_shots(garden(0.6) * FOOT, 0.10)) == ()


def test_a_breakline_between_explains_the_pair() -> None:
    shots = garden(0.6) * FOOT
    middle = (shots[12, :2] + shots[40, :2]) / 2.0
    wall = np.array([[middle[0], middle[1] - 2.0, 30.4], [middle[0], middle[1] + 2.0, 30.4]])
    assert steep_pairs(with_breaklines(local_shots(shots, 0.006), [wall])) == ()
    site = site_of(garden(0.6))
    walled = replace(site, survey=replace(site.survey, breaklines=(wall,)))
    assert all(shot.name != "41" or "shot 13" not in shot.text for shot in model_ground(walled).check.doubtful)


def test_a_real_yard_has_few_such_pairs() -> None:
    returns = yard_returns()
    counts = []
    for seed in range(10):
        rows = np.random.default_rng([21, seed]).permutation(len(returns))[:80]
        counts.append(len(steep_pairs(local_shots(returns[rows] * FOOT, 0.03 * FOOT))))
    assert sum(counts) <= 2
