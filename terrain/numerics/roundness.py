"""A circle through points of which some are not on it, and how sure its radius is.

Triples at random find the points that agree (Fischler and Bolles, Random sample consensus, CACM 24(6), 1981); Taubin's
fit starts (IEEE PAMI 13(11), 1991, in the form of Al-Sharadqah and Chernov, Electronic J. Statistics 3, 2009), and
geometric least squares ends: on short arcs the plain algebraic fit makes circles far too small.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from terrain.grid import Array, Mask

_TRIES = 60  # triples: one is clean 99 times in 100 with 42 points in 100 on the circle
_STEPS = 20
_SECTORS = 36
_FEWEST = 12  # points of a circle


@dataclass(frozen=True)
class FittedCircle:
    """A circle that was fitted.

    `centre` and `radius` in metres; `scatter` the root mean square of the points about it; `arc` radians of it that
    points stand on; `deviation` of the radius, by points `apart` that do not share their error; `on` (n,) the points
    that are taken to be of it.
    """

    centre: tuple[float, float]
    radius: float
    scatter: float
    arc: float
    deviation: float
    on: Mask


def circle_through(points: Array, band: float, bounds: tuple[float, float], seed: int = 1) -> FittedCircle | None:
    """The circle that most of (n, 2) points lie within `band` metres of, of a radius in bounds; None where none is."""
    if len(points) < _FEWEST:
        return None
    on = _agreeing(points, band, bounds, seed)
    for _ in range(2):
        if np.count_nonzero(on) < _FEWEST:
            return None
        x, y, radius = _geometric(points[on], taubin(points[on]))
        if not bounds[0] <= radius <= bounds[1]:
            return None
        on = np.abs(np.hypot(points[:, 0] - x, points[:, 1] - y) - radius) <= band
    if np.count_nonzero(on) < _FEWEST:
        return None
    off = np.hypot(points[on, 0] - x, points[on, 1] - y) - radius
    arc = _arc(points[on] - (x, y))
    scatter = float(np.sqrt(np.mean(off**2)))
    return FittedCircle((x, y), radius, scatter, arc, _deviation(points[on] - (x, y), scatter), on)


def taubin(points: Array) -> tuple[float, float, float]:
    """Centre and radius of the circle through (n, 2) points by Taubin's fit, with Newton's steps from zero."""
    middle = points.mean(axis=0)
    u, v = (points - middle).T
    w = u * u + v * v
    mean = float(w.mean())
    uu, vv, uv, uw, vw, ww = (float((a * b).mean()) for a, b in ((u, u), (v, v), (u, v), (u, w), (v, w), (w, w)))
    cross, spread = uu * vv - uv * uv, ww - mean * mean
    a3 = 4.0 * mean
    a2 = -3.0 * mean * mean - ww
    a1 = spread * mean + 4.0 * cross * mean - uw * uw - vw * vw
    a0 = uw * (uw * vv - vw * uv) + vw * (vw * uu - uw * uv) - spread * cross
    root, value = 0.0, math.inf
    for _ in range(_STEPS):
        here = a0 + root * (a1 + root * (a2 + root * a3))
        if abs(here) >= abs(value):
            break
        value = here
        slope = a1 + root * (2.0 * a2 + 3.0 * root * a3)
        if slope == 0.0:
            break
        root -= here / slope
    under = root * root - root * mean + cross
    if under == 0.0:
        return (*middle.tolist(), math.sqrt(mean))
    x = (uw * (vv - root) - vw * uv) / under / 2.0
    y = (vw * (uu - root) - uw * uv) / under / 2.0
    return float(x + middle[0]), float(y + middle[1]), math.sqrt(x * x + y * y + mean)


def _geometric(points: Array, start: tuple[float, float, float]) -> tuple[float, float, float]:
    """The circle with the least squared distances, from a good start: Gauss and Newton."""
    at = np.array(start)
    for _ in range(_STEPS):
        away = points - at[:2]
        far = np.maximum(np.hypot(*away.T), 1e-12)
        slopes = np.column_stack([-away / far[:, None], -np.ones(len(points))])
        step = np.linalg.lstsq(slopes, -(far - at[2]), rcond=None)[0]
        at += step
        if float(np.abs(step).max()) < 1e-9:
            break
    return float(at[0]), float(at[1]), float(at[2])


def _agreeing(points: Array, band: float, bounds: tuple[float, float], seed: int) -> Mask:
    """The points near that circle through three of them which has most."""
    chance = np.random.default_rng(seed)
    best = np.zeros(len(points), dtype=bool)
    for _ in range(_TRIES):
        found = _through_three(points[chance.choice(len(points), 3, replace=False)])
        if found is None or not bounds[0] <= found[2] <= bounds[1]:
            continue
        on = np.abs(np.hypot(points[:, 0] - found[0], points[:, 1] - found[1]) - found[2]) <= band
        if np.count_nonzero(on) > np.count_nonzero(best):
            best = on
    return best


def _through_three(three: Array) -> tuple[float, float, float] | None:
    (ax, ay), (bx, by) = three[1] - three[0], three[2] - three[0]
    twice = 2.0 * (ax * by - ay * bx)
    if abs(twice) < 1e-12:
        return None
    a, b = ax * ax + ay * ay, bx * bx + by * by
    x, y = (by * a - ay * b) / twice, (ax * b - bx * a) / twice
    return float(three[0, 0] + x), float(three[0, 1] + y), math.hypot(x, y)


def _arc(away: Array) -> float:
    """Radians of the circle on which points stand, seen from its middle, in sectors of ten degrees."""
    sector = np.floor((np.arctan2(away[:, 1], away[:, 0]) / math.tau + 0.5) * _SECTORS).astype(int) % _SECTORS
    return math.tau * len(np.unique(sector)) / _SECTORS


def _deviation(away: Array, scatter: float) -> float:
    """Standard deviation of the radius: least squares by one mean point a sector, as near ones share their error."""
    angle = np.arctan2(away[:, 1], away[:, 0])
    sector = np.unique(np.floor((angle / math.tau + 0.5) * _SECTORS).astype(int) % _SECTORS)
    middle = (sector + 0.5) / _SECTORS * math.tau - math.pi
    slopes = np.column_stack([np.cos(middle), np.sin(middle), np.ones(len(middle))])
    information = slopes.T @ slopes
    if np.linalg.matrix_rank(information) < 3:
        return math.inf
    return scatter * math.sqrt(float(np.linalg.inv(information)[2, 2]))
