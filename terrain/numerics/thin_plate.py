"""Existing grade as the thinnest bent plate through the shots, over a linear trend."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from terrain.grid import Array, frozen
from terrain.numerics.trend import trend_terms

_LEAST_INFLUENCE = 1e-9  # of the largest: less is rounding
_BLOCK = 200_000  # kernel values worked at once: 1.6 MB, so that they stay in the processor's cache


@dataclass(frozen=True)
class ThinPlate:
    """A thin-plate spline with linear trend.

    Parameters
    ----------
    places
        (n, 2) shots' places in the frame of `LocalShots`.
    bending, trend
        (n,) and (3,) coefficients, metres.
    residuals
        (n,) leave-one-out residuals in metres: shot minus the plate through the others.
    """

    places: Array
    bending: Array
    trend: Array
    residuals: Array


def fit_thin_plate(places: Array, heights: Array, smoothing: float = 0.0) -> ThinPlate:
    """Fit (n,) heights in metres at (n, 2) places; `smoothing` 0 passes through every shot.

    Notes
    -----
    With kernel matrix K of r^2 log r, trend matrix F and Q the null space of F', the plate has coefficients
    c = B z with B = Q (Q'(K + smoothing I) Q)^-1 Q', and the residual of shot i, were it left out, is c_i /
    B_ii exactly, with no refit (Wahba, Spline Models for Observational Data, SIAM 1990, ch. 4; the same
    identity for kriging: Dubrule, Mathematical Geology 15, 1983). It is nan where B_ii
    is 0: the plane hangs on that shot alone.
    """
    from scipy.linalg import lapack

    n = len(places)
    if n == 3:
        return ThinPlate(places, np.zeros(n), _solve_plane(places, heights), np.full(n, np.nan))
    kernel = bending_kernel(places, places)
    kernel[np.diag_indices(n)] += smoothing
    terms = trend_terms(places)
    reflectors, scales, _, _ = lapack.dgeqrf(terms)

    def turned(columns: Array, back: bool = False) -> Array:
        """Q' columns, or Q columns: Q is three reflections, not a matrix, which makes the rest n^3 / 3 twice."""
        answer, _, _ = lapack.dormqr("L", "N" if back else "T", reflectors, scales, columns, max(64, 64 * n))
        return np.asarray(answer)

    free = turned(turned(kernel).T)[3:, 3:]
    factor, failed = lapack.dpotrf(free, lower=1, overwrite_a=1)
    if failed:
        raise np.linalg.LinAlgError("the plate's kernel is not positive definite")
    half, _ = lapack.dtrtri(factor, lower=1, overwrite_c=1)
    white = half @ turned(heights[:, None])[3:, 0]
    bending = turned(np.concatenate([np.zeros(3), half.T @ white])[:, None], back=True)[:, 0]
    trend = np.linalg.solve(np.triu(reflectors[:3]), turned((heights - kernel @ bending)[:, None])[:3, 0])
    influence = np.sum(turned(np.vstack([np.zeros((3, n - 3)), half.T]), back=True) ** 2, axis=1)
    influence = np.where(influence > _LEAST_INFLUENCE * influence.max(), influence, np.nan)
    return ThinPlate(places, frozen(bending), frozen(trend), frozen(bending / influence))


def bent_plate(plate: ThinPlate, targets: Array) -> Array:
    """Height in metres at (m, 2) targets."""
    heights = np.empty(len(targets))
    for rows in _blocks(len(targets), len(plate.places)):
        bent = bending_kernel(targets[rows], plate.places) @ plate.bending
        heights[rows] = bent + trend_terms(targets[rows]) @ plate.trend
    return heights


def _solve_plane(places: Array, heights: Array) -> Array:
    """The plane through three shots."""
    return np.asarray(np.linalg.solve(trend_terms(places), heights))


def bending_kernel(targets: Array, places: Array) -> Array:
    """Thin-plate kernel r^2 log r (m, n) between (m, 2) and (n, 2) places, zero at r = 0.

    Duchon (1977), "Splines minimizing rotation-invariant semi-norms in Sobolev spaces".
    """
    from scipy.spatial.distance import cdist

    kernel = np.empty((len(targets), len(places)))
    for rows in _blocks(len(targets), len(places)):
        squared, part = np.asarray(cdist(targets[rows], places, "sqeuclidean")), kernel[rows]
        np.maximum(squared, np.finfo(float).tiny, out=part)  # of two equal places nothing is left by the next product
        np.log(part, out=part)
        part *= squared
        part *= 0.5
    return kernel


def _blocks(rows: int, columns: int) -> Iterator[slice]:
    """The rows of a kernel of so many columns, in blocks that stay in the processor's cache."""
    step = max(1, _BLOCK // max(columns, 1))
    return (slice(at, at + step) for at in range(0, rows, step))
