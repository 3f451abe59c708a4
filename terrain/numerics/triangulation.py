"""The yard's triangulation: cells of the grid, and a strip of triangles that follows every edge exactly."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from scipy.spatial import Delaunay
from shapely.geometry import MultiPolygon, Polygon

from terrain.grid import Array, Grid, Index, Mask
from terrain.numerics.constrained import with_edges
from terrain.numerics.edge_lines import Linework

# A node takes part in the mesh where it stands this many cells or more from every edge. From half a cell's diagonal on
# (0.7071) no edge can cross a cell between four such nodes, and the sides of those cells and the pieces of the edges
# (at most one cell long) are all found by an unconstrained Delaunay triangulation of the strip between them.
NODE_STANDOFF = 0.75


@dataclass(frozen=True)
class Triangulation:
    """Vertices and triangles of the yard in plan.

    Parameters
    ----------
    points
        (n, 2) metres: the grid nodes that take part, in the order of the flattened grid, then the edge points.
    nodes
        (k,) flattened grid index of the first k points; the rest stand on edges and carry no fill.
    triangles
        (m, 3) vertex indices, counter-clockwise.
    inside
        (m,) True in the ground that may take fill.
    cells
        (c,) flattened index of the south-west node of each cell that is two triangles of the mesh, rows 0..2c of
        `triangles` in pairs.
    """

    points: Array
    nodes: Index
    triangles: Index
    inside: Mask
    cells: Index


def triangulate(
    grid: Grid, clearance: Array, standoff: Array, worked: Polygon | MultiPolygon, lines: Linework
) -> Triangulation:
    """Triangulate the yard so that no triangle crosses an edge of the worked ground or another given line.

    Parameters
    ----------
    clearance
        (ny, nx) metres from `fill_clearance`.
    standoff
        (ny, nx) metres to the nearest of all lines, or less.
    worked, lines
        The ground that may take fill, and its edge and all other lines in pieces at most a cell long (`linework`).
    """
    takes_part = standoff >= NODE_STANDOFF * grid.cell
    side = np.where(clearance > 0, 1, -1) * takes_part
    whole = np.abs(side[:-1, :-1] + side[:-1, 1:] + side[1:, :-1] + side[1:, 1:]) == 4
    nodes = np.flatnonzero(takes_part)
    number = np.full(takes_part.size, -1, dtype=np.int64)
    number[nodes] = np.arange(len(nodes))
    points = np.vstack([grid.nodes[nodes], lines.points])
    cells, cell_triangles = _cell_triangles(grid, whole, number)
    cell_inside = np.repeat(clearance.ravel()[cells] > 0, 2)
    strip, strip_inside = _strip_triangles(grid, whole, takes_part, number, points, len(nodes), worked, lines)
    return Triangulation(
        points, nodes, np.vstack([cell_triangles, strip]), np.concatenate([cell_inside, strip_inside]), cells
    )


def _cell_triangles(grid: Grid, whole: Mask, number: Index) -> tuple[Index, Index]:
    """Two triangles for each whole cell, cut from south-west to north-east."""
    rows, columns = np.nonzero(whole)
    southwest = rows * grid.nx + columns
    a, b = number[southwest], number[southwest + 1]
    c, d = number[southwest + grid.nx + 1], number[southwest + grid.nx]
    return southwest, np.stack([a, b, c, a, c, d], axis=1).reshape(-1, 3)


def _strip_triangles(
    grid: Grid,
    whole: Mask,
    takes_part: Mask,
    number: Index,
    points: Array,
    first_edge: int,
    worked: Polygon | MultiPolygon,
    lines: Linework,
) -> tuple[Index, Mask]:
    """Triangles between the whole cells and the lines, with whether each lies in the worked ground."""
    around = np.zeros(grid.shape, dtype=np.int64)  # how many of a node's cells are whole
    for dj in (0, 1):
        for di in (0, 1):
            around[dj : grid.ny - 1 + dj, di : grid.nx - 1 + di] += whole
    cells_at = np.full(grid.shape, 4)
    cells_at[[0, -1], :] //= 2
    cells_at[:, [0, -1]] //= 2
    rim = number[np.flatnonzero(takes_part & (around < cells_at))]
    members = np.concatenate([rim, np.arange(first_edge, len(points))])
    local = points[members] - points[members[0]]
    triangles = Delaunay(local).simplices.astype(np.int64)
    triangles = with_edges(local, triangles, lines.pieces + len(rim))
    triangles = _counter_clockwise(local, triangles, 8.0 * float(np.spacing(np.abs(points).max())))
    middle = points[members][triangles].mean(axis=1)
    column = np.floor((middle[:, 0] - grid.x0) / grid.cell).astype(np.int64)
    row = np.floor((middle[:, 1] - grid.y0) / grid.cell).astype(np.int64)
    outside_cells = ~whole[np.clip(row, 0, grid.ny - 2), np.clip(column, 0, grid.nx - 2)]
    triangles, middle = triangles[outside_cells], middle[outside_cells]
    shapely.prepare(worked)
    return members[triangles], shapely.contains_xy(worked, middle[:, 0], middle[:, 1])


def _counter_clockwise(points: Array, triangles: Index, rounding: float) -> Index:
    """Triangles turned counter-clockwise; those no higher than coordinates are rounded (metres) are left out."""
    a, b, c = (points[triangles[:, k]] for k in range(3))
    area = (b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (b[:, 1] - a[:, 1]) * (c[:, 0] - a[:, 0])
    turned = np.where((area < 0)[:, None], triangles[:, [0, 2, 1]], triangles)
    longest = np.max([np.hypot(*side.T) for side in (b - a, c - b, a - c)], axis=0)
    # No area arises only between points of one straight line, where the neighbours close the gap. In large survey
    # coordinates such points stand off their line by what the last digit holds.
    has_area: Mask = np.abs(area) > np.maximum(1e-12, rounding * longest)
    return turned[has_area]
