"""Sums of covariances split in two: a smooth part, which a coarse lattice carries, and one that ends near each place.

A covariance has its corner at distance none: there a spline through a lattice errs. So within a short reach it is
replaced by a polynomial in the squared distance that joins it with four derivatives; what the two differ by is added
where it is not nothing, from the few places within reach. The same split as of long sums in crystals: Ewald, Annalen
der Physik 369 (1921).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from terrain.grid import Array, Index
from terrain.numerics.covariance import Covariance
from terrain.numerics.machine_code import compiled

_TERMS = 5  # of the polynomial: the value and four derivatives join


@dataclass(frozen=True)
class NearParts:
    """What weighed places add within reach of them.

    Parameters
    ----------
    covariance
        A covariance of half-integer smoothness.
    reach
        Frame units within which it is split.
    places, weights
        (n, 2) and (n,): the sum is of weights times covariances with the places.
    smooth
        (5,) the smooth part within reach by powers of t - t0, t being (distance / length)^2 / 2, for sill 1.
    """

    covariance: Covariance
    reach: float
    places: Array
    weights: Array
    smooth: Array

    def at(self, targets: Array) -> Array:
        """(m,) what the places within reach of (m, 2) targets add to the smooth part of the sum."""
        cells, shape = _by_cells(self.places, self.reach), self.covariance
        form = shape.smoothness, shape.correlation_length, self.smooth
        near: Array = _near_sums(targets, self.places[cells.order], self.weights[cells.order], cells[1:], *form)
        near *= shape.sill
        return near


def near_parts(covariance: Covariance, places: Array, weights: Array, reach: float) -> NearParts:
    """The split of a sum of covariances; a covariance of half-integer smoothness.

    Notes
    -----
    With M(nu, a) = a^nu K_nu(a), of which a Matern covariance is a multiple, and t = a^2 / 2, dM(nu)/dt = -M(nu - 1)
    (Abramowitz and Stegun, 9.6.28): the derivatives of every order come from Bessel functions of lower ones.
    """
    from scipy.special import factorial, gamma, kv

    nu, edge = covariance.smoothness, reach / covariance.correlation_length
    orders = nu - np.arange(_TERMS)
    each = edge**orders * kv(orders, edge)
    smooth = 2.0 ** (1.0 - nu) / gamma(nu) * each * (-1.0) ** np.arange(_TERMS) / factorial(np.arange(_TERMS))
    return NearParts(covariance, reach, places, weights, np.asarray(smooth))


def mended(values: Array, targets: Array, places: Array, off: Array, reach: float) -> Array:
    """Values (m,) at (m, 2) targets with (n,) amounts added at (n, 2) places, each fading to nothing within reach.

    None reaches as far as the place next to it, so that each place gets its own amount.
    """
    from scipy.spatial import cKDTree

    if len(places) < 2:
        return values
    apart = cKDTree(places).query(places, 2)[0][:, 1]
    cells = _by_cells(places, reach)
    within = np.minimum(apart, reach)[cells.order]
    added: Array = _faded(targets, places[cells.order], off[cells.order], cells[1:], within)
    return values + added


class _Cells(NamedTuple):
    """Places by square cells, row by row.

    Order of the places; south-west corner of the cells, their side, how many to a row; where each cell's places begin.
    """

    order: Index
    low: Array
    side: float
    columns: int
    first: Index


def _by_cells(places: Array, side: float) -> _Cells:
    low = places.min(axis=0) - 0.5 * side
    column, row = np.floor((places - low) / side).astype(np.int64).T
    columns, rows = int(column.max()) + 1, int(row.max()) + 1
    cell = row * columns + column
    first = np.concatenate([[0], np.cumsum(np.bincount(cell, minlength=columns * rows))])
    return _Cells(np.argsort(cell, kind="stable"), low, side, columns, first)


@compiled
def _rows_about(x, y, cells, runs):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """Put the first and last place in each of the three rows of cells about a target into `runs`, (3, 2)."""
    low, side, columns, first = cells
    rows = (len(first) - 1) // columns
    column, row = math.floor((x - low[0]) / side), math.floor((y - low[1]) / side)
    west, east = max(column - 1, 0), min(column + 1, columns - 1)
    for k in range(3):
        r = row - 1 + k
        runs[k, :] = 0
        if west <= east and 0 <= r < rows:
            runs[k, 0], runs[k, 1] = first[r * columns + west], first[r * columns + east + 1]


@compiled
def _near_sums(targets, places, weights, cells, smoothness, length, smooth):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """Sum at each target, over the places within reach, of weight times covariance less its smooth part."""
    out, runs = np.zeros(len(targets)), np.empty((3, 2), np.int64)
    reach = cells[1]
    edge = 0.5 * (reach / length) ** 2
    for k in range(len(targets)):
        _rows_about(targets[k, 0], targets[k, 1], cells, runs)
        for r in range(3):
            for i in range(runs[r, 0], runs[r, 1]):
                square = (places[i, 0] - targets[k, 0]) ** 2 + (places[i, 1] - targets[k, 1]) ** 2
                if square < reach * reach:
                    a = math.sqrt(square) / length
                    alike = math.exp(-a)
                    if smoothness > 0.5:
                        alike *= 1.0 + a if smoothness == 1.5 else 1.0 + a + a * a / 3.0
                    whole, t = 0.0, 0.5 * a * a - edge
                    for power in range(len(smooth) - 1, -1, -1):
                        whole = whole * t + smooth[power]
                    out[k] += weights[i] * (alike - whole)
    return out


@compiled
def _faded(targets, places, off, cells, within):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """Sum at each target of the amounts of the places near it, each by (1 - (distance / within)^2)^2."""
    out, runs = np.zeros(len(targets)), np.empty((3, 2), np.int64)
    for k in range(len(targets)):
        _rows_about(targets[k, 0], targets[k, 1], cells, runs)
        for r in range(3):
            for i in range(runs[r, 0], runs[r, 1]):
                square = (places[i, 0] - targets[k, 0]) ** 2 + (places[i, 1] - targets[k, 1]) ** 2
                if square < within[i] * within[i]:
                    out[k] += off[i] * (1.0 - square / (within[i] * within[i])) ** 2
    return out
