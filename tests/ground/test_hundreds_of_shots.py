"""Kriging from hundreds of shots by a lattice is kriging from all of them, within what is stated."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from real_ground import terrain_crop
from scipy.special import gamma, kv

from terrain.ground.blunders import judge_many
from terrain.ground.choose import elevation_and_deviation, fit_ground, heights_at
from terrain.ground.hundreds import heights_of_hundreds, kriged_from_hundreds
from terrain.ground.shots import LocalShots, local_shots
from terrain.numerics.covariance import Covariance, correlation
from terrain.numerics.kriging import (
    Kriging,
    covariance_between,
    krige_with,
    kriged,
    left_out_together,
    pulled,
    with_sill,
)
from terrain.numerics.near_parts import mended, near_parts

SPACING = 0.08  # frame units, of 700 shots


def terrain_shots(count: int, accuracy: float) -> LocalShots:
    random = np.random.default_rng([71, count])
    every = terrain_crop(random, 60, 100)
    return local_shots(every[random.permutation(len(every))[:count]], accuracy)


@pytest.fixture(scope="module")
def shots() -> LocalShots:
    return terrain_shots(700, 0.0)


def process_of(shots: LocalShots, smoothness: float) -> Kriging:
    return krige_with(shots.places, shots.heights, shots.error, Covariance(smoothness, 0.2, 2500.0))


def grid_over(shots: LocalShots, side: int, beyond: float = 0.0) -> np.ndarray:
    low, high = shots.places.min(axis=0), shots.places.max(axis=0)
    over = beyond * (high - low)
    axes = (np.linspace(low[k] - over[k], high[k] + over[k], side) for k in (0, 1))
    return np.column_stack([part.ravel() for part in np.meshgrid(*axes)])


@pytest.mark.parametrize(("smoothness", "stated"), [(0.5, 0.03), (1.5, 0.005), (2.5, 0.005)])
def test_the_lattice_costs_less_than_is_stated(shots: LocalShots, smoothness: float, stated: float) -> None:
    process, targets = process_of(shots, smoothness), grid_over(shots, 180)
    height, variance = kriged_from_hundreds(process, SPACING, targets)
    some = np.random.default_rng(2).permutation(len(targets))[:1500]
    direct, deviation = kriged(process, targets[some])
    relief = float(np.ptp(shots.heights))
    assert np.abs(height[some] - direct).max() < 3e-4 * relief
    # Hard by a shot, where the deviation falls to nothing, the lattice is too coarse to follow it.
    clear = deviation > 0.5 * np.median(deviation)
    ratio = np.sqrt(variance[some][clear]) / deviation[clear]
    assert np.sqrt(np.mean((ratio - 1.0) ** 2)) < stated
    assert abs(float(np.median(ratio)) - 1.0) < 0.001
    assert heights_of_hundreds(process, SPACING, targets) == pytest.approx(height, abs=1e-9 * relief)


def test_few_targets_are_worked_out_one_by_one(shots: LocalShots) -> None:
    process = process_of(shots, 1.5)
    targets = np.vstack([np.random.default_rng(3).uniform(-1.2, 1.2, (200, 2)), [[30.0, -40.0]]])
    height, variance = kriged_from_hundreds(process, SPACING, targets)
    direct, deviation = kriged(process, targets)
    assert height == pytest.approx(direct, abs=1e-8)
    # The last stands far off, where all that is open is the trend: that is of all shots.
    assert np.sqrt(variance) == pytest.approx(deviation, rel=0.005)


def test_nodes_on_shots_get_the_height_that_was_read(shots: LocalShots) -> None:
    process, grid = process_of(shots, 0.5), grid_over(shots, 180)
    targets = np.vstack([shots.places, grid])
    height = heights_of_hundreds(process, SPACING, targets)
    assert np.abs(height[: len(shots.places)] - shots.heights).max() < 1e-6  # metres, on 300 m of relief


def test_nodes_on_shots_with_noise_get_the_height_of_the_process() -> None:
    noisy = terrain_shots(600, 4.0)
    process = process_of(noisy, 1.5)
    height = heights_of_hundreds(process, SPACING, np.vstack([noisy.places, grid_over(noisy, 180)]))
    assert height[:600] == pytest.approx(kriged(process, noisy.places)[0], abs=1e-6)


def test_ground_of_hundreds_is_that_of_all_shots() -> None:
    """The whole way: fitted, judged, read on a grid that reaches past the hull."""
    ground = fit_ground(terrain_shots(620, 0.05))
    shots = ground.shots
    targets = grid_over(shots, 180, beyond=0.1) * shots.scale + np.array(shots.centre)
    elevation, deviation = elevation_and_deviation(ground, targets)
    some = np.random.default_rng(4).permutation(len(targets))[:800]
    height, direct = kriged(ground.process, shots.local(targets[some]))
    assert elevation[some] - shots.base == pytest.approx(height, abs=3e-4 * np.ptp(shots.heights))
    assert np.median(np.abs(deviation[some] / direct - 1.0)) < 0.002
    assert heights_at(ground, shots.local(targets)) == pytest.approx(elevation - shots.base, abs=1e-9)


@pytest.mark.parametrize("smoothness", [0.5, 1.5, 2.5])
def test_both_parts_together_are_the_covariance(smoothness: float) -> None:
    shape, place = Covariance(smoothness, 0.3, 2.0), np.array([[0.4, 0.1]])
    away = np.linspace(0.0, 1.0, 101)
    targets = place + away[:, None] * np.array([0.6, 0.8])
    near = near_parts(shape, place, np.ones(1), 0.5).at(targets)
    smooth = covariance_between(shape, targets, place)[:, 0] - near
    assert near[away >= 0.5] == pytest.approx(0.0, abs=1e-14)
    # The smooth part is a polynomial of fourth degree in the squared distance, and joins with four derivatives.
    inside = away < 0.5
    fitted = np.polynomial.Polynomial.fit(away[inside] ** 2, smooth[inside], 4)
    assert smooth[inside] == pytest.approx(fitted(away[inside] ** 2), abs=1e-12)
    step = 1e-3
    across = smooth_at(shape, 0.5 + step * np.arange(-3, 4))
    assert np.abs(np.diff(across, 5)).max() < 5e-4 * np.abs(np.diff(smooth_at(shape, step * np.arange(7)), 2)).max()


def smooth_at(shape: Covariance, away: np.ndarray) -> np.ndarray:
    """The smooth part at distances, of one place in the origin."""
    targets = np.column_stack([away, np.zeros_like(away)])
    near = near_parts(shape, np.zeros((1, 2)), np.ones(1), 0.5).at(targets)
    return np.asarray(covariance_between(shape, targets, np.zeros((1, 2)))[:, 0] - near)


@pytest.mark.parametrize("smoothness", [0.5, 1.5, 2.5])
def test_the_correlation_is_the_matern_of_the_books(smoothness: float) -> None:
    """2^(1-nu) / Gamma(nu) a^nu K_nu(a): Rasmussen and Williams (2006), eq. 4.14, by scipy's Bessel function."""
    a = np.linspace(0.01, 9.0, 50)
    book = 2.0 ** (1.0 - smoothness) / gamma(smoothness) * a**smoothness * kv(smoothness, a)
    assert correlation(0.7 * a, smoothness, 0.7) == pytest.approx(book, rel=1e-12)


def test_several_sums_at_once_are_each_alone(shots: LocalShots) -> None:
    weights = np.random.default_rng(5).normal(size=(len(shots.places), 3))
    shape, targets = Covariance(1.5, 0.2, 4.0), grid_over(shots, 12)
    together = pulled(shape, shots.places, targets, weights)
    for k in range(3):
        assert together[:, k] == pytest.approx(pulled(shape, shots.places, targets, weights[:, k]), abs=1e-9)


def test_places_are_mended_each_by_its_own_amount() -> None:
    random = np.random.default_rng(6)
    places, off = random.uniform(0.0, 1.0, (60, 2)), random.normal(size=60)
    away = np.array([[7.0, 7.0], [-3.0, 0.5]])
    values = mended(np.ones(62), np.vstack([places, away]), places, off, 0.2)
    assert values == pytest.approx(np.append(1.0 + off, [1.0, 1.0]), abs=1e-12)


@pytest.mark.parametrize("accuracy", [0.0, 2.0])
def test_shots_left_out_together_are_as_kriging_without_them(accuracy: float) -> None:
    shots = terrain_shots(120, accuracy)
    process, rows = process_of(shots, 1.5), np.array([5, 40, 41, 100])
    kept = np.setdiff1d(np.arange(120), rows)
    rest = krige_with(shots.places[kept], shots.heights[kept], shots.error[kept], process.covariance)
    residuals, expected = left_out_together(process, rows)
    assert residuals[kept] == pytest.approx(rest.residuals, abs=1e-7)
    assert expected[kept] == pytest.approx(rest.expected, rel=1e-8)
    height, deviation = kriged(rest, shots.places[rows])
    assert residuals[rows] == pytest.approx(shots.heights[rows] - height, abs=1e-7)
    assert expected[rows] == pytest.approx(np.hypot(deviation, shots.error[rows]), rel=1e-6)


def test_a_bust_among_hundreds_is_found() -> None:
    shots = terrain_shots(600, 0.05)
    heights = np.array(shots.heights)
    heights[[17, 300]] += 4.0 * heights.std()
    wrong = replace(shots, heights=heights)
    odds, aside = judge_many(wrong, krige_with(shots.places, heights, shots.error, Covariance(1.5, 0.2, 2500.0)), 0.005)
    assert set(aside) == {17, 300}
    assert (odds[[17, 300]] > 1e3).all()


def test_another_sill_of_exact_shots_is_kriging_again(shots: LocalShots) -> None:
    process = process_of(shots, 1.5)
    again = krige_with(shots.places, shots.heights, shots.error, replace(process.covariance, sill=3.7 * 2500.0))
    scaled = with_sill(process, 3.7)
    assert scaled.covariance == again.covariance
    targets = grid_over(shots, 12, beyond=0.2)
    for ours, theirs in zip(kriged(scaled, targets), kriged(again, targets), strict=True):
        assert ours == pytest.approx(theirs, rel=1e-7, abs=1e-6)
    assert scaled.expected == pytest.approx(again.expected, rel=1e-9)
    assert scaled.residuals == pytest.approx(again.residuals, rel=1e-7, abs=1e-8)
