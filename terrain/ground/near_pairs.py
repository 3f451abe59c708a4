"""Two shots close together whose elevations no ground explains: one of them is wrong, or a wall stands between."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from terrain.grid import Array
from terrain.ground.model import DoubtfulShot
from terrain.ground.shots import LocalShots
from terrain.numerics import Covariance, fit_covariance, krige_with, kriged, shot_table
from terrain.site import Survey
from terrain.units import Units, show_length

_NEAR = 0.15  # of the mean shot spacing
_STEEP = 1.0  # rise over run that a lawn does not have; common practice, no published source
_FEWEST = 8  # shots besides the pair, so that one of the two can be judged by them


@dataclass(frozen=True)
class Pair:
    """Rows of two shots close together: the one that the others disown, and the one beside it.

    `residual` is the first minus the surface through the others, `deviation` what that difference may be expected to
    be, `rise` the first minus the second, `apart` how far they stand from each other; metres.
    """

    row: int
    other: int
    residual: float
    deviation: float
    rise: float
    apart: float


def steep_pairs(shots: LocalShots) -> tuple[Pair, ...]:
    """Pairs that stand near each other and differ by more than their errors and a 1:1 slope between them.

    A breakline between the two explains the difference; such pairs are left alone.
    """
    from scipy.spatial import cKDTree

    free = shots.free
    if shots.thinned or free < _FEWEST + 2:
        return ()
    places, heights = shots.places[:free], shots.heights[:free]
    near = _NEAR * float(np.sqrt(2.0 * np.pi / free))
    steep = []
    for first, second in sorted(cKDTree(places).query_pairs(near)):
        apart = shots.scale * float(np.hypot(*(places[first] - places[second])))
        rise = abs(float(heights[first] - heights[second]))
        error = 3.0 * float(np.hypot(shots.error[first], shots.error[second]))
        if rise - error > _STEEP * apart and not _parted(shots, places[[first, second]]):
            steep.append((first, second, apart))
    if not steep:
        return ()
    covariance = _without(shots, steep)
    return tuple(_judged(shots, first, second, apart, covariance) for first, second, apart in steep)


def _parted(shots: LocalShots, ends: Array) -> bool:
    """Whether a breakline runs between two places."""
    if not len(shots.edges):
        return False
    lines = shapely.linestrings(shots.places[shots.edges])
    return bool(shapely.intersects(lines, shapely.linestrings(ends)).any())


def _without(shots: LocalShots, steep: list[tuple[int, int, float]]) -> Covariance:
    """The covariance of the shots that stand in no such pair, or of all shots where too few would be left."""
    kept = np.ones(shots.free, dtype=bool)
    kept[[row for first, second, _ in steep for row in (first, second)]] = False
    if kept.sum() < _FEWEST:
        kept[:] = True
    rows = np.flatnonzero(kept)
    return fit_covariance(shot_table(shots.places[rows], shots.heights[rows], shots.error[rows] ** 2))


def _judged(shots: LocalShots, first: int, second: int, apart: float, covariance: Covariance) -> Pair:
    """The pair, the one first that misses the surface through all others more."""
    kept = np.ones(len(shots.places), dtype=bool)
    kept[[first, second]] = False
    places, heights, error = shots.places[kept], shots.heights[kept], shots.error[kept]
    pair = np.array([first, second])
    there, spread = kriged(krige_with(places, heights, error, covariance), shots.places[pair])
    residual, deviation = shots.heights[pair] - there, np.hypot(spread, shots.error[pair])
    worse = int(np.argmax(np.abs(residual)))
    row, other = int(pair[worse]), int(pair[1 - worse])
    rise = float(shots.heights[row] - shots.heights[other])
    return Pair(row, other, float(residual[worse]), float(deviation[worse]), rise, apart)


def paired_doubts(survey: Survey, units: Units, shots: LocalShots, known: set[str]) -> tuple[DoubtfulShot, ...]:
    """A doubtful shot for each such pair, but for those whose name is known as doubtful already."""
    doubts = []
    for pair in steep_pairs(shots):
        name, other = (survey.names[int(np.flatnonzero(shots.groups == row)[0])] for row in (pair.row, pair.other))
        if name in known or other in known:
            continue
        known = known | {name}
        shot = int(np.flatnonzero(shots.groups == pair.row)[0])
        rise = show_length(abs(pair.rise), units, "elevation")
        side = "above" if pair.rise > 0.0 else "below"
        apart = show_length(pair.apart, units, "distance")
        text = f"Shot {name} stands {rise} {side} shot {other}, {apart} from it: one is wrong, or a wall is between."
        at = (float(survey.shots[shot, 0]), float(survey.shots[shot, 1]))
        doubts.append(DoubtfulShot(name, at, pair.residual, pair.deviation, text))
    return tuple(doubts)
