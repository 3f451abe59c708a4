"""Water on the ground as it is, which no change of the mound moves: one storm over it, and which way each drop goes.

Rain on paving all runs off; rain on roofs is left out, since nobody knows where gutters end. What the ground takes
while it rains is taken where the rain falls.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from shapely.geometry import Polygon

from terrain.fingerprint import fingerprint
from terrain.grid import Array, Grid, Index, Mask
from terrain.ground import Ground
from terrain.numerics import Flood, Spilled, flood, gathered, runoff_depth, spill
from terrain.review.buildings import paved_ground
from terrain.review.exits import over_edge
from terrain.review.water import Runoff
from terrain.site import HOUR, DesignStorm, Site

# Ground that falls less than this share of a cell over eight cells is as good as level: a survey cannot say which way
# its water goes. Eight, because a way that runs slantwise over a grid has level steps in it.
LEVEL = 0.001


@dataclass(frozen=True)
class ExistingWater:
    """Water on the existing ground.

    Parameters
    ----------
    grid
        The ground's grid.
    walls
        (ny, nx): nodes that no water passes: buildings.
    runs
        (ny, nx) depth of the storm that runs off each node, metres.
    storm, out
        What becomes of the storm, and (n,) the volume that leaves at each node, m3 (`out_at`).
    onward, stood
        (n,) node that each node's water goes to once every hollow is full, and (ny, nx) depth that then stands, metres.
    """

    grid: Grid
    walls: Mask
    runs: Array
    storm: Runoff
    out: Array
    onward: Index
    stood: Array

    @cached_property
    def flows(self) -> Array:
        """(n,) ground that drains over each node, its own with it, m2."""
        return gathered(self.onward, np.full(self.onward.size, self.grid.cell**2))


def existing_water(site: Site, ground: Ground) -> ExistingWater:
    """The water on the ground of a site; kept while the ground, and what stands and falls on it, stay the same."""
    return _worked(_GroundAndWhatStands(site, ground))


@dataclass(frozen=True, eq=False)
class _GroundAndWhatStands:
    """What the water follows from; equal where it is the very same ground under equal buildings, paving and rain."""

    site: Site
    ground: Ground

    @cached_property
    def key(self) -> str:
        """Of all that counts of the site."""
        site = self.site
        return fingerprint(site.building, site.boundary, site.keep_clear, site.walk, site.design_storm)

    def __hash__(self) -> int:
        return hash((id(self.ground), self.key))

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _GroundAndWhatStands) and self.ground is other.ground and self.key == other.key


@lru_cache(maxsize=1)
def _worked(request: _GroundAndWhatStands) -> ExistingWater:
    site, ground, grid = request.site, request.ground, request.ground.grid
    walls = np.zeros(grid.shape, dtype=bool)
    for building in site.building:
        walls |= covered(grid, building.outline)
    runs = _runs(site, grid)
    ran = spill(ground.elevation, runs, grid.cell, walls)
    full = flood(ground.elevation, walls)
    stood = np.where(walls, 0.0, full.level - ground.elevation)
    return ExistingWater(
        grid=grid,
        walls=walls,
        runs=runs,
        storm=storm_runoff(site.design_storm, runs, walls, ran, grid.cell),
        out=out_at(grid, ran, site.boundary),
        onward=runoff(full, stood, grid.cell),
        stood=stood,
    )


def covered(grid: Grid, area: Polygon) -> Mask:
    """(ny, nx): nodes in an area."""
    return grid.inside(area).reshape(grid.shape)


def _runs(site: Site, grid: Grid) -> Array:
    """(ny, nx) depth that runs off each node, metres."""
    storm = site.design_storm
    on_soil = runoff_depth(storm.rain, storm.lasts, storm.intake)
    on_paving = grid.inside(paved_ground(site)).reshape(grid.shape)
    return np.where(on_paving, storm.rain, on_soil)


def storm_runoff(storm: DesignStorm, runs: Array, walls: Mask, water: Spilled, cell: float) -> Runoff:
    """What becomes of a storm that falls on all but the walls, where `runs` metres run off each (ny, nx) node."""
    fell = storm.rain * float((~walls).sum()) * cell**2
    soaked = fell - float(runs[~walls].sum()) * cell**2
    stored = float(water.depth.sum()) * cell**2
    return Runoff(fell, soaked, stored, float(water.left.sum()), hours_to_soak(float(water.depth.max()), storm.intake))


def hours_to_soak(depth: float, intake: float) -> float:
    """Hours until a depth of water, metres, has gone into the ground under it at a rate, m/s."""
    if depth <= 0.0:
        return 0.0
    return depth / intake / HOUR if intake > 0.0 else math.inf


def inside_lot(grid: Grid, lot: Polygon | None) -> Mask:
    """(n,): nodes inside the lot; all where none is known."""
    return np.ones(grid.nx * grid.ny, dtype=bool) if lot is None else grid.inside(lot)


def out_at(grid: Grid, water: Spilled, lot: Polygon | None) -> Array:
    """(n,) volume that first comes outside the lot at each node, or leaves the grid there, m3."""
    inside = inside_lot(grid, lot)
    out = np.where(inside & over_edge(grid), water.left.ravel(), 0.0)
    crosses = np.flatnonzero(inside & ~inside[water.onward])
    np.add.at(out, water.onward[crosses], water.through.ravel()[crosses])
    return out


def runoff(flow: Flood, stands: Array, cell: float) -> Index:
    """(n,) next node for the water of each node; it stays where dry ground is as good as level.

    Across standing water it goes on to the way out. Without this, level ground would send its water any way.
    """
    level, here, ahead = flow.level.ravel(), np.arange(flow.level.size), flow.onward
    # A pond lies as level as a dead flat; what comes to its shore goes on across it.
    wet = stands.ravel() > LEVEL * cell
    to_water = wet[ahead]
    for _ in range(3):
        ahead = ahead[ahead]
        to_water |= wet[ahead]
    fall = level - level[ahead]
    still = (fall < LEVEL * cell) & (stands.ravel() <= 0.0) & ~to_water
    return np.where(still, here, flow.onward)
