"""The Ground stage as a whole: from a site to the existing grade."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from real_ground import Array, smooth_garden, spread_out, yard_returns
from shapely.affinity import translate
from survey_sites import BED, FOOT, site_of

from terrain import interpolate, model_ground
from terrain.errors import InputError
from terrain.ground.choose import elevation_and_deviation, fit_ground
from terrain.ground.existing import points_over
from terrain.ground.model import Ground
from terrain.ground.notes import left_out_words
from terrain.ground.shots import local_shots


def garden(count: int = 50, seed: int = 8) -> Array:
    random = np.random.default_rng(seed)
    return smooth_garden(spread_out(count, random), random, 0.02)


@pytest.fixture(scope="module")
def ground() -> Ground:
    return model_ground(site_of(garden()))


def test_every_array_is_on_the_grid_finite_and_read_only(ground: Ground) -> None:
    for values in (ground.elevation, ground.deviation, ground.surveyed):
        assert values.shape == ground.grid.shape
        assert np.isfinite(values).all()
        assert not values.flags.writeable
    assert ground.surveyed.dtype == bool


def test_surveyed_is_the_hull_of_the_shots(ground: Ground) -> None:
    share = ground.surveyed.sum() * ground.grid.cell**2 / ground.hull.area
    assert share == pytest.approx(1.0, abs=0.01)  # a node stands for its cell
    assert not ground.surveyed.all()


@pytest.mark.parametrize("method", ["triangulation", "thin_plate", "kriging"])
def test_no_step_at_the_hull_whatever_the_method(method: str) -> None:
    ground = model_ground(site_of(garden()), method)
    assert ground.check.method == method
    rise = max(np.abs(np.diff(ground.elevation, axis=axis)).max() for axis in (0, 1))
    # The garden nowhere falls more than 0.3; its facets stay below twice that.
    assert rise < 0.6 * ground.grid.cell


def test_check_names_the_choice_and_every_error(ground: Ground) -> None:
    check = ground.check
    assert set(check.errors) == {"triangulation", "thin_plate", "kriging"}
    assert check.method == min(check.errors, key=lambda name: check.errors[name])
    assert check.rms == check.errors[check.method]
    assert check.shots == 50


def test_grid_holds_what_interpolate_gives(ground: Ground) -> None:
    shots = garden() * FOOT
    elevation, deviation = interpolate(shots, ground.grid.nodes, ground.check.method, accuracy=0.02 * FOOT)
    assert ground.elevation.ravel() == pytest.approx(elevation, abs=1e-12)
    assert ground.deviation.ravel() == pytest.approx(deviation, abs=1e-12)


def test_more_shots_make_the_bed_surer() -> None:
    few, many = (model_ground(site_of(garden(count))).mean_deviation for count in (16, 100))
    assert 0.0 < many < 0.7 * few


def test_bed_s_mean_is_surer_than_its_nodes(ground: Ground) -> None:
    assert 0.0 < ground.mean_deviation < np.median(ground.deviation)


def test_a_rougher_instrument_makes_the_bed_less_sure() -> None:
    site = site_of(garden())
    rough = replace(site, survey=replace(site.survey, accuracy=0.2 * FOOT))
    assert model_ground(rough).mean_deviation > 1.5 * model_ground(site).mean_deviation


def test_every_surface_s_bed_mean_is_within_its_range_of_the_others() -> None:
    shots = garden(40)
    grounds = [model_ground(site_of(shots), method) for method in ("triangulation", "thin_plate", "kriging")]
    bed = points_over(site_of(shots).bed.outline, 500)
    means = [ground.grid.sample(ground.elevation, bed).mean() for ground in grounds]
    assert np.ptp(means) < 3.0 * max(ground.mean_deviation for ground in grounds)


def test_real_yard_from_sixty_of_its_returns() -> None:
    returns = yard_returns()
    random = np.random.default_rng(60)
    shots = returns[random.permutation(len(returns))[:60]]
    corner = returns[:, :2].min(axis=0)
    site = site_of(shots, translate(BED, *corner), accuracy_ft=0.03)
    ground = model_ground(replace(site, tree=()))
    bed = ground.grid.sample(ground.elevation, points_over(site.bed.outline, 500)).mean()
    place = returns[:, :2] - corner
    inside = np.all((place > [15, 10]) & (place < [45, 30]), axis=1)
    truth = returns[inside, 2].mean() * FOOT
    assert abs(bed - truth) < 3.0 * ground.mean_deviation
    assert 0.002 < ground.mean_deviation < 0.02  # the references measured about 0.006 m at 50 shots
    held_out = ground.grid.sample(ground.elevation, returns[:, :2] * FOOT) - returns[:, 2] * FOOT
    assert np.sqrt(np.mean(held_out**2)) < 0.13 * FOOT  # they measured 0.11 ft at 50 shots


def test_repeated_place_takes_the_mean_and_says_so() -> None:
    shots = garden(30)
    again = np.vstack([shots, shots[4] + [0.0, 0.0, 0.5]])
    ground = model_ground(site_of(again))
    assert "Shots 5 and 31 stand in one place and differ by 0.50 ft; their mean is used." in ground.notes
    assert ground.check.shots == 31


def test_few_shots_get_an_assumed_deviation_and_say_so() -> None:
    for count in (3, 4, 6):
        ground = model_ground(site_of(garden(60)[[0, 3, 52, 30, 22, 41][:count]]))
        assert np.isfinite(ground.elevation).all()
        assert ground.mean_deviation > 0.0
        assert any(f"With {count} shots the deviation is assumed" in note for note in ground.notes)


@pytest.mark.slow
def test_thousands_of_shots_are_gone_through_one_by_one_and_say_so() -> None:
    ground = model_ground(site_of(yard_returns() - [*yard_returns()[:, :2].min(axis=0), 1300.0]))
    assert any(note.startswith("The 9,808 shots were compared and judged by their means in") for note in ground.notes)
    assert any("from the hundred or so shots nearest to it" in note for note in ground.notes)
    assert ground.check.shots == 9808
    returns = (yard_returns() - [*yard_returns()[:, :2].min(axis=0), 1300.0]) * FOOT
    apart = ground.grid.sample(ground.elevation, returns[:, :2]) - returns[:, 2]
    # A return differs from the mean of its five nearest by 0.032 ft rms: the floor.
    assert np.sqrt(np.mean(apart**2)) < 0.05 * FOOT


@pytest.mark.parametrize(
    ("shots", "problem"),
    [
        ([[0, 0, 1], [1, 1, 1]], "2 shots cannot fix a surface"),
        ([[0, 0, 1], [1, 1, 1], [2, 2, 3], [5, 5, 3]], "all 4 shots stand in one line"),
        ([[0, 0, 1], [1, 1, np.nan], [2, 0, 3]], r"row 2 holds \[1.0, 1.0, nan\]"),
        ([[0, 0], [1, 1], [2, 0]], r"an array of shape \(3, 2\) arrived"),
        ([[0, 0, 1], [0, 0, 2], [0, 0, 3]], "all 3 shots stand in one line"),
    ],
)
def test_shots_that_fix_no_surface_are_refused(shots: list[list[float]], problem: str) -> None:
    with pytest.raises(InputError, match=problem):
        interpolate(np.array(shots, dtype=float), np.zeros((1, 2)))


def test_unknown_method_lists_those_there_are() -> None:
    with pytest.raises(InputError, match="Accepted: auto, triangulation, thin_plate, kriging"):
        interpolate(garden(), np.zeros((1, 2)), "splines")
    with pytest.raises(InputError, match='"splines" is not a known method'):
        model_ground(site_of(garden()), "splines")


@pytest.mark.parametrize("targets", [np.zeros(2), np.zeros((3, 3)), np.array([[0.0, np.inf]])])
def test_unfit_targets_are_refused(targets: np.ndarray) -> None:
    with pytest.raises(InputError, match="targets: an array of shape"):
        interpolate(garden(), targets)


@pytest.mark.parametrize("accuracy", [-0.1, float("nan"), float("inf")])
def test_unfit_accuracy_is_refused(accuracy: float) -> None:
    with pytest.raises(InputError, match=r"accuracy: .* Accepted: .* in SI units"):
        interpolate(garden(), np.zeros((1, 2)), accuracy=accuracy)


def test_no_targets_get_no_answers() -> None:
    elevation, deviation = interpolate(garden(), np.zeros((0, 2)))
    assert elevation.shape == deviation.shape == (0,)


@pytest.mark.filterwarnings("error", "ignore::ResourceWarning")
@pytest.mark.parametrize("others", [[], [(6.0, 0.0, 10.0), (3.0, 0.0, 10.1)]], ids=["three", "one off a line"])
def test_a_shot_that_the_plane_hangs_on_has_no_residual_and_nothing_warns(others: list[tuple[float, ...]]) -> None:
    """With three shots none can be left out; with all but one in a line that one cannot."""
    shots = np.array([(0.0, 0.0, 10.0), (9.0, 0.0, 10.2), (4.0, 7.0, 10.4), *others])
    fitted = fit_ground(local_shots(shots, 0.005))
    residuals = fitted.process.residuals
    assert np.isnan(residuals[2])
    assert np.isinf(fitted.process.expected[2])
    assert np.isfinite(residuals[[0, 1]]).all() == bool(others)
    assert np.isnan(list(fitted.errors.values())).all() == (not others)
    at, deviation = elevation_and_deviation(fitted, np.array([[4.0, 3.0]]))
    assert np.isfinite([at, deviation]).all()


@pytest.mark.parametrize(("error", "words"), [(math.nan, "too few shots to tell"), (0.003048, "0.01 ft")])
def test_an_error_that_nobody_knows_is_never_printed_as_a_figure(error: float, words: str) -> None:
    assert left_out_words(error, "ft") == words
