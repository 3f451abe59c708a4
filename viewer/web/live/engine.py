"""From a wish to shape, order, trees and signs: quickly on a coarse grid while a hand moves, in full when it rests.

The ground is modelled once and stays: only the berm on it changes. What does not depend on the heights is prepared once
for each outline, crest line, slope and toe, and used again while heights change.
"""

from __future__ import annotations

import math
import pickle
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache

import numpy as np

from terrain.flow import Study, run_site
from terrain.grid import Grid
from terrain.ground.coarser import on_grid
from terrain.ground.model import Ground
from terrain.limits import TRACE
from terrain.look.look import natural_look
from terrain.look.model import Look
from terrain.numerics.disc import Facets, fill_facets, held
from terrain.shape.berm import build, scale_for_soil
from terrain.shape.prepared import Prepared, prepare
from terrain.shape.proposal import Proposal
from terrain.site.model import Site
from terrain.soil.measured import measured_of
from terrain.soil.model import Volumes
from terrain.soil.order import Order, order_soil
from viewer.page.subject import TreeCircles, tree_circles
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


@dataclass(frozen=True)
class QuickTree:
    """A tree under a quick shape; names and units as in `TreeCheck`.

    Soil in the keep-off is exact on the mesh; depth and share in the root zone are read at the nodes.
    """

    name: str
    keep_off: float
    fill_in_keep_off: float
    deepest_fill_in_root_zone: float
    share_of_root_zone_covered: float


@dataclass(frozen=True)
class Quick:
    """A shape while the hand moves."""

    site: Site
    proposal: Proposal
    work: Volumes
    order: Order
    trees: tuple[QuickTree, ...]


def set_up(site: Site, ground: Ground) -> Bench:
    """Cut the ground that the page shows, and make it coarse for quick shapes."""
    shown = shown_window(site, ground.grid)
    part = shown.grid
    cell = part.cell * max(1.0, (max(part.nx, part.ny) - 1) / (LIVE_NODES - 1))
    nx, ny = (math.floor((n - 1) * part.cell / cell + 1e-9) + 1 for n in (part.nx, part.ny))
    grid = Grid(part.x0, part.y0, cell, nx, ny)
    return Bench(site, ground, shown, on_grid(ground, grid))


def shape_quickly(bench: Bench, wish: Wish) -> Quick:
    """The shape of a wish on the coarse grid, with its order and trees.

    Raises
    ------
    InputError
        Where the wish does not fit the site.
    """
    site = with_wish(bench.site, wish)
    proposal = _shaped(site, bench.quick)
    fill = fill_facets(proposal.mesh)
    trees = tuple(_quick_tree(circles, proposal, fill) for circles in tree_circles(site))
    work = measured_of(site, bench.quick, proposal)
    return Quick(site, proposal, work, order_soil(site, work), trees)


def look_quickly(bench: Bench, quick: Quick) -> Look:
    """The signs of a quick shape."""
    ground, proposal = bench.quick, quick.proposal
    return natural_look(ground.grid, ground.elevation, proposal.elevation, quick.site.bed.outline)


def shape_fully(bench: Bench, wish: Wish) -> Study:
    """The whole study of a wish at the site's own resolution, on the ground as it was modelled when the page opened.

    Raises
    ------
    InputError
        Where the wish does not fit the site.
    """
    site = with_wish(bench.site, wish)
    return run_site(site, ground=bench.ground)


def _shaped(site: Site, ground: Ground) -> Proposal:
    """The proposal; what does not depend on the heights is remembered from one wish to the next."""
    prepared = _prepared(_Bed(site, ground))
    soil = site.berm.soil
    scale = 1.0 if soil is None else scale_for_soil(site, ground, prepared, soil)
    return build(site, ground, prepared, scale)


@dataclass(frozen=True, eq=False)
class _Bed:
    """A bed on its ground; equal where the whole site is, but for the heights that a preparation does not hold."""

    site: Site
    ground: Ground

    @cached_property
    def key(self) -> bytes:
        """Every value of the site but heights and soil on hand, as bytes: equal bytes are equal values."""
        berm = self.site.berm
        places = tuple(replace(point, height=0.0) for point in berm.crest)
        return pickle.dumps(replace(self.site, berm=replace(berm, crest=places, soil=None)))

    def __hash__(self) -> int:
        return hash(self.key)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Bed) and self.ground is other.ground and self.key == other.key


@lru_cache(maxsize=4)
def _prepared(bed: _Bed) -> Prepared:
    return prepare(bed.site, bed.ground)


def _quick_tree(circles: TreeCircles, proposal: Proposal, fill: Facets) -> QuickTree:
    at, zone, grid = circles.tree.at, circles.root_zone, proposal.grid
    inside = np.hypot(grid.x[None, :] - at[0], grid.y[:, None] - at[1]) <= zone
    depth = np.where(inside, proposal.fill, 0.0)
    covered = np.count_nonzero(depth > TRACE.value) * grid.cell**2
    return QuickTree(
        name=circles.tree.name,
        keep_off=circles.keep_off,
        fill_in_keep_off=held(fill, at, circles.keep_off).volume,
        deepest_fill_in_root_zone=float(depth.max()),
        share_of_root_zone_covered=covered / (math.pi * zone * zone),
    )
