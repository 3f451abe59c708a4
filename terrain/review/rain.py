"""One storm over the existing and the finished ground: what soaks in, stands, runs over and leaves, and how wide.

Rain on paving all runs off; rain on roofs is left out, since nobody knows where gutters end. What the ground takes
while it rains is taken where the rain falls.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from shapely.geometry import Polygon

from terrain.grid import Array, Grid, Index, Mask
from terrain.ground import Ground
from terrain.limits import POND
from terrain.numerics import Spilled, ends, peak_runoff, runoff_depth, spill
from terrain.review.buildings import paved_ground
from terrain.review.exits import SIDES, over_edge, sides_of
from terrain.review.water import BasinWater, Leaving, Place, Runoff, StormWater, way_over
from terrain.shape import Proposal
from terrain.site import HOUR, Site

MOST_OF_IT = 0.9  # of what leaves: the width of its way


@dataclass(frozen=True)
class Rain:
    """One storm run over both grounds: what came of it, and the next node of each node's water on the finished one."""

    grid: Grid
    water: StormWater
    onward: Index

    def way(self, start: Place) -> Array:
        """As `way_over`, on the finished ground."""
        return way_over(self.grid, self.onward, start)


def run_rain(site: Site, ground: Ground, proposal: Proposal, walls: Mask) -> Rain:
    """Let the site's storm fall on the existing and on the finished ground; water passes no (ny, nx) walls."""
    storm, cell = site.design_storm, ground.grid.cell
    runs = _runs(site, ground.grid)
    before, after = (spill(level, runs, cell, walls) for level in (ground.elevation, proposal.elevation))
    open_ground = float((~walls).sum()) * cell**2
    fell = storm.rain * open_ground
    soaked = fell - float(runs[~walls].sum()) * cell**2
    was, now = (_runoff(fell, soaked, water, cell, storm.intake) for water in (before, after))
    basins = tuple(_basins(site, proposal, runs, after))
    peak = peak_runoff(storm.rain, storm.lasts, storm.intake)
    found = StormWater(storm, peak, was, now, _leaving(ground.grid, before, after, site.boundary), basins)
    return Rain(ground.grid, found, after.onward)


def _runs(site: Site, grid: Grid) -> Array:
    """(ny, nx) depth that runs off each node, metres."""
    storm = site.design_storm
    on_soil = runoff_depth(storm.rain, storm.lasts, storm.intake)
    on_paving = grid.inside(paved_ground(site)).reshape(grid.shape)
    return np.where(on_paving, storm.rain, on_soil)


def _runoff(fell: float, soaked: float, water: Spilled, cell: float, intake: float) -> Runoff:
    stored = float(water.depth.sum()) * cell**2
    return Runoff(fell, soaked, stored, float(water.left.sum()), _hours_to_soak(float(water.depth.max()), intake))


def _hours_to_soak(depth: float, intake: float) -> float:
    """Hours until a depth of water, metres, has gone into the ground under it at a rate, m/s."""
    if depth <= 0.0:
        return 0.0
    return depth / intake / HOUR if intake > 0.0 else math.inf


def _leaving(grid: Grid, before: Spilled, after: Spilled, lot: Polygon | None) -> tuple[Leaving, ...]:
    """What leaves over each side of the lot, or of the surveyed ground, the side with the most first."""
    inside = np.ones(grid.nx * grid.ny, dtype=bool) if lot is None else grid.inside(lot)
    was, now = (_out_at(grid, water, inside) for water in (before, after))
    nodes = np.flatnonzero((was > 0.0) | (now > 0.0))
    side = sides_of(grid, nodes, inside, lot)
    found = []
    for number, name in enumerate(SIDES):
        mine = nodes[side == number]
        if mine.size:
            x, y = grid.nodes[int(mine[np.argmax(now[mine] if now[mine].any() else was[mine])])]
            widths = [_width(amount[mine]) * grid.cell for amount in (was, now)]
            found.append(Leaving(name, (float(x), float(y)), float(was[mine].sum()), float(now[mine].sum()), *widths))
    return tuple(sorted(found, key=lambda one: -one.after))


def _out_at(grid: Grid, water: Spilled, inside: Mask) -> Array:
    """(n,) volume that first comes outside at each node, or leaves the grid there, m3."""
    out = np.where(inside & over_edge(grid), water.left.ravel(), 0.0)
    crosses = np.flatnonzero(inside & ~inside[water.onward])
    np.add.at(out, water.onward[crosses], water.through.ravel()[crosses])
    return out


def _width(amounts: Array) -> float:
    """Number of nodes over which nine tenths leave."""
    whole = np.cumsum(np.sort(amounts)[::-1])
    return float(np.searchsorted(whole, MOST_OF_IT * whole[-1]) + 1) if whole[-1] > 0.0 else 0.0


def _basins(site: Site, proposal: Proposal, runs: Array, water: Spilled) -> Iterator[BasinWater]:
    """What the storm does to each basin."""
    grid, area = proposal.grid, proposal.grid.cell**2
    end = ends(water.onward) if site.basin else water.onward
    for dig in proposal.digs[: len(site.basin)]:
        inside = grid.inside(dig.rim)
        if not inside.any():
            continue
        mine = inside[end]
        about = _about(grid, inside)
        room = _room(proposal.elevation.ravel(), inside, about) * area
        from_others = ~inside[water.spills.low] & mine[water.spills.to]
        comes = float(runs.ravel()[mine].sum()) * area + float(water.spills.volume[from_others].sum())
        drowned = float(water.depth.ravel()[about].max(initial=0.0)) > POND.value
        over = inside[water.spills.low] & ~inside[water.spills.to] & (not drowned)
        spot = dig.floor.representative_point()
        yield BasinWater(
            dig.name,
            (spot.x, spot.y),
            float((mine & ~inside).sum()) * area,
            comes,
            room,
            max(comes - room, 0.0),
            _place(grid, water.spills.to[over]),
            _hours_to_soak(float(water.depth.ravel()[inside].max()), site.design_storm.intake),
        )


def _place(grid: Grid, nodes: Index) -> Place | None:
    """The first of some nodes as a place."""
    return (float(grid.nodes[nodes[0], 0]), float(grid.nodes[nodes[0], 1])) if nodes.size else None


def _about(grid: Grid, inside: Mask) -> Mask:
    """(n,): the nodes next to some."""
    from scipy import ndimage

    around: Mask = ndimage.binary_dilation(inside.reshape(grid.shape), np.ones((3, 3))).ravel() & ~inside
    return around


def _room(elevation: Array, inside: Mask, about: Mask) -> float:
    """Depth summed over the nodes of a dig below the lowest ground about it, metres."""
    lip = float(elevation[about].min(initial=math.inf))
    lip = lip if math.isfinite(lip) else float(elevation[inside].max())
    return float(np.maximum(lip - elevation[inside], 0.0).sum())
