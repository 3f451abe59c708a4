"""Surfaces drawn from a kriged process: each passes the shots as nearly as they are sure, and is rough between them."""

from __future__ import annotations

import numpy as np

from terrain.grid import Array
from terrain.numerics.kriging import Kriging, covariance_between, covariance_with_shots
from terrain.numerics.trend import trend_terms


def simulated(model: Kriging, targets: Array, count: int, rng: np.random.Generator) -> Array:
    """Heights (m, count) in metres at (m, 2) targets of surfaces drawn given the shots.

    Notes
    -----
    Their mean is the kriged height and their covariance its error's, trend and all: Chiles and Delfiner, Geostatistics
    (2012), section 7.3, drawn by the Cholesky factor of the conditional covariance.
    """
    from scipy.linalg import solve_triangular

    seen = model.seen
    across, terms = covariance_with_shots(model, targets), trend_terms(targets)
    white = solve_triangular(seen.factor, across.T, lower=True, check_finite=False)
    short = solve_triangular(
        seen.triangle, terms.T - seen.triangle.T @ (seen.basis.T @ white), trans="T", check_finite=False
    )
    left = covariance_between(model.covariance, targets, targets) - white.T @ white + short.T @ short
    values, vectors = np.linalg.eigh(left)
    root = vectors * np.sqrt(np.maximum(values, 0.0))
    mean = across @ model.weights + terms @ seen.trend
    return np.asarray(mean[:, None] + root @ rng.standard_normal((len(targets), count)))
