"""What a proposal does to each tree: soil in the keep-off, on the root zone, and how near to the trunk."""

from __future__ import annotations

import math
from itertools import pairwise

from terrain.earthwork.model import Earthwork
from terrain.review.bounds import BOUNDS, Bounds
from terrain.review.disc import (
    Facets,
    cut_facets,
    deepest,
    distance,
    fill_facets,
    held,
    near,
    over,
    polygon_area_in_disc,
)
from terrain.review.model import DepthBand, Ring, TreeCheck
from terrain.review.zones import (
    FOOT,
    anchorage_radius,
    check_rule,
    flare_radius,
    keep_off_radius,
    root_zone_radius,
    structural_root_zone,
)
from terrain.shape.proposal import Proposal
from terrain.site.model import Site, Tree

BAND = 0.10  # metres of depth to a band
RING = {"m": 1.0, "ft": 3.0 * FOOT}  # width of a ring, a round figure in either system


def check_trees(site: Site, proposal: Proposal, work: Earthwork, bounds: Bounds = BOUNDS) -> tuple[TreeCheck, ...]:
    """Check every tree of a site against a proposal, in the order of the site file.

    Sums are taken on the triangles of `proposal.mesh` clipped to the true circles, never on the raster.
    """
    fill, cut = fill_facets(proposal.mesh), cut_facets(proposal.mesh)
    return tuple(_check(site, tree, proposal, (fill, cut), work.day_one_factor, bounds) for tree in site.tree)


def holding_radius(trunk: float) -> float:
    """Radius in metres of the roots that hold the tree up: 3 trunk diameters or the structural root zone."""
    return max(anchorage_radius(trunk), structural_root_zone(trunk))


def _check(
    site: Site,
    tree: Tree,
    proposal: Proposal,
    facets: tuple[Facets, Facets],
    day_one: float,
    bounds: Bounds,
) -> TreeCheck:
    fill, cut = facets
    keep_off = keep_off_radius(tree, site.trees.rule)
    zone = root_zone_radius(site.trees.rule, tree.trunk, tree.dripline)
    fill_here, cut_here = near(fill, tree.at, zone), near(cut, tree.at, zone)
    depth, place = deepest(fill_here, tree.at, zone)
    covered = held(over(fill_here, bounds.trace), tree.at, zone).area
    lowered = held(over(cut_here, bounds.trace), tree.at, zone).area
    stripped = polygon_area_in_disc(proposal.worked, tree.at, zone) if site.bed.sod > 0.0 else 0.0
    whole = math.pi * zone * zone
    return TreeCheck(
        name=tree.name,
        at=tree.at,
        trunk=tree.trunk,
        rule=check_rule(site.trees.rule),
        keep_off=keep_off,
        root_zone=zone,
        holding_roots=holding_radius(tree.trunk),
        fill_in_keep_off=held(fill, tree.at, keep_off).volume,
        cut_in_keep_off=held(cut, tree.at, keep_off).volume,
        deepest_in_keep_off=max(deepest(fill, tree.at, keep_off)[0], deepest(cut, tree.at, keep_off)[0]),
        mulched_in_keep_off=polygon_area_in_disc(proposal.worked, tree.at, keep_off),
        deepest_fill_in_root_zone=depth,
        deepest_at=place,
        deepest_on_day_one=depth * max(1.0, day_one),
        fill_in_root_zone=held(fill_here, tree.at, zone).volume,
        share_of_root_zone_covered=covered / whole,
        share_of_root_zone_disturbed=min((max(covered, stripped) + lowered) / whole, 1.0),
        deepest_cut_in_root_zone=deepest(cut_here, tree.at, zone)[0],
        nearest_fill=distance(over(fill, bounds.trace), tree.at),
        nearest_cut=distance(over(cut, bounds.trace), tree.at),
        rings=_rings(tree, fill_here, zone, RING[site.units], bounds.trace),
        bands=_bands(tree, fill_here, zone, depth, bounds.trace),
    )


def _rings(tree: Tree, fill: Facets, zone: float, width: float, trace: float) -> tuple[Ring, ...]:
    """Soil by distance from the flare outwards; the last ring ends at the edge of the root zone."""
    flare = flare_radius(tree)
    count = max(0, math.ceil((zone - flare) / width - 1e-9))
    edges = [min(flare + width * k, zone) for k in range(count + 1)]
    deep = over(fill, trace)
    covered = [held(deep, tree.at, edge).area for edge in edges]
    volume = [held(fill, tree.at, edge).volume for edge in edges]
    return tuple(
        Ring(
            inner=inner,
            outer=outer,
            area=math.pi * (outer**2 - inner**2),
            covered=max(0.0, covered[k + 1] - covered[k]),
            volume=max(0.0, volume[k + 1] - volume[k]),
            deepest=deepest(fill, tree.at, outer, inner)[0],
        )
        for k, (inner, outer) in enumerate(pairwise(edges))
    )


def _bands(tree: Tree, fill: Facets, zone: float, depth: float, trace: float) -> tuple[DepthBand, ...]:
    """Area of the root zone by depth of soil, in bands of 10 cm from a trace upwards."""
    count = math.ceil(depth / BAND - 1e-9)
    levels = [trace, *(BAND * k for k in range(1, count + 1))]
    deeper = [held(over(fill, level), tree.at, zone).area for level in levels]
    return tuple(
        DepthBand(0.0 if k == 0 else levels[k], levels[k + 1], max(0.0, deeper[k] - deeper[k + 1]))
        for k in range(count)
    )
