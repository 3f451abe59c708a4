"""The limit surface: the highest ground that keeps a slope limit to all that it must meet."""

from __future__ import annotations

import numpy as np

from terrain.grid import Array, Index, Mask
from terrain.numerics.machine_code import compiled


@compiled
def _offer(
    j: int,
    i: int,
    source: int,
    level: Array,
    best: Index,
    sx: Array,
    sy: Array,
    sz: Array,
    pull: Array,
    rise: float,
) -> None:
    """Let one node take a source's cone where that lies lower than what the node holds."""
    dx, dy = i - sx[source], j - sy[source]
    z = sz[source] + rise * (np.sqrt(dx * dx + dy * dy) + pull[0] * dx + pull[1] * dy)
    if z < level[j, i]:
        level[j, i] = z
        best[j, i] = source


@compiled
def _last_asked(sweep: int) -> tuple[int, int]:
    """The sweep before this one that asked the same row of neighbours, and the same one at the side; -2 for none."""
    row = sweep - 1 if sweep % 2 else sweep - 3
    return row if row >= 0 else -2, sweep - 2 if sweep >= 2 else -2


@compiled
def _lower_cones(
    level: Array,
    best: Index,
    active: Mask,
    sx: Array,
    sy: Array,
    sz: Array,
    pull: Array,
    rise: float,
    rounds: int,
) -> None:
    """Pass every node's source to its neighbours in four sweeps a round; `level` and `best` change in place.

    The value is always worked out from the true distance to the source, so it never falls below the exact minimum
    (datasets and baselines, part C: the source-carrying sweep). A neighbour that has had the same source since it was
    last asked is not asked again.
    """
    ny, nx = level.shape
    # The sweep in which each node took its source: -1 for what it began with, less than "never asked" for none.
    since = np.where(best >= 0, -1, -3)
    for n in range(4 * rounds):
        dj = 1 - 2 * (n % 4 // 2)
        di = 1 - 2 * (n % 2)
        row, side = _last_asked(n)
        for j in np.arange(ny)[::dj]:
            for i in np.arange(nx)[::di]:
                if not active[j, i]:
                    continue
                mine = best[j, i]
                for across, up, asked in ((-di, -dj, row), (0, -dj, row), (di, -dj, row), (-di, 0, side)):
                    a, b = i + across, j + up
                    if 0 <= b < ny and 0 <= a < nx and since[b, a] > asked:
                        _offer(j, i, best[b, a], level, best, sx, sy, sz, pull, rise)
                if best[j, i] != mine:
                    since[j, i] = n


@compiled
def _seed(
    level: Array,
    best: Index,
    active: Mask,
    sx: Array,
    sy: Array,
    sz: Array,
    pull: Array,
    rise: float,
    first: int,
) -> None:
    """Offer the sources up to `first` (points of the edge, off the nodes) to the nodes within two cells of them."""
    ny, nx = level.shape
    for k in range(first):
        i0, j0 = int(np.floor(sx[k])), int(np.floor(sy[k]))
        for j in range(max(0, j0 - 1), min(ny, j0 + 3)):
            for i in range(max(0, i0 - 1), min(nx, i0 + 3)):
                if active[j, i]:
                    _offer(j, i, k, level, best, sx, sy, sz, pull, rise)


def limit_surface(
    wish: Array,
    active: Mask,
    edge: Array,
    slope: float,
    *,
    pull: tuple[float, float] = (0.0, 0.0),
    rounds: int = 2,
) -> Array:
    """Highest surface under `wish` and under every edge point that rises nowhere faster than `slope`.

    z(p) = min over sources q of  z0(q) + slope / (1 + |pull|) * (|p - q| + pull . (p - q)),
    the lower envelope of cones; with `pull` = 0 the plain slope limit. A pull towards the south, say, holds faces that
    look south to slope * (1 - |pull|) / (1 + |pull|), and no face to more than `slope`.

    Parameters
    ----------
    wish
        (ny, nx) elevation wished at the nodes in cells; inf where nothing is wished. In the unit of `slope`: metres of
        rise a cell.
    active
        (ny, nx): nodes of the ground that may take fill. Others come back as inf.
    edge
        (n, 3) column, row (in cells, off the nodes) and elevation of points along the edge of that ground, spaced at
        most one cell.
    slope
        Rise per cell.
    pull
        Vector (east, north) shorter than 1.
    rounds
        Rounds of four sweeps; two leave an error below 0.1 % of the rise.

    Returns
    -------
    array
        (ny, nx) elevation; exact at the edge points, never below the true envelope.
    """
    ny, nx = wish.shape
    rows, columns = np.nonzero(active & np.isfinite(wish))
    sx = np.concatenate([edge[:, 0], columns.astype(float)])
    sy = np.concatenate([edge[:, 1], rows.astype(float)])
    sz = np.concatenate([edge[:, 2], wish[rows, columns]])
    level = np.full((ny, nx), np.inf)
    best = np.full((ny, nx), -1, dtype=np.int64)
    level[rows, columns] = wish[rows, columns]
    best[rows, columns] = len(edge) + np.arange(len(rows))
    lean = np.asarray(pull, dtype=float)
    rise = slope / (1.0 + float(np.hypot(*lean)))
    _seed(level, best, active, sx, sy, sz, lean, rise, len(edge))
    _lower_cones(level, best, active, sx, sy, sz, lean, rise, rounds)
    return level
