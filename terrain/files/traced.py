"""Contours and edges of a yard as lines with elevations, for the formats that carry lines."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from terrain.files.breaklines import SNAP, lines_within
from terrain.grid import Array, Grid, Mask
from terrain.numerics import YardMesh

_FEWEST = 2
_ON_LINE = 1.01 * SNAP  # metres; the little more is for rounding


@dataclass(frozen=True)
class Contour:
    """A line of one elevation: metres, and (n, 2) places in metres; `closed` where it ends where it began."""

    elevation: float
    places: Array
    closed: bool


def contours(grid: Grid, elevation: Array, interval: float) -> tuple[Contour, ...]:
    """Every contour of a surface at whole multiples of an interval (metres), from low to high."""
    from contourpy import LineType, contour_generator

    tracer = contour_generator(grid.x, grid.y, elevation, line_type=LineType.Separate)
    first, last = math.floor(float(elevation.min()) / interval) + 1, math.ceil(float(elevation.max()) / interval) - 1
    found = []
    for step in range(first, last + 1):
        for line in tracer.lines(step * interval):
            places = np.asarray(line, dtype=float)
            closed = len(places) > _FEWEST and bool((places[0] == places[-1]).all())
            if len(places) >= _FEWEST:
                found.append(Contour(step * interval, places, closed))
    return tuple(found)


def edge_lines(mesh: YardMesh, heights: Array, marks: Mask) -> tuple[Array, ...]:
    """The edges of the marked triangles (m,) as (k, 3) lines on the mesh's own vertices, metres."""
    own = mesh.triangles[marks]
    sides = np.sort(np.vstack([own[:, [0, 1]], own[:, [1, 2]], own[:, [2, 0]]]), axis=1)
    single, count = np.unique(sides, axis=0, return_counts=True)
    spots = np.column_stack([mesh.points, heights])
    merged = shapely.line_merge(shapely.multilinestrings(shapely.linestrings(spots[single[count == 1]])))
    return tuple(shapely.get_coordinates(part, include_z=True) for part in shapely.get_parts(merged))


def on_mesh(mesh: YardMesh, heights: Array, line: Array) -> tuple[Array, ...]:
    """A line (k, 2 or 3) that the mesh follows, as (n, 3) vertices of the mesh; one for each part within it, metres."""
    found = []
    for part in lines_within(mesh, [line]):
        corners = shapely.get_coordinates(part)
        along: list[int] = []
        for start, end in itertools.pairwise(corners):
            along += _vertices_on(mesh.points, start, end)
        # A corner of the line ends one piece and begins the next.
        numbers = [number for number, before in zip(along, [-1, *along], strict=False) if number != before]
        if len(numbers) >= _FEWEST:
            found.append(np.column_stack([mesh.points[numbers], heights[numbers]]))
    return tuple(found)


def _vertices_on(points: Array, start: Array, end: Array) -> list[int]:
    """Numbers of the points within `SNAP` of a straight piece, in its order."""
    way, reach = end - start, points - start
    length = float(np.hypot(*way))
    along = reach @ way / length
    off = np.abs(reach[:, 1] * way[0] - reach[:, 0] * way[1]) / length
    on = np.flatnonzero((off <= _ON_LINE) & (along >= -SNAP) & (along <= length + SNAP))
    return [int(number) for number in on[np.argsort(along[on])]]


def rings(shape: BaseGeometry) -> tuple[Array, ...]:
    """Every ring of an area, or every part of a line, as (n, 2) places."""
    found: list[Array] = []
    for part in shapely.get_parts(shape):
        if isinstance(part, Polygon):
            found += [shapely.get_coordinates(ring) for ring in (part.exterior, *part.interiors)]
        elif isinstance(part, LineString):
            found.append(shapely.get_coordinates(part))
    return tuple(found)
