"""Where to shoot next: the places whose shots narrow the bed's mean elevation, and with it the soil volume, most."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache, partial

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from terrain.grid import Array
from terrain.ground.choose import heights_at
from terrain.ground.creases import with_breaklines
from terrain.ground.model_averaging import LikelyGround, mean_deviation_over, narrowed
from terrain.ground.scanned import with_shared_mean
from terrain.ground.shots import LocalShots, local_shots
from terrain.ground.spots import BED_POINTS, points_over
from terrain.numerics import Covariance, Kriging, correlation_between, one_thread, seen_from, trend_terms
from terrain.site import Site

MOST = 3  # places named
_CANDIDATES = 350  # places tried, over the bed and a little beyond
_BEYOND = 0.08  # of the bed's longer side: a shot just outside the line holds the edge
WORTH = 0.03  # of the deviation: what narrows it by less is no use to go out for


@dataclass(frozen=True)
class NextShot:
    """One place to shoot.

    `at` in survey metres; `mean_deviation` is what `Ground.mean_deviation` is expected to be once this and the places
    named before it are shot.
    """

    at: tuple[float, float]
    mean_deviation: float


def next_shots(site: Site, method: str, most: int = MOST) -> tuple[NextShot, ...]:
    """The places, best first, whose shots would narrow the bed's mean elevation most.

    Parameters
    ----------
    site
        A validated site, metres.
    method
        The method of the ground as it is delivered: `Ground.check.method`.
    most
        Places named at most; fewer come back where another would narrow the deviation by less than 3 %.

    Notes
    -----
    Greedy: each place is the one whose shot takes most off the variance of the mean over the bed, by the covariance of
    the ground given the shots there are and those named before. How much a shot takes off does not depend on the
    elevation that it will read, only on where it stands (Cressie, Statistics for Spatial Data, 1993, sec. 5.6.1); the
    covariances that are likely are weighed as in `terrain.ground.model_averaging`.
    """
    from terrain.ground.choose import fit_ground

    with one_thread():
        shots = with_breaklines(local_shots(site.survey.shots, site.survey.accuracy), site.survey.breaklines)
        fitted = fit_ground(shots, method)
        bed = points_over(site.bed.outline, BED_POINTS)
        tried = candidates(site)
        places = shots.local(bed)
        delivered = float(heights_at(fitted, places).mean())
        error = site.survey.accuracy
        chosen = greedy(fitted.likely, places, shots.local(tried), error, most)
        shared = partial(with_shared_mean, site)
        return _worth_it(fitted.likely, places, delivered, shots, tried[chosen], error, shared)


def _worth_it(
    likely: LikelyGround,
    bed: Array,
    delivered: float,
    shots: LocalShots,
    chosen: Array,
    error: float,
    shared: Callable[[float], float],
) -> tuple[NextShot, ...]:
    """The chosen places with what each leaves, as far as each is worth its walk; `shared` puts to a deviation what the
    points of a scan have in common.
    """
    before, found = shared(mean_deviation_over(likely, bed, delivered)), list[NextShot]()
    for count in range(1, len(chosen) + 1):
        after = shared(narrowed(likely, bed, delivered, shots.local(chosen[:count]), error))
        if after > (1.0 - WORTH) * before:
            break
        east, north = chosen[count - 1]
        found.append(NextShot((float(east), float(north)), after))
        before = after
    return tuple(found)


def candidates(site: Site) -> Array:
    """Places (m, 2) where a rod can stand: over the bed and a little beyond, off buildings and trunks."""
    west, south, east, north = site.bed.outline.bounds
    ground: BaseGeometry = site.bed.outline.buffer(_BEYOND * max(east - west, north - south))
    ground = ground.difference(shapely.union_all([house.outline.buffer(0.3) for house in site.building]))
    for tree in site.tree:
        ground = ground.difference(shapely.Point(tree.at).buffer(max(tree.flare, tree.trunk / 2.0) + 0.3))
    west, south, east, north = ground.bounds
    step = float(np.sqrt(ground.area / _CANDIDATES))
    x, y = np.meshgrid(np.arange(west + step / 2.0, east, step), np.arange(south + step / 2.0, north, step))
    places = np.column_stack([x.ravel(), y.ravel()])
    return np.asarray(places[shapely.contains_xy(ground, *places.T)])


def greedy(likely: LikelyGround, bed: Array, tried: Array, error: float, most: int) -> list[int]:
    """Rows of `tried`, best first.

    Parameters
    ----------
    likely
        The processes that the shots leave likely.
    bed, tried
        (b, 2) places that stand for the mean, (m, 2) places to choose from, in the shots' frame.
    error
        Standard deviation in metres of one shot to be taken.
    most
        Rows returned at most.
    """
    places = likely.processes[0].places
    # One for all processes that differ in their sill alone.
    before = cache(lambda smoothness, length: _before(bed, tried, places, Covariance(smoothness, length, 1.0)))
    terms = np.column_stack([trend_terms(bed).mean(axis=0), trend_terms(tried).T])
    left = [
        _given_the_shots(process, before(process.covariance.smoothness, process.covariance.correlation_length), terms)
        for process in likely.processes
    ]
    chosen: list[int] = []
    for _ in range(min(most, len(tried))):
        gain = np.zeros(len(tried))
        for weight, one in zip(likely.weights, left, strict=True):
            gain += weight * one.with_mean**2 / (one.variance + error**2 + 1e-12)
        gain[chosen] = -1.0
        best = int(np.argmax(gain))
        chosen.append(best)
        left = [one.once_shot(best, error) for one in left]
    return chosen


@dataclass(frozen=True)
class _Left:
    """What one process leaves open at the places tried, m2.

    Only the rows that are asked for are worked out of the covariance among all places: whole, that of a hundred
    processes takes a hundred megabytes.

    Parameters
    ----------
    with_mean, variance
        (m,) covariance of the height at each place with the bed's mean, and its own variance.
    sill, prior
        Covariance among the places before any shot: the one times the other, (m, m).
    across, short
        (n, m) and (k, m): what the shots explain of it, and what the unknown trend gives back, as products with
        themselves.
    taken
        Of each place that has been shot since: its row of the covariance, and that row over the variance of the shot.
    """

    with_mean: Array
    variance: Array
    sill: float
    prior: Array
    across: Array
    short: Array
    taken: tuple[tuple[Array, Array], ...] = ()

    def once_shot(self, place: int, error: float) -> _Left:
        """What is left once that place has been shot."""
        row = self.sill * self.prior[place]
        row = row - self.across[:, place] @ self.across + self.short[:, place] @ self.short
        for earlier, share in self.taken:
            row = row - share[place] * earlier
        share = row / (row[place] + error**2 + 1e-12)
        with_mean, variance = self.with_mean - self.with_mean[place] * share, self.variance - share * row
        return replace(self, with_mean=with_mean, variance=variance, taken=(*self.taken, (row, share)))


@dataclass(frozen=True)
class _Before:
    """Before any shot, for a sill of 1: of each place tried with the bed's mean (m,), among those places (m, m), and of
    the shots with that mean and with each place (n, 1 + m).
    """

    with_mean: Array
    among: Array
    shots: Array


def _before(bed: Array, tried: Array, places: Array, shape: Covariance) -> _Before:
    with_bed, with_tried = (correlation_between(shape, places, ground) for ground in (bed, tried))
    return _Before(
        correlation_between(shape, tried, bed).mean(axis=1),
        correlation_between(shape, tried, tried),
        np.column_stack([with_bed.mean(axis=1), with_tried]),
    )


def _given_the_shots(process: Kriging, before: _Before, terms: Array) -> _Left:
    """What a process leaves at the places tried before another shot.

    By universal kriging: the prior's covariance, less what the shots explain, and what the unknown trend gives back.
    `terms` (p, 1 + m) are the trend's of the bed's mean and of the places tried.
    """
    sill = process.covariance.sill
    white, unsure = seen_from(process, sill * before.shots, terms)
    across, short = white[:, 1:], unsure[:, 1:]
    with_mean = sill * before.with_mean - across.T @ white[:, 0] + short.T @ unsure[:, 0]
    variance = sill * np.diag(before.among) - (across**2).sum(axis=0) + (short**2).sum(axis=0)
    return _Left(with_mean, variance, sill, before.among, across, short)
