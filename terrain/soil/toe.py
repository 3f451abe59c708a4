"""The toe that is not cut: where the true ground stands over finished grade the crew brings no soil and digs none.

The fill is then more than its mean says, since what stands too high at one place saves nothing at another.
"""

from __future__ import annotations

import numpy as np
from scipy.special import ndtr

from terrain.grid import Array
from terrain.ground import Ground
from terrain.numerics import YardMesh
from terrain.soil.model import TOE_AT

# Facets deeper than this many deviations are never left uncut.
_SURELY = 5.0


def toe_left(ground: Ground, mesh: YardMesh, sod: float) -> tuple[float, ...]:
    """Fill in m3 more than the surfaces show, expected at each of `TOE_AT`.

    Parameters
    ----------
    ground
        Its deviation at every node, and that of its mean over the bed, which says how far places err together.
    mesh
        Existing and proposed grade; fill stands on ground that is stripped of `sod` metres.

    Notes
    -----
    At one place the error of the ground is a part that all places share, which the deviation of the mean measures, and
    a part of its own: deviation x (c z + sqrt(1 - c^2) e). What is left uncut there is the expectation of a normal
    variable past the depth of the fill, s (phi(d / s) - (d / s) (1 - Phi(d / s))).
    """
    triangles, area = mesh.triangles[mesh.inside], mesh.areas[mesh.inside]
    if not len(triangles) or ground.mean_deviation == 0.0:
        return ()
    first, second, third = triangles.T
    depth, middles = ((at[first] + at[second] + at[third]) / 3.0 for at in (mesh.fill, mesh.points))
    depth += sod
    deviation = ground.grid.sample(ground.deviation, middles)
    mean = float(area @ deviation / area.sum())
    if mean == 0.0:
        return ()
    alike = min(1.0, ground.mean_deviation / mean)
    near = (depth < _SURELY * deviation) & (depth >= 0.0)
    area, depth, deviation = area[near], depth[near], deviation[near]
    apart = np.maximum(deviation * np.sqrt(1.0 - alike**2), 1e-9)
    return tuple(float(area @ _past(depth - alike * deviation * z, apart)) for z in TOE_AT)


def _past(depth: Array, deviation: Array) -> Array:
    """Expectation of what a normal variable reaches past a depth; all in metres."""
    share = depth / deviation
    bell = np.exp(-0.5 * share**2) / np.sqrt(2.0 * np.pi)
    return np.asarray(deviation * (bell - share * ndtr(-share)))
