"""Where water stands and which way it goes on a grid.

Each node's way out is the path to the edge of the grid whose highest point is lowest. All these paths
together are a minimum spanning tree of the nodes (edges weigh the higher of their two ends), so that a
library's tree gives the level of the standing water and the order of the flow at once, with no sweep of our
own. Follows the identity of minimax paths and minimum spanning trees: Hu, The maximum capacity route
problem, Operations Research 9 (1961).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from terrain.grid import Array, Index, Mask

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
    way = _ways_out(ground, outlets)
    level = _highest_on_way(ground.ravel(), way).reshape(ground.shape)
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


def _ways_out(ground: Array, outlets: Index) -> Index:
    """(n + 1,) next node on the lowest way out; node n is the outside and stands for itself."""
    from scipy.sparse import csr_array
    from scipy.sparse.csgraph import breadth_first_order, minimum_spanning_tree

    ny, nx = ground.shape
    nodes = np.arange(ny * nx, dtype=np.int32).reshape(ny, nx)
    start, end = _neighbours(nodes)
    outside = ny * nx
    flat = ground.ravel()
    # Weights stand above 1: the tree routine reads a stored 0 as no edge.
    weight = np.concatenate([np.maximum(flat[start], flat[end]), flat[outlets]]) - flat.min() + 1.0
    # 32 bits throughout: the tree routine of scipy before 1.17 takes no wider index.
    start = np.concatenate([start, outlets.astype(np.int32)])
    end = np.concatenate([end, np.full(len(outlets), outside, dtype=np.int32)])
    tree = minimum_spanning_tree(csr_array((weight, (start, end)), shape=(outside + 1, outside + 1)))
    _, way = breadth_first_order(tree, outside, directed=False)
    way[outside] = outside
    ways: Index = way.astype(np.int64)
    return ways


def _neighbours(nodes: NDArray[np.int32]) -> tuple[NDArray[np.int32], NDArray[np.int32]]:
    """Both ends of every link between the eight neighbours of a grid, each link once."""
    ny, nx = nodes.shape
    start, end = [], []
    for down, right in STEPS:
        west, east = max(0, -right), nx - max(0, right)
        start.append(nodes[: ny - down, west:east].ravel())
        end.append(nodes[down:, west + right : east + right].ravel())
    return np.concatenate(start), np.concatenate(end)


def outlets_of(drains: Mask | None, shape: tuple[int, ...]) -> Index:
    """Indices of the nodes over which water leaves: the grid's edge and the drains, each once."""
    out = np.ones(shape, dtype=bool)
    out[1:-1, 1:-1] = False if drains is None else drains[1:-1, 1:-1]
    return np.flatnonzero(out)


def _highest_on_way(flat: Array, way: Index) -> Array:
    """(n,) highest ground on each node's way out, by doubling the stride: every pass joins two half ways."""
    highest, stride = np.append(flat, -np.inf), way
    outside = len(flat)
    while not (stride == outside).all():
        highest = np.maximum(highest, highest[stride])
        stride = stride[stride]
    level: Array = np.maximum(highest, highest[stride])[:outside]
    return level


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
    return np.where(best.ravel() < 0, way[: ny * nx], best.ravel())


def ends(onward: Index) -> Index:
    """(n,) node at which each node's flow ends: one that drains to itself."""
    further, before = onward[onward], onward
    while not (further == before).all():
        further, before = further[further], further
    return further
