"""Kriging of many thousand shots: each place from the shots near it, patch by patch, the patches blended.

The ground is halved into boxes until few shots are seen from each. A box is kriged from the shots in and around it,
about the trend of the whole survey; overlapping boxes are weighed by smooth bumps, so that the surface has no step
where one gives way to the next. Shots beyond the nearest hundred or so add next to nothing, since those nearer screen
them (moving neighbourhoods: Chiles and Delfiner, Geostatistics, 2nd ed., Wiley 2012, ch. 3).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np

from terrain.grid import Array, frozen
from terrain.ground.shots import LocalShots, Rows, every_shot
from terrain.numerics import (
    JITTER,
    Covariance,
    ShotTable,
    correlation,
    covariance_between,
    fit_covariance,
    inverse_of_lower,
    lower_factor,
    pulled,
    shot_table,
    trend_terms,
)

# With these the height is within 2 % (rms) of its deviation from that by all shots (tests/ground/test_many_shots.py).
_MOST_SEEN = 240  # shots seen from a box: more, and it is halved
_FEWEST_SEEN = 100  # where fewer are near, the nearest so many
_SUPPORT, _SEEN = 1.5, 2.5  # of a box's half-size: how far its bump reaches, and how far shots are seen
_GROUPS, _IN_GROUP = 8, 50  # groups of neighbouring shots to which the covariance is fitted, shots in each
_UNALIKE = 1e3  # frame units: shots so far apart have nothing in common
_SAMPLED = 40  # patches whose left-out residuals set the sill
_LEAST_FACTOR = 1e-6  # of the sill: ground that its shots fix wholly


@dataclass(frozen=True)
class ManyShots:
    """Thousands of shots and the process they come from, in the frame of `LocalShots`.

    Parameters
    ----------
    places, heights, error
        (n, 2) and (n,): places, heights and the standard deviation of each, metres.
    trend
        (3,) coefficients of `trend_terms`, taken as known: so many shots fix it.
    covariance
        Of the ground about that trend.
    """

    places: Array
    heights: Array
    error: Array
    trend: Array
    covariance: Covariance


@dataclass(frozen=True)
class _Patch:
    """A box by its middle and half-sizes (2,), rows of the shots seen from it and of the targets under its bump."""

    middle: Array
    half: Array
    shots: Rows
    targets: Rows


def kriged_nearby(many: ManyShots, targets: Array) -> tuple[Array, Array]:
    """Height in metres and its variance in m2, (m,) each, at (m, 2) targets."""
    height, variance = _blended(many, targets, _kriged, 2)
    return trend_terms(targets) @ many.trend + height, variance


def heights_nearby(many: ManyShots, targets: Array) -> Array:
    """Height (m,) in metres at (m, 2) targets: that of `kriged_nearby`, at a fraction of the work."""
    height = _blended(many, targets, _height, 1)[0]
    return np.asarray(trend_terms(targets) @ many.trend + height)


def _blended(many: ManyShots, targets: Array, kriged: Callable[[ManyShots, Rows, Array], Array], values: int) -> Array:
    """Values (values, m) at the targets, worked out patch by patch, each weighed by its bump."""
    total, weight = np.zeros((values, len(targets))), np.zeros(len(targets))
    for patch in _patches(many.places, targets):
        there = targets[patch.targets]
        bump = _bump(patch, there)
        total[:, patch.targets] += bump * kriged(many, patch.shots, there)
        weight[patch.targets] += bump
    return np.asarray(total / weight)


def fit_many(shots: LocalShots, trend: Array) -> ManyShots:
    """The shots one by one, with a covariance fitted where they stand close and a sill that suits all of them.

    Parameters
    ----------
    shots
        More of them than `MOST_SHOTS`.
    trend
        (3,) coefficients of the plane about which they are taken, from a fit to their means by cells.

    Notes
    -----
    Smoothness and length are of the largest restricted likelihood of a few groups of neighbouring shots, the groups
    being independent of each other: that is the scale at which the surface is asked for. The sill is then the one at
    which left-out residuals in patches have the size that the process expects of them (Bachoc, Computational Statistics
    and Data Analysis 66, 2013). Groups and patches are drawn at random, always the same.
    """
    places, heights, error = every_shot(shots)
    count = len(places) - (len(shots.places) - shots.free)  # the breaklines' points after them take no part
    about = heights - trend_terms(places) @ trend
    table = _grouped(places[:count], about[:count], error[:count] ** 2)
    many = ManyShots(frozen(places), frozen(heights), frozen(error), trend, fit_covariance(table))
    scores = _left_out_scores(many)
    factor = max(float(np.mean(scores**2)), _LEAST_FACTOR)
    return replace(many, covariance=replace(many.covariance, sill=many.covariance.sill * factor))


def _grouped(places: Array, heights: Array, noise: Array) -> ShotTable:
    """The table of some groups of neighbouring shots; those of two groups are far apart, hence not alike."""
    from scipy.spatial import cKDTree

    middles = [patch.middle for patch in _some_patches(places, _GROUPS)]
    rows = np.concatenate([cKDTree(places).query(middle, _IN_GROUP)[1] for middle in middles])
    group = np.repeat(np.arange(len(middles)), _IN_GROUP)
    table = shot_table(places[rows], heights[rows], noise[rows])
    return replace(table, separation=np.where(group[:, None] == group, table.separation, _UNALIKE))


def _some_patches(places: Array, most: int) -> list[_Patch]:
    """Patches over the shots, at most so many, drawn at random but always the same."""
    found = list(_patches(places, places))
    return [found[at] for at in np.random.default_rng(0).permutation(len(found))[:most]]


def _left_out_scores(many: ManyShots) -> Array:
    """Residuals over their deviations, were each shot in the boxes of some patches left out."""
    return np.concatenate([_scores_within(many, patch) for patch in _some_patches(many.places, _SAMPLED)])


def _scores_within(many: ManyShots, patch: _Patch) -> Array:
    """Residual over its deviation of each shot in the box, were it left out of the patch; see `krige_with`."""
    rows = patch.shots
    inverse, rest = _inverse(many, rows), _about_trend(many, rows)
    within = (np.abs(many.places[rows] - patch.middle) <= patch.half).all(axis=1)
    return np.asarray((inverse.T @ (inverse @ rest) / np.sqrt(np.sum(inverse**2, axis=0)))[within])


def _kriged(many: ManyShots, rows: Rows, there: Array) -> Array:
    """Height about the trend and its variance, (2, k), at (k, 2) places, from some of the shots."""
    from scipy.linalg import blas

    inverse, across = _inverse(many, rows), covariance_between(many.covariance, there, many.places[rows])
    height = across @ (inverse.T @ (inverse @ _about_trend(many, rows)))
    # A product with the inverse of the factor: so few shots are solved for at a third of the speed of products.
    white = blas.dtrmm(1.0, inverse.T, across.T, lower=0, trans_a=1, overwrite_b=1)
    return np.array([height, many.covariance.sill - np.einsum("nk,nk->k", white, white)])


def _height(many: ManyShots, rows: Rows, there: Array) -> Array:
    """Height about the trend, (1, k), at (k, 2) places, from some of the shots."""
    inverse = _inverse(many, rows)
    weights = inverse.T @ (inverse @ _about_trend(many, rows))
    return pulled(many.covariance, many.places[rows], there, weights)[None]


def _inverse(many: ManyShots, rows: Rows) -> Array:
    """Inverse of the Cholesky factor of the covariance of some of the shots."""
    from scipy.spatial.distance import cdist

    shape, places = many.covariance, many.places[rows]
    matrix = shape.sill * correlation(cdist(places, places), shape.smoothness, shape.correlation_length)
    matrix[np.diag_indices(len(rows))] += many.error[rows] ** 2 + JITTER * shape.sill
    return inverse_of_lower(lower_factor(matrix))


def _about_trend(many: ManyShots, rows: Rows) -> Array:
    """Heights of some of the shots less the trend, metres."""
    return many.heights[rows] - trend_terms(many.places[rows]) @ many.trend


def _bump(patch: _Patch, there: Array) -> Array:
    """Weight (k,) of a patch: 1 at its middle, falling smoothly to 0 where its support ends."""
    share = (there - patch.middle) / (_SUPPORT * patch.half)
    return np.asarray(np.prod(np.maximum(1.0 - share**2, 0.0) ** 2, axis=1))


def _patches(places: Array, targets: Array) -> Iterator[_Patch]:
    """Patches that cover the targets, those without a target left out."""
    from scipy.spatial import cKDTree

    both = np.vstack([places, targets])
    low, high = both.min(axis=0), both.max(axis=0)
    half = np.maximum((high - low) / 2.0, 1e-9) * 1.001
    whole = _Patch((low + high) / 2.0, half, np.arange(len(places)), np.arange(len(targets)))
    tree = cKDTree(places)
    for leaf in _halved(whole, places, targets):
        if len(leaf.shots) >= _FEWEST_SEEN:
            yield leaf
        else:
            nearest = tree.query(leaf.middle, min(_FEWEST_SEEN, len(places)))[1]
            yield replace(leaf, shots=np.union1d(leaf.shots, nearest))


def _halved(box: _Patch, places: Array, targets: Array) -> Iterator[_Patch]:
    """The box, or, where too many shots are seen from it, its two halves treated alike."""
    if not len(box.targets):
        return
    if len(box.shots) <= _MOST_SEEN:
        yield box
        return
    axis = int(np.argmax(box.half))
    half = box.half * np.where(np.arange(2) == axis, 0.5, 1.0)
    for side in (-1.0, 1.0):
        middle = box.middle + side * np.where(np.arange(2) == axis, half, 0.0)
        seen = (np.abs(places[box.shots] - middle) <= _SEEN * half).all(axis=1)
        under = (np.abs(targets[box.targets] - middle) < _SUPPORT * half).all(axis=1)
        yield from _halved(_Patch(middle, half, box.shots[seen], box.targets[under]), places, targets)
