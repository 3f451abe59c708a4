"""The path along the middle of a long patch of nodes, whatever its bends."""

from __future__ import annotations

import numpy as np
from scipy import ndimage

from terrain.grid import Array, Mask

LEVEL_COST = 0.1  # how dear a place without worth is to a path: 1 / (this + worth)^3 a step
STEADY = 5  # points over which the traced line is evened out
FEWEST = 9  # nodes under which a patch has no length


def longest_path(body: Mask, worth: Array, points: int) -> Array | None:
    """(points, 2) columns and rows along a patch of nodes, evened out; None where it is no more than a few nodes.

    The ends are the two places of the patch farthest from each other by a path inside it; between them the path keeps
    to what is worth most as far as the way allows.

    Parameters
    ----------
    body
        (ny, nx) True in the patch, which is in one piece.
    worth
        (ny, nx), 0 to 1 in the patch.
    points
        How many points are wanted.
    """
    count = int(body.sum())
    if count < FEWEST:
        return None
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import dijkstra

    number = np.cumsum(body).reshape(body.shape) - 1
    starts, ends, lengths, costs = [], [], [], []
    for dj, di in ((0, 1), (1, 0), (1, 1), (1, -1)):
        here = np.s_[: body.shape[0] - dj, max(-di, 0) : body.shape[1] - max(di, 0)]
        there = np.s_[dj:, max(di, 0) : body.shape[1] + min(di, 0)]
        both = body[here] & body[there]
        starts.append(number[here][both])
        ends.append(number[there][both])
        way = np.hypot(dj, di)
        lengths.append(np.full(starts[-1].size, way))
        costs.append(way / (LEVEL_COST + 0.5 * (worth[here][both] + worth[there][both])) ** 3)
    # As wide as the older library of graphs reads its indices.
    start, end = (np.concatenate(each).astype(np.int32) for each in (starts, ends))

    def graph(weight: list[Array]) -> coo_array:
        return coo_array((np.concatenate(weight), (start, end)), shape=(count, count)).tocsr()

    short, dear = graph(lengths), graph(costs)
    one = _farthest(dijkstra(short, directed=False, indices=int(np.argmax(worth[body]))))
    other = _farthest(dijkstra(short, directed=False, indices=one))
    _, before = dijkstra(dear, directed=False, indices=one, return_predecessors=True)
    path = [other]
    while path[-1] != one and before[path[-1]] >= 0:
        path.append(int(before[path[-1]]))
    rows, columns = np.nonzero(body)
    return _even(np.column_stack([columns, rows]).astype(float)[path], points)


def _farthest(distance: Array) -> int:
    return int(np.argmax(np.where(np.isfinite(distance), distance, -1.0)))


def _even(path: Array, points: int) -> Array:
    """The path at even steps, its stairs smoothed away."""
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(path, axis=0).T))])
    wanted = np.linspace(0.0, along[-1], points)
    even = np.column_stack([np.interp(wanted, along, path[:, k]) for k in (0, 1)])
    smooth: Array = ndimage.gaussian_filter1d(even, STEADY, axis=0, mode="nearest")
    return smooth
