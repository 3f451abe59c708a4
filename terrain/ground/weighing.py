"""How likely each covariance is, and each shot's being a blunder, all weighed at once.

A shot misread by a foot makes the ground look rough, and rough ground hides a shot misread by a foot. So neither is
settled before the other: every covariance of a ladder is weighed together with "no shot is a blunder" and with "this
one is", for each shot in turn, by the restricted likelihood of what was read.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from terrain.grid import Array
from terrain.numerics import JITTER, LEAST_SILL, ShotTable, correlation

# Of the survey's half-size: by how much ground leaves its plane, and by what factor more or less (one deviation of its
# log). Common practice, no published source; beside what seven shots tell it weighs little, but shots that show no more
# than their own noise leave ground open that is smooth, not ground that is flat.
RELIEF, _RELIEF_FACTOR = 0.03, 3.0
# Chance that a shot is a blunder, and how far blunders go, in stated deviations of a shot (no stated deviation: in
# expected misses): common practice, no published source.
BLUNDER_CHANCE, _BLUNDERS = 0.005, (10.0, 30.0, 100.0)
_LOOKED_AT, _WEIGHED = 48, 12  # sills looked at to find the likely ones; sills weighed among those
_UNLIKELY = 12.0  # log likelihood under the likeliest from which a sill is left out

Shape = tuple[float, float]  # smoothness; correlation length in frame units


@dataclass(frozen=True)
class Weighed:
    """What the shots leave likely, by shape of the covariance (k of them) and by which of n shots is a blunder.

    `chance` (k, n + 1) sums to one: with no blunder, then with each shot being one. `sill` (k, n + 1), m2, is the mean
    sill of each.
    """

    chance: Array
    sill: Array

    @property
    def odds(self) -> Array:
        """Odds (n,) that each shot is a blunder, to there being none."""
        total = self.chance.sum(axis=0)
        return np.asarray(total[1:] / max(float(total[0]), 1e-300))


@dataclass(frozen=True)
class _Spectrum:
    """The shots free of the trend, along axes on which the ground (of sill one) and the noise are independent.

    `ground` (q,) is the ground's variance along each axis where the noise's is `noise` (one, or zero for exact shots),
    `seen` (q,) what was read along it, `axes` (n, q) the axes, `relief` the ground's mean variance about its plane.
    """

    ground: Array
    noise: float
    seen: Array
    axes: Array
    relief: float


def weigh(table: ShotTable, shapes: Sequence[Shape], size: float, chance: float) -> Weighed:
    """Weigh shapes, sills and blunders together.

    Parameters
    ----------
    table
        Seven shots or more.
    shapes
        Shapes of the covariance, taken as alike beforehand.
    size
        The survey's half-size, metres.
    chance
        That of a blunder, for each shot.

    Notes
    -----
    With B the matrix of `terrain.ground.kriging.krige_with` and r the residual of shot i, were it left out, adding a
    variance t to that shot's error multiplies the likelihood by (1 + t B_ii)^(-1/2) exp(r^2 B_ii q / 2), with
    q = t B_ii / (1 + t B_ii): the update of a determinant and of an inverse by one row, as for the outliers of Cook and
    Weisberg, Residuals and Influence in Regression (1982), ch. 2.
    """
    each = [_by_sill(table, shape, size, chance) for shape in shapes]
    top = max(float(logs.max()) for logs, _ in each)
    share = np.array([np.exp(logs - top).sum(axis=0) * np.log(sills[1] / sills[0]) for logs, sills in each])
    return Weighed(share / share.sum(), np.array([_mean_sill(logs, sills) for logs, sills in each]))


def log_odds(square: Array, deviations: Array, chance: float) -> Array:
    """Log odds that a shot is a blunder, by its squared miss of the others in expected ones.

    `deviations` is the shot's own standard deviation in expected misses: near one where shots stand close.
    """
    scale = np.multiply.outer(np.square(_BLUNDERS), np.square(deviations))
    each = 0.5 * (square * scale / (1.0 + scale) - np.log1p(scale))
    return np.asarray(np.logaddexp.reduce(each, axis=0) + np.log(chance / (1.0 - chance) / len(_BLUNDERS)))


def _mean_sill(logs: Array, sills: Array) -> Array:
    """Mean (n + 1,) of the sills, weighed: of the mean variance that the likely sills together expect."""
    top = logs.max(axis=0)
    weight = np.exp(logs - np.where(np.isfinite(top), top, 0.0))
    return np.asarray(sills @ weight / np.maximum(weight.sum(axis=0), 1e-300))


def _by_sill(table: ShotTable, shape: Shape, size: float, chance: float) -> tuple[Array, Array]:
    """Log likelihoods (g, n + 1) at each of g sills that are likely, and those sills (g,)."""
    seen = _spectrum(table, shape)
    expected = (RELIEF * size) ** 2 / seen.relief

    def at(sills: Array) -> Array:
        prior = -0.5 * (np.log(sills / expected) / (2.0 * np.log(_RELIEF_FACTOR))) ** 2
        return np.asarray(_log_likelihoods(seen, sills, table.noise, chance) + prior[:, None])

    looked_at = _sills(seen, expected)
    best = at(looked_at).max(axis=1)
    likely = np.flatnonzero(best > best.max() - _UNLIKELY)
    low, high = max(likely[0] - 1, 0), min(likely[-1] + 1, len(looked_at) - 1)
    sills = np.geomspace(looked_at[low], looked_at[high], _WEIGHED)
    return at(sills), sills


def _sills(seen: _Spectrum, expected: float) -> Array:
    """Sills from one that the shots' noise hides to one that leaves no noise, those expected among them."""
    most = max(float(np.mean(seen.seen**2 / seen.ground)), LEAST_SILL)
    if not seen.noise:
        return np.asarray(np.geomspace(most / 30.0, most * 30.0, _LOOKED_AT))
    hidden = 0.01 / float(seen.ground.max())
    return np.asarray(np.geomspace(min(hidden, most, 0.01 * expected), max(10.0 * most, expected), _LOOKED_AT))


def _spectrum(table: ShotTable, shape: Shape) -> _Spectrum:
    from scipy.linalg import eigh

    free = np.linalg.qr(table.terms, mode="complete")[0][:, table.terms.shape[1] :]
    alike = correlation(table.separation, *shape)
    alike[np.diag_indices(len(alike))] += JITTER
    ground = free.T @ alike @ free
    noise = None if table.exact else free.T @ (table.noise[:, None] * free)
    variance, axes = eigh(ground, noise, check_finite=False)
    axes = free @ axes
    variance = np.maximum(variance, JITTER * float(variance.max()) * 0.01)
    relief = float(np.trace(ground)) / len(ground)
    return _Spectrum(variance, float(not table.exact), axes.T @ table.heights, axes, relief)


def _log_likelihoods(seen: _Spectrum, sills: Array, noise: Array, chance: float) -> Array:
    """Log likelihoods (g, n + 1) at (g,) sills: with no blunder, then with each shot being one."""
    variance = sills[:, None] * seen.ground + seen.noise
    none = -0.5 * (np.log(variance) + seen.seen**2 / variance).sum(axis=1)
    if not chance:
        return np.column_stack([none, np.full((len(sills), len(seen.axes)), -np.inf)])
    information = np.maximum((1.0 / variance) @ (seen.axes**2).T, 1e-300)
    square = ((seen.seen / variance) @ seen.axes.T) ** 2 / information
    deviations = np.sqrt(noise * information) if seen.noise else np.ones_like(information)
    return np.column_stack([none, none[:, None] + log_odds(square, deviations, chance)])
