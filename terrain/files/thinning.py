"""Fewer triangles for the files that people open: a coarser mesh that stays within a stated height of the fine one.

Only whole grid cells are merged. Every triangle along the outline, the keep-off circles, the edges of digs, retained
edges and breaklines stays as it is, so these lines stay edges of the mesh to the last digit.

The nodes that stay are found by greedy insertion (Garland and Heckbert 1995, "Fast polygonal approximation of terrains
and height fields", Carnegie Mellon University CMU-CS-95-181): a Delaunay triangulation of few nodes takes in the worst
node of every triangle until none strays too far.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from terrain.files.lattice import Lattice, coarse_triangles, lattice_of, strays
from terrain.grid import Array, Grid, Index, Mask, frozen
from terrain.numerics import YardMesh, facets_over, keep_slope, prism_volume

TOLERANCE = 0.003  # metres
VOLUME_SHARE = 9e-4  # of the fill and of the cut; the little left to 0.1 % is for the rounding in files
_FIRST_STEP = 32  # cells between the nodes that the search starts from
_ROUNDS = 60
_SOON = 0.75
_WORTH_IT = 0.4  # of the nodes; a mesh that needs more is not thinned


@dataclass(frozen=True)
class ThinnedMesh:
    """A mesh, the height (metres) within which it was asked to stay, and how far it strays at most (metres).

    `note` says what could not be done, in a sentence; "" where nothing is amiss.
    """

    mesh: YardMesh
    tolerance: float
    strays: float
    note: str = ""


def thinned(
    mesh: YardMesh, grid: Grid, slope: float, tolerance: float = TOLERANCE, keep: Mask | None = None
) -> ThinnedMesh:
    """The mesh with fewer triangles.

    Parameters
    ----------
    mesh
        Existing and proposed grade; its vertices away from all edges are nodes of `grid`.
    slope
        Slope limit, rise/run. No triangle inside the bed comes out steeper than it, unless the ground is.
    tolerance
        Largest vertical distance between the two meshes, existing and proposed grade each, metres; 0 thins nothing.
    keep
        (n,) True at vertices whose triangles stay; None: those along the edges alone.

    Notes
    -----
    Facets of a coarser mesh can be steeper than all those they stand for. They are lowered as the shaping lowers its
    own, and where this strays too far, or changes the fill by more than `VOLUME_SHARE`, nodes are added.
    """
    if tolerance <= 0.0:
        return ThinnedMesh(mesh, 0.0, 0.0)
    lattice = lattice_of(mesh, grid, np.zeros(len(mesh.points), dtype=bool) if keep is None else keep)
    if not lattice.whole.any():
        return ThinnedMesh(mesh, tolerance, 0.0)
    search = _Search(mesh, lattice, slope)
    first = lattice.rim | (lattice.free & _first_nodes(grid))
    most = _WORTH_IT * float(lattice.free.sum()) + float(lattice.rim.sum())
    within = tolerance
    while True:
        found = _coarse_within(search, first, within, most)
        if found is not None:
            return ThinnedMesh(found.mesh, tolerance, found.strays)
        # Large facets can be too steep in a way that lowering alone cannot mend within the tolerance; smaller ones
        # are not. Below the usual tolerance there is no more to be had from that.
        within /= 2.0
        if within < TOLERANCE:
            return ThinnedMesh(mesh, tolerance, 0.0)


def _coarse_within(search: _Search, chosen: Mask, tolerance: float, most: float) -> _Attempt | None:
    """A coarser mesh that keeps tolerance, slope limit and volume with at most so many nodes; None where none is."""
    aim = tolerance
    for _ in range(_ROUNDS):
        if chosen.sum() > most:
            return None
        attempt = search.attempt(chosen, aim)
        if attempt.add.size:
            chosen = chosen.copy()
            chosen[attempt.add] = True
        elif attempt.strays > tolerance:
            return None
        elif (off := search.volume_off(attempt.mesh)) > VOLUME_SHARE:
            # In small steps: nodes that were added on too tight an aim are never taken out again.
            aim *= min(0.9, max(0.7, VOLUME_SHARE / off))
        else:
            return attempt
    return None


def _first_nodes(grid: Grid) -> Mask:
    first = np.zeros(grid.shape, dtype=bool)
    first[::_FIRST_STEP, ::_FIRST_STEP] = True
    return first.ravel()


@dataclass(frozen=True)
class _Attempt:
    """A coarser mesh, how far it strays (metres), and the nodes that would mend it."""

    mesh: YardMesh
    strays: float
    add: Index


class _Search:
    """What every attempt measures itself against."""

    def __init__(self, mesh: YardMesh, lattice: Lattice, slope: float) -> None:
        self.fine, self.lattice, self.slope = mesh, lattice, slope
        at = np.maximum(lattice.number, 0)
        self.heights = np.stack([mesh.existing[at], mesh.proposed[at]])
        self.rest = mesh.triangles[lattice.rest]
        self.volume = fill_and_cut(mesh)

    def attempt(self, chosen: Mask, tolerance: float) -> _Attempt:
        """The mesh of the chosen nodes, and what it lacks; where it strays by itself, slopes are not looked at yet."""
        triangles = coarse_triangles(self.lattice, chosen)
        worst, node = strays(triangles, self.lattice.grid.nx, self.heights, self.heights, chosen)
        add = _to_add(worst, node, tolerance)
        if add.size:
            return _Attempt(self.fine, float(worst.max()), add)
        mesh, vertices = self._joined(triangles)
        mesh = replace(mesh, proposed=frozen(_kept_to(mesh, self.slope)))
        lowered = self.heights.copy()
        on_lattice = np.flatnonzero(self.lattice.number >= 0)
        place = np.full(len(self.fine.points), -1, dtype=np.int64)
        place[vertices] = np.arange(len(vertices))
        there = place[self.lattice.number[on_lattice]]
        lowered[1, on_lattice[there >= 0]] = mesh.proposed[there[there >= 0]]
        worst, node = strays(triangles, self.lattice.grid.nx, self.heights, lowered, chosen)
        off = np.abs(mesh.proposed - self.fine.proposed[vertices])
        if off.max() > tolerance:
            # Lowering spreads from the facets that called for it: look at all that it has touched.
            touched = np.zeros(len(self.fine.points), dtype=bool)
            touched[vertices[off > 0.0]] = True
            worst = np.where(touched[self.lattice.number[triangles]].any(axis=1), np.inf, worst)
        add = _to_add(worst, node, tolerance)
        far = max(float(off.max()), float(worst.max(initial=0.0)))
        return _Attempt(mesh, far, add)

    def _joined(self, triangles: Index) -> tuple[YardMesh, Index]:
        """The coarse triangles (of grid nodes) with all others of the fine mesh, and the vertices that are left."""
        grid, fine = self.lattice.grid, self.fine
        middle = np.column_stack([triangles % grid.nx, triangles // grid.nx]).reshape(-1, 2, 3).sum(axis=2) // 3
        column = np.minimum(middle[:, 0], grid.nx - 2)
        row = np.minimum(middle[:, 1], grid.ny - 2)
        corners = np.concatenate([self.lattice.number[triangles], self.rest])
        used = np.zeros(len(fine.points), dtype=bool)
        used[corners.ravel()] = True
        vertices = np.flatnonzero(used)
        place = np.cumsum(used) - 1
        inside = np.concatenate([self.lattice.inside[row, column], fine.inside[self.lattice.rest]])
        dug = None
        if fine.dug is not None:
            dug = frozen(np.concatenate([self.lattice.dug[row, column], fine.dug[self.lattice.rest]]))
        return (
            YardMesh(
                frozen(fine.points[vertices]),
                frozen(place[corners]),
                frozen(inside),
                frozen(fine.existing[vertices]),
                frozen(fine.proposed[vertices]),
                dug,
            ),
            vertices,
        )

    def volume_off(self, mesh: YardMesh) -> float:
        """By which share the fill or the cut of a mesh is off."""
        off = np.abs(np.array(fill_and_cut(mesh)) - np.array(self.volume))
        # A liter in a whole yard is none.
        return float((off / np.maximum(np.array(self.volume), 1e-3)).max())


def _to_add(worst: Array, node: Index, tolerance: float) -> Index:
    """The worst nodes of the triangles that stray too far, and then of those that are about to.

    The latter would mostly stray too far in the next round, once their neighbours have changed; taking both at once
    halves the number of rounds.
    """
    if not ((worst > tolerance) & (node >= 0)).any():
        return np.empty(0, dtype=np.int64)
    return np.unique(node[(worst > _SOON * tolerance) & (node >= 0)])


def fill_and_cut(mesh: YardMesh) -> tuple[float, float]:
    """Volume of fill inside the bed and of digs, m3, over existing grade."""
    fill = prism_volume(mesh.points, mesh.triangles[mesh.inside], mesh.existing, mesh.proposed).fill
    if mesh.dug is None:
        return float(fill), 0.0
    cut = prism_volume(mesh.points, mesh.triangles[mesh.dug], mesh.proposed, mesh.existing).fill
    return float(fill), float(cut)


def _kept_to(mesh: YardMesh, slope: float) -> Array:
    """Proposed grade lowered until the triangles inside the bed keep the slope limit."""
    facets = facets_over(mesh.points, mesh.triangles[mesh.inside])
    lowered, _ = keep_slope(facets, mesh.existing, mesh.proposed, mesh.fill > 0.0, slope)
    return lowered
