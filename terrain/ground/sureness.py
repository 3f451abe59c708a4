"""How sure the elevation is when the covariance itself is uncertain."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from terrain.grid import Array
from terrain.ground.kriging import FEWEST_TO_FIT, free_table
from terrain.ground.shots import LocalShots
from terrain.numerics import (
    CENTRAL_90,
    LEAST_SILL,
    SMOOTHNESS,
    Covariance,
    Kriging,
    ShotTable,
    krige_with,
    kriged,
    kriged_height,
    mean_and_deviation,
    nearby_scale,
    profiled,
    reach_bounds,
)

# Weighed beside the fitted ones. Its surface nears the thin plate's: without it the blend missed each of
# 40 spot heights left out by 19.4 ft, with it by 18.7, where the plate misses them by 18.4 (tests/benchmarks). Its
# correlation costs three times the others', so that surveys with many shots, which need no blend, go without.
_BETWEEN, _BETWEEN_MOST = 1.0, 150
_RUNGS = 9  # reaches that are weighed, for each smoothness
_SILL_ROUNDS = 4  # rounds in which each rung's sill is brought near its best beside the shots' noise
_UNLIKELY = 1e-3  # likelihood beside the likeliest under which a covariance is left out
_SETTLED = 400  # shots from which the fitted covariance may be taken as known
_FARTHEST, _MEDIAN_OF_NORMAL = 3.5, 0.6745  # deviations; median of a normal variable's size, in deviations


@dataclass(frozen=True)
class LikelyGround:
    """The processes that the shots leave likely.

    `processes` and `weights` (they sum to one) go together; `student` is half the central 90 % range of
    Student's t with the shots' degrees of freedom over that of a normal variable, for the sill's own
    uncertainty. `know_heights`: the processes' own heights count, not only their deviations; they do not on creased
    ground, where each is smooth across the step beside a wall.
    """

    processes: tuple[Kriging, ...]
    weights: Array
    student: float
    know_heights: bool = True


def likely_ground(shots: LocalShots, fitted: Kriging) -> LikelyGround:
    """Weigh a ladder of covariances by how well each explains the shots.

    Notes
    -----
    Reaches are taken as alike beforehand on a log scale, the smoothnesses as alike, and weighed by
    restricted likelihood; the sill's own uncertainty is Student's t with n - 3 degrees of freedom (Handcock
    and Stein, Technometrics 35, 1993). With a handful of shots the covariance is assumed, and with many it is
    settled: then the fitted process stands alone.
    """
    count = shots.free
    if count < FEWEST_TO_FIT or count > _SETTLED:
        return settled(fitted)
    table = free_table(shots)
    ladder = _ladder(table, fitted.covariance)
    deviance = np.array([rung[0] for rung in ladder])
    rungs = [rung[1] for rung in ladder]
    weight = np.exp(-0.5 * (deviance - deviance.min()))
    likely = np.flatnonzero(weight > _UNLIKELY)
    return LikelyGround(
        tuple(krige_with(shots.places, shots.heights, shots.error, rungs[at]) for at in likely),
        weight[likely] / weight[likely].sum(),
        _student_90(table.freedom) / CENTRAL_90,
    )


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


def mean_sureness(likely: LikelyGround, targets: Array, delivered: float) -> float:
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
    each = [mean_and_deviation(process, targets) for process in likely.processes]
    squares = np.array([deviation**2 + (mean - delivered) ** 2 * likely.know_heights for mean, deviation in each])
    return float(np.sqrt(likely.weights @ squares)) * likely.student


def blended_height(likely: LikelyGround, targets: Array) -> Array:
    """Height (m,) in metres at (m, 2) targets: each likely process's own, weighed.

    Where the shots leave several covariances likely, their weighed mean misses less than the likeliest alone.
    """
    height = np.zeros(len(targets))
    for weight, process in zip(likely.weights, likely.processes, strict=True):
        height += weight * kriged_height(process, targets)
    return height


def blended_residuals(likely: LikelyGround) -> Array:
    """Each shot minus the blended surface through the others, metres, (n,), the weights being kept."""
    return np.asarray(likely.weights @ np.array([process.residuals for process in likely.processes]))


def settled(process: Kriging) -> LikelyGround:
    """One process taken as known."""
    return LikelyGround((process,), np.ones(1), 1.0)


def narrowed(likely: LikelyGround, targets: Array, delivered: float, places: Array, error: float) -> float:
    """What `mean_sureness` is expected to be once (k, 2) more places in the frame are shot, each with an error, metres.

    The distance of the delivered mean from each process's own is expected to shrink as that process's deviation does.
    """
    square = 0.0
    for weight, process in zip(likely.weights, likely.processes, strict=True):
        mean, before = mean_and_deviation(process, targets)
        after = mean_and_deviation(_with_more(process, places, error), targets)[1]
        share = (after / before) ** 2 if before > 0.0 else 1.0
        square += weight * share * (before**2 + (mean - delivered) ** 2 * likely.know_heights)
    return float(np.sqrt(square)) * likely.student


def _with_more(process: Kriging, places: Array, error: float) -> Kriging:
    """The process with more shots, which read what it expects: the deviation does not depend on what they read."""
    table = np.vstack([process.places, places])
    heights = np.concatenate([process.heights, kriged(process, places)[0]])
    errors = np.concatenate([process.error, np.full(len(places), error)])
    return krige_with(table, heights, errors, process.covariance)


def widening(likely: LikelyGround, fitted: Kriging, targets: Array) -> float:
    """By how much the fitted process's deviation falls short at (m, 2) targets: a factor, at least 1."""
    if len(likely.processes) == 1 and likely.processes[0] is fitted:
        return likely.student
    height, deviation = kriged(fitted, targets)
    square = np.zeros(len(targets))
    for weight, process in zip(likely.weights, likely.processes, strict=True):
        other, spread = kriged(process, targets)
        square += weight * (spread**2 + (other - height) ** 2 * likely.know_heights)
    known = deviation > 0.0
    if not known.any():
        return 1.0
    return max(1.0, likely.student * float(np.sqrt(np.mean(square[known] / deviation[known] ** 2))))


def _ladder(table: ShotTable, fitted: Covariance) -> list[tuple[float, Covariance]]:
    """Covariances over the whole range of reaches, each with the sill that suits it and its restricted deviance."""
    near = nearby_scale(fitted)
    ladder = []
    between = (_BETWEEN,) if len(table.heights) <= _BETWEEN_MOST else ()
    for smoothness in (*SMOOTHNESS, *between):
        for reach in np.geomspace(*reach_bounds(table), _RUNGS):
            start = Covariance(smoothness, float(reach), near * float(reach) ** (2.0 * fitted.smoothness))
            ladder.append(profiled(table, start, _SILL_ROUNDS))
    return ladder


def _student_90(freedom: int) -> float:
    """Half the central 90 % range of Student's t."""
    from scipy.special import stdtrit

    return float(stdtrit(freedom, 0.95))
