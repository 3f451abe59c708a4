"""Kriging with a linear drift: the likeliest surface through scattered points, and how sure it is."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from terrain.grid import Array, Index, frozen
from terrain.numerics.covariance import Covariance, correlation
from terrain.numerics.likelihood import Whitened, inverse_of_lower
from terrain.numerics.machine_code import compiled
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
    seen = seen_through(shot_table(places, heights, error**2), covariance)
    inverse = inverse_of_lower(seen.factor)
    weights = inverse.T @ seen.rest
    alone = np.einsum("ij,ij->j", inverse, inverse)
    information = alone - np.sum((seen.basis.T @ inverse) ** 2, axis=0)
    known = information > _LEAST_INFORMATION * alone
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


def left_out_together(model: Kriging, rows: Index) -> tuple[Array, Array]:
    """Residuals and expected of a process, (n,) each, once some shots are left out together; nothing is fitted anew.

    For the rows left out they are against the shots that stay.

    Notes
    -----
    With B as in `krige_with` and A the rows, the block of predictions has the residual B_AA^-1 (B z)_A and the variance
    B_AA^-1, and what stays has B - B_A B_AA^-1 B_A' (Dubrule, Mathematical Geology 15, 1983; the inverse by blocks).
    """
    from scipy.linalg import cho_solve

    seen = model.seen
    unit = np.zeros((len(model.places), len(rows)))
    unit[rows, np.arange(len(rows))] = 1.0
    terms = seen.solved_terms
    columns = cho_solve((seen.factor, True), unit, check_finite=False)
    columns -= terms @ np.linalg.solve(seen.triangle.T @ seen.triangle, terms[rows].T)
    block = np.linalg.inv(columns[rows])
    weights = model.weights - columns @ (block @ model.weights[rows])
    information = model.expected**-2.0 - np.einsum("nk,kj,nj->n", columns, block, columns)
    information[rows] = 1.0 / np.diag(block)
    weights[rows] = information[rows] * (block @ model.weights[rows])
    known = information > _LEAST_INFORMATION * model.expected**-2.0
    information = np.where(known, information, np.nan)
    return weights / information, np.where(known, 1.0 / np.sqrt(information), np.inf)


def with_sill(model: Kriging, factor: float) -> Kriging:
    """The process through exact shots with its sill times a factor: every covariance is, so nothing is solved anew."""
    seen, root = model.seen, float(np.sqrt(factor))
    return replace(
        model,
        covariance=replace(model.covariance, sill=factor * model.covariance.sill),
        seen=Whitened(root * seen.factor, seen.basis, seen.triangle / root, seen.rest / root, seen.trend),
        weights=frozen(model.weights / factor),
        expected=frozen(root * model.expected),
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
    """Sum (m,) at (m, 2) targets of (n,) weights, each times its place's covariance with the target.

    Weights (n, k) are k sums at once, (m, k).
    """
    total = np.empty((len(targets), *weights.shape[1:]))
    for part in _blocks(len(targets), len(places)):
        total[part] = covariance_between(covariance, targets[part], places) @ weights
    return total


def pulled_together(pulls: Sequence[tuple[Covariance, Array]], places: Array, targets: Array) -> Array:
    """Sum (m,) of what `pulled` answers for each covariance with its weights (n,): distances are worked out once."""
    total = np.zeros(len(targets))
    for part in _blocks(len(targets), len(places)):
        apart = _distances(targets[part], places)
        for shape, weights in pulls:
            across = correlation(apart, shape.smoothness, shape.correlation_length)
            total[part] += across @ (shape.sill * weights)
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
    across = correlation_between(shape, targets, places)
    across *= shape.sill
    return across


def correlation_between(shape: Covariance, targets: Array, places: Array) -> Array:
    """Correlation (m, n) of the ground at (m, 2) targets with that at (n, 2) places."""
    return correlation(_distances(targets, places), shape.smoothness, shape.correlation_length)


@compiled
def _distances(targets, places):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """Distances (m, n): the loop takes a third of the library's time, which sums over any number of axes."""
    out = np.empty((len(targets), len(places)))
    east, north = places[:, 0].copy(), places[:, 1].copy()
    for k in range(len(targets)):
        x, y, row = targets[k, 0], targets[k, 1], out[k]
        for i in range(len(east)):
            dx, dy = east[i] - x, north[i] - y
            row[i] = np.sqrt(dx * dx + dy * dy)
    return out


@dataclass(frozen=True)
class MeanAlike:
    """How alike a mean over some ground is, before any shot and for a sill of 1, to itself and to each shot (n,)."""

    itself: float
    shots: Array


def mean_alike(shape: Covariance, targets: Array, places: Array) -> MeanAlike:
    """Of the mean over (m, 2) targets, with shots at (n, 2) places."""
    from scipy.spatial.distance import pdist

    apart = correlation(pdist(targets), shape.smoothness, shape.correlation_length).sum()
    itself = float((2.0 * apart + len(targets)) / len(targets) ** 2)
    return MeanAlike(itself, correlation_between(shape, targets, places).mean(axis=0))


def mean_and_deviation(model: Kriging, targets: Array, alike: MeanAlike | None = None) -> tuple[float, float]:
    """Mean height over (m, 2) targets and its standard deviation, metres, from the joint covariance.

    `alike` is `mean_alike` of the targets, where it is known already.
    """
    sill, known = model.covariance.sill, alike or mean_alike(model.covariance, targets, model.places)
    across, terms = sill * known.shots, trend_terms(targets).mean(axis=0)
    variance = sill * known.itself - float(_explained(model, across[:, None], terms[:, None])[0])
    return float(across @ model.weights + terms @ model.seen.trend), float(np.sqrt(max(variance, 0.0)))


def _explained(model: Kriging, across: Array, terms: Array) -> Array:
    """Variance (m,) that the shots take away, less what the unknown trend gives back; arguments as `seen_from`."""
    white, short = seen_from(model, across, terms)
    return np.asarray(np.einsum("nm,nm->m", white, white) - np.einsum("pm,pm->m", short, short))


def seen_from(model: Kriging, across: Array, terms: Array) -> tuple[Array, Array]:
    """What the shots explain (n, m) of the ground at m places, and what the unknown trend gives back (p, m).

    By universal kriging the covariance of two of them, once shot, is that before less the product of their columns in
    the first, and more that in the second. `across` (n, m) holds covariances with the shots, `terms` (p, m) the trend's
    terms.
    """
    from scipy.linalg import solve_triangular

    seen = model.seen
    white = solve_triangular(seen.factor, across, lower=True, check_finite=False)
    off = terms - seen.triangle.T @ (seen.basis.T @ white)
    return white, solve_triangular(seen.triangle, off, trans="T", check_finite=False)
