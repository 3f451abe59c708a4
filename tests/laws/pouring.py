"""A second, plain way to let water come to rest: drop by drop it moves to the lowest surface beside it, sweep on sweep.

No tree of hollows, no way out worked out beforehand, nothing taken from the library. Rain comes in many small steps, so
that no wave tops a rim.
"""

from __future__ import annotations

import numpy as np
from numba import njit


def pour(ground: np.ndarray, runs: np.ndarray, steps: int = 40, sweeps: int = 60) -> tuple[np.ndarray, float]:
    """(ny, nx) depth of water at rest, and what left over the grid's edge as depth over one node."""
    depth, left = _pour(ground.astype(float), runs.astype(float), steps, sweeps)
    return depth, float(left)


@njit(cache=True)
def _lowest_surface(ground, depth, j, i):
    """The steepest fall of the water's surface from a node, and where it leads."""
    best, row, column = 0.0, j, i
    for b in range(j - 1, j + 2):
        for a in range(i - 1, i + 2):
            far = 1.4142135623730951 if b != j and a != i else 1.0
            drop = (ground[j, i] + depth[j, i] - ground[b, a] - depth[b, a]) / far
            if drop > best:
                best, row, column = drop, b, a
    return best, row, column


@njit(cache=True)
def _pour(ground, runs, steps, sweeps):
    ny, nx = ground.shape
    depth = np.zeros((ny, nx))
    left = 0.0
    for step in range(3 * steps):
        if step < steps:
            depth += runs / steps
        for sweep in range(sweeps):
            for jj in range(ny):
                for ii in range(nx):
                    j = ny - 1 - jj if sweep & 1 else jj
                    i = nx - 1 - ii if sweep & 2 else ii
                    if depth[j, i] <= 0.0:
                        continue
                    if j == 0 or i == 0 or j == ny - 1 or i == nx - 1:
                        left += depth[j, i]
                        depth[j, i] = 0.0
                        continue
                    best, row, column = _lowest_surface(ground, depth, j, i)
                    if best > 0.0:
                        level = ground[j, i] + depth[j, i] - ground[row, column] - depth[row, column]
                        moved = min(depth[j, i], level / 2.0)
                        depth[j, i] -= moved
                        depth[row, column] += moved
    return depth, left
