"""Where water leaves the yard, before and after: over the lot line where one is known, else over the survey's edge."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np
import shapely
from shapely.geometry import Polygon

from terrain.findings import Finding
from terrain.grid import Array, Grid, Index, Mask
from terrain.limits import PRACTICE, TURNED, TURNED_SHARE
from terrain.numerics import ends
from terrain.review.water import Exit
from terrain.units import Units, show_area, show_place

SIDES = ("south", "north", "west", "east")
_OUTWARD = np.array([[0.0, -1.0], [0.0, 1.0], [-1.0, 0.0], [1.0, 0.0]])  # of the sides, in their order


def worth_a_word(grown: float, of: float) -> bool:
    """Whether a catchment has grown by enough to be told: m2 more, of m2 before."""
    return grown > max(TURNED.value, TURNED_SHARE.value * of)


def exits(grid: Grid, before: Index, after: Index, lot: Polygon | None = None) -> tuple[Exit, ...]:
    """Where water leaves, the side with the most water first.

    Parameters
    ----------
    grid
        The ground's grid.
    before, after
        (ny*nx,) index of the node that each node's water goes to.
    lot
        The lot, metres. Only the ground inside counts, and water leaves where it first comes outside, on the side that
        the lot line faces there. Where the surveyed ground ends inside the lot, water leaves over the survey's edge.
    """
    inside = np.ones(grid.nx * grid.ny, dtype=bool) if lot is None else grid.inside(lot)
    was, now = (_left_at(onward, inside) * grid.cell**2 for onward in (before, after))
    leaving = over_edge(grid) | ~inside
    nodes = np.flatnonzero(leaving & ((was > 0.0) | (now > 0.0)))
    side, crosses = sides_of(grid, nodes, inside, lot), ~inside[nodes]
    found = []
    for number, name in enumerate(SIDES):
        for over_lot_line in (True, False):
            mine = nodes[(side == number) & (crosses == over_lot_line)]
            if mine.size:
                most = int(mine[np.argmax(now[mine] if now[mine].any() else was[mine])])
                at = (float(grid.nodes[most, 0]), float(grid.nodes[most, 1]))
                found.append(Exit(name, at, float(was[mine].sum()), float(now[mine].sum()), over_lot_line))
    return tuple(sorted(found, key=lambda one: -one.after))


def _left_at(onward: Index, inside: Mask) -> Array:
    """(n,) number of nodes inside whose water ends at each node, where it stops once it is outside."""
    here = np.arange(onward.size)
    end = ends(np.where(inside, onward, here))
    return np.bincount(end[inside], minlength=onward.size).astype(float)


def over_edge(grid: Grid) -> Mask:
    """(n,): nodes of the grid's edge."""
    edge = np.ones(grid.shape, dtype=bool)
    edge[1:-1, 1:-1] = False
    return edge.ravel()


def sides_of(grid: Grid, nodes: Index, inside: Mask, lot: Polygon | None) -> Index:
    """(m,) number of the side over which water leaves at each node: of the grid, or the way the lot line faces."""
    j, i = np.divmod(nodes, grid.nx)
    side = np.select([j == 0, j == grid.ny - 1, i == 0], [0, 1, 2], 3).astype(np.int64)
    crossing = ~inside[nodes]
    if lot is not None and crossing.any():
        ring = shapely.get_coordinates(shapely.orient_polygons(lot).exterior)
        edges = shapely.linestrings([[start, end] for start, end in pairwise(ring)])
        spots = shapely.points(grid.nodes[nodes[crossing]])
        line = np.argmin([shapely.distance(edge, spots) for edge in edges], axis=0)
        step = np.diff(ring, axis=0)[line]
        # The lot line runs counter-clockwise, so that outside lies to its right.
        side[crossing] = np.argmax(np.column_stack([step[:, 1], -step[:, 0]]) @ _OUTWARD.T, axis=1)
    return side


def exit_findings(units: Units, leaving: tuple[Exit, ...]) -> Iterator[Finding]:
    """Water from more ground than before leaves over one side: the side where it grows most."""
    if not leaving:
        return
    whole = sum(one.before for one in leaving)
    worst = max(leaving, key=lambda one: (one.after - one.before, one.over_lot_line))
    grown = worst.after - worst.before
    if not worth_a_word(grown, whole):
        return
    where = f"the lot line on the {worst.side} side" if worst.over_lot_line else f"the {worst.side} side"
    text = (
        f"The berm sends water from {show_area(grown, units)} more ground over {where}, most of it near "
        f"{show_place(*worst.at, units)}. Check whose land that is; local code decides."
    )
    yield Finding("caution", "drainage", text, worst.after, worst.before, PRACTICE, worst.at)
