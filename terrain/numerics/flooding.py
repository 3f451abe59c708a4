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
def _push(heap, keys, size, key, node):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """Put a node into a heap with the lowest level on top; how many it then holds.

    The levels stand beside the nodes in `keys`: looked up on the grid, each would be a way to memory of its own.
    """
    at = size
    while at > 0 and keys[(at - 1) // 2] > key:
        heap[at], keys[at] = heap[(at - 1) // 2], keys[(at - 1) // 2]
        at = (at - 1) // 2
    heap[at], keys[at] = node, key
    return size + 1


@compiled
def _pop(heap, keys, size):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """Take the top node off the heap; the node, and how many are left."""
    size -= 1
    top, last, key = heap[0], heap[size], keys[size]
    at = 0
    while 2 * at + 1 < size:
        below = 2 * at + 1
        if below + 1 < size and keys[below + 1] < keys[below]:
            below += 1
        if keys[below] >= key:
            break
        heap[at], keys[at] = heap[below], keys[below]
        at = below
    heap[at], keys[at] = last, key
    return top, size


@compiled
def _let_in(flat, outlets, nx):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """Level of every node with its hollows full, and the next node on its way out; an outlet is its own."""
    n = flat.size
    level, way = flat.copy(), np.full(n, -1, np.int64)
    # The shore, lowest first; and the nodes below the water that is being let in, which need no order.
    heap, keys, below = np.empty(n, np.int32), np.empty(n), np.empty(n, np.int32)
    size, head, tail = 0, 0, 0
    for outlet in outlets:
        way[outlet] = outlet
        size = _push(heap, keys, size, level[outlet], outlet)
    while size > 0 or head < tail:
        if head < tail:
            node = np.int64(below[head])
            head += 1
        else:
            top, size = _pop(heap, keys, size)
            node = np.int64(top)
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
                    size = _push(heap, keys, size, level[other], other)
    return level, way


def outlets_of(drains: Mask | None, shape: tuple[int, ...]) -> Index:
    """Indices of the nodes over which water leaves: the grid's edge and the drains, each once."""
    out = np.ones(shape, dtype=bool)
    out[1:-1, 1:-1] = False if drains is None else drains[1:-1, 1:-1]
    return np.flatnonzero(out)


@compiled
def _downhill(level, way):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """(n,) steepest way down on the filled surface; across level water, the way out.

    No ring can form: a step down lowers the level, and along a level the ways out are a tree.
    """
    ny, nx = level.shape
    onward, slant = way.copy(), np.hypot(1.0, 1.0)
    for j in range(ny):
        for i in range(nx):
            steepest = 0.0
            for k in range(8):
                down, right = STEPS[k % 4]
                if k >= 4:
                    down, right = -down, -right
                if 0 <= j + down < ny and 0 <= i + right < nx:
                    drop = level[j, i] - level[j + down, i + right]
                    if down != 0 and right != 0:
                        drop /= slant
                    if drop > steepest:
                        steepest = drop
                        onward[j * nx + i] = (j + down) * nx + i + right
    return onward


def ends(onward: Index) -> Index:
    """(n,) node at which each node's flow ends: one that drains to itself."""
    found: Index = _ends(np.ascontiguousarray(onward))
    return found


@compiled
def _ends(onward):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """Each way is gone once down to a node whose end is known, and once more to write it down."""
    end = np.full(onward.size, -1, np.int64)
    for start in range(onward.size):
        node = start
        while end[node] < 0 and onward[node] != node:
            node = onward[node]
        last = end[node] if end[node] >= 0 else node
        node = start
        while end[node] < 0:
            end[node] = last
            node = onward[node]
    return end
