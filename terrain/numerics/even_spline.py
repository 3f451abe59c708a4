"""The bicubic spline through values on a lattice of even steps.

The same surface as FITPACK's interpolating spline (P. Dierckx, Curve and Surface Fitting with Splines, 1993): cubic
between the nodes, twice differentiable over them, and thrice over those next to the ends ("not a knot"). The library
that binds it takes longer to load than a yard's surfaces take to work.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from terrain.grid import Array, Index
from terrain.numerics.machine_code import compiled


@dataclass(frozen=True)
class Bicubic:
    """A surface over columns (nx,) and rows (ny,) of even steps.

    Parameters
    ----------
    columns, rows
        Coordinates of the nodes, at least four each way.
    value, across, up, both
        (nx, ny): the value at the nodes, and its derivatives for a step along the columns, along the rows, along both.
    """

    columns: Array
    rows: Array
    value: Array
    across: Array
    up: Array
    both: Array

    def on_grid(self, columns: Array, rows: Array) -> Array:
        """(a, b) values over a grid's columns (a,) and rows (b,); past the lattice that at its edge."""
        first, weights = _shares(self.columns, columns)
        value = _mixed(first, weights, self.value, self.across)
        up = _mixed(first, weights, self.up, self.both)
        first, weights = _shares(self.rows, rows)
        return _mixed(first, weights, value.T, up.T).T

    def at(self, places: Array) -> Array:
        """(m,) values at (m, 2) places; past the lattice that at its edge."""
        (i, x), (j, y) = (_shares(axis, along) for axis, along in zip((self.columns, self.rows), places.T, strict=True))
        total = np.zeros(len(places))
        for di in (0, 1):
            for dj in (0, 1):
                here = (i + di, j + dj)
                total += x[di] * (y[dj] * self.value[here] + y[2 + dj] * self.up[here])
                total += x[2 + di] * (y[dj] * self.across[here] + y[2 + dj] * self.both[here])
        return total


def bicubic(columns: Array, rows: Array, values: Array) -> Bicubic:
    """The spline through (nx, ny) values over even columns (nx,) and rows (ny,), at least four each way."""
    up = _slopes(values.T).T
    return Bicubic(columns, rows, values, _slopes(values), up, _slopes(up))


def _slopes(values: Array) -> Array:
    """(n, k) derivatives for one step of the cubic splines through the columns of (n, k) values."""
    from scipy.linalg import lapack

    n = len(values)
    wanted = np.empty_like(values, order="F")
    wanted[1:-1] = 3.0 * (values[2:] - values[:-2])
    # The third derivative is the same on both sides of the nodes next to the ends.
    wanted[0] = -2.5 * values[0] + 2.0 * values[1] + 0.5 * values[2]
    wanted[-1] = 2.5 * values[-1] - 2.0 * values[-2] - 0.5 * values[-3]
    own, below, above = np.full(n, 4.0), np.ones(n - 1), np.ones(n - 1)
    own[[0, -1]], above[0], below[-1] = 1.0, 2.0, 2.0
    slopes: Array = lapack.dgtsv(below, own, above, wanted, overwrite_b=1)[3]
    return slopes


def _shares(nodes: Array, places: Array) -> tuple[Index, tuple[Array, Array, Array, Array]]:
    """The node before each place, and what value and slope there and at the next node count for."""
    step = (nodes[-1] - nodes[0]) / (len(nodes) - 1)
    along = np.clip((places - nodes[0]) / step, 0.0, len(nodes) - 1.0)
    first = np.minimum(along.astype(np.int64), len(nodes) - 2)
    t = along - first
    left = 1.0 - t
    return first, ((1.0 + 2.0 * t) * left * left, (3.0 - 2.0 * t) * t * t, t * left * left, -left * t * t)


def _mixed(first: Index, weights: tuple[Array, Array, Array, Array], value: Array, slope: Array) -> Array:
    """(m, k) values at m places between the nodes of (n, k) values and slopes."""
    mixed: Array = _mix(first, *weights, np.ascontiguousarray(value), np.ascontiguousarray(slope))
    return mixed


@compiled
def _mix(first, here, there, out, into, value, slope):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """Each place's row from the two rows of values and slopes about it, in one pass."""
    mixed = np.empty((first.size, value.shape[1]))
    for m in range(first.size):
        n, a, b, c, d = first[m], here[m], there[m], out[m], into[m]
        for k in range(value.shape[1]):
            mixed[m, k] = a * value[n, k] + b * value[n + 1, k] + c * slope[n, k] + d * slope[n + 1, k]
    return mixed
