"""Spread what is too steep: every facet over its slope bound is turned to it with the least change of its corners.

The least change of three corners that brings a facet to its bound is a projection on a convex set. Facets take turns in
a fixed order until all keep their bounds: the method of projections, Gubin, Polyak and Raik (1967), "The method of
projections for finding the common point of convex sets", USSR Comp. Math. Math. Phys. 7(6), 1-24. A projection takes no
two surfaces further apart, so a surface changed a little ends up changed a little, and the soil stays where it is: a
crest comes down by what its foot takes up. Lowering corners one by one instead, as `keep_slope` does, can let one facet
bring down half a mound that stands at its limit everywhere.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from terrain.grid import Array, Index
from terrain.numerics.facets import LEAST_FILL, ROUNDING_MARGIN, Facets, lowered_to_slope
from terrain.numerics.machine_code import compiled

# A facet that is too steep is turned this share under the limit: the room lets the turns come to an end.
UNDER = 0.02
SWEEPS = 80  # measured on random yards: nine in ten are done within 40
ROOT_STEPS = 4  # of Newton's method for one facet; two are nearly always enough


@compiled
def _turned(
    form: Array, f: int, u: float, v: float, fa: float, fb: float, fc: float, target: float
) -> tuple[float, float, float]:
    """Least changes of a facet's corners that bring its slope to `target`.

    `u`, `v` are the rises from the first corner to the others; `fa`, `fb`, `fc` are 1.0 where a corner may move, else
    0.0. With b the gradients of the corners' hat functions, in axes of the facet's own, and M the sum of b b' over the
    corners that may move, the new gradient is h = (I + t M)^-1 g, and corner k changes by -t b_k . h. The t that gives
    |h| its bound is found by Newton's method on 1/|h|, which is nearly straight.
    """
    bx = np.sqrt(form[f, 0])
    cx = form[f, 1] / bx
    cy = np.sqrt(max(form[f, 2] - cx * cx, 0.0))
    ax, ay = -bx - cx, -cy
    m11 = fa * ax * ax + fb * bx * bx + fc * cx * cx
    m12 = fa * ax * ay + fc * cx * cy
    m22 = fa * ay * ay + fc * cy * cy
    gx, gy = u * bx + v * cx, v * cy
    hx, hy, t, det = gx, gy, 0.0, 1.0
    for _ in range(ROOT_STEPS):
        size = np.sqrt(hx * hx + hy * hy)
        wx = ((1.0 + t * m22) * hx - t * m12 * hy) / det
        wy = ((1.0 + t * m11) * hy - t * m12 * hx) / det
        fall = wx * (m11 * hx + m12 * hy) + wy * (m12 * hx + m22 * hy)
        if size <= target * (1.0 + 1e-5) or fall <= 0.0:
            break
        t += size * size / fall * (size - target) / target
        det = (1.0 + t * m11) * (1.0 + t * m22) - t * t * m12 * m12
        hx = ((1.0 + t * m22) * gx - t * m12 * gy) / det
        hy = ((1.0 + t * m11) * gy - t * m12 * gx) / det
    return -t * fa * (ax * hx + ay * hy), -t * fb * bx * hx, -t * fc * (cx * hx + cy * hy)


@compiled
def _spread(
    corners: Index,
    form: Array,
    first: Index,
    of: Index,
    z: Array,
    ground: Array,
    moves: Array,
    trigger2: Array,
    target: Array,
    sweeps: int,
) -> int:
    """Turn facets in place, sweep by sweep, until none is over its bound; returns the number of turns."""
    waiting = np.ones(len(corners), dtype=np.bool_)
    turns, before = 0, -1
    for _ in range(sweeps):
        if turns == before:
            break
        before = turns
        for f in range(len(corners)):
            if not waiting[f]:
                continue
            waiting[f] = False
            a, b, c = corners[f, 0], corners[f, 1], corners[f, 2]
            u, v = z[b] - z[a], z[c] - z[a]
            slope2 = form[f, 0] * u * u + 2.0 * form[f, 1] * u * v + form[f, 2] * v * v
            if slope2 <= trigger2[f]:
                continue
            turns += 1
            changes = _turned(form, f, u, v, moves[a], moves[b], moves[c], target[f])
            for k in range(3):
                corner = corners[f, k]
                if changes[k] != 0.0:
                    z[corner] = max(ground[corner], z[corner] + changes[k])
                    waiting[of[first[corner] : first[corner + 1]]] = True
    return turns


def held_to_slope(
    facets: Facets, own: Array, ground: Array, proposed: Array, free: NDArray[np.bool_], slope: float
) -> Array:
    """The proposed elevations with every facet brought to the slope limit: spread first, lowered where that is left.

    Where the ground itself is steeper than the limit, the bound of a facet is the ground's own slope there.

    Parameters
    ----------
    own
        (m,) slope of the ground on every facet, rise/run.
    ground, proposed
        (n,) vertex elevations in metres, proposed nowhere below ground.
    free
        (n,) True at vertices that may carry fill; all others stay where they are.
    slope
        Limit, rise/run.

    Returns
    -------
    array
        (n,) elevations, nowhere below ground; no facet over its bound.
    """
    trigger = np.maximum(slope * (1.0 - 0.5 * ROUNDING_MARGIN), own * (1.0 + 1e-9) + 1e-12)
    target = np.maximum(slope * (1.0 - UNDER), own)
    z = proposed.copy()
    moves = free.astype(float)
    _spread(facets.corners, facets.form, facets.first, facets.of, z, ground, moves, trigger**2, target, SWEEPS)
    thin = z < ground + LEAST_FILL
    z[thin] = ground[thin]
    lowered_to_slope(facets, own, ground, z, free, slope)
    return z
