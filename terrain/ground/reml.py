"""The covariance that the shots speak for: sill and reach by restricted maximum likelihood."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from terrain.grid import Array
from terrain.ground.covariance import Covariance, correlation
from terrain.ground.likelihood import Whitened, restricted_deviance, whiten
from terrain.ground.trend import trend_terms

SMOOTHNESS = (1.5, 2.5)
# Bounds of the reach in frame units (the survey's half-size is about one): a reach beyond is the same
# surface, a smaller one than the closest shots leaves nothing to interpolate.
_LONGEST_REACH = 3.0
_STEPS = 6
_JITTER = 1e-10  # share of the sill added to the diagonal, so that close shots do not break the factor


@dataclass(frozen=True)
class ShotTable:
    """What the likelihood needs of the shots: separations (n, n), terms (n, 3), heights and noise (n,)."""

    separation: Array
    terms: Array
    heights: Array
    noise: Array

    @property
    def freedom(self) -> int:
        """Shots less trend terms."""
        return len(self.heights) - int(self.terms.shape[1])


def shot_table(places: Array, heights: Array, noise: Array) -> ShotTable:
    """Table of (n, 2) places, (n,) heights in metres and (n,) error variances in m2."""
    from scipy.spatial.distance import cdist

    return ShotTable(np.asarray(cdist(places, places)), trend_terms(places), heights, noise)


def shot_covariance(table: ShotTable, covariance: Covariance) -> Array:
    """Covariance V (n, n) of the shots' heights, m2: that of the ground plus each shot's own error."""
    matrix = covariance.sill * correlation(table.separation, covariance.smoothness, covariance.reach)
    matrix[np.diag_indices(len(matrix))] += table.noise + _JITTER * covariance.sill
    return matrix


def seen_through(table: ShotTable, covariance: Covariance) -> Whitened:
    """The shots whitened by their covariance."""
    return whiten(shot_covariance(table, covariance), table.terms, table.heights)


def fit_covariance(table: ShotTable) -> Covariance:
    """Smoothness, sill and reach of the largest restricted likelihood, the noise being known."""
    fits = [_fit_one(table, smoothness) for smoothness in SMOOTHNESS]
    return min(fits, key=lambda fit: fit[0])[1]


def _fit_one(table: ShotTable, smoothness: float) -> tuple[float, Covariance]:
    """Restricted deviance and covariance of the best fit for one smoothness."""
    from scipy.optimize import minimize

    def deviance(at: Array) -> float:
        return _deviance(table, Covariance(smoothness, float(np.exp(at[0])), float(np.exp(at[1]))))

    start = _start(table, smoothness)
    lower, upper = np.log(reach_bounds(table))
    found = minimize(
        deviance,
        start,
        method="Nelder-Mead",
        bounds=[(lower, upper), (None, None)],
        options={
            "initial_simplex": start + np.array([[0, 0], [0.3, 0.9], [0, 0.4]]),
            "xatol": 0.01,
            "fatol": 0.005,
        },
    )
    return float(found.fun), Covariance(smoothness, float(np.exp(found.x[0])), float(np.exp(found.x[1])))


def _deviance(table: ShotTable, covariance: Covariance) -> float:
    """Restricted deviance, infinite where the covariance cannot be factored."""
    try:
        return restricted_deviance(seen_through(table, covariance))
    except np.linalg.LinAlgError:
        return np.inf


def reach_bounds(table: ShotTable) -> tuple[float, float]:
    """Least and greatest reach that is looked at, in frame units."""
    separation = table.separation + np.where(np.eye(len(table.heights)) > 0, np.inf, 0.0)
    return float(np.median(separation.min(axis=1))) / 4.0, _LONGEST_REACH


def _start(table: ShotTable, smoothness: float) -> Array:
    """Log reach and log sill of the best on a short ladder of reaches, each with the sill that suits it."""
    best, start = np.inf, np.zeros(2)
    for reach in np.geomspace(*reach_bounds(table), _STEPS):
        sill = _sill_for(table, smoothness, float(reach))
        value = _deviance(table, Covariance(smoothness, float(reach), sill))
        if value < best:
            best, start = value, np.log([reach, sill])
    return start


def _sill_for(table: ShotTable, smoothness: float, reach: float) -> float:
    """Sill z'Bz / (n - p) for the shots without noise: exact for accuracy zero, a start otherwise."""
    try:
        unit = whiten(
            shot_covariance(
                _with_noise(table, 1e-3 * np.ones(len(table.noise))), Covariance(smoothness, reach, 1.0)
            ),
            table.terms,
            table.heights,
        )
    except np.linalg.LinAlgError:
        return 1.0
    return max(float(unit.rest @ unit.rest) / max(table.freedom, 1), 1e-12)


def _with_noise(table: ShotTable, noise: Array) -> ShotTable:
    return ShotTable(table.separation, table.terms, table.heights, noise)
