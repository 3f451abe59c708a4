"""The crest as the eye follows it, whatever its bends, and the sections across it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import ndimage
from scipy.sparse import coo_array
from scipy.sparse.csgraph import dijkstra

from terrain.grid import Array
from terrain.look.eye import Eye

POINTS = 81  # places along the whole crest
KEPT = (0.16, 0.84)  # the part of the crest whose sections are measured: at its ends any mound runs out
STATIONS, OFFSETS = 25, 41
LEVEL_COST = 0.1  # how dear the edge is to a path that would keep to the height: 1 / (this + share of the height)^3
STEADY = 5  # points over which the traced line is evened out


@dataclass(frozen=True)
class Sections:
    """Sections square to the crest.

    Parameters
    ----------
    line
        (s, 2) columns and rows of the stations, from end to end.
    height
        (s,) fill on the crest, metres.
    left, right
        (s,) widths from the crest to the edge, steps.
    area
        (s,) areas of the sections, metres times steps.
    shape
        (s, o) fill over the crest's at even shares of the way from the left edge to the right one.
    """

    line: Array
    height: Array
    left: Array
    right: Array
    area: Array
    shape: Array


def crest_line(eye: Eye) -> Array:
    """(POINTS, 2) columns and rows along the crest.

    The ends are the two places of the body farthest from each other by a path inside it; between them the crest keeps
    to the height as far as the way allows.
    """
    number = np.cumsum(eye.body).reshape(eye.body.shape) - 1
    share = eye.fill / eye.height
    starts, ends, lengths, costs = [], [], [], []
    for dj, di in ((0, 1), (1, 0), (1, 1), (1, -1)):
        here = np.s_[: eye.body.shape[0] - dj, max(-di, 0) : eye.body.shape[1] - max(di, 0)]
        there = np.s_[dj:, max(di, 0) : eye.body.shape[1] + min(di, 0)]
        both = eye.body[here] & eye.body[there]
        starts.append(number[here][both])
        ends.append(number[there][both])
        way = np.hypot(dj, di)
        lengths.append(np.full(starts[-1].size, way))
        costs.append(way / (LEVEL_COST + 0.5 * (share[here][both] + share[there][both])) ** 3)
    # As wide as the older library of graphs reads its indices.
    start, end = (np.concatenate(each).astype(np.int32) for each in (starts, ends))
    count = int(eye.body.sum())
    if count < 9:
        return np.repeat(eye.middle[None], POINTS, axis=0)

    def graph(weight: list[Array]) -> coo_array:
        return coo_array((np.concatenate(weight), (start, end)), shape=(count, count)).tocsr()

    short, dear = graph(lengths), graph(costs)
    top = int(np.argmax(share[eye.body]))
    one = _farthest(dijkstra(short, directed=False, indices=top))
    other = _farthest(dijkstra(short, directed=False, indices=one))
    _, before = dijkstra(dear, directed=False, indices=one, return_predecessors=True)
    path = [other]
    while path[-1] != one and before[path[-1]] >= 0:
        path.append(int(before[path[-1]]))
    return _even(eye.nodes[path])


def _farthest(distance: Array) -> int:
    return int(np.argmax(np.where(np.isfinite(distance), distance, -1.0)))


def _even(path: Array) -> Array:
    """The path at even steps, its stairs smoothed away."""
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(path, axis=0).T))])
    wanted = np.linspace(0.0, along[-1], POINTS)
    even = np.column_stack([np.interp(wanted, along, path[:, k]) for k in (0, 1)])
    smooth: Array = ndimage.gaussian_filter1d(even, STEADY, axis=0, mode="nearest")
    return smooth


def sections_of(eye: Eye) -> Sections:
    """Sections across the middle part of the crest, each out to the body's edge."""
    whole = crest_line(eye)
    lean = np.gradient(whole, axis=0)
    lean /= np.maximum(np.hypot(*lean.T), 1e-9)[:, None]
    at = np.linspace(KEPT[0], KEPT[1], STATIONS) * (POINTS - 1)
    line, way = (
        np.column_stack([np.interp(at, np.arange(POINTS), one[:, k]) for k in (0, 1)]) for one in (whole, lean)
    )
    across = np.column_stack([-way[:, 1], way[:, 0]])
    reach = np.arange(0.0, 1.6 * float(eye.depth.max()) + 2.0, 0.5)
    inside = eye.depth
    left, right = (_width(eye, inside, line, sign * across, reach) for sign in (1.0, -1.0))
    share = np.linspace(-1.0, 1.0, OFFSETS)
    away = np.where(share < 0.0, share * left[:, None], share * right[:, None])
    fill = eye.at(line[:, None, :] - away[..., None] * across[:, None, :])
    height = np.maximum(eye.at(line), 1e-9)
    area = fill.mean(axis=1) * (left + right)
    return Sections(line, height, left, right, area, fill / height[:, None])


def _width(eye: Eye, inside: Array, line: Array, across: Array, reach: Array) -> Array:
    """Steps from each station to the first place outside the body."""
    found = eye.at(line[:, None, :] + reach[None, :, None] * across[:, None, :], inside) <= 0.5
    found[:, -1] = True
    width: Array = np.maximum(reach[np.argmax(found, axis=1)], 0.5)
    return width
