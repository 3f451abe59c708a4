"""Polylines with a height at each vertex: distances along them, and heights between the vertices."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry import LineString

from terrain.grid import Array


def stations_of(line: Array) -> Array:
    """Distance (k,) in plan of each vertex of a (k, 2) or (k, 3) line from its start, in the line's unit."""
    return np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line[:, :2], axis=0).T))])


def heights_along(line: Array, places: Array) -> Array:
    """Height (m,) of a (k, 3) line where it passes nearest to (m, 2) places, linear between its vertices."""
    along = shapely.line_locate_point(LineString(line[:, :2]), shapely.points(places))
    return np.asarray(np.interp(along, stations_of(line), line[:, 2]))
