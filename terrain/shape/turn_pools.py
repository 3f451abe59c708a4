"""Pools where a stream turns: proposed beside its drops, where neither those nor pools are stated."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from shapely.geometry import Point

from terrain.grid import Array
from terrain.limits import DROPS_APART, POOL_DEPTH, POOL_TURN
from terrain.numerics import StationFrame
from terrain.shape.digs import Dig
from terrain.site import Pool, Stream

# Across the bed's own width, and across what a pool's sides take: common practice, no published source.
POOL_BEDS, FLOOR_BEDS, LEAST_POOL = 2.0, 0.5, 0.45  # widths, widths, metres


def pooled(stream: Stream, digs: tuple[Dig, ...]) -> Stream:
    """The stream with its pools: as stated, or round ones where it turns, if its drops are left to the tool as well.

    `digs` are those of basins and channels, which no pool runs into.
    """
    if stream.pools is not None or stream.drops is not None:
        return stream
    depth = min(POOL_DEPTH.value, stream.highest_drop)
    size = max(POOL_BEDS * stream.width, 2.0 * depth / stream.side_slope + FLOOR_BEDS * stream.width, LEAST_POOL)
    frame = StationFrame(np.array(stream.line))
    turns = _turns(frame, size)
    taken: list[float] = []
    # The sharpest turn first: two that stand close share its pool.
    for corner in np.argsort(-turns, kind="stable"):
        station, place = float(frame.starts[corner]), frame.corners[corner]
        if turns[corner] < POOL_TURN.value or not _has_room(station, size, frame.length, taken):
            continue
        if all(dig.rim.distance(Point(place)) > size / 2.0 + DROPS_APART.value for dig in digs):
            taken.append(station)
    places = frame.places(np.sort(np.array(taken, dtype=float))).tolist()
    return replace(stream, pools=tuple(Pool((east, north), (size, 0.0), depth) for east, north in places))


def _turns(frame: StationFrame, reach: float) -> Array:
    """(n,) angle at each corner between where the line came from and where it goes to within `reach` metres, radians.

    A bend that is drawn with many corners counts as one.
    """
    before = frame.places(np.maximum(frame.starts - reach, 0.0))
    after = frame.places(np.minimum(frame.starts + reach, frame.length))
    came, goes = frame.corners - before, after - frame.corners
    size = np.hypot(*came.T) * np.hypot(*goes.T)
    inner = (came * goes).sum(axis=1)
    straight = size < 1e-12
    return np.where(straight, 0.0, np.arccos(np.clip(inner / np.where(straight, 1.0, size), -1.0, 1.0)))


def _has_room(station: float, size: float, length: float, others: list[float]) -> bool:
    """Whether a pool fits between the ends of its line and the pools that are there, a drop at its head."""
    apart = size / 2.0 + DROPS_APART.value
    inside = apart < station < length - apart
    return inside and all(abs(station - other) >= size + DROPS_APART.value for other in others)
