"""How large errors of two kinds are, told by what a fit by least squares misses, and what that makes of its answer.

Each measurement errs by two kinds at once, whose stated sizes may be wrong, each by a factor of its own. How likely a
pair of factors is follows from the restricted likelihood of the misses, which pays for the unknowns (Patterson and
Thompson, Biometrika 58, 1971, 545; value from memory); before it, every pair on a grid of equal ratios is as likely as
another. The answer is not moved: it stays the least squares by the stated sizes, and each pair of factors has the
covariance that it would then have. Few measurements leave many pairs likely, and the range wide: this does the work of
Student's factor.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from terrain.grid import Array

_FACTORS = np.exp2(np.arange(-4.0, 3.25, 0.5))  # tried for each kind: a sixteenth to eight times what is stated
_UNLIKELY = 1e-5  # times the likeliest pair of factors: it is left out
_WAYS = 24  # directions in the half plane, over which a circle's share is summed
_HALVINGS = 60


@dataclass(frozen=True)
class TwoErrors:
    """What the unknowns of a fit may be off by.

    Parameters
    ----------
    shares
        (k,) how likely each pair of factors is; they sum to 1.
    covariances
        (k, m, m) of the unknowns by each pair.
    """

    shares: Array
    covariances: Array

    @property
    def covariance(self) -> Array:
        """(m, m) over all pairs."""
        return np.asarray(np.einsum("k,kij->ij", self.shares, self.covariances))

    def reach(self, slopes: Array, share: float) -> Array:
        """(n,) radius of the circle round each of n places in a plane that holds it in a share of all cases.

        `slopes` (n, 2, m) is the change of each place with each unknown. With one pair of factors the place is normal:
        what lies outside of r is the mean of exp(-r^2 / (2 (l1 cos^2 t + l2 sin^2 t))) over all t, l1 and l2 being the
        variances along its principal axes, for the square distance of a round one is chi-squared of two degrees.
        """
        spread = np.einsum("nim,kmp,njp->nkij", slopes, self.covariances, slopes)
        half, off = 0.5 * (spread[..., 0, 0] + spread[..., 1, 1]), 0.5 * (spread[..., 0, 0] - spread[..., 1, 1])
        lean = np.hypot(off, spread[..., 0, 1])
        ways = np.cos((np.arange(_WAYS) + 0.5) * (2.0 * np.pi / _WAYS))
        variance = np.maximum(half[..., None] + lean[..., None] * ways, 1e-300)
        low, high = np.zeros(len(slopes)), 40.0 * np.sqrt(variance.max(axis=(1, 2)))
        for _ in range(_HALVINGS):
            middle = 0.5 * (low + high)
            outside = np.exp(-0.5 * middle[:, None, None] ** 2 / variance).mean(axis=2) @ self.shares
            low, high = np.where(outside > 1.0 - share, middle, low), np.where(outside > 1.0 - share, high, middle)
        return np.asarray(high)


def two_errors(jacobian: Array, misses: Array, stated: Array, sure: Array) -> TwoErrors:
    """What the unknowns may be off by, the sizes of both kinds of error judged by the misses.

    Parameters
    ----------
    jacobian
        (n, m) change of the measurements with the unknowns, at the answer.
    misses
        (n,) of the answer that is the least squares by the stated sizes.
    stated
        (n, 2) standard deviation that each kind is stated to add to each measurement.
    sure
        (n,) what a third kind adds, whose size nobody doubts.
    """
    whole = np.sqrt(np.sum(stated**2, axis=1) + sure**2)
    weighed = jacobian / whole[:, None]
    scale = np.linalg.norm(weighed, axis=0)
    scale = np.where(scale > 0.0, scale, 1.0)
    factors = np.stack(np.meshgrid(_FACTORS, _FACTORS, indexing="ij"), axis=-1).reshape(-1, 2)
    variance = (factors**2 @ (stated**2).T + sure**2) / whole**2
    likely = _likelihood(weighed / scale, misses / whole, variance)
    shares = np.exp(likely - likely.max())
    kept = shares > _UNLIKELY
    taken = np.linalg.pinv(weighed / scale, rcond=1e-12) / scale[:, None]
    spread = np.einsum("mn,kn,pn->kmp", taken, variance[kept], taken)
    return TwoErrors(shares[kept] / shares[kept].sum(), spread)


def _likelihood(slopes: Array, misses: Array, variance: Array) -> Array:
    """(k,) logarithm of the restricted likelihood of the misses by each row of variances (k, n), but for a constant.

    It is the likelihood of what no change of the unknowns can alter: the misses along all directions across the slopes.
    """
    across = np.linalg.svd(slopes)[0][:, slopes.shape[1] :]
    left = misses @ across
    covariance = np.einsum("nr,kn,ns->krs", across, variance, across, optimize=True)
    square = left @ np.linalg.solve(covariance, np.broadcast_to(left[:, None], (len(variance), len(left), 1)))[..., 0].T
    return np.asarray(-0.5 * (np.linalg.slogdet(covariance)[1] + square))
