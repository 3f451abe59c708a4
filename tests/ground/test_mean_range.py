"""The range of a mean height is that of surfaces drawn one by one: each passes the shots as nearly as they are sure."""

from __future__ import annotations

import numpy as np
from scipy.linalg import solve_triangular

from terrain.ground.choose import FittedGround, fit_ground
from terrain.ground.mean_range import mean_height_range
from terrain.ground.shots import local_shots
from terrain.numerics.kriging import Kriging, covariance_between, covariance_with_shots
from terrain.numerics.trend import trend_terms

DRAWN = 40_000


def fitted(seed: int) -> FittedGround:
    rng = np.random.default_rng(seed)
    at = rng.uniform(0.0, 12.0, (18, 2))
    heights = 100.0 + 0.03 * at[:, 0] + 0.2 * np.sin(at[:, 0] / 2.0) * np.cos(at[:, 1] / 3.0) + rng.normal(0, 0.01, 18)
    return fit_ground(local_shots(np.column_stack([at, heights]), 0.01), "kriging", 0.0)


def surfaces(model: Kriging, targets: np.ndarray, count: int, rng: np.random.Generator) -> np.ndarray:
    """(m, count) surfaces given the shots, trend and all: Chiles and Delfiner, Geostatistics (2012), section 7.3."""
    seen = model.seen
    across, terms = covariance_with_shots(model, targets), trend_terms(targets)
    white = solve_triangular(seen.factor, across.T, lower=True)
    short = solve_triangular(seen.triangle, terms.T - seen.triangle.T @ (seen.basis.T @ white), trans="T")
    left = covariance_between(model.covariance, targets, targets) - white.T @ white + short.T @ short
    values, vectors = np.linalg.eigh(left)
    root = vectors * np.sqrt(np.maximum(values, 0.0))
    mean = across @ model.weights + terms @ seen.trend
    return np.asarray(mean[:, None] + root @ rng.standard_normal((len(targets), count)))


def test_it_is_the_range_of_the_means_of_drawn_surfaces() -> None:
    targets = np.random.default_rng(3).uniform((4.0, 3.0), (8.0, 9.0), (40, 2))
    for seed in (0, 1):
        fit, rng = fitted(seed), np.random.default_rng(5)
        times = rng.multinomial(DRAWN, fit.likely.weights / fit.likely.weights.sum())
        local = fit.shots.local(targets)
        drawn = [
            surfaces(process, local, int(often), rng).mean(axis=0)
            for process, often in zip(fit.likely.processes, times, strict=True)
        ]
        means = np.concatenate(drawn) + fit.shots.base
        wanted, found = np.quantile(means, [0.05, 0.95]), mean_height_range(fit, targets, 0.05)
        # The ends of 40,000 draws stray by a hundredth of their spread.
        assert np.abs(found - wanted).max() < 0.05 * float(means.std())
