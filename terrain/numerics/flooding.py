"""Where water stands and which way it goes on a grid.

Each node's way out is the path to the edge of the grid whose highest point is lowest. The water is let in from the
edge, always over the lowest node of its shore, so that each node is reached by its way out: Barnes, Lehman and Mulla,
"Priority-flood", Computers and Geosciences 62 (2014), algorithm 2.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from terrain.grid import Array, Index, Mask
from terrain.numerics.machine_code import compiled

STEPS = ((0, 1), (1, 0), (1, 1), (1, -1))  # half of the eight neighbours; the others are these backwards


@dataclass(frozen=True)
class Flood:
    """Water on a surface.

    Parameters
    ----------
    level
        (ny, nx) metres: the surface with every hollow filled to its lowest way out over the grid's edge.
    onward
        (ny*nx,) index of the node that each node drains to; a node of the grid's edge, or a drain, drains to itself.
    """

    level: Array
    onward: Index


def flood(elevation: Array, walls: Mask | None = None, drains: Mask | None = None) -> Flood:
    """Fill the hollows of a (ny, nx) surface and give every node the next one on its way out.

    Parameters
    ----------
    elevation
        Metres, all finite.
    walls
        (ny, nx): True where no water passes, such as under a building; these nodes hold no water either.
    drains
        (ny, nx): True where water goes down a hole and is gone, as over the grid's edge.
    """
    ground = walled(elevation, walls)
    outlets = outlets_of(drains, ground.shape)
    flat = np.ascontiguousarray(ground, dtype=np.float64).ravel()
    level, way = _let_in(flat, outlets, ground.shape[1])
    level = level.reshape(ground.shape)
    onward = _downhill(level, way)
    onward[outlets] = outlets
    return Flood(level, onward)


def standing(elevation: Array, walls: Mask | None = None) -> Array:
    """(ny, nx) depth of standing water in metres once every hollow is full; 0.0 on walls."""
    return flood(elevation, walls).level - walled(elevation, walls)


def walled(elevation: Array, walls: Mask | None) -> Array:
    """The surface with its walls raised above everything else."""
    if walls is None:
        return elevation
    return np.where(walls, float(elevation.max()) + 1.0, elevation)


@compiled
def _push(heap, size, level, node):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """Put a node into a heap with the lowest level on top; how many it then holds."""
    at = size
    while at > 0 and level[heap[(at - 1) // 2]] > level[node]:
        heap[at] = heap[(at - 1) // 2]
        at = (at - 1) // 2
    heap[at] = node
    return size + 1


@compiled
def _pop(heap, size, level):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """Take the top node off the heap; the node, and how many are left."""
    top, last = heap[0], heap[size - 1]
    size -= 1
    at = 0
    while 2 * at + 1 < size:
        below = 2 * at + 1
        if below + 1 < size and level[heap[below + 1]] < level[heap[below]]:
            below += 1
        if level[heap[below]] >= level[last]:
            break
        heap[at] = heap[below]
        at = below
    heap[at] = last
    return top, size


@compiled
def _let_in(flat, outlets, nx):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """Level of every node with its hollows full, and the next node on its way out; an outlet is its own."""
    n = flat.size
    level, way = flat.copy(), np.full(n, -1, np.int64)
    # The shore, lowest first; and the nodes below the water that is being let in, which need no order.
    heap, below = np.empty(n, np.int64), np.empty(n, np.int64)
    size, head, tail = 0, 0, 0
    for outlet in outlets:
        way[outlet] = outlet
        size = _push(heap, size, level, outlet)
    while size > 0 or head < tail:
        if head < tail:
            node = below[head]
            head += 1
        else:
            node, size = _pop(heap, size, level)
            head, tail = 0, 0
        row, column = node // nx, node % nx
        for j in range(max(row - 1, 0), min(row + 2, n // nx)):
            for i in range(max(column - 1, 0), min(column + 2, nx)):
                other = j * nx + i
                if way[other] >= 0:
                    continue
                way[other] = node
                if flat[other] <= level[node]:
                    level[other] = level[node]
                    below[tail] = other
                    tail += 1
                else:
                    size = _push(heap, size, level, other)
    return level, way


def outlets_of(drains: Mask | None, shape: tuple[int, ...]) -> Index:
    """Indices of the nodes over which water leaves: the grid's edge and the drains, each once."""
    out = np.ones(shape, dtype=bool)
    out[1:-1, 1:-1] = False if drains is None else drains[1:-1, 1:-1]
    return np.flatnonzero(out)


def _downhill(level: Array, way: Index) -> Index:
    """(n,) steepest way down on the filled surface; across level water, the way out.

    No ring can form: a step down lowers the level, and along a level the ways out are a tree.
    """
    ny, nx = level.shape
    padded = np.pad(level, 1, constant_values=np.inf)
    steepest, best = np.zeros(level.shape), np.full(level.shape, -1, dtype=np.int64)
    nodes = np.arange(ny * nx, dtype=np.int64).reshape(ny, nx)
    for down, right in (*STEPS, *((-a, -b) for a, b in STEPS)):
        other = padded[1 + down : 1 + down + ny, 1 + right : 1 + right + nx]
        drop = (level - other) / np.hypot(down, right)
        better = drop > steepest
        steepest[better] = drop[better]
        best[better] = (nodes + down * nx + right)[better]
    return np.where(best.ravel() < 0, way, best.ravel())


def ends(onward: Index) -> Index:
    """(n,) node at which each node's flow ends: one that drains to itself."""
    further, before = onward[onward], onward
    while not (further == before).all():
        further, before = further[further], further
    return further
