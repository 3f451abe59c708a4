"""Where tapes meet: a place from two or more distances to known places. Pure geometry in metres, no files."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from terrain.grid import Array
from terrain.survey.points import Place

_ROUNDS = 100
_STILL = 1e-12  # metres: a step this short ends the search
_ONE = 1e-6  # metres: two anchors nearer than this are one
_APART = 0.01  # metres: nearer than this, two solutions are one


@dataclass(frozen=True)
class Fix:
    """A place fixed by tapes, metres.

    Parameters
    ----------
    at
        Easting and northing.
    residuals
        Measured less computed distance, one a tape, metres.
    dilution
        Dilution of precision: how far the place moves for a slip of 1 in the tapes, in the weakest direction; 1 where
        they cross square, many where they run nearly along one line.
    """

    at: Place
    residuals: tuple[float, ...]
    dilution: float

    @property
    def worst(self) -> float:
        """Largest residual, metres, without its sign."""
        return max(abs(residual) for residual in self.residuals)


def gap(a: Place, b: Place, from_a: float, from_b: float) -> float:
    """By how much two tapes fail to meet, metres; zero or less where they do."""
    apart = math.dist(a, b)
    return max(apart - from_a - from_b, abs(from_a - from_b) - apart)


def two_tapes(a: Place, b: Place, from_a: float, from_b: float) -> tuple[Place, Place] | None:
    """The places left and right of the line from `a` to `b` at the two distances; None where the tapes do not meet.

    Exact: with D = |AB|, the foot of the place along AB is (rA^2 - rB^2 + D^2) / 2D from A, and its distance from AB
    the root of rA^2 less the foot's square.
    """
    apart = math.dist(a, b)
    if apart < _ONE or gap(a, b, from_a, from_b) > 1e-9 * apart:
        return None
    foot = (from_a**2 - from_b**2 + apart**2) / (2.0 * apart)
    off = math.sqrt(max(0.0, (from_a - foot) * (from_a + foot)))
    along = ((b[0] - a[0]) / apart, (b[1] - a[1]) / apart)
    east, north = a[0] + foot * along[0], a[1] + foot * along[1]
    return (east - off * along[1], north + off * along[0]), (east + off * along[1], north - off * along[0])


def side_of(a: Place, b: Place, place: Place) -> float:
    """Distance of a place to the left of the line from `a` to `b`, metres; negative to the right."""
    east, north = b[0] - a[0], b[1] - a[1]
    return (east * (place[1] - a[1]) - north * (place[0] - a[0])) / math.hypot(east, north)


def fix_by_tapes(anchors: Sequence[Place], distances: Sequence[float]) -> tuple[Fix, ...]:
    """Places that least squares finds for two or more tapes, best first; two where the tapes leave the side open.

    Parameters
    ----------
    anchors
        Known places, metres.
    distances
        Distance from each, metres, same order.

    Returns
    -------
    tuple of Fix
        Empty for two tapes that do not meet. With more tapes the sum of squared residuals is least at each.

    Notes
    -----
    Gauss-Newton from the two meeting places of every pair of tapes, or, for a pair that does not meet, from the place
    between the two ends.
    """
    fixed, radii = np.asarray(anchors, dtype=float), np.asarray(distances, dtype=float)
    fixes: list[Fix] = []
    for i, j in combinations(range(len(radii)), 2):
        starts = two_tapes(anchors[i], anchors[j], distances[i], distances[j])
        if starts is None and len(radii) == 2:
            return ()
        for start in starts or _between(anchors[i], anchors[j], distances[i], distances[j]):
            fix = _settled(fixed, radii, np.array(start))
            if all(math.dist(fix.at, other.at) > _APART for other in fixes):
                fixes.append(fix)
    return tuple(sorted(fixes, key=lambda fix: sum(residual**2 for residual in fix.residuals)))


def _between(a: Place, b: Place, from_a: float, from_b: float) -> tuple[Place, ...]:
    """Two starts beside the line through two anchors, where their tapes come nearest to each other."""
    apart = math.dist(a, b)
    if apart < _ONE:
        return ()
    foot = (from_a**2 - from_b**2 + apart**2) / (2.0 * apart)
    along = ((b[0] - a[0]) / apart, (b[1] - a[1]) / apart)
    east, north, off = a[0] + foot * along[0], a[1] + foot * along[1], 0.1 * apart
    return (east - off * along[1], north + off * along[0]), (east + off * along[1], north - off * along[0])


def _settled(anchors: Array, radii: Array, place: Array) -> Fix:
    """The least-squares place near a start, by damped Gauss-Newton steps."""
    if len(radii) == 2:
        return _fix(anchors, radii, place)
    best = _misfit(anchors, radii, place)
    damping = 1e-6
    for _ in range(_ROUNDS):
        away = place - anchors
        computed = np.maximum(np.hypot(*away.T), 1e-9)
        slopes = away / computed[:, None]
        step = np.linalg.solve(slopes.T @ slopes + damping * np.eye(2), slopes.T @ (radii - computed))
        misfit = _misfit(anchors, radii, place + step)
        if misfit > best:
            damping *= 10.0
            continue
        place, best, damping = place + step, misfit, max(damping / 10.0, 1e-9)
        if np.hypot(*step) < _STILL:
            break
    return _fix(anchors, radii, place)


def _misfit(anchors: Array, radii: Array, place: Array) -> float:
    return float(np.sum((radii - np.hypot(*(place - anchors).T)) ** 2))


def _fix(anchors: Array, radii: Array, place: Array) -> Fix:
    away = place - anchors
    computed = np.hypot(*away.T)
    slopes = away / np.maximum(computed, 1e-12)[:, None]
    least = float(np.linalg.eigvalsh(slopes.T @ slopes)[0])
    dilution = 1.0 / math.sqrt(least) if least > 1e-12 else math.inf
    return Fix((float(place[0]), float(place[1])), tuple(float(r) for r in radii - computed), dilution)
