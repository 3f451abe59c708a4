"""Laws of the three surfaces, each against a slow second way or a closed form."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from real_ground import smooth_garden
from scipy.interpolate import LinearNDInterpolator, RBFInterpolator

from terrain.ground.kriging import fit_kriging
from terrain.ground.shots import LocalShots, local_shots
from terrain.numerics.covariance import Covariance, correlation
from terrain.numerics.kriging import krige_with, kriged, mean_and_deviation, pulled
from terrain.numerics.reml import deviance_of, fit_covariance, shot_table, with_best_sill
from terrain.numerics.shot_facets import carried_on, fit_triangulation, left_out_by_triangulation, triangulated
from terrain.numerics.thin_plate import bent_plate, fit_thin_plate

COUNT = 30


@pytest.fixture(scope="module")
def shots() -> LocalShots:
    random = np.random.default_rng(4)
    return local_shots(smooth_garden(random.uniform(0.0, 1.0, (COUNT, 2)) * [60, 40], random, 0.05), 0.02)


@pytest.fixture(scope="module")
def targets() -> np.ndarray:
    return np.random.default_rng(5).uniform(-1.5, 1.5, (400, 2))


def without(shot: int) -> np.ndarray:
    return np.arange(COUNT) != shot


def test_triangulation_is_that_of_scipy_inside_and_nan_outside(shots: LocalShots, targets: np.ndarray) -> None:
    ours = triangulated(fit_triangulation(shots.places, shots.heights), targets)
    theirs = LinearNDInterpolator(shots.places, shots.heights)(targets)
    assert np.array_equal(np.isnan(ours), np.isnan(theirs))
    assert np.nanmax(np.abs(ours - theirs)) < 1e-12
    assert np.isnan(ours).any()


def test_triangulation_left_out_equals_fitting_again(shots: LocalShots) -> None:
    ours = left_out_by_triangulation(fit_triangulation(shots.places, shots.heights))
    for shot in range(COUNT):
        others = LinearNDInterpolator(shots.places[without(shot)], shots.heights[without(shot)])
        again = shots.heights[shot] - others(shots.places[shot : shot + 1])[0]
        assert ours[shot] == pytest.approx(again, abs=1e-12, nan_ok=True)


def test_triangulation_goes_on_beyond_the_hull_without_a_step(shots: LocalShots) -> None:
    tin = fit_triangulation(shots.places, shots.heights)
    ring = tin.places[tin.ring]
    edge = 0.5 * (ring + np.roll(ring, -1, axis=0))
    out = edge * (1.0 + 1e-7) - 1e-7 * ring.mean(axis=0)
    assert np.isfinite(carried_on(tin, 100.0 * edge)).all()
    # One ten-millionth of the survey's size moves the surface by its slope times that.
    assert np.abs(carried_on(tin, out) - carried_on(tin, edge)).max() < 1e-6


def test_thin_plate_is_that_of_scipy(shots: LocalShots, targets: np.ndarray) -> None:
    theirs = RBFInterpolator(shots.places, shots.heights, kernel="thin_plate_spline", degree=1)(targets)
    assert bent_plate(fit_thin_plate(shots.places, shots.heights), targets) == pytest.approx(theirs, abs=1e-9)


@pytest.mark.parametrize("smoothing", [0.0, 0.01])
def test_thin_plate_left_out_equals_fitting_again(shots: LocalShots, smoothing: float) -> None:
    ours = fit_thin_plate(shots.places, shots.heights, smoothing).residuals
    for shot in range(COUNT):
        others = fit_thin_plate(shots.places[without(shot)], shots.heights[without(shot)], smoothing)
        again = shots.heights[shot] - bent_plate(others, shots.places[shot : shot + 1])[0]
        assert ours[shot] == pytest.approx(again, abs=1e-10)


def test_kriging_left_out_equals_kriging_again(shots: LocalShots) -> None:
    process = fit_kriging(shots)
    for shot in range(COUNT):
        others = without(shot)
        again = krige_with(shots.places[others], shots.heights[others], shots.error[others], process.covariance)
        height, deviation = kriged(again, shots.places[shot : shot + 1])
        assert process.residuals[shot] == pytest.approx(shots.heights[shot] - height[0], abs=1e-8)
        expected = np.hypot(deviation[0], shots.error[shot])
        assert process.expected[shot] == pytest.approx(expected, rel=1e-5)


def test_kriging_solves_the_textbook_system(shots: LocalShots, targets: np.ndarray) -> None:
    # Second way: the bordered system of universal kriging (Cressie, Statistics for Spatial Data, 1993, sec. 3.4).
    process = fit_kriging(shots)
    shape, terms = process.covariance, np.column_stack([np.ones(COUNT), shots.places])
    apart = np.linalg.norm(shots.places[:, None] - shots.places[None], axis=-1)
    system = np.zeros((COUNT + 3, COUNT + 3))
    system[:COUNT, :COUNT] = shape.sill * correlation(apart, shape.smoothness, shape.correlation_length)
    system[:COUNT, :COUNT] += np.diag(shots.error**2)
    system[:COUNT, COUNT:], system[COUNT:, :COUNT] = terms, terms.T
    across = np.linalg.norm(shots.places[:, None] - targets[None], axis=-1)
    right = np.vstack(
        [
            shape.sill * correlation(across, shape.smoothness, shape.correlation_length),
            np.ones(len(targets)),
            targets.T,
        ]
    )
    solution = np.linalg.solve(system, right)
    height, deviation = kriged(process, targets)
    assert height == pytest.approx(solution[:COUNT].T @ shots.heights, abs=1e-6)
    trend = np.column_stack([np.ones(len(targets)), targets]) @ process.seen.trend
    alone = trend + pulled(process.covariance, process.places, targets, process.weights)
    assert alone == pytest.approx(height, abs=1e-12)
    assert deviation**2 == pytest.approx(shape.sill - np.sum(solution * right, axis=0), rel=1e-5, abs=1e-9)


def test_deviation_of_a_mean_is_that_of_the_joint_covariance(shots: LocalShots, targets: np.ndarray) -> None:
    # Second way: draw surfaces from the process at shots and targets together, krige each, and look at the errors.
    shape = Covariance(smoothness=1.5, correlation_length=0.4, sill=0.04)
    process = krige_with(shots.places, shots.heights, shots.error, shape)
    some, draws = targets[:25], 4000
    everywhere = np.vstack([shots.places, some])
    apart = np.linalg.norm(everywhere[:, None] - everywhere[None], axis=-1)
    covariance = shape.sill * correlation(apart, shape.smoothness, shape.correlation_length) + 1e-12 * np.eye(
        COUNT + 25
    )
    random = np.random.default_rng(6)
    surfaces = np.linalg.cholesky(covariance) @ random.normal(size=(COUNT + 25, draws))
    measured = surfaces[:COUNT] + shots.error[:, None] * random.normal(size=(COUNT, draws))
    errors = [
        surfaces[COUNT:, draw].mean()
        - kriged(krige_with(shots.places, measured[:, draw], shots.error, shape), some)[0].mean()
        for draw in range(0, draws, 4)
    ]
    # 1,000 draws fix a deviation to 1 / sqrt(2000) = 2.2 %; four of those.
    assert mean_and_deviation(process, some)[1] == pytest.approx(np.std(errors), rel=0.09)


def test_deviation_of_a_mean_is_less_than_the_mean_deviation(shots: LocalShots, targets: np.ndarray) -> None:
    process = fit_kriging(shots)
    inside = targets[np.abs(targets).max(axis=1) < 0.8]
    assert 0.0 < mean_and_deviation(process, inside)[1] < kriged(process, inside)[1].mean()


def test_likelihood_is_highest_at_the_fit(shots: LocalShots) -> None:
    table = shot_table(shots.places, shots.heights, shots.error**2)
    fitted = fit_covariance(table)
    top = deviance_of(table, fitted)
    for length, sill in ((1.2, 1.0), (0.8, 1.0), (1.0, 1.3), (1.0, 0.7)):
        moved = replace(fitted, correlation_length=fitted.correlation_length * length, sill=fitted.sill * sill)
        assert deviance_of(table, moved) > top


def test_sill_follows_from_the_reach_for_exact_shots(shots: LocalShots) -> None:
    table = shot_table(shots.places, shots.heights, np.zeros(COUNT))
    fitted = with_best_sill(table, Covariance(1.5, 0.5, 1.0))
    top = deviance_of(table, fitted)
    assert deviance_of(table, replace(fitted, sill=1.01 * fitted.sill)) > top
    assert deviance_of(table, replace(fitted, sill=0.99 * fitted.sill)) > top


@pytest.mark.parametrize("smoothness", [0.5, 1.0, 1.5, 2.5])
def test_correlation_falls_from_one(smoothness: float) -> None:
    values = correlation(np.linspace(0.0, 30.0, 400), smoothness, 1.0)
    assert values[0] == 1.0
    assert (np.diff(values) < 0.0).all()
    assert values[-1] < 1e-9


def test_correlation_between_rough_and_smooth_is_that_of_the_tables() -> None:
    # a K1(a) from Abramowitz and Stegun, Handbook of Mathematical Functions (1964), table 9.8: e K1(1) = 1.6361534863,
    # e^2 K1(2) = 1.0334768471.
    printed = np.array([1.0, 1.6361534863 / np.e, 2.0 * 1.0334768471 / np.e**2])
    assert correlation(np.array([0.0, 3.0, 6.0]), 1.0, 3.0) == pytest.approx(printed, abs=1e-9)
    rough, between, smooth = (correlation(np.linspace(0.05, 0.4, 8), kind, 1.0) for kind in (0.5, 1.0, 1.5))
    assert (rough < between).all()
    assert (between < smooth).all()
