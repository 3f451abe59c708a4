"""The same existing grade on fewer nodes."""

from __future__ import annotations

import math
from dataclasses import replace

from terrain.grid import Array, Grid, frozen
from terrain.ground.model import Ground


def coarser(ground: Ground, cell: float) -> Ground:
    """The ground on a grid of larger cells over the same rectangle; the ground itself where its own are as large.

    Parameters
    ----------
    cell
        Metres.
    """
    grid = ground.grid
    if cell <= grid.cell:
        return ground
    nx, ny = (math.floor((n - 1) * grid.cell / cell + 1e-9) + 1 for n in (grid.nx, grid.ny))
    return on_grid(ground, Grid(grid.x0, grid.y0, cell, max(nx, 2), max(ny, 2)))


def on_grid(ground: Ground, grid: Grid) -> Ground:
    """The ground read at the nodes of another grid over the same yard, bilinear between its own."""

    def read(values: Array) -> Array:
        return frozen(ground.grid.sample(values, grid.nodes).reshape(grid.shape))

    return replace(
        ground,
        grid=grid,
        elevation=read(ground.elevation),
        deviation=read(ground.deviation),
        surveyed=frozen(read(ground.surveyed.astype(float)) > 0.5),
    )
