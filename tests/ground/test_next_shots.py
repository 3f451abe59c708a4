"""Where to shoot next: the places named narrow the bed's mean as foretold, and more than other places would."""

from __future__ import annotations

import itertools
from dataclasses import replace

import numpy as np
import pytest
import shapely
from real_ground import Array, smooth_garden, spread_out, yard_returns
from shapely.geometry import MultiPoint, box
from survey_sites import FOOT, site_of

from terrain.ground.choose import fit_ground
from terrain.ground.existing import model_ground, points_over
from terrain.ground.kriging import fit_kriging
from terrain.ground.model_averaging import LikelyGround, likely_ground, mean_deviation_over, narrowed
from terrain.ground.shot_choice import candidates, greedy, next_shots
from terrain.ground.shots import local_shots
from terrain.numerics.kriging import krige_with, mean_and_deviation
from terrain.site.model import Building, Site
from terrain.site.survey import Survey


def garden(count: int = 30, seed: int = 5) -> Array:
    random = np.random.default_rng(seed)
    return smooth_garden(spread_out(count, random), random, 0.02)


@pytest.mark.parametrize("read", [-0.5, 0.0, 2.0])
def test_what_a_shot_takes_off_does_not_depend_on_what_it_reads(read: float) -> None:
    shots = local_shots(garden() * FOOT, 0.006)
    process = fit_kriging(shots)
    bed = np.random.default_rng(1).uniform(-0.6, 0.6, (80, 2))
    place = np.array([[0.1, 0.2]])
    alone = LikelyGround((process,), np.ones(1))
    mean, before = mean_and_deviation(process, bed)
    foretold = narrowed(alone, bed, mean, place, 0.006)
    more = krige_with(
        np.vstack([shots.places, place]),
        np.append(shots.heights, read),
        np.append(shots.error, 0.006),
        process.covariance,
    )
    assert mean_and_deviation(more, bed)[1] == pytest.approx(foretold, rel=1e-9)
    assert foretold < before


def test_the_first_place_is_the_best_of_all_that_were_tried() -> None:
    shots = local_shots(garden() * FOOT, 0.006)
    process = fit_kriging(shots)
    random = np.random.default_rng(2)
    bed, tried = random.uniform(-0.6, 0.6, (60, 2)), random.uniform(-0.8, 0.8, (25, 2))
    alone = LikelyGround((process,), np.ones(1))
    mean = mean_and_deviation(process, bed)[0]
    after = [narrowed(alone, bed, mean, place[None], 0.006) for place in tried]
    first, second = greedy(alone, bed, tried, 0.006, 2)
    assert first == int(np.argmin(after))
    pairs = [narrowed(alone, bed, mean, tried[[first, other]], 0.006) for other in range(25) if other != first]
    both = narrowed(alone, bed, mean, tried[[first, second]], 0.006)
    assert both == pytest.approx(min(pairs), rel=1e-9)


def test_each_place_narrows_what_the_last_left_and_none_is_worth_less_than_its_walk() -> None:
    site = site_of(garden())
    ground = model_ground(site)
    found = next_shots(site, ground.check.method)
    assert 1 <= len(found) <= 3
    steps = [ground.mean_deviation, *(shot.mean_deviation for shot in found)]
    assert all(after < 0.97 * before for before, after in itertools.pairwise(steps))


def with_shots(site: Site, more: Array) -> Site:
    """The site with (k, 3) more shots, metres."""
    names = (*site.survey.names, *(f"new {k}" for k in range(len(more))))
    survey = Survey(np.vstack([site.survey.shots, more]), names, ("",) * len(names), site.survey.accuracy)
    return replace(site, survey=survey)


@pytest.mark.slow
def test_shots_taken_there_on_a_real_yard_narrow_as_foretold_and_more_than_others() -> None:
    returns = yard_returns()
    returns = returns - [*returns[:, :2].min(axis=0), 1300.0]
    told, came, elsewhere = [], [], []
    for seed in range(9):
        random = np.random.default_rng([7, seed])
        rows = random.permutation(len(returns))
        site = replace(site_of(returns[rows[:25]], accuracy_ft=0.03), tree=())
        ground = model_ground(site)
        found = next_shots(site, ground.check.method)
        if not found:
            continue
        named = np.array([shot.at for shot in found]) / FOOT
        nearest = [int(np.argmin(np.hypot(*(returns[:, :2] - at).T))) for at in named]
        told.append(found[-1].mean_deviation / ground.mean_deviation)
        came.append(model_ground(with_shots(site, returns[nearest] * FOOT)).mean_deviation / ground.mean_deviation)
        others = returns[rows[25 : 25 + len(found)]] * FOOT
        elsewhere.append(model_ground(with_shots(site, others)).mean_deviation / ground.mean_deviation)
    assert len(told) >= 8
    assert np.median(came) == pytest.approx(np.median(told), abs=0.15)
    assert np.median(came) < np.median(elsewhere)


def test_no_place_is_in_a_house_or_a_trunk_and_all_are_by_the_bed() -> None:
    house = box(15.0 * FOOT, 26.0 * FOOT, 30.0 * FOOT, 40.0 * FOOT)
    site = replace(site_of(garden()), building=(Building("house", house),))
    tried = MultiPoint(candidates(site))
    assert 200 < len(tried.geoms) < 500
    assert not tried.intersects(house)
    assert shapely.distance(tried, shapely.Point(site.tree[0].at)) > site.tree[0].flare
    assert tried.within(site.bed.outline.buffer(0.1 * 30.0 * FOOT))


def test_expected_deviation_is_weighed_over_the_likely_covariances() -> None:
    shots = local_shots(garden(20) * FOOT, 0.006)
    fitted = fit_ground(shots, "kriging")
    likely = likely_ground(shots)
    bed = shots.local(points_over(site_of(garden(20)).bed.outline, 200))
    mean = mean_and_deviation(fitted.process, bed)[0]
    far = np.array([[50.0, 50.0]])  # a shot in the next street tells nothing
    before = mean_deviation_over(likely, bed, mean)
    assert narrowed(likely, bed, mean, far, 0.006) == pytest.approx(before, rel=0.01)
    assert narrowed(likely, bed, mean, bed[::20], 0.006) < 0.7 * before
