"""Kriging with a linear drift: the likeliest surface through scattered points, and how sure it is."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from terrain.grid import Array, frozen
from terrain.numerics.covariance import Covariance, correlation
from terrain.numerics.likelihood import Whitened
from terrain.numerics.reml import seen_through, shot_table
from terrain.numerics.trend import trend_terms

_FEWEST_ROWS = 256  # targets worked on at once at least
_LEAST_INFORMATION = 1e-9  # of what a shot tells without a trend: less is rounding
_UNHEEDED = 1e3  # times the shots' span
_BLOCK = 200_000  # covariance values held at once: 1.6 MB, so that they stay in the processor's cache


@dataclass(frozen=True)
class Kriging:
    """A fitted Gaussian process with a linear trend.

    Parameters
    ----------
    places, heights, error
        (n, 2) and (n,): the shots' places in their frame, their heights and the standard deviation of each, metres.
    covariance
        Of the ground about its trend.
    seen
        The shots whitened by their covariance.
    weights
        (n,) V^-1 (z - F trend), so that a height is trend plus covariance with the shots times these.
    residuals, expected
        (n,) metres: each shot minus the surface through the others, and the standard deviation of that
        difference (the ground's and the shot's own error together), at this covariance.
    """

    places: Array
    heights: Array
    error: Array
    covariance: Covariance
    seen: Whitened
    weights: Array
    residuals: Array
    expected: Array


def krige_with(places: Array, heights: Array, error: Array, covariance: Covariance) -> Kriging:
    """The process through the shots with a covariance given.

    Notes
    -----
    With B = V^-1 - V^-1 F (F'V^-1 F)^-1 F'V^-1, the residual of shot i, were it left out, is (B z)_i / B_ii
    and its variance 1 / B_ii (Dubrule, Mathematical Geology 15, 1983). Where B_ii is 0 the trend hangs on that shot
    alone: without it there is no surface, so it has no residual (nan), and anything may be expected of it (inf).
    """
    from scipy.linalg import solve_triangular

    seen = seen_through(shot_table(places, heights, error**2), covariance)
    inverse = solve_triangular(seen.factor, np.eye(len(places)), lower=True, check_finite=False)
    weights = inverse.T @ seen.rest
    information = np.sum(inverse**2, axis=0) - np.sum((seen.basis.T @ inverse) ** 2, axis=0)
    known = information > _LEAST_INFORMATION * np.sum(inverse**2, axis=0)
    information = np.where(known, information, np.nan)
    return Kriging(
        places=places,
        heights=heights,
        error=error,
        covariance=covariance,
        seen=seen,
        weights=frozen(weights),
        residuals=frozen(weights / information),
        expected=frozen(np.where(known, 1.0 / np.sqrt(information), np.inf)),
    )


def kriged(model: Kriging, targets: Array) -> tuple[Array, Array]:
    """Height and its standard deviation, metres, at (m, 2) targets."""
    height, variance = np.empty(len(targets)), np.empty(len(targets))
    for part in _blocks(len(targets), len(model.places)):
        across = covariance_with_shots(model, targets[part])
        terms = trend_terms(targets[part])
        height[part] = across @ model.weights + terms @ model.seen.trend
        variance[part] = model.covariance.sill - _explained(model, across.T, terms.T)
    return height, np.sqrt(np.maximum(variance, 0.0))


def pulled(covariance: Covariance, places: Array, targets: Array, weights: Array) -> Array:
    """Sum (m,) at (m, 2) targets of (n,) weights, each times its place's covariance with the target."""
    total = np.empty(len(targets))
    for part in _blocks(len(targets), len(places)):
        total[part] = covariance_between(covariance, targets[part], places) @ weights
    return total


def unheeded(error: Array, heights: Array, rows: Sequence[int]) -> Array:
    """Errors (n,) in metres with those of some shots so large that no surface heeds them."""
    wide = np.array(error)
    wide[list(rows)] = _UNHEEDED * max(float(np.ptp(heights)), 1.0)
    return wide


def _blocks(targets: int, shots: int) -> Iterator[slice]:
    """Rows of the targets, as many at a time as keep the work small."""
    step = max(_FEWEST_ROWS, _BLOCK // shots)
    return (slice(at, at + step) for at in range(0, targets, step))


def covariance_with_shots(model: Kriging, targets: Array) -> Array:
    """Covariance (m, n) in m2 of the ground at (m, 2) targets with that at the shots."""
    return covariance_between(model.covariance, targets, model.places)


def covariance_between(shape: Covariance, targets: Array, places: Array) -> Array:
    """Covariance (m, n) in m2 of the ground at (m, 2) targets with that at (n, 2) places."""
    from scipy.spatial.distance import cdist

    across = correlation(cdist(targets, places), shape.smoothness, shape.correlation_length)
    across *= shape.sill
    return across


def mean_variance(shape: Covariance, targets: Array) -> float:
    """Variance in m2 of the ground's mean over (m, 2) targets about its trend, before any shot."""
    from scipy.spatial.distance import pdist

    apart = correlation(pdist(targets), shape.smoothness, shape.correlation_length).sum()
    return float(shape.sill * (2.0 * apart + len(targets)) / len(targets) ** 2)


def mean_and_deviation(model: Kriging, targets: Array, joint: float | None = None) -> tuple[float, float]:
    """Mean height over (m, 2) targets and its standard deviation, metres, from the joint covariance.

    `joint` is `mean_variance` of the targets, where it is known already.
    """
    joint = mean_variance(model.covariance, targets) if joint is None else joint
    across = covariance_with_shots(model, targets).mean(axis=0)
    terms = trend_terms(targets).mean(axis=0)
    variance = joint - float(_explained(model, across[:, None], terms[:, None])[0])
    return float(across @ model.weights + terms @ model.seen.trend), float(np.sqrt(max(variance, 0.0)))


def _explained(model: Kriging, across: Array, terms: Array) -> Array:
    """Variance (m,) that the shots take away, less what the unknown trend gives back.

    `across` (n, m) holds covariances with the shots, `terms` (p, m) the trend's terms. Works in place on a
    copy.
    """
    from scipy.linalg import solve_triangular

    seen = model.seen
    white = solve_triangular(seen.factor, across, lower=True, check_finite=False)
    short = solve_triangular(
        seen.triangle, terms - seen.triangle.T @ (seen.basis.T @ white), trans="T", check_finite=False
    )
    return np.asarray(np.einsum("nm,nm->m", white, white) - np.einsum("pm,pm->m", short, short))
