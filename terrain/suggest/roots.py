"""The bed drawn back from the tree: the part of it that stays clear of the nearer half of the root zone."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

import numpy as np
import shapely
import shapely.affinity
from shapely.geometry import Point, Polygon, box

from terrain.grid import Array, Grid
from terrain.limits import TRACE
from terrain.site import Site, Tree, keep_off_radius, root_zone_radius

# Share of the root zone's ground under the drawn form that stays in the bed, a little under one half; our own choice.
LEFT = 0.52
LEAST_BED = 0.25  # share of the bed that must be left for a mound
SIDES = 12  # sides from which the bed is cut straight across
ROUNDED, SIMPLE = 0.12, 0.01  # rounding of the new corners and step of the new line, shares of the root of the area
HALVINGS = 16
CUTS = 3  # ways to draw the bed back that are tried


def nearest_tree(site: Site) -> Tree | None:
    """The tree on whose root zone most of the bed lies; None where it lies on none."""
    bed = site.bed.outline
    shares = [(float(_zone(site, tree).intersection(bed).area), tree) for tree in site.tree]
    area, tree = max(shares, key=lambda one: one[0], default=(0.0, None))
    return tree if area > 0.0 else None


def covered(site: Site, grid: Grid, fill: Array) -> float:
    """Ground of the nearest tree's root zone that (ny, nx) fill lies on, m2; 0.0 where the bed lies on none."""
    tree = nearest_tree(site)
    if tree is None:
        return 0.0
    x, y = grid.nodes[(fill > TRACE.value).ravel()].T
    near = np.hypot(x - tree.at[0], y - tree.at[1]) <= root_zone_radius(site.trees.rule, tree.trunk, tree.dripline)
    return float(near.sum()) * grid.cell**2


def clear_of_roots(site: Site, drawn: float) -> list[Site]:
    """The site with its bed drawn back from half of the root zone that the drawn form covers, `drawn` m2 of it.

    The bed is cut by a circle about the tree, or straight across from any of a few sides; of the cuts that leave as
    much of the zone in the bed, the few with most room for a mound are answered, the roomiest first. None without a
    tree, or where too little of the bed is left.
    """
    tree = nearest_tree(site)
    if tree is None:
        return []
    bed, zone = site.bed.outline, _zone(site, tree)
    free = bed.difference(Point(tree.at).buffer(keep_off_radius(tree, site.trees.rule), quad_segs=32))
    wanted = LEFT * min(drawn, float(free.intersection(zone).area))
    cuts = [_halved(cut, free, zone, wanted) for cut in _cuts(tree, free)]
    parts = [part for part in (_rounded(cut, bed) for cut in cuts) if part is not None]
    wide = [part for part in parts if part.area >= LEAST_BED * bed.area]
    wide.sort(key=lambda part: -float(shapely.maximum_inscribed_circle(part).length))
    return [replace(site, bed=replace(site.bed, outline=part)) for part in wide[:CUTS]]


Cut = Callable[[float], shapely.Geometry]


def _cuts(tree: Tree, bed: shapely.Geometry) -> Iterator[Cut]:
    """Ways to take ever more from a bed: each gives what is taken at a share from 0 to 1."""
    reach = float(shapely.hausdorff_distance(Point(tree.at), bed))
    yield lambda share: Point(tree.at).buffer(share * reach, quad_segs=32)
    x, y = bed.centroid.x, bed.centroid.y
    long = 2.0 * float(np.hypot(*np.ptp(np.reshape(bed.bounds, (2, 2)), axis=0)))
    for way in np.linspace(0.0, 2.0 * np.pi, SIDES + 1)[:-1]:
        yield lambda share, way=way: shapely.affinity.rotate(  # type: ignore[misc]
            box(x - long, y - long, x + (share - 0.5) * long, y + long), way, origin=(x, y), use_radians=True
        )


def _halved(cut: Cut, bed: shapely.Geometry, zone: Polygon, wanted: float) -> shapely.Geometry:
    """The bed less the least cut that leaves no more than the wanted area of the zone in it."""
    low, high = 0.0, 1.0
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        left = bed.difference(cut(middle)).intersection(zone).area
        low, high = (middle, high) if left > wanted else (low, middle)
    return bed.difference(cut(high))


def _zone(site: Site, tree: Tree) -> Polygon:
    return Point(tree.at).buffer(root_zone_radius(site.trees.rule, tree.trunk, tree.dripline), quad_segs=32)


def _rounded(part: shapely.Geometry, bed: Polygon) -> Polygon | None:
    """The largest piece without thin horns, inside the bed."""
    size = bed.area**0.5
    open_part = part.buffer(-ROUNDED * size).buffer(ROUNDED * size).simplify(SIMPLE * size).intersection(bed)
    pieces = [piece for piece in shapely.get_parts(open_part) if isinstance(piece, Polygon) and piece.area > 0.0]
    if not pieces:
        return None
    largest = max(pieces, key=lambda piece: piece.area)
    return Polygon(largest.exterior)
