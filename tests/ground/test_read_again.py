"""The shots to read again first, with their odds and their weight in the soil; and the gap that no shot covers."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from real_ground import smooth_garden, spread_out
from survey_sites import BED, FOOT, site_of

from terrain import model_ground
from terrain.ground.gaps import gap_words, hidden_ditch, widest_gap
from terrain.ground.model import Gap, ReadAgain
from terrain.ground.read_again import again_short, again_words, odds_words


def test_a_bust_ranks_first_and_one_too_small_to_call_says_what_the_soil_is_without_it() -> None:
    random = np.random.default_rng(17)
    shots = smooth_garden(spread_out(50, random), random, 0.02)
    inside = int(np.argmin(np.hypot(*(shots[:, :2] - [30.0, 20.0]).T)))
    sound = model_ground(site_of(shots))
    assert len(sound.check.again) == 3
    assert max(one.odds for one in sound.check.again) < 1.0
    shots[inside, 2] += 0.8
    called = model_ground(site_of(shots))
    first = called.check.again[0]
    assert first.name == called.check.doubtful[0].name == str(inside + 1)
    assert first.odds > 1000.0
    assert not first.heeded
    assert first.residual == pytest.approx(0.8 * FOOT, abs=0.1 * FOOT)
    assert "odds over 1000 to 1" in again_words(first, 50.0, "ft")
    assert abs(first.change) < 1e-4  # what is not heeded moves nothing
    odds = [one.odds for one in called.check.again]
    assert odds == sorted(odds, reverse=True)


def test_a_sheet_has_one_line_for_each() -> None:
    shot = ReadAgain("17", (1.0, 2.0), 0.26 * FOOT, 1.0 / 83.0, 0.01, True)
    assert again_short(shot, 50.0, "ft") == "1 to 83, 0.26 ft high, 0.7 cu yd less"  # 0.5 m3
    assert again_words(shot, 50.0, "ft").endswith("without it the mound takes 0.7 cu yd less.")
    assert again_short(replace(shot, change=0.0, odds=4.0), 50.0, "ft") == "4 to 1, 0.26 ft high, same soil"
    assert again_short(replace(shot, heeded=False), 50.0, "ft").endswith("not heeded")


def test_words_of_odds() -> None:
    assert odds_words(3.2) == "odds 3 to 1 that it is misread"
    assert odds_words(0.05) == "odds 1 to 20 that it is misread"
    assert odds_words(1e-9) == "odds under 1 to 1000"


def test_the_gap_is_the_widest_circle_without_a_shot() -> None:
    corners = np.array([[0.0, 0.0], [6.0, 0.0], [6.0, 4.0], [0.0, 4.0]])
    bed = np.stack(np.meshgrid(np.linspace(0.0, 6.0, 61), np.linspace(0.0, 4.0, 41)), axis=-1).reshape(-1, 2)
    gap = widest_gap(bed, corners)
    assert gap.width == pytest.approx(2.0 * np.hypot(3.0, 2.0), abs=1e-9)
    assert gap.at == pytest.approx((3.0, 2.0))


def test_a_ditch_is_half_its_width_times_depth_and_length() -> None:
    gap = Gap(9.0 * FOOT, (10.0 * FOOT, 5.0 * FOOT))
    assert hidden_ditch(gap, "ft") / FOOT**3 == pytest.approx(0.5 * 9.0 * 9.0 * 1.0, rel=1e-12)
    assert "1.5 cu yd" in gap_words(gap, "ft")  # 40.5 cu ft / 27
    assert "does not count on one" in gap_words(gap, "m")


def test_no_shot_stands_in_the_gap_of_a_ground() -> None:
    random = np.random.default_rng(4)
    shots = smooth_garden(spread_out(30, random), random, 0.02)
    gap = model_ground(site_of(shots)).gap
    assert gap is not None
    away = np.hypot(*(shots[:, :2] * FOOT - gap.at).T)
    assert away.min() == pytest.approx(gap.width / 2.0, rel=1e-9)
    assert shapely.Point(np.array(gap.at) / FOOT).within(BED)
