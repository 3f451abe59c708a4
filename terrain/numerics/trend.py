"""The linear trend under every smooth surface, and the linear algebra that the smooth surfaces share."""

from __future__ import annotations

import numpy as np

from terrain.grid import Array


def trend_terms(places: Array) -> Array:
    """Terms 1, easting, northing of the linear trend at (m, 2) places: (m, 3)."""
    return np.column_stack([np.ones(len(places)), places])


def plane_through(places: Array, heights: Array) -> Array:
    """Least-squares plane: the three coefficients of `trend_terms`."""
    return np.asarray(np.linalg.lstsq(trend_terms(places), heights, rcond=None)[0])
