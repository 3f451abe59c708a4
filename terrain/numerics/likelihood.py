"""How well a covariance explains the shots: likelihood and restricted likelihood."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from terrain.grid import Array


@dataclass(frozen=True)
class Whitened:
    """The shots seen through the Cholesky factor L of their covariance V.

    `factor` is L (n, n); `terms` is L^-1 F = Q T with `basis` Q (n, p) and `triangle` T (p, p); `rest` is
    L^-1 z less its part along Q (n,), so that `rest` squared is z'Bz; `trend` the generalised least-squares
    coefficients (p,).
    """

    factor: Array
    basis: Array
    triangle: Array
    rest: Array
    trend: Array

    @property
    def solved_terms(self) -> Array:
        """V^-1 F, (n, p)."""
        from scipy.linalg import solve_triangular

        seen = self.basis @ self.triangle
        return np.asarray(solve_triangular(self.factor, seen, lower=True, trans="T", check_finite=False))


def whiten(covariance: Array, terms: Array, heights: Array) -> Whitened:
    """Factor an (n, n) covariance; `numpy.linalg.LinAlgError` where it is not positive definite."""
    from scipy.linalg import solve_triangular

    factor = lower_factor(covariance)
    both = solve_triangular(factor, np.column_stack([terms, heights]), lower=True, check_finite=False)
    basis, triangle = np.linalg.qr(both[:, :-1])
    along = basis.T @ both[:, -1]
    trend = solve_triangular(triangle, along, check_finite=False)
    return Whitened(factor, basis, triangle, both[:, -1] - basis @ along, np.asarray(trend))


def lower_factor(covariance: Array) -> Array:
    """Cholesky factor (n, n) of a covariance; `numpy.linalg.LinAlgError` where it is not positive definite.

    By the library's routine on the rows as they lie in memory: numpy's own first copies them, twice.
    """
    from scipy.linalg import lapack

    factor, failed = lapack.dpotrf(covariance.T, lower=0)
    if failed:
        raise np.linalg.LinAlgError("the covariance is not positive definite")
    return np.asarray(factor.T)


def inverse_of_lower(factor: Array) -> Array:
    """Inverse (n, n) of a lower triangular factor: a third of the work of solving for each unit vector."""
    from scipy.linalg import lapack

    inverse, _ = lapack.dtrtri(factor.T, lower=0)
    return np.asarray(inverse.T)


def restricted_deviance(seen: Whitened) -> float:
    """Minus twice the restricted log likelihood, less a constant: log|V| + log|F'V^-1 F| + z'Bz.

    Patterson and Thompson, Biometrika 58 (1971); Harville, JASA 72 (1977).
    """
    return _log_determinant(seen.factor) + _log_determinant(seen.triangle) + float(seen.rest @ seen.rest)


def _log_determinant(triangle: Array) -> float:
    """Twice the sum of the logs of a triangular factor's diagonal: the log determinant of what it factors."""
    return 2.0 * float(np.sum(np.log(np.abs(np.diag(triangle)))))
