"""From a wish to the flow of the library: on a coarse grid while a hand moves, on the site's own when it rests."""

from __future__ import annotations

import math
from dataclasses import dataclass

from terrain.flow import Sketch, Study, run_site, sketch_site
from terrain.grid import Array, Grid, frozen
from terrain.ground import Ground, on_grid
from terrain.site import Site
from viewer.web.live.wish import Wish, with_wish
from viewer.web.window import Shown, shown_window

LIVE_NODES = 150  # nodes along the longer side of the ground shown, while a hand moves


@dataclass(frozen=True)
class Bench:
    """What stays while a berm is shaped.

    Parameters
    ----------
    site
        The yard as its file has it.
    ground
        Its existing grade at full resolution.
    shown
        The part of the grid that the page shows.
    quick
        The same ground on the coarse grid over that part.
    """

    site: Site
    ground: Ground
    shown: Shown
    quick: Ground

    def shows(self, grid: Grid, values: Array) -> Array:
        """What the page shows of a (ny, nx) array on a grid of this yard; another outline may move that a little."""
        if grid == self.ground.grid:
            return self.shown.of(values)
        part = self.shown.grid
        return frozen(grid.sample(values, part.nodes).reshape(part.shape))


def set_up(site: Site, ground: Ground) -> Bench:
    """Cut the ground that the page shows, and make it coarse for quick shapes."""
    shown = shown_window(site, ground.grid)
    part = shown.grid
    cell = part.cell * max(1.0, (max(part.nx, part.ny) - 1) / (LIVE_NODES - 1))
    nx, ny = (math.floor((n - 1) * part.cell / cell + 1e-9) + 1 for n in (part.nx, part.ny))
    return Bench(site, ground, shown, on_grid(ground, Grid(part.x0, part.y0, cell, nx, ny)))


def shape_quickly(bench: Bench, wish: Wish, earlier: Sketch | None = None) -> Sketch:
    """A wish on the coarse grid; of an earlier one is used again what comes out the same.

    Raises
    ------
    InputError
        Where the wish does not fit the site.
    """
    return sketch_site(with_wish(bench.site, wish), bench.quick, earlier)


def shape_fully(bench: Bench, wish: Wish, earlier: Study | None = None) -> Study:
    """The whole study of a wish: what a run on a site file with this wish in it would answer.

    Raises
    ------
    InputError
        Where the wish does not fit the site.
    """
    return run_site(with_wish(bench.site, wish), earlier=earlier)
