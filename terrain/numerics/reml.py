"""The covariance that the shots speak for: sill and correlation length by restricted maximum likelihood."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from terrain.grid import Array
from terrain.numerics.covariance import Covariance, correlation
from terrain.numerics.likelihood import Whitened, restricted_deviance, whiten
from terrain.numerics.trend import trend_terms

SMOOTHNESS = (0.5, 1.5, 2.5)
LONGEST_REACH = 3.0  # frame units, the survey's half-size being about one: longer makes the same surface
_STEPS = 6  # correlation lengths on the ladder from which the search starts
JITTER = 1e-10  # share of the sill added to the diagonal, so that close shots do not break the factor
LEAST_SILL = 1e-14  # m2: ground flat to a ten-millionth of a metre
ENOUGH_TO_FIT = 400  # shots that fix the covariance as well as any greater number


@dataclass(frozen=True)
class ShotTable:
    """What the likelihood needs of the shots: separations (n, n), terms (n, 3), heights and noise (n,).

    Separations are in frame units, heights in metres, noise is the error variance of each height in m2.
    """

    separation: Array
    terms: Array
    heights: Array
    noise: Array

    @property
    def degrees_of_freedom(self) -> int:
        """Shots less trend terms."""
        return len(self.heights) - int(self.terms.shape[1])

    @property
    def exact(self) -> bool:
        """Whether the heights carry no error at all."""
        return not bool(self.noise.any())


def shot_table(places: Array, heights: Array, noise: Array) -> ShotTable:
    """Table of (n, 2) places, (n,) heights in metres and (n,) error variances in m2."""
    from scipy.spatial.distance import cdist

    return ShotTable(np.asarray(cdist(places, places)), trend_terms(places), heights, noise)


def fewer(table: ShotTable) -> ShotTable:
    """The table, or a random part of it (always the same) where it holds more shots than the fit needs."""
    if len(table.heights) <= ENOUGH_TO_FIT:
        return table
    rows = np.sort(np.random.default_rng(0).permutation(len(table.heights))[:ENOUGH_TO_FIT])
    return ShotTable(table.separation[np.ix_(rows, rows)], table.terms[rows], table.heights[rows], table.noise[rows])


def shot_covariance(table: ShotTable, covariance: Covariance) -> Array:
    """Covariance V (n, n) of the shots' heights, m2: that of the ground plus each shot's own error."""
    matrix = correlation(table.separation, covariance.smoothness, covariance.correlation_length)
    matrix *= covariance.sill
    matrix[np.diag_indices(len(matrix))] += table.noise + JITTER * covariance.sill
    return matrix


def seen_through(table: ShotTable, covariance: Covariance) -> Whitened:
    """The shots whitened by their covariance."""
    return whiten(shot_covariance(table, covariance), table.terms, table.heights)


def deviance_of(table: ShotTable, covariance: Covariance) -> float:
    """Restricted deviance, infinite where the covariance cannot be factored."""
    try:
        return restricted_deviance(seen_through(table, covariance))
    except np.linalg.LinAlgError:
        return np.inf


def fit_covariance(table: ShotTable) -> Covariance:
    """Smoothness, sill and correlation length of the largest restricted likelihood, the noise being known."""
    part = fewer(table)
    fits = [_climb(part, _start(part, smoothness)) for smoothness in SMOOTHNESS]
    return min(fits, key=lambda fit: fit[0])[1]


def length_bounds(table: ShotTable) -> tuple[float, float]:
    """Least correlation length looked at, a quarter of the usual distance to the nearest shot, and the greatest."""
    separation = table.separation.copy()
    np.fill_diagonal(separation, np.inf)
    return float(np.median(separation.min(axis=1))) / 4.0, LONGEST_REACH


def profiled(table: ShotTable, covariance: Covariance) -> tuple[float, Covariance]:
    """Restricted deviance at the sill that suits the correlation length, and the covariance with that sill.

    Where the shots carry no noise both come from one factor: a sill s times another takes (n - p) log s to the
    deviance, and its best value is z'Bz / (n - p).
    """
    if not table.exact:
        best = with_best_sill(table, covariance)
        return deviance_of(table, best), best
    try:
        seen = seen_through(table, replace(covariance, sill=1.0))
    except np.linalg.LinAlgError:
        return np.inf, covariance
    misfit = float(seen.rest @ seen.rest)
    sill = max(misfit / max(table.degrees_of_freedom, 1), LEAST_SILL)
    deviance = restricted_deviance(seen) - misfit + misfit / sill + table.degrees_of_freedom * float(np.log(sill))
    return deviance, replace(covariance, sill=sill)


def with_best_sill(table: ShotTable, covariance: Covariance) -> Covariance:
    """The covariance with the sill z'Bz / (n - p) that suits its correlation length.

    Exact where the shots carry no noise; else the noise's share of the sill is that of the covariance given. The
    covariance comes back as it is where it cannot be factored.
    """
    unit = replace(table, noise=table.noise / covariance.sill)
    try:
        seen = seen_through(unit, replace(covariance, sill=1.0))
    except np.linalg.LinAlgError:
        return covariance
    sill = float(seen.rest @ seen.rest) / max(table.degrees_of_freedom, 1)
    return replace(covariance, sill=max(sill, LEAST_SILL))


def _start(table: ShotTable, smoothness: float) -> Covariance:
    """The best on a short ladder of reaches, each with the sill that suits it."""
    along = np.linalg.qr(table.terms)[0]
    rest = table.heights - along @ (along.T @ table.heights)
    sill = max(float(rest @ rest) / max(table.degrees_of_freedom, 1), LEAST_SILL)
    ladder = [
        profiled(table, Covariance(smoothness, float(length), sill))
        for length in np.geomspace(*length_bounds(table), _STEPS)
    ]
    return min(ladder, key=lambda rung: rung[0])[1]


def _climb(table: ShotTable, start: Covariance) -> tuple[float, Covariance]:
    """Restricted deviance and covariance at the likelihood's top near a start."""
    best = _climb_length(table, start) if table.exact else _climb_both(table, start)
    return deviance_of(table, best), best


def _climb_length(table: ShotTable, start: Covariance) -> Covariance:
    """Shots without noise: the sill follows from the correlation length, so one number is searched."""
    from scipy.optimize import minimize_scalar

    def at_length(log_length: float) -> tuple[float, Covariance]:
        return profiled(table, replace(start, correlation_length=float(np.exp(log_length))))

    low, high = np.log(length_bounds(table))
    step = (high - low) / (_STEPS - 1)
    about = float(np.log(start.correlation_length))
    found = minimize_scalar(
        lambda log_length: at_length(log_length)[0],
        bounds=(max(low, about - step), min(high, about + step)),
        method="bounded",
        options={"xatol": 0.01},
    )
    return at_length(float(found.x))[1]


def _climb_both(table: ShotTable, start: Covariance) -> Covariance:
    """Shots with noise of known size: correlation length and sill together.

    By slopes and to the very top: the deviance is a long flat ridge, on which a search that only compares heights ends
    where the last digits send it, so that the same shots in another order made another surface.
    """
    from scipy.optimize import minimize

    def at(logs: Array) -> Covariance:
        return replace(start, correlation_length=float(np.exp(logs[0])), sill=float(np.exp(logs[1])))

    found = minimize(
        lambda logs: deviance_of(table, at(logs)),
        np.log([start.correlation_length, start.sill]),
        method="L-BFGS-B",
        jac="3-point",
        bounds=[tuple(np.log(length_bounds(table))), (float(np.log(LEAST_SILL)), None)],
        options={"ftol": 1e-10, "gtol": 1e-4},
    )
    return at(found.x)
