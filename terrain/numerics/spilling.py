"""Where a stated amount of water comes to rest on a grid: hollows fill, spill into each other and join.

Hollows are found by letting a level rise over the grid: each lowest node starts one, two that meet join in a larger
one, and what meets the outside is closed at that level. The tree of hollows is then filled from below, so that the
answer needs no steps of time and loses no water. Follows Barnes, Callaghan and Wickert, "Computing water flow through
complex landscapes, part 3: fill-spill-merge", Earth Surface Dynamics 9 (2021).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from terrain.grid import Array, Index, Mask
from terrain.numerics.flooding import outlets_of, walled
from terrain.numerics.machine_code import compiled

OUTSIDE = -1
NONE = -2


@dataclass(frozen=True)
class Spills:
    """Hollows that run over, (k,) each: index of its lowest node, of the node that the water comes to, volume in m3."""

    low: Index
    to: Index
    volume: Array


@dataclass(frozen=True)
class Spilled:
    """Water at rest after it has run.

    Parameters
    ----------
    depth
        (ny, nx) depth of standing water, metres.
    left
        (ny, nx) volume that left over each node of the edge, m3.
    through
        (ny, nx) volume that ran over each node or came to rest there, m3; across standing water it is told where it
        spills.
    onward
        (ny*nx,) index of the node that each node's water runs to over bare ground; a lowest node and one of the edge
        keep their own.
    spills
        Every hollow that runs over.
    """

    depth: Array
    left: Array
    through: Array
    onward: Index
    spills: Spills


def spill(elevation: Array, runs: Array, cell: float, walls: Mask | None = None) -> Spilled:
    """Let the water that falls on each node run, fill hollows and leave over the grid's edge.

    Parameters
    ----------
    elevation
        (ny, nx) metres, all finite.
    runs
        (ny, nx) depth of water that runs off each node, metres, 0 or more.
    cell
        Distance between nodes, metres.
    walls
        (ny, nx): True where no water passes or stands; what falls there is left out.
    """
    ground = walled(elevation, walls)
    water = (runs if walls is None else np.where(walls, 0.0, runs)).ravel()
    flat = np.ascontiguousarray(ground - ground.min()).ravel()
    order = np.argsort(flat, kind="stable")
    out = np.zeros(flat.size, dtype=np.bool_)
    out[outlets_of(None, ground.shape)] = True
    onward, home, leaf, tree = _hollows(flat, order, out, ground.shape[1])
    held, over, left = _pour(leaf, tree, water)
    depth = _depths(flat, order, home, tree[0], held)
    k = np.flatnonzero(over > 0.0)
    through = gathered(onward, water + np.bincount(tree[2][k], over[k], water.size))
    shape, area = ground.shape, cell * cell
    spills = Spills(tree[5][k], tree[2][k], area * over[k])
    return Spilled(depth.reshape(shape), area * left.reshape(shape), area * through.reshape(shape), onward, spills)


@compiled
def _root(joined, node):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """The node that stands for all that are joined with a node."""
    while joined[node] != node:
        joined[node] = joined[joined[node]]
        node = joined[node]
    return node


@compiled
def _reached(node, nx, joined, beside, apart):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """Put the neighbours that the level has reached into `beside`, and how many cells off they are into `apart`, (8,)
    each; answers how many there are."""
    row, column = node // nx, node % nx
    found = 0
    for j in range(max(row - 1, 0), min(row + 2, joined.size // nx)):
        for i in range(max(column - 1, 0), min(column + 2, nx)):
            other = j * nx + i
            if other != node and joined[other] != NONE:
                beside[found] = other
                apart[found] = np.sqrt(2.0) if j != row and i != column else 1.0
                found += 1
    return found


@compiled
def _steepest(flat, node, beside, apart):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """The neighbour to which a node falls most steeply; the node itself where there is none."""
    best, ahead = -1.0, node
    for k in range(len(beside)):
        drop = (flat[node] - flat[beside[k]]) / apart[k]
        if drop > best:
            best, ahead = drop, beside[k]
    return ahead


@compiled
def _new_tree(most):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """The tree before any hollow is known, a row each.

    The hollow above (OUTSIDE: it spills for good); the lowest hollow, or ~node of the edge, that it spills to; the node
    that its overflow comes to first; its room, m of depth summed over nodes; its two parts; its lowest node; its nodes;
    the sum of their levels.
    """
    return (
        np.full(most, NONE, np.int64),
        np.full(most, NONE, np.int64),
        np.full(most, NONE, np.int64),
        np.full(most, np.inf),
        np.full((most, 2), NONE, np.int64),
        np.full(most, NONE, np.int64),
        np.zeros(most),
        np.zeros(most),
    )


@compiled
def _lowest(flat, out, nx):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """How many nodes start a hollow: those without a neighbour that the level reaches before them."""
    count = 0
    for node in range(flat.size):
        row, column = node // nx, node % nx
        first = not out[node]
        for j in range(max(row - 1, 0), min(row + 2, flat.size // nx)):
            for i in range(max(column - 1, 0), min(column + 2, nx)):
                other = j * nx + i
                if flat[other] < flat[node] or (flat[other] == flat[node] and other < node):
                    first = False
        count += first
    return count


@compiled
def _close(tree, hollow, level, target, first):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """A hollow meets its way out at a level."""
    _, to, came_to, room, _, _, count, sums = tree
    if hollow != OUTSIDE:
        room[hollow] = max(0.0, level * count[hollow] - sums[hollow])
        to[hollow], came_to[hollow] = target, first


@compiled
def _join(tree, flat, one, two, many):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """Two closed hollows become a larger one, numbered `many`, or the outside where one of them is that."""
    above, _, _, _, parts, low, count, sums = tree
    if one != OUTSIDE and two != OUTSIDE:
        above[one], above[two] = many, many
        parts[many, 0], parts[many, 1] = one, two
        low[many] = low[one] if flat[low[one]] <= flat[low[two]] else low[two]
        count[many], sums[many] = count[one] + count[two], sums[one] + sums[two]
        return many
    if one != OUTSIDE:
        above[one] = OUTSIDE
    if two != OUTSIDE:
        above[two] = OUTSIDE
    return OUTSIDE


@compiled
def _hollows(flat, order, out, nx):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """Each node's onward node, its hollow when the level reached it, its lowest hollow (or ~outlet), and the tree."""
    n = flat.size
    onward, leaf = np.empty(n, np.int64), np.empty(n, np.int32)
    home, joined = np.full(n, OUTSIDE, np.int32), np.full(n, NONE, np.int32)
    hollow = np.full(n, OUTSIDE, np.int32)  # of the node that stands for its like
    tree = _new_tree(2 * _lowest(flat, out, nx))  # two that join make a third
    beside, apart = np.empty(8, np.int64), np.empty(8)
    many = 0
    for node in order:
        found = _reached(node, nx, joined, beside, apart)
        ahead = node if out[node] else _steepest(flat, node, beside[:found], apart)
        onward[node], joined[node] = ahead, ahead
        if out[node]:
            leaf[node] = ~node
        elif ahead != node:
            leaf[node] = leaf[ahead]
        else:
            leaf[node], hollow[node], tree[5][many] = many, many, node
            many += 1
        mine = _root(joined, node)
        for other in beside[:found]:
            two = _root(joined, other)
            if mine != two:
                _close(tree, hollow[mine], flat[node], leaf[other], other)
                _close(tree, hollow[two], flat[node], leaf[node], node)
                hollow[mine] = _join(tree, flat, hollow[mine], hollow[two], many)
                many += hollow[mine] == many
                joined[two] = mine
        home[node] = hollow[mine]
        if home[node] != OUTSIDE:
            tree[6][home[node]] += 1.0
            tree[7][home[node]] += flat[node]
    return (
        onward,
        home,
        leaf,
        (tree[0][:many], tree[1][:many], tree[2][:many], tree[3][:many], tree[4][:many], tree[5][:many]),
    )


@compiled
def _is_full(held, room, hollow):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    return held[hollow] >= room[hollow]


@compiled
def _largest_full(tree, held, at):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """The largest hollow about a full one whose parts are both full: their water is one."""
    above, _, _, room, parts, _ = tree
    while _is_full(held, room, at) and above[at] >= 0:
        up = above[at]
        one, two = parts[up]
        if not (_is_full(held, room, one) and _is_full(held, room, two)):
            break
        held[up] = max(held[up], held[one] + held[two])
        at = up
    return at


@compiled
def _pour(leaf, tree, water):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """Water in each hollow with its parts, what each sends on, and what leaves over each node; m over nodes."""
    _, to, _, room, _, _ = tree
    held, over, came = np.zeros(room.size), np.zeros(room.size), np.zeros(room.size)
    left = np.zeros(leaf.size)
    for node in range(leaf.size):
        if leaf[node] < 0:
            left[~leaf[node]] += water[node]
        else:
            came[leaf[node]] += water[node]
    for start in range(room.size):
        amount, at = came[start], start
        while amount > 0.0 and at >= 0:
            at = _largest_full(tree, held, at)
            take = min(amount, room[at] - held[at])
            # The last drop closes it whatever the rounding.
            held[at] = room[at] if take < amount else held[at] + take
            amount -= take
            if amount > 0.0 and _largest_full(tree, held, at) == at:
                over[at] += amount
                at = to[at]
        if amount > 0.0:
            left[~at] += amount
    return held, over, left


@compiled
def _pool_of_each(above, held):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """The largest hollow about each one that holds water of its own: its surface is theirs."""
    top = np.arange(above.size)
    for k in range(above.size - 1, -1, -1):
        if above[k] >= 0 and held[above[k]] > 0.0:
            top[k] = top[above[k]]
    return top


@compiled
def _surfaces(flat, order, pool, held):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """Level of the water of each pool, m: the nodes of a pool come in order, lowest first."""
    level = np.full(held.size, np.inf)
    count, sums = np.zeros(held.size), np.zeros(held.size)
    for node in order:
        k = pool[node]
        if k == OUTSIDE or level[k] < np.inf:
            continue
        if flat[node] * count[k] - sums[k] >= held[k]:
            level[k] = (held[k] + sums[k]) / count[k]
        else:
            count[k] += 1.0
            sums[k] += flat[node]
    for k in range(held.size):
        if level[k] == np.inf and count[k] > 0.0:
            level[k] = (held[k] + sums[k]) / count[k]
    return level


@compiled
def _depths(flat, order, home, above, held):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    """(n,) depth of the water, m, from what each hollow holds."""
    top = _pool_of_each(above, held)
    pool = np.full(flat.size, OUTSIDE, np.int32)
    for node in range(flat.size):
        if home[node] != OUTSIDE and held[top[home[node]]] > 0.0:
            pool[node] = top[home[node]]
    level = _surfaces(flat, order, pool, held)
    depth = np.zeros(flat.size)
    for node in range(flat.size):
        if pool[node] != OUTSIDE:
            depth[node] = max(0.0, level[pool[node]] - flat[node])
    return depth


def gathered(onward: Index, amount: Array) -> Array:
    """(n,) what comes to each node with its own amount, when all that comes to a node runs on to the next.

    Parameters
    ----------
    onward
        (n,) next node of each node; those that keep their own end a way.
    amount
        (n,) of each node, in any unit.
    """
    sums: Array = _gather(onward, amount)
    return sums


@compiled
def _gather(onward, amount):  # type: ignore[no-untyped-def]  # pragma: no cover - compiled
    waits = np.zeros(onward.size, np.int64)
    for node in range(onward.size):
        if onward[node] != node:
            waits[onward[node]] += 1
    total = amount.copy()
    for start in range(onward.size):
        node = start
        while waits[node] == 0:
            waits[node] = -1
            ahead = onward[node]
            if ahead == node:
                break
            total[ahead] += total[node]
            waits[ahead] -= 1
            node = ahead
    return total
