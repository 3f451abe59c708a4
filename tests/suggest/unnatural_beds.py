"""Random beds with the crests that designers draw first: a cone, one peak in the middle, a roof at the limit."""

from __future__ import annotations

import numpy as np
import shapely
from look_outlines import FAMILIES, random_outline
from random_sites import ground_on, site_with

from terrain.grid import Grid
from terrain.ground.model import Ground
from terrain.site.model import Site, Tree

KINDS = ("cone crest", "central peak", "hip roof")
NODES = 90  # along the longer side of the bed


def unnatural_bed(kind: str, seed: int, nodes: int = NODES) -> tuple[Site, Ground]:
    """A bed of any outline on falling ground, two in three with a tree beside it, and a crest of that kind."""
    rng = np.random.default_rng([17, seed])
    outline = random_outline(rng, rng.uniform(1.5, 4.0), FAMILIES[seed % len(FAMILIES)]).polygon
    limit = float(rng.choice([1 / 3, 1 / 4, 1 / 5]))
    middle = np.array(shapely.maximum_inscribed_circle(outline).coords[0])
    reach = float(shapely.maximum_inscribed_circle(outline).length)
    trees = []
    if rng.uniform() < 0.67:
        spot = outline.exterior.interpolate(rng.uniform(), normalized=True)
        trees = [Tree("oak", (spot.x, spot.y), 0.4, 0.5, reach * rng.uniform(0.2, 0.5))]
    west, south, east, north = outline.bounds
    cell = max(east - west, north - south) / nodes
    nx, ny = (int(size / cell) + 13 for size in (east - west, north - south))
    grid = Grid(west - 6 * cell, south - 6 * cell, cell, nx, ny)
    x, y = np.meshgrid(grid.x, grid.y)
    fall = rng.uniform(-0.04, 0.04, 2)
    ground = ground_on(grid, 100.0 + fall[0] * x + fall[1] * y)
    high = limit * reach
    if kind == "cone crest":
        crest = [(float(middle[0]), float(middle[1]), high)]
    elif kind == "central peak":
        crest = [(outline.centroid.x, outline.centroid.y, rng.uniform(0.5, 0.9) * high)]
    else:
        crest = [(p.x, p.y, min(4.0 * high, 5.0)) for p in _inside(outline, 0.5 * reach)]
    # A designer who eases nothing: a toe of no width.
    return site_with(outline, crest, limit, trees, toe=0.0), ground


def _inside(outline: shapely.Polygon, step: float) -> list[shapely.Point]:
    """A lattice of high points all over the bed, so that the limits alone decide the height."""
    west, south, east, north = outline.bounds
    room = outline.buffer(-0.3 * step)
    lattice = [shapely.Point(x, y) for x in np.arange(west, east, step) for y in np.arange(south, north, step)]
    return [point for point in lattice if room.contains(point)]
