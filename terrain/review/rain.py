"""One storm over the finished ground: what soaks in, stands, runs over and leaves, and how wide, beside before."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from shapely.geometry import Polygon

from terrain.grid import Array, Grid, Index, Mask
from terrain.limits import POND
from terrain.numerics import Spilled, ends, peak_runoff, spill
from terrain.review.existing_water import ExistingWater, hours_to_soak, inside_lot, out_at, storm_runoff
from terrain.review.exits import SIDES, sides_of
from terrain.review.water import BasinWater, Leaving, Place, StormWater, way_over
from terrain.shape import Proposal
from terrain.site import Site

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


def run_rain(site: Site, existing: ExistingWater, proposal: Proposal) -> Rain:
    """Let the site's storm fall on the finished ground, beside what it did on the existing one."""
    storm, grid = site.design_storm, proposal.grid
    after = spill(proposal.elevation, existing.runs, grid.cell, existing.walls)
    now = storm_runoff(storm, existing.runs, existing.walls, after, grid.cell)
    out = out_at(grid, after, site.boundary)
    basins = tuple(_basins(site, proposal, existing.runs, after))
    peak = peak_runoff(storm.rain, storm.lasts, storm.intake)
    leaving = _leaving(grid, existing.out, out, site.boundary)
    return Rain(grid, StormWater(storm, peak, existing.storm, now, leaving, basins), after.onward)


def _leaving(grid: Grid, was: Array, now: Array, lot: Polygon | None) -> tuple[Leaving, ...]:
    """What leaves over each side of the lot, or of the surveyed ground, the side with the most first."""
    inside = inside_lot(grid, lot)
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
            hours_to_soak(float(water.depth.ravel()[inside].max()), site.design_storm.intake),
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
