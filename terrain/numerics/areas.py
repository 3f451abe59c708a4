"""The ground where a sampled function lies between two levels, as geometry."""

from __future__ import annotations

import itertools
from typing import Any

import shapely
from shapely.geometry import MultiPolygon
from shapely.geometry.base import BaseGeometry

from terrain.grid import Array, Grid
from terrain.numerics.overlay import merged


def area_between(grid: Grid, values: Array, low: float, high: float) -> BaseGeometry:
    """The ground where low < values <= high, as area in metres."""
    from contourpy import FillType, contour_generator

    tracer = contour_generator(grid.x, grid.y, values, fill_type=FillType.OuterOffset)
    found: Any = tracer.filled(low, high)
    points, offsets = found
    parts = []
    for ring_points, cuts in zip(points, offsets, strict=True):
        rings = [ring_points[a:b] for a, b in itertools.pairwise(cuts) if b - a >= 4]
        if rings:
            parts.append(shapely.Polygon(rings[0], rings[1:]))
    return merged(parts) if parts else MultiPolygon()
