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
from terrain.numerics.machine_code import compiled

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
    nodes = np.flatnonzero(takes_part)
    number = np.full(takes_part.size, -1, dtype=np.int64)
    number[nodes] = np.arange(len(nodes))
    points = np.vstack([grid.nodes.take(nodes, axis=0), lines.points])
    whole = _whole(takes_part, clearance)
    cells, cell_triangles = _cell_triangles(whole, number)
    cell_inside = np.repeat(clearance.ravel()[cells] > 0, 2)
    rim = number[_rim(takes_part, whole)]
    strip, strip_inside = _strip_triangles(grid, whole, rim, points, len(nodes), worked, lines)
    return Triangulation(
        points, nodes, np.vstack([cell_triangles, strip]), np.concatenate([cell_inside, strip_inside]), cells
    )


@compiled
def _whole(takes_part, clearance):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """(ny-1, nx-1) cells with four nodes that take part on one side of the edge of the worked ground."""
    ny, nx = takes_part.shape
    whole = np.zeros((ny - 1, nx - 1), np.bool_)
    for j in range(ny - 1):
        for i in range(nx - 1):
            if takes_part[j, i] and takes_part[j, i + 1] and takes_part[j + 1, i] and takes_part[j + 1, i + 1]:
                inside = clearance[j, i] > 0
                whole[j, i] = (
                    inside == (clearance[j, i + 1] > 0)
                    and inside == (clearance[j + 1, i] > 0)
                    and inside == (clearance[j + 1, i + 1] > 0)
                )
    return whole


@compiled
def _cell_triangles(whole, number):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """South-west node of each whole cell, and its two triangles, cut from south-west to north-east."""
    ny, nx = whole.shape[0], whole.shape[1] + 1
    cells = np.empty(whole.sum(), np.int64)
    triangles = np.empty((2 * cells.size, 3), np.int64)
    count = 0
    for j in range(ny):
        for i in range(nx - 1):
            if whole[j, i]:
                southwest = j * nx + i
                a, b, c, d = (
                    number[southwest],
                    number[southwest + 1],
                    number[southwest + nx + 1],
                    number[southwest + nx],
                )
                cells[count] = southwest
                triangles[2 * count, 0], triangles[2 * count, 1], triangles[2 * count, 2] = a, b, c
                triangles[2 * count + 1, 0], triangles[2 * count + 1, 1], triangles[2 * count + 1, 2] = a, c, d
                count += 1
    return cells, triangles


@compiled
def _rim(takes_part, whole):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """Flattened index of the nodes that take part with a cell beside them that is not whole."""
    ny, nx = takes_part.shape
    found, count = np.empty(takes_part.sum(), np.int64), 0
    for j in range(ny):
        for i in range(nx):
            if takes_part[j, i]:
                south, north, west, east = max(j - 1, 0), min(j, ny - 2), max(i - 1, 0), min(i, nx - 2)
                sides = whole[south, west] and whole[south, east]
                if not (sides and whole[north, west] and whole[north, east]):
                    found[count] = j * nx + i
                    count += 1
    return found[:count]


def third_areas(mesh: Triangulation) -> Array:
    """(n,) a third of the area of the inside triangles around each vertex, m2."""
    areas: Array = _third_areas(mesh.points, mesh.triangles, mesh.inside)
    return areas


@compiled
def _third_areas(points, triangles, inside):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    out = np.zeros(len(points))
    for f in range(len(triangles)):
        if inside[f]:
            a, b, c = triangles[f, 0], triangles[f, 1], triangles[f, 2]
            px, py = points[b, 0] - points[a, 0], points[b, 1] - points[a, 1]
            third = (px * (points[c, 1] - points[a, 1]) - py * (points[c, 0] - points[a, 0])) / 6.0
            out[a] += third
            out[b] += third
            out[c] += third
    return out


def _strip_triangles(
    grid: Grid,
    whole: Mask,
    rim: Index,
    points: Array,
    first_edge: int,
    worked: Polygon | MultiPolygon,
    lines: Linework,
) -> tuple[Index, Mask]:
    """Triangles between the whole cells and the lines, with whether each lies in the worked ground.

    `rim` are the numbers of the nodes along the whole cells.
    """
    members = np.concatenate([rim, np.arange(first_edge, len(points))])
    local = points[members] - points[members[0]]
    triangles = Delaunay(local).simplices.astype(np.int64)
    triangles = with_edges(local, triangles, lines.pieces + len(rim))
    triangles = _counter_clockwise(local, triangles, 8.0 * float(np.spacing(max(points.max(), -points.min()))))
    a, b, c = (points[members[triangles[:, k]]] for k in range(3))
    middle = (a + b + c) / 3.0
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
