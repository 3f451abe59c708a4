"""Places spread over a bed, which stand for its ground."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon

from terrain.grid import Array, Index

BED_POINTS = 400  # points over the bed that stand for its mean


def points_over(outline: Polygon | MultiPolygon, count: int) -> Array:
    """About `count` points on a square lattice inside an outline, (m, 2) in metres; never none."""
    west, south, east, north = outline.bounds
    step = float(np.sqrt(outline.area / count))
    x = np.arange(west + step / 2.0, east, step)
    y = np.arange(south + step / 2.0, north, step)
    places = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    inside = places[shapely.contains_xy(outline, places[:, 0], places[:, 1])]
    if len(inside):
        return np.asarray(inside)
    point = outline.representative_point()
    return np.array([[point.x, point.y]])


def far_apart(tried: Array, count: int, taken: Array) -> Index:
    """Rows (count,) of the (m, 2) places tried that lie far from one another.

    Each is the one that lies farthest from those `taken` already, (k, 2), and chosen before it; the first, where none
    is taken, the one farthest from the middle.
    """
    from scipy.spatial.distance import cdist

    nearest = cdist(tried, taken if len(taken) else tried.mean(axis=0, keepdims=True)).min(axis=1)
    chosen = [int(np.argmax(nearest))]
    nearest = nearest if len(taken) else np.full(len(tried), np.inf)
    while len(chosen) < count:
        nearest = np.minimum(nearest, np.hypot(*(tried - tried[chosen[-1]]).T))
        chosen.append(int(np.argmax(nearest)))
    return np.array(chosen)
