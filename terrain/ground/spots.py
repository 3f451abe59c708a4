"""Places spread over a bed, which stand for its ground."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon

from terrain.grid import Array

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
