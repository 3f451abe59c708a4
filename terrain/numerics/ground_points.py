"""Which points of a dense cloud lie on the ground: low points cleaned away, then the progressive morphological filter.

Zhang, Chen, Whitman, Shyu, Yan and Zhang, A progressive morphological filter for removing nonground measurements from
airborne lidar data, IEEE Trans. Geoscience and Remote Sensing 41(4), 2003: the lowest surface is opened by windows that
grow, and what stands above it by more than the ground may rise over a window's growth is no ground. The measures are
those of a yard with hundreds of points a square metre, not of an aeroplane's cloud.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from terrain.grid import Array, Index, Mask

_NEIGHBOURS = 12
_TOO_LOW = 0.12  # metres below the neighbours: a mirror image in glass or water
_MAYBE_LOW = 0.04  # metres below the cells about: looked at
_LOW = 0.1  # of a cell's points: mirror images are far fewer
_ABOUT = 5  # cells each way that a cell is held against
_LARGEST_RASTER = 4_000_000  # cells


@dataclass(frozen=True)
class GroundRule:
    """What the filter goes by, metres and rise/run.

    `cell` of the lowest surface; `slope` that ground may have beside what stands on it; `least` and `most` height over
    the opened surface that is still ground; `window`, the widest thing that is taken away.
    """

    cell: float = 0.25
    slope: float = 0.15
    least: float = 0.08
    most: float = 0.25
    window: float = 3.0


YARD = GroundRule()


def ground_points(points: Array, rule: GroundRule = YARD) -> Mask:
    """(n,) True for the points (n, 3) that lie on the ground."""
    ground = ~too_low(points, rule.cell)
    kept = points[ground]
    if not len(kept):
        return ground
    cells, shape = _cells_of(kept[:, :2], rule.cell)
    surface = _lowest(cells, kept[:, 2], shape)
    stays = np.ones(len(kept), dtype=bool)
    before = 0
    for reach in _reaches(rule):
        surface = _opened(surface, reach)
        grown = 2 * (reach - before) * rule.cell
        bound = min(rule.slope * grown + rule.least, rule.most)
        stays &= kept[:, 2] - surface.reshape(-1)[cells] <= bound
        before = reach
    ground[ground] = stays
    return ground


def too_low(points: Array, cell: float) -> Mask:
    """(n,) True for points (n, 3) that lie under the median of their twelve neighbours in plan by more than 0.12 m."""
    from scipy.ndimage import percentile_filter
    from scipy.spatial import cKDTree

    low = np.zeros(len(points), dtype=bool)
    if len(points) <= _NEIGHBOURS:
        return low
    cells, shape = _cells_of(points[:, :2], cell)
    about = percentile_filter(_low(cells, points[:, 2], shape), 50, size=_ABOUT, mode="nearest")
    looked = np.flatnonzero(points[:, 2] < about.reshape(-1)[cells] - _MAYBE_LOW)
    if len(looked):
        _, near = cKDTree(points[:, :2]).query(points[looked, :2], k=_NEIGHBOURS + 1)
        low[looked] = points[looked, 2] < np.median(points[near[:, 1:], 2], axis=1) - _TOO_LOW
    return low


def _cells_of(places: Array, cell: float) -> tuple[NDArray[np.intp], tuple[int, int]]:
    """The flat number of each place's cell (n,), and the raster's rows and columns; cells grow where there are many."""
    corner = places.min(axis=0)
    span = places.max(axis=0) - corner
    while float(np.prod(np.floor(span / cell) + 1.0)) > _LARGEST_RASTER:
        cell *= 2.0
    columns, rows = np.floor((places - corner) / cell).astype(np.intp).T
    return rows * (int(columns.max()) + 1) + columns, (int(rows.max()) + 1, int(columns.max()) + 1)


def _lowest(cells: Index, heights: Array, shape: tuple[int, int]) -> Array:
    """The lowest point of each cell; an empty one has that of the nearest with a point."""
    lowest = np.full(shape[0] * shape[1], np.inf)
    np.minimum.at(lowest, cells, heights)
    return _without_gaps(lowest.reshape(shape))


def _low(cells: Index, heights: Array, shape: tuple[int, int]) -> Array:
    """The height under which a tenth of each cell's points lie: in a dense scan many cells have a mirror image."""
    order = np.lexsort((heights, cells))
    counts = np.bincount(cells, minlength=shape[0] * shape[1])
    there = np.flatnonzero(counts)
    first = np.cumsum(counts[there]) - counts[there]
    low = np.full(len(counts), np.inf)
    low[there] = heights[order[first + (_LOW * counts[there]).astype(np.intp)]]
    return _without_gaps(low.reshape(shape))


def _without_gaps(surface: Array) -> Array:
    """The surface with what the nearest cell has where a cell holds none (inf)."""
    from scipy.ndimage import distance_transform_edt

    empty = ~np.isfinite(surface)
    if empty.any():
        near = distance_transform_edt(empty, return_distances=False, return_indices=True)
        surface = surface[tuple(near)]
    return np.asarray(surface)


def _reaches(rule: GroundRule) -> tuple[int, ...]:
    """Half the windows in cells, doubling up to the widest."""
    most = max(1, math.ceil(rule.window / rule.cell / 2.0))
    found, reach = [], 1
    while reach < most:
        found.append(reach)
        reach *= 2
    return (*found, most)


def _opened(surface: Array, reach: int) -> Array:
    """The surface under which a flat window of 2 `reach` + 1 cells each way finds room.

    Lowered and then raised again; a square is taken one side after the other, which is the same.
    """
    from scipy.ndimage import maximum_filter, minimum_filter

    size = 2 * reach + 1
    return np.asarray(maximum_filter(minimum_filter(surface, size, mode="nearest"), size, mode="nearest"))
