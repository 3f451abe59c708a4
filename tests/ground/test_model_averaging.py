"""The stated 90 % range of a bed's mean elevation holds what it says, on real terrain."""

from __future__ import annotations

import numpy as np
import pytest
from real_ground import Array, bed_within, smooth_garden, spread_out, terrain_crop, yard_returns

from terrain.ground.kriging import fit_kriging
from terrain.ground.model_averaging import likely_ground, mean_deviation_over, widening
from terrain.ground.shots import local_shots
from terrain.numerics.kriging import kriged, mean_and_deviation

HALF_90 = 1.645


def misses(ground: str, count: int, surveys: int) -> Array:
    """For each random survey: error of the bed's mean, stated deviation, and that with the covariance known."""
    rows, returns = [], yard_returns()
    for seed in range(surveys):
        random = np.random.default_rng([90, count, seed])
        every = terrain_crop(random) if ground == "terrain" else returns
        shots = local_shots(every[random.permutation(len(every))[:count]], 0.0 if ground == "terrain" else 0.02)
        bed = bed_within(every, random, most=600)
        places = shots.local(bed[:, :2])
        process = fit_kriging(shots)
        mean, plain = mean_and_deviation(process, places)
        stated = mean_deviation_over(likely_ground(shots), places, mean)
        rows.append((bed[:, 2].mean() - shots.base - mean, stated, plain))
    return np.array(rows).T


@pytest.mark.parametrize(
    ("ground", "count"),
    [
        pytest.param("yard", 40, marks=pytest.mark.slow),
        *(pytest.param("terrain", count, marks=pytest.mark.fuzz) for count in (20, 40, 80)),
        *(pytest.param("yard", count, marks=pytest.mark.fuzz) for count in (20, 80)),
    ],
)
def test_90_percent_range_covers_the_bed_s_mean(ground: str, count: int) -> None:
    error, stated, plain = misses(ground, count, 100)
    covered = np.mean(np.abs(error) < HALF_90 * stated)
    assert 0.84 <= covered <= 0.96
    assert np.median(stated / plain) > 1.0
    # Not bought with width: the errors have the size that is stated.
    assert 0.85 < np.sqrt(np.mean((error / stated) ** 2)) < 1.15


def test_unknown_covariance_widens_a_small_survey_most() -> None:
    factor = {}
    for count in (12, 60):
        each = []
        for seed in range(6):
            random = np.random.default_rng([4, count, seed])
            shots = local_shots(smooth_garden(spread_out(count, random), random, 0.02), 0.02)
            each.append(widening(likely_ground(shots), random.uniform(-1.0, 1.0, (60, 2))).mean())
        factor[count] = np.mean(each)
    assert factor[12] > factor[60] >= 1.0


def test_weights_sum_to_one_and_the_fit_is_among_the_likeliest() -> None:
    random = np.random.default_rng(7)
    shots = local_shots(smooth_garden(spread_out(40, random), random, 0.02), 0.02)
    process = fit_kriging(shots)
    likely = likely_ground(shots)
    assert likely.weights.sum() == pytest.approx(1.0, abs=1e-12)
    best = likely.processes[int(np.argmax(likely.weights))].covariance
    assert 0.3 < best.correlation_length / process.covariance.correlation_length < 3.0


def test_another_surface_s_distance_counts_as_error() -> None:
    random = np.random.default_rng(8)
    shots = local_shots(smooth_garden(spread_out(40, random), random, 0.02), 0.02)
    process = fit_kriging(shots)
    likely, places = likely_ground(shots), random.uniform(-0.5, 0.5, (100, 2))
    mean = float(kriged(process, places)[0].mean())
    at_mean, off = (mean_deviation_over(likely, places, mean + step) for step in (0.0, 0.5))
    assert off > at_mean
    assert off == pytest.approx(np.hypot(at_mean, 0.5), rel=0.01)
