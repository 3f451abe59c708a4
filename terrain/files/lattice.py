"""The part of a yard's triangulation that is whole grid cells, and how far a coarser one strays from it.

Everything here counts in cells from the grid's south-west node, so that places are whole numbers and areas exact.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import Delaunay

from terrain.grid import Array, Grid, Index, Mask
from terrain.numerics import YardMesh, compiled

_ON_NODE = 1e-6  # cells; a vertex this near to a node is that node


@dataclass(frozen=True)
class Lattice:
    """The whole cells of a mesh.

    Parameters
    ----------
    number
        (ny*nx,) vertex of the mesh at each grid node, -1 where it has none.
    whole
        (ny-1, nx-1) True where a cell is two triangles of the mesh and no line runs through it.
    rest
        (m,) True for the triangles of the mesh that lie in no whole cell.
    inside, dug
        (ny-1, nx-1) the marks of the cells' triangles.
    rim
        (ny*nx,) True at nodes where whole cells meet the rest, and at the corners of the grid.
    """

    grid: Grid
    number: Index
    whole: Mask
    rest: Mask
    inside: Mask
    dug: Mask
    rim: Mask

    @property
    def free(self) -> Mask:
        """(ny*nx,) True at nodes inside the whole cells, which a coarser triangulation may leave out."""
        return (_cells_around(self.whole).ravel() > 0) & ~self.rim


def lattice_of(mesh: YardMesh, grid: Grid, keep: Mask) -> Lattice:
    """Find the whole cells of a mesh; cells with a triangle at a vertex of `keep` (n,) do not count.

    Cells whose marks differ from a neighbour's do not count either: between them runs an edge of the bed or of a dig.
    """
    place = (mesh.points - np.array([grid.x0, grid.y0])) / grid.cell
    near = np.rint(place).astype(np.int64)
    on = (np.abs(place - near) < _ON_NODE).all(axis=1)
    on &= (near >= 0).all(axis=1) & (near[:, 0] < grid.nx) & (near[:, 1] < grid.ny)
    number = np.full(grid.nx * grid.ny, -1, dtype=np.int64)
    number[near[on, 1] * grid.nx + near[on, 0]] = np.flatnonzero(on)
    corners = near[mesh.triangles]
    low = corners.min(axis=1)
    half = on[mesh.triangles].all(axis=1) & (corners.max(axis=1) - low == 1).all(axis=1)
    half &= ~keep[mesh.triangles].any(axis=1)
    cell = low[:, 1] * (grid.nx - 1) + low[:, 0]
    dug = np.zeros(len(half), dtype=bool) if mesh.dug is None else mesh.dug
    mark = 1 + mesh.inside.astype(np.int64) + 2 * dug
    marks, counts = np.zeros((2, (grid.ny - 1) * (grid.nx - 1)), dtype=np.int64)
    np.add.at(counts, cell[half], 1)
    np.add.at(marks, cell[half], mark[half])
    # Two halves of one cell that carry different marks add up to an odd number or to a wrong pair.
    same = np.zeros(len(marks), dtype=bool)
    same[cell[half]] = marks[cell[half]] == 2 * mark[half]
    whole = ((counts == 2) & same).reshape(grid.ny - 1, grid.nx - 1)
    kind = np.where(whole, marks.reshape(whole.shape) // 2, 0)
    whole &= ~_beside_another(kind)
    rest = ~(half & whole.ravel()[np.where(half, cell, 0)])
    kind = np.where(whole, kind, 1) - 1
    # Where a dig leaves the yard the mesh goes on beyond the grid: nodes on its border are a rim there too.
    used = np.unique(mesh.triangles[rest])
    met = near[used[on[used]]]
    beside = np.zeros(grid.nx * grid.ny, dtype=bool)
    beside[met[:, 1] * grid.nx + met[:, 0]] = True
    rim = _rim(grid, whole) | (beside & (_cells_around(whole).ravel() > 0))
    return Lattice(grid, number, whole, rest, kind % 2 == 1, kind >= 2, rim)


def _beside_another(kind: Index) -> Mask:
    """Cells that share a side with a cell of another kind; kind 0 has no neighbours."""
    other = np.zeros(kind.shape, dtype=bool)
    for a, b in (
        ((slice(1, None),), (slice(None, -1),)),
        ((slice(None), slice(1, None)), (slice(None), slice(None, -1))),
    ):
        differ = (kind[a] != kind[b]) & (kind[a] > 0) & (kind[b] > 0)
        other[a] |= differ
        other[b] |= differ
    return other


def _cells_around(whole: Mask) -> Index:
    """(ny, nx) how many whole cells meet at each node."""
    ny, nx = whole.shape[0] + 1, whole.shape[1] + 1
    around = np.zeros((ny, nx), dtype=np.int64)
    for dj in (0, 1):
        for di in (0, 1):
            around[dj : ny - 1 + dj, di : nx - 1 + di] += whole
    return around


def _rim(grid: Grid, whole: Mask) -> Mask:
    around = _cells_around(whole)
    most = np.full(grid.shape, 4)
    most[[0, -1], :] //= 2
    most[:, [0, -1]] //= 2
    rim = (around > 0) & (around < most)
    rim[np.ix_([0, -1], [0, -1])] = around[np.ix_([0, -1], [0, -1])] > 0
    return np.asarray(rim.ravel())


def coarse_triangles(lattice: Lattice, chosen: Mask) -> Index:
    """Delaunay triangles (m, 3) of grid nodes over the whole cells, between the chosen nodes (ny*nx,).

    Where `chosen` holds the rim, no triangle leaves the whole cells: each side of the rim is one cell long and has no
    other node in the circle about it, so that every Delaunay triangulation has it. Where all four nodes of a cell are
    chosen, it is cut from south-west to north-east like the cells of the mesh.

    Raises
    ------
    ArithmeticError
        If the triangles do not cover the whole cells exactly.
    """
    nx = lattice.grid.nx
    nodes = np.flatnonzero(chosen)
    place = np.column_stack([nodes % nx, nodes // nx])
    corners = Delaunay(place.astype(float)).simplices.astype(np.int64)
    a, b, c = (place[corners[:, k]] for k in range(3))
    area = (b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (b[:, 1] - a[:, 1]) * (c[:, 0] - a[:, 0])
    corners = np.where((area < 0)[:, None], corners[:, [0, 2, 1]], corners)
    cell = (a + b + c) // 3
    within = lattice.whole[np.minimum(cell[:, 1], lattice.grid.ny - 2), np.minimum(cell[:, 0], nx - 2)] & (area != 0)
    if int(np.abs(area[within]).sum()) != 2 * int(lattice.whole.sum()):
        raise ArithmeticError("the coarse triangles do not cover the cells")
    return _cut_like_the_mesh(nodes[corners[within]], nx)


def _cut_like_the_mesh(triangles: Index, nx: int) -> Index:
    """Turn the cut of single cells that runs from north-west to south-east."""
    column, row = triangles % nx, triangles // nx
    half = (np.ptp(column, axis=1) == 1) & (np.ptp(row, axis=1) == 1)
    southwest = row.min(axis=1) * nx + column.min(axis=1)
    # The cut runs the other way where a half has not both the south-west and the north-east node.
    other = half & (
        (triangles == southwest[:, None]).any(axis=1) != (triangles == southwest[:, None] + nx + 1).any(axis=1)
    )
    cells, counts = np.unique(southwest[other], return_counts=True)
    cells = cells[counts == 2]
    kept = triangles[~(other & np.isin(southwest, cells))]
    southeast, northeast, northwest = cells + 1, cells + nx + 1, cells + nx
    lower, upper = np.column_stack([cells, southeast, northeast]), np.column_stack([cells, northeast, northwest])
    return np.concatenate([kept, lower, upper])


@compiled
def _height(
    i: float,
    j: float,
    ai: float,
    aj: float,
    bi: float,
    bj: float,
    ci: float,
    cj: float,
    za: float,
    zb: float,
    zc: float,
) -> float:
    """Height of the plane through three corners at (i, j)."""
    area = (bi - ai) * (cj - aj) - (bj - aj) * (ci - ai)
    v = ((i - ai) * (cj - aj) - (j - aj) * (ci - ai)) / area
    w = ((bi - ai) * (j - aj) - (bj - aj) * (i - ai)) / area
    result: float = za + v * (zb - za) + w * (zc - za)
    return result


@compiled
def _row_in(j: int, ai: int, aj: int, bi: int, bj: int, ci: int, cj: int) -> tuple[int, int]:
    """First and last column of the nodes of row j in a triangle, its sides included."""
    low, high = np.inf, -np.inf
    for k in range(3):
        pi, pj = (ai, aj) if k == 0 else ((bi, bj) if k == 1 else (ci, cj))
        qi, qj = (bi, bj) if k == 0 else ((ci, cj) if k == 1 else (ai, aj))
        if not min(pj, qj) <= j <= max(pj, qj):
            continue
        if pj == qj:
            low, high = min(low, float(min(pi, qi))), max(high, float(max(pi, qi)))
        else:
            at = pi + (j - pj) * (qi - pi) / (qj - pj)
            low, high = min(low, at), max(high, at)
    return int(np.ceil(low - 1e-9)), int(np.floor(high + 1e-9))


@compiled
def strays(triangles: Index, nx: int, fine: Array, coarse: Array, chosen: NDArray[np.bool_]) -> tuple[Array, Index]:
    """How far each coarse triangle strays from the fine surface, and the node to add to mend it.

    The difference of two surfaces of flat facets is largest where a side of one crosses a side of the other or at a
    corner, so that it is measured at every fine node in the triangle and wherever a side of the triangle crosses the
    sides and cuts of the cells.

    Parameters
    ----------
    triangles
        (m, 3) grid nodes.
    fine, coarse
        (k, ny*nx) heights of k surfaces at the nodes: of the fine mesh, and of the coarse one at its corners; metres.
    chosen
        (ny*nx,) nodes that the coarse triangulation has.

    Returns
    -------
    tuple
        (m,) metres; and (m,) the node not yet chosen where it strays most, -1 where all nodes are chosen.
    """
    worst = np.zeros(triangles.shape[0])
    node = np.full(triangles.shape[0], -1, dtype=np.int64)
    for t in range(triangles.shape[0]):
        a, b, c = triangles[t, 0], triangles[t, 1], triangles[t, 2]
        ai, aj, bi, bj, ci, cj = a % nx, a // nx, b % nx, b // nx, c % nx, c // nx
        best = -1.0
        for j in range(min(aj, bj, cj), max(aj, bj, cj) + 1):
            first, last = _row_in(j, ai, aj, bi, bj, ci, cj)
            for i in range(first, last + 1):
                v, off = j * nx + i, 0.0
                for s in range(fine.shape[0]):
                    z = coarse[s]
                    off = max(off, abs(_height(i, j, ai, aj, bi, bj, ci, cj, z[a], z[b], z[c]) - fine[s, v]))
                worst[t] = max(worst[t], off)
                if off > best and not chosen[v]:
                    best, node[t] = off, v
        for k in range(3):
            off, v = _strays_along(triangles[t, k], triangles[t, (k + 1) % 3], nx, fine, coarse, chosen)
            worst[t] = max(worst[t], off)
            if off > best and v >= 0:
                best, node[t] = off, v
    return worst, node


@compiled
def _off_between(fine: Array, coarse: Array, cell: tuple[int, int, float], side: tuple[int, int, float]) -> float:
    """How far the coarse surfaces stray from the fine ones where a side crosses between two nodes.

    `cell` and `side` are two nodes each and the share of the way between them.
    """
    u, v, part = cell
    p, q, share = side
    off = 0.0
    for s in range(fine.shape[0]):
        here = coarse[s, p] + share * (coarse[s, q] - coarse[s, p])
        off = max(off, abs(here - fine[s, u] - part * (fine[s, v] - fine[s, u])))
    return off


@compiled
def _nearer_free(u: int, v: int, part: float, chosen: NDArray[np.bool_]) -> int:
    """The nearer of two nodes that is not chosen yet, or -1."""
    near, far = (u, v) if part < 0.5 else (v, u)
    if not chosen[near]:
        return near
    return far if not chosen[far] else -1


@compiled
def _strays_along(p: int, q: int, nx: int, fine: Array, coarse: Array, chosen: NDArray[np.bool_]) -> tuple[float, int]:
    """The same along one side from node p to node q: at its crossings with columns, rows and cuts."""
    pi, pj, qi, qj = p % nx, p // nx, q % nx, q // nx
    worst, node, best = 0.0, -1, -1.0
    for family in range(3):
        first, last = ((pi, qi), (pj, qj), (pi - pj, qi - qj))[family]
        for line in range(min(first, last) + 1, max(first, last)):
            share = (line - first) / (last - first)
            i, j = pi + share * (qi - pi), pj + share * (qj - pj)
            along = j if family == 0 else i
            start = np.floor(along + 1e-9)
            part = along - start
            if part < 1e-6:
                continue  # a node, which was measured with the nodes
            cell = int(start)
            u = (cell * nx + line, line * nx + cell, (cell - line) * nx + cell)[family]
            v = u + (nx, 1, nx + 1)[family]
            off = _off_between(fine, coarse, (u, v, part), (p, q, share))
            worst = max(worst, off)
            pick = _nearer_free(u, v, part, chosen)
            if off > best and pick >= 0:
                best, node = off, pick
    return worst, node
