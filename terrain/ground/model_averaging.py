"""How sure the elevation is when the covariance is uncertain, and when a shot may be a blunder."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from functools import cache

import numpy as np

from terrain.grid import Array
from terrain.ground.blunders import Judged, judge, judge_many
from terrain.ground.kriging import FEWEST_TO_FIT, fit_kriging, free_table
from terrain.ground.leave_one_out import FEWEST
from terrain.ground.shots import LocalShots
from terrain.ground.weighing import BLUNDER_CHANCE, Shape, weigh
from terrain.numerics import (
    ENOUGH_TO_FIT,
    JITTER,
    LEAST_SILL,
    SMOOTHNESS,
    Covariance,
    Kriging,
    MeanAlike,
    correlation_between,
    krige_with,
    kriged,
    length_bounds,
    mean_alike,
    mean_and_deviation,
    pulled_together,
    seen_from,
    trend_terms,
    unheeded,
)

# Weighed beside the fitted ones. Its surface nears the thin plate's: without it the blend missed each of
# 40 spot heights left out by 19.4 ft, with it by 18.7, where the plate misses them by 18.4 (tests/benchmarks).
_BETWEEN = 1.0
_RUNGS = 9  # correlation lengths that are weighed, for each smoothness
_LADDER_MOST = 150  # shots up to which the whole ladder is weighed; more leave only what is near the fitted likely
_NEAR_FITTED = (0.5, 1.0, 2.0)  # times its correlation length
_UNLIKELY = 1e-3  # chance beside the likeliest under which a covariance is left out
_FARTHEST, _MEDIAN_OF_NORMAL = 3.5, 0.6745  # deviations; median of a normal variable's size, in deviations
_FLOOR = 1e-3  # of the mean variance: at exact shots no process leaves any


@dataclass(frozen=True)
class LikelyGround:
    """The processes that the shots leave likely.

    Parameters
    ----------
    processes, weights
        They go together; the weights sum to one. A process that takes a shot for a blunder goes without it.
    know_heights
        Whether the processes' own heights count, not only their deviations; they do not on creased ground, where each
        is smooth across the step beside a wall.
    odds
        (n,) odds that each shot off the breaklines is a blunder; empty where that was not asked.
    aside
        Rows of the shots that are doubtful, the worst first: none of the processes heeds them, unless shots are exact.
    """

    processes: tuple[Kriging, ...]
    weights: Array
    know_heights: bool = True
    odds: Array = field(default_factory=lambda: np.empty(0))
    aside: tuple[int, ...] = ()

    @property
    def likeliest(self) -> Kriging:
        """The process of the greatest weight."""
        return self.processes[int(np.argmax(self.weights))]


def likely_ground(shots: LocalShots, chance: float = BLUNDER_CHANCE) -> LikelyGround:
    """Weigh a ladder of covariances by how well each explains the shots, with each shot's chance of being a blunder.

    Notes
    -----
    Lengths are taken as alike beforehand on a log scale, the smoothnesses as alike, and weighed by restricted
    likelihood, the sill's own uncertainty and all (Handcock and Stein, Technometrics 35, 1993; here by sums over a grid
    of sills). With a handful of shots the covariance is assumed, and with many it is settled: then the fitted process
    stands alone. Beside breaklines no shot is taken for a blunder: the step there would be (`creased_residuals` asks).
    """
    chance = chance if shots.free >= FEWEST and not len(shots.edges) else 0.0
    if shots.free < FEWEST_TO_FIT:
        return settled(fit_kriging(shots))
    if shots.free > ENOUGH_TO_FIT:
        return _of_many(shots, fit_kriging(shots), chance)
    table, shapes = free_table(shots), _shapes(shots)
    judged = judge(table, shapes, shots.scale, chance)
    if table.exact and (chance or judged.aside):
        # Exact shots are passed through, whatever the odds.
        every = np.arange(shots.free)
        passed = Judged(judged.odds, (), every, weigh(table, shapes, shots.scale, 0.0))
        return replace(_weighed(shots, shapes, passed), aside=judged.aside)
    return _weighed(shots, shapes, judged)


def _of_many(shots: LocalShots, fitted: Kriging, chance: float) -> LikelyGround:
    """The fitted process alone, without the shots that are doubtful."""
    odds, aside = judge_many(shots, fitted, chance)
    if aside and shots.error.any():
        error = unheeded(shots.error, shots.heights, aside)
        fitted = krige_with(shots.places, shots.heights, error, fitted.covariance)
    return replace(settled(fitted), odds=odds, aside=aside)


def _weighed(shots: LocalShots, shapes: list[Shape], judged: Judged) -> LikelyGround:
    """A process for each likely covariance and blunder."""
    chance, sill = judged.weighed.chance, judged.weighed.sill
    likely = np.nonzero(chance > _UNLIKELY * chance.max())
    processes = []
    for row, column in zip(*likely, strict=True):
        gone = (*judged.aside, int(judged.kept[column - 1])) if column else judged.aside
        smoothness, length = shapes[row]
        error = unheeded(shots.error, shots.heights, gone)
        covariance = Covariance(smoothness, length, float(sill[row, column]))
        processes.append(krige_with(shots.places, shots.heights, error, covariance))
    weights = chance[likely]
    return LikelyGround(tuple(processes), weights / weights.sum(), True, judged.odds, judged.aside)


def _shapes(shots: LocalShots) -> list[Shape]:
    """Smoothnesses and correlation lengths to be weighed."""
    if shots.free > _LADDER_MOST:
        fitted = fit_kriging(shots).covariance
        return [(fitted.smoothness, fitted.correlation_length * factor) for factor in _NEAR_FITTED]
    lengths = np.geomspace(*length_bounds(free_table(shots)), _RUNGS)
    return [(smoothness, float(length)) for smoothness in (*SMOOTHNESS, _BETWEEN) for length in lengths]


def held_to(likely: LikelyGround, missed: Array) -> LikelyGround:
    """The processes for ground that creases, with the sills at which each expects the misses of the surface delivered.

    Parameters
    ----------
    likely
        Processes fitted as if the ground were smooth: a wall's step makes their sills far too large.
    missed
        (n,) metres: each shot off the breaklines minus the delivered surface through the others; nan where a shot
        cannot be left out.

    Notes
    -----
    The rule of `terrain.ground.kriging.fit_kriging` for many shots (Bachoc, Computational Statistics and Data Analysis
    66, 2013), the misses being those of the facets. They know the crease, and pass through the lines as the processes
    do. A miss counts for no more than `_FARTHEST` of their usual size, so that one bust does not widen the whole yard.
    """
    seen = np.isfinite(missed)
    if np.count_nonzero(seen) < FEWEST_TO_FIT:
        return replace(likely, know_heights=False)
    processes = []
    for process in likely.processes:
        scores = np.abs(missed[seen]) / process.expected[: len(missed)][seen]
        factor = float(np.mean(np.minimum(scores, _FARTHEST * np.median(scores) / _MEDIAN_OF_NORMAL) ** 2))
        shape = replace(process.covariance, sill=max(process.covariance.sill * factor, LEAST_SILL))
        processes.append(krige_with(process.places, process.heights, process.error, shape))
    return replace(likely, processes=tuple(processes), know_heights=False)


def mean_deviation_over(likely: LikelyGround, targets: Array, delivered: float) -> float:
    """Deviation in metres of the error of a delivered mean height; 1.645 times it is half the 90 % range.

    Parameters
    ----------
    likely
        The processes that the shots leave likely.
    targets
        (m, 2) places in the shots' frame that stand for the ground whose mean is asked for.
    delivered
        The mean height over them that is delivered, by whatever method, metres above the frame's base.
    """
    each = list(means_and_deviations(likely, targets))
    squares = np.array([deviation**2 + (mean - delivered) ** 2 * likely.know_heights for mean, deviation in each])
    return float(np.sqrt(likely.weights @ squares))


def means_and_deviations(likely: LikelyGround, targets: Array) -> Iterator[tuple[float, float]]:
    """Mean height over the targets and its deviation, metres, by each process in turn."""
    known = _alike(likely, targets)
    for process in likely.processes:
        yield mean_and_deviation(process, targets, known(*_shape(process)))


def _shape(process: Kriging) -> Shape:
    return process.covariance.smoothness, process.covariance.correlation_length


def _alike(likely: LikelyGround, targets: Array) -> Callable[[float, float], MeanAlike]:
    """`mean_alike` of the targets by a shape: worked once for all processes that differ in their sill alone."""
    places = likely.processes[0].places
    return cache(lambda smoothness, length: mean_alike(Covariance(smoothness, length, 1.0), targets, places))


def blended_height(likely: LikelyGround, targets: Array) -> Array:
    """Height (m,) in metres at (m, 2) targets: each likely process's own, weighed.

    Where the shots leave several covariances likely, their weighed mean misses less than the likeliest alone.
    """
    trend = np.zeros(3)
    pulls: dict[Shape, Array] = {}
    for weight, process in zip(likely.weights, likely.processes, strict=True):
        shape = _shape(process)
        pulls[shape] = weight * process.covariance.sill * process.weights + pulls.get(shape, 0.0)
        trend += weight * process.seen.trend
    together = [(Covariance(*shape, 1.0), pull) for shape, pull in pulls.items()]
    return pulled_together(together, likely.processes[0].places, targets) + trend_terms(targets) @ trend


def blended_residuals(likely: LikelyGround) -> Array:
    """Each shot minus the blended surface through the others, metres, (n,), the weights being kept."""
    return np.asarray(likely.weights @ np.array([process.residuals for process in likely.processes]))


def settled(process: Kriging) -> LikelyGround:
    """One process taken as known."""
    return LikelyGround((process,), np.ones(1))


def narrowed(likely: LikelyGround, targets: Array, delivered: float, places: Array, error: float) -> float:
    """`mean_deviation_over` as expected once (k, 2) more places in the frame are shot, each with an error, metres.

    The distance of the delivered mean from each process's own is expected to shrink as that process's deviation does.
    """
    known, square = _alike(likely, targets), 0.0
    between = cache(lambda smoothness, length: _between(Covariance(smoothness, length, 1.0), targets, places))
    for weight, process in zip(likely.weights, likely.processes, strict=True):
        alike = known(*_shape(process))
        mean, before = mean_and_deviation(process, targets, alike)
        sill = process.covariance.sill
        of_mean, of_places = (sill * part for part in between(*_shape(process)))
        across = sill * np.column_stack([alike.shots, correlation_between(process.covariance, process.places, places)])
        terms = np.column_stack([trend_terms(targets).mean(axis=0), trend_terms(places).T])
        white, short = seen_from(process, across, terms)
        with_mean = of_mean - white[:, 1:].T @ white[:, 0] + short[:, 1:].T @ short[:, 0]
        left = of_places - white[:, 1:].T @ white[:, 1:] + short[:, 1:].T @ short[:, 1:]
        left[np.diag_indices(len(left))] += error**2 + JITTER * sill
        taken = float(with_mean @ np.linalg.solve(left, with_mean))
        share = max(1.0 - taken / before**2, 0.0) if before > 0.0 else 1.0
        square += weight * share * (before**2 + (mean - delivered) ** 2 * likely.know_heights)
    return float(np.sqrt(square))


def _between(shape: Covariance, targets: Array, places: Array) -> tuple[Array, Array]:
    """Before any shot, for a sill of 1: covariance (k,) of each place with the mean over the targets, and (k, k)."""
    with_mean = correlation_between(shape, places, targets).mean(axis=1)
    return with_mean, correlation_between(shape, places, places)


def widening(likely: LikelyGround, targets: Array) -> Array:
    """By how much the likeliest process's deviation falls short at (m, 2) targets of what all together leave open.

    A factor (m,), smooth from place to place: past the hull of the shots, where the processes part, it grows.
    """
    if len(likely.processes) == 1:
        return np.ones(len(targets))
    each = [kriged(process, targets) for process in likely.processes]
    heights, deviations = (np.array(part) for part in zip(*each, strict=True))
    apart = (heights - likely.weights @ heights) ** 2 * likely.know_heights
    alone = deviations[int(np.argmax(likely.weights))] ** 2
    floor = _FLOOR * float(alone.mean()) + 1e-30
    return np.asarray(np.sqrt((likely.weights @ (deviations**2 + apart) + floor) / (alone + floor)))
