"""Sections across the berm's long axis, and the fill area of each."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon, Polygon

from terrain.grid import Array, Grid

SECTIONS = 121
# The end sections stand this share of the length inside the ends: on the end itself a square end has two
# answers.
_INSIDE = 1e-6


def long_axis(outline: Polygon) -> tuple[float, float]:
    """Unit direction of the longer side of the smallest rectangle about an outline, pointing east."""
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(outline))
    sides = np.diff(corners[:3], axis=0)
    longer = sides[int(np.hypot(*sides[1]) > np.hypot(*sides[0]))]
    east, north = longer / np.hypot(*longer)
    eastward = east > 1e-9 or (abs(east) <= 1e-9 and north > 0.0)
    return (float(east), float(north)) if eastward else (float(-east), float(-north))


def cut_sections(
    grid: Grid,
    fill: Array,
    worked: Polygon | MultiPolygon,
    *,
    direction: tuple[float, float],
    sod: float = 0.0,
    count: int = SECTIONS,
) -> tuple[Array, Array]:
    """Areas (count,) of fill in equally spaced sections square to a direction, m2, and their stations (count,), m.

    Parameters
    ----------
    grid, fill
        (ny, nx) finished less existing elevation at the nodes, metres; taken as bilinear between them.
    worked
        Ground that is stripped and filled; sections are clipped to it exactly.
    direction
        Unit vector along which the stations run.
    sod
        Depth stripped before filling, metres: a layer of that depth is added over the whole clipped length.
    count
        Number of sections.
    """
    along = np.array(direction)
    across = np.array([-along[1], along[0]])
    corners = shapely.get_coordinates(worked)
    start, reach = (corners @ along).min(), np.ptp(corners @ along)
    left, right = (corners @ across).min() - grid.cell, (corners @ across).max() + grid.cell
    stations = reach * np.linspace(_INSIDE, 1.0 - _INSIDE, count)
    feet = (start + stations)[:, None] * along
    lines = shapely.linestrings(np.stack([feet + left * across, feet + right * across], axis=1))
    ends, section = _pieces(shapely.intersection(lines, worked))
    areas = np.bincount(section, weights=_areas(grid, fill, ends, sod), minlength=count).astype(float)
    return areas, stations


def _pieces(clipped: NDArray[np.object_]) -> tuple[Array, NDArray[np.intp]]:
    """Ends of the straight pieces inside the worked ground, (k, 2, 2), and the section of each."""
    parts, section = shapely.get_parts(clipped, return_index=True)
    straight = shapely.get_num_points(parts) >= 2
    parts, section = parts[straight], section[straight]
    ends = np.stack(
        [
            shapely.get_coordinates(shapely.get_point(parts, 0)),
            shapely.get_coordinates(shapely.get_point(parts, -1)),
        ],
        axis=1,
    )
    return ends, section


def _areas(grid: Grid, fill: Array, ends: Array, sod: float) -> Array:
    """Area of fill over each piece, (k,) m2, by the trapezoidal rule at steps of half a cell or less."""
    spans = ends[:, 1] - ends[:, 0]
    lengths = np.hypot(spans[:, 0], spans[:, 1])
    steps = np.maximum(2, np.ceil(lengths / (grid.cell / 2.0))).astype(np.intp)
    piece = np.repeat(np.arange(len(ends)), steps + 1)
    first = np.cumsum(steps + 1) - (steps + 1)
    number = np.arange(len(piece)) - first[piece]
    share = number / steps[piece]
    depth = grid.sample(fill, ends[piece, 0] + share[:, None] * spans[piece]) + sod
    weights = np.where((number == 0) | (number == steps[piece]), 0.5, 1.0) * (lengths / steps)[piece]
    return np.bincount(piece, weights=weights * np.maximum(depth, 0.0), minlength=len(ends)).astype(float)
