"""The rectangle of ground that the page shows: whole cells of the ground's grid about the bed and its trees."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import LineString, Point, box
from shapely.geometry.base import BaseGeometry

from terrain.grid import Array, Grid
from terrain.numerics import overlap
from terrain.site import Site
from viewer.page import long_axis, tree_circles, yard_bounds

MARGIN = 0.16  # ground shown about the bed, as a share of its length
LEAST_MARGIN = 1.5  # metres
BESIDE_A_DIG = 0.6  # metres of ground shown round a dig
MOST_NODES = 400_000  # nodes of a page; a wider grid is thinned


@dataclass(frozen=True)
class Shown:
    """Rows and columns of the grid that are shown, every `thin`-th of each.

    `corner` is the south-west node in survey coordinates, metres; the page counts from it.
    """

    rows: slice
    columns: slice
    grid: Grid

    @property
    def corner(self) -> tuple[float, float]:
        """Easting and northing of the south-west node, metres."""
        return self.grid.x0, self.grid.y0

    def of(self, values: Array) -> Array:
        """The shown part of a (ny, nx) array."""
        return values[self.rows, self.columns]


def shown_window(site: Site, grid: Grid) -> Shown:
    """The ground near the bed with the keep-offs of the trees and the digs that lie there, as far as the yard goes."""
    margin = max(MARGIN * long_axis(site.bed.outline)[1], LEAST_MARGIN)
    bed = box(*site.bed.outline.bounds)
    near = bed.buffer(2.0 * margin, join_style="mitre")
    shapes = [bed.buffer(margin, join_style="mitre")]
    shapes += [c.circle(c.keep_off) for c in tree_circles(site) if near.contains(Point(c.tree.at))]
    shapes += [overlap(dig, near) for dig in _digs(site)]
    west, south, east, north = shapely.union_all(shapes).intersection(box(*yard_bounds(grid))).bounds
    columns = _range(west - grid.x0, east - grid.x0, grid.cell, grid.nx)
    rows = _range(south - grid.y0, north - grid.y0, grid.cell, grid.ny)
    nodes = len(range(*columns)) * len(range(*rows))
    thin = max(1, math.ceil(math.sqrt(nodes / MOST_NODES)))
    kept = tuple(np.arange(low, high, thin) for low, high in (rows, columns))
    corner = grid.x0 + grid.cell * columns[0], grid.y0 + grid.cell * rows[0]
    part = Grid(*corner, thin * grid.cell, len(kept[1]), len(kept[0]))
    return Shown(slice(*rows, thin), slice(*columns, thin), part)


def _digs(site: Site) -> list[BaseGeometry]:
    """What the digs of basins and channels take up, with ground beside them."""
    basins = [
        (one.outline, one.clearance + one.depth / one.side_slope) for one in site.basin if one.outline is not None
    ]
    channels = [(LineString(one.line), one.width / 2.0 + one.depth / one.side_slope) for one in site.channel]
    return [shape.buffer(reach + BESIDE_A_DIG) for shape, reach in (*basins, *channels)]


def _range(low: float, high: float, cell: float, count: int) -> tuple[int, int]:
    """Half-open range of nodes that covers a stretch measured from the first node, metres."""
    first = max(0, math.floor(low / cell))
    return first, min(count, math.ceil(high / cell) + 1)
