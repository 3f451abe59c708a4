"""The unit-area (borrow pit) method: depths at nodes, weighted by the cells that share each.

V = A/4 * (sum h1 + 2 sum h2 + 3 sum h3 + 4 sum h4), h_n being the depths at nodes shared by n cells (Ghilani
and Wolf, Elementary Surveying, borrow-pit levelling; the same rule stands in earthwork manuals as "unit
areas").
"""

from __future__ import annotations

from typing import Literal

import numpy as np

from terrain.grid import Array, Mask
from terrain.numerics.prisms import positive_mean
from terrain.numerics.volumes import CutFill

SplitMethod = Literal["four corners", "proportional", "bilinear", "rising diagonals", "falling diagonals"]

# Nodes and weights of the Gauss rule on [0, 1]; ten points integrate the smooth pieces of a bilinear cell to
# 1e-9.
_GAUSS_AT, _GAUSS_WEIGHT = (
    (np.polynomial.legendre.leggauss(10)[0] + 1) / 2,
    np.polynomial.legendre.leggauss(10)[1] / 2,
)


def node_weights(cells: Mask) -> Array:
    """Count the cells that share each node: 1, 2, 3 or 4, and 0 where none does.

    Parameters
    ----------
    cells
        (ny-1, nx-1): True for the cells that belong to the pit or the bed.

    Returns
    -------
    (ny, nx) counts, as floats so that they can be multiplied with depths.
    """
    counts = np.zeros((cells.shape[0] + 1, cells.shape[1] + 1))
    for south, west in ((0, 0), (0, 1), (1, 0), (1, 1)):
        counts[south : south + cells.shape[0], west : west + cells.shape[1]] += cells
    return counts


def unit_area_volume(depth: Array, cell_area: float, cells: Mask | None = None) -> float:
    """Net volume in m3 by the unit-area rule.

    Parameters
    ----------
    depth
        (ny, nx) depths at the nodes in metres; positive and negative ones offset each other.
    cell_area
        Plan area of one cell, m2.
    cells
        (ny-1, nx-1): cells that count; None takes all.
    """
    used = np.ones((depth.shape[0] - 1, depth.shape[1] - 1), dtype=bool) if cells is None else cells
    return float(cell_area / 4.0 * np.sum(node_weights(used) * depth))


def grid_volume(
    depth: Array, cell_area: float, *, method: SplitMethod = "bilinear", cells: Mask | None = None
) -> CutFill:
    """Cut and fill of depths on a grid, m3.

    Parameters
    ----------
    depth
        (ny, nx) finished less present elevation at the nodes, metres: positive is fill, negative is cut.
    cell_area
        Plan area of one cell, m2.
    method
        How a cell with both signs is divided. "four corners": positive and negative corners each averaged
        over all four (overstates both). "proportional": by C2/(C+F), the common hand rule. "bilinear": the
        exact integral of the bilinear surface on either side of its zero line. "rising diagonals" and
        "falling diagonals": exact on two flat triangles a cell, the diagonal rising or falling towards the
        north-east. All but the last two have the net of the unit-area rule.
    cells
        (ny-1, nx-1): cells that count; None takes all.
    """
    corners = _corners(depth, cells)
    if method == "four corners":
        fill, cut = _by_corners(corners)
    elif method == "proportional":
        fill, cut = _by_proportion(corners)
    elif method == "bilinear":
        fill, cut = _by_bilinear(corners)
    else:
        fill, cut = _by_triangles(corners, rising=method == "rising diagonals")
    return CutFill(cut=float(cut * cell_area), fill=float(fill * cell_area), method=method)


def _corners(depth: Array, cells: Mask | None) -> Array:
    """Corner depths of every counted cell, (m, 4): south-west, south-east, north-west, north-east."""
    corners = (depth[:-1, :-1], depth[:-1, 1:], depth[1:, :-1], depth[1:, 1:])
    # A row each in memory: least and most of four are several times as quick so.
    return np.stack([one.ravel() if cells is None else one[cells] for one in corners]).T


def _by_corners(corners: Array) -> tuple[float, float]:
    return np.maximum(corners, 0.0).sum() / 4.0, np.maximum(-corners, 0.0).sum() / 4.0


def _by_proportion(corners: Array) -> tuple[float, float]:
    above, below = np.maximum(corners, 0.0).sum(axis=1), np.maximum(-corners, 0.0).sum(axis=1)
    total = np.where(above + below > 0.0, above + below, 1.0)
    return float((above**2 / total).sum() / 4.0), float((below**2 / total).sum() / 4.0)


def _by_triangles(corners: Array, *, rising: bool) -> tuple[float, float]:
    halves = ((0, 1, 3), (0, 3, 2)) if rising else ((0, 1, 2), (1, 3, 2))
    depths = np.concatenate([corners[:, half] for half in halves])
    return float(positive_mean(depths).sum() / 2.0), float(positive_mean(-depths).sum() / 2.0)


def _by_bilinear(corners: Array) -> tuple[float, float]:
    """Split exactly: whole cells by their mean, mixed cells by integration between edge crossings."""
    mixed = (corners.min(axis=1) < 0.0) & (corners.max(axis=1) > 0.0)
    means = corners[~mixed].mean(axis=1) if (~mixed).any() else np.zeros(0)
    split = corners[mixed]
    above = _bilinear_above(split)
    fill = np.maximum(means, 0.0).sum() + above.sum()
    cut = np.maximum(-means, 0.0).sum() + (above - split.mean(axis=1)).sum()
    return float(fill), float(cut)


def _bilinear_above(corners: Array) -> Array:
    """Mean of the positive part of bilinear cells, (m,) from (m, 4) corner depths.

    Along a line of constant northing the depth is linear, so its positive part has a closed form; that form
    is smooth in the northing except where the zero line meets the west or the east edge, so the Gauss rule is
    put between those.
    """
    west, east = corners[:, [0, 2]], corners[:, [1, 3]]
    breaks = np.sort(np.stack([np.zeros(len(corners)), _crossing(west), _crossing(east), np.ones(len(corners))], 1), 1)
    total = np.zeros(len(corners))
    for start, end in zip(breaks.T[:-1], breaks.T[1:], strict=True):
        at = start[:, None] + (end - start)[:, None] * _GAUSS_AT
        along = _linear_above(_between(west, at), _between(east, at))
        total += (end - start) * (along @ _GAUSS_WEIGHT)
    return total


def _crossing(edge: Array) -> Array:
    """Where an edge's depth changes sign, as a share of its length; 0 where it does not."""
    start, end = edge[:, 0], edge[:, 1]
    changes = start * end < 0.0
    return np.where(changes, start / np.where(changes, start - end, 1.0), 0.0)


def _between(edge: Array, at: Array) -> Array:
    return edge[:, :1] * (1.0 - at) + edge[:, 1:] * at


def _linear_above(start: Array, end: Array) -> Array:
    """Mean of the positive part of a depth that runs linearly from `start` to `end`."""
    high, low = np.maximum(start, end), np.minimum(start, end)
    mixed = (low < 0.0) & (high > 0.0)
    part = high**2 / np.where(mixed, 2.0 * (high - low), 1.0)
    return np.where(mixed, part, np.maximum((low + high) / 2.0, 0.0))
