"""What a proposal does to each tree: soil in the keep-off, on the root zone, and how near to the trunk."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from shapely.geometry import LineString, MultiPolygon, Point, Polygon

from terrain.grid import Array
from terrain.limits import FOOT, INCH, NOISE, TRACE
from terrain.numerics import (
    DepthFacets,
    FacetsAround,
    cut_facets,
    deeper_than,
    facets_around,
    fill_facets,
    nearest_facet,
    polygon_area_in_disc,
)
from terrain.review.model import DepthBand, Ring, RootsMet, TreeCheck, TreeSoil
from terrain.review.trenches import Trench, trenches_of
from terrain.shape import Proposal, retained_edges
from terrain.site import (
    Channel,
    Site,
    Stream,
    Tree,
    anchorage_radius,
    basin_outline,
    check_rule,
    flare_radius,
    keep_off_radius,
    root_zone_radius,
    structural_root_zone,
)
from terrain.soil import Earthwork

BAND = {"m": 0.10, "ft": 4.0 * INCH}  # depth to a band, a round figure in either system
RING = {"m": 1.0, "ft": 3.0 * FOOT}  # width of a ring, likewise


@dataclass(frozen=True)
class _Work:
    """The soil laid and taken by a proposal, whole and above a trace, and the ground beside the bed that heaps take."""

    fill: DepthFacets
    cut: DepthFacets
    laid: DepthFacets
    taken: DepthFacets
    digs: tuple[tuple[str, DepthFacets], ...]
    trenches: tuple[Trench, ...]
    heaps: Polygon | MultiPolygon
    heaps_beside: Polygon | MultiPolygon
    stones: Polygon | MultiPolygon
    day_one: float


@dataclass(frozen=True)
class _Around:
    """The soil about one tree, as far out as anything is asked of it."""

    fill: FacetsAround
    cut: FacetsAround


def check_trees(site: Site, proposal: Proposal, work: Earthwork) -> tuple[TreeCheck, ...]:
    """Check every tree of a site against a proposal, in the order of the site file.

    Sums are taken on the triangles of `proposal.mesh` clipped to the true circles, never on the raster.
    """
    if not site.tree:
        return ()
    fill, cut = fill_facets(proposal.mesh), cut_facets(proposal.mesh)
    laid, taken = deeper_than(fill, TRACE.value), deeper_than(cut, TRACE.value)
    heaps = shapely.union_all([heap.outline for heap in site.heap])
    beside = shapely.difference(heaps, proposal.worked)
    stones = shapely.difference(shapely.union_all([edge.stones for edge in retained_edges(site)]), proposal.worked)
    digs, trenches = named_digs(site, taken), trenches_of(site, proposal)
    done = _Work(fill, cut, laid, taken, digs, trenches, heaps, beside, stones, work.day_one_factor)
    return tuple(_check(site, tree, proposal, done) for tree in site.tree)


def soil_on_trees(site: Site, proposal: Proposal) -> tuple[TreeSoil, ...]:
    """The soil that a proposal lays on every tree's ground, in the order of the site file."""
    if not site.tree:
        return ()
    fill = fill_facets(proposal.mesh)
    return tuple(_soil_on(site, tree, facets_around(fill, tree.at, _reach(site, tree))) for tree in site.tree)


def _reach(site: Site, tree: Tree) -> float:
    """How far out anything is asked of the soil about a tree, metres."""
    zone = root_zone_radius(site.trees.rule, tree.trunk, tree.dripline)
    return max(zone, keep_off_radius(tree, site.trees.rule), tree.dripline or 0.0)


def _soil_on(site: Site, tree: Tree, fill: FacetsAround) -> TreeSoil:
    keep_off = keep_off_radius(tree, site.trees.rule)
    zone = root_zone_radius(site.trees.rule, tree.trunk, tree.dripline)
    depth, place = fill.deepest(zone)
    return TreeSoil(
        name=tree.name,
        keep_off=keep_off,
        root_zone=zone,
        fill_in_keep_off=fill.content(keep_off).volume,
        deepest_fill_in_root_zone=depth,
        deepest_at=place,
        covered=float(fill.contents([zone], TRACE.value)[0, 0]),
    )


def holding_radius(trunk: float) -> float:
    """Radius in metres of the roots that hold the tree up: 3 trunk diameters or the structural root zone."""
    return max(anchorage_radius(trunk), structural_root_zone(trunk))


def named_digs(site: Site, taken: DepthFacets) -> tuple[tuple[str, DepthFacets], ...]:
    """The ground that is lowered, by the basin, channel or stream that lies nearest to each facet."""
    digs: list[tuple[str, Polygon]] = []
    digs += [(basin.name, unit) for basin in site.basin if (unit := basin_outline(basin)) is not None]
    lines: tuple[Channel | Stream, ...] = (*site.channel, *site.stream)
    digs += [(line.name, LineString(line.line).buffer(line.width / 2.0)) for line in lines]
    if not digs or not len(taken):
        return ()
    middles = shapely.points(taken.corners.mean(axis=1))
    owner = np.argmin([shapely.distance(unit, middles) for _, unit in digs], axis=0)
    parts = [(name, owner == k) for k, (name, _) in enumerate(digs)]
    return tuple((name, DepthFacets(taken.corners[own], taken.depth[own])) for name, own in parts if own.any())


def _check(site: Site, tree: Tree, proposal: Proposal, done: _Work) -> TreeCheck:
    reach = _reach(site, tree)
    here = _Around(*(facets_around(facets, tree.at, reach) for facets in (done.fill, done.cut)))
    soil = _soil_on(site, tree, here.fill)
    keep_off, zone, depth = soil.keep_off, soil.root_zone, soil.deepest_fill_in_root_zone
    lowered = float(here.cut.contents([zone], TRACE.value)[0, 0])
    strip = site.bed.sod + site.bed.topsoil
    layered = strip + site.bed.mulch
    stripped = polygon_area_in_disc(proposal.worked, tree.at, zone) if strip > 0.0 else 0.0
    heaped = polygon_area_in_disc(done.heaps_beside, tree.at, zone)
    stones = polygon_area_in_disc(done.stones, tree.at, zone)
    whole, covered = math.pi * zone * zone, soil.covered
    nearest_fill, nearest_fill_at = nearest_facet(done.laid, tree.at)
    met, (nearest_cut, nearest_cut_at) = _digs_met(done, tree, zone), _nearest_dig(done, tree)
    deepest_cut = here.cut.deepest(zone)[0]
    levels = _levels(depth, BAND[site.units], TRACE.value)
    edges = _edges(tree, zone, RING[site.units])
    # Whole first, then what is deeper than each level, by circle.
    inside = here.fill.contents_deeper([*edges, zone], [-math.inf, *levels])
    return TreeCheck(
        name=tree.name,
        at=tree.at,
        trunk=tree.trunk,
        rule=check_rule(site.trees.rule),
        flare=flare_radius(tree),
        keep_off=keep_off,
        root_zone=zone,
        structural=structural_root_zone(tree.trunk),
        holding_roots=holding_radius(tree.trunk),
        dripline=tree.dripline,
        fill_in_keep_off=soil.fill_in_keep_off,
        cut_in_keep_off=here.cut.content(keep_off).volume,
        deepest_in_keep_off=max(here.fill.deepest(keep_off)[0], here.cut.deepest(keep_off)[0]),
        mulched_in_keep_off=polygon_area_in_disc(proposal.worked, tree.at, keep_off) if layered > 0.0 else 0.0,
        heaped_in_keep_off=polygon_area_in_disc(done.heaps, tree.at, keep_off),
        stones_in_keep_off=polygon_area_in_disc(done.stones, tree.at, keep_off),
        deepest_fill_in_root_zone=depth,
        deepest_at=soil.deepest_at,
        deepest_on_day_one=depth * max(1.0, done.day_one),
        fill_in_root_zone=float(inside[0, 1, -1]),
        share_of_root_zone_covered=covered / whole,
        share_of_root_zone_stripped=stripped / whole,
        share_of_root_zone_dug=lowered / whole,
        share_of_root_zone_heaped=heaped / whole,
        share_of_root_zone_stones=stones / whole,
        share_of_root_zone_disturbed=min((max(covered, stripped) + lowered + heaped + stones) / whole, 1.0),
        changed_in_dripline=_changed_past(zone, tree, here),
        deepest_cut_in_root_zone=max([deepest_cut, *(dig.depth for dig in met)]),
        nearest_fill=nearest_fill,
        nearest_cut=nearest_cut,
        nearest_stripped=_to(proposal.worked, tree) if strip > NOISE.value else math.inf,
        nearest_heap=_to(done.heaps, tree),
        nearest_fill_at=nearest_fill_at,
        nearest_cut_at=nearest_cut_at,
        digs=met,
        rings=_rings(edges, here.fill, inside, levels),
        bands=_bands(inside[1:, 0, -1].tolist(), levels),
        allowed=tree.allowed,
        flare_assumed=tree.flare_assumed,
        kind=tree.species or tree.name,
    )


def _changed_past(zone: float, tree: Tree, here: _Around) -> float:
    """Ground between the root zone and the dripline that is raised or lowered, m2."""
    if tree.dripline is None or tree.dripline <= zone:
        return 0.0
    narrow, wide = sum(part.contents([zone, tree.dripline], TRACE.value)[0] for part in (here.fill, here.cut))
    return max(0.0, float(wide - narrow))


def _to(ground: Polygon | MultiPolygon, tree: Tree) -> float:
    """Distance in metres from the trunk's centre to some ground; infinite where there is none."""
    return math.inf if ground.is_empty else float(ground.distance(Point(tree.at)))


def _digs_met(done: _Work, tree: Tree, zone: float) -> tuple[RootsMet, ...]:
    """Every dig that comes into a root zone, the nearest first."""
    met = [RootsMet(name, nearest_facet(facets, tree.at)[0], float(facets.depth.max())) for name, facets in done.digs]
    met += [RootsMet(trench.name, _to(trench.outline, tree), trench.depth) for trench in done.trenches]
    return tuple(sorted((dig for dig in met if dig.distance < zone), key=lambda dig: dig.distance))


def _nearest_dig(done: _Work, tree: Tree) -> tuple[float, tuple[float, float] | None]:
    """Distance from the trunk's centre to the nearest ground that is dug, metres, and the place."""
    found = [nearest_facet(done.taken, tree.at)]
    for trench in done.trenches:
        if not trench.outline.is_empty:
            x, y = shapely.get_coordinates(shapely.shortest_line(Point(tree.at), trench.outline))[-1]
            found.append((_to(trench.outline, tree), (float(x), float(y))))
    return min(found, key=lambda one: one[0])


def _edges(tree: Tree, zone: float, width: float) -> list[float]:
    """Radii between the rings about a tree, metres, from the flare outwards to the edge of the root zone."""
    flare = flare_radius(tree)
    count = max(0, math.ceil((zone - flare) / width - 1e-9))
    return [min(flare + width * k, zone) for k in range(count + 1)]


def _rings(edges: Sequence[float], fill: FacetsAround, inside: Array, levels: Sequence[float]) -> tuple[Ring, ...]:
    """Soil by distance between circles; `inside` (1 + levels, 2, circles) is what the circles hold, whole and deeper
    than each level.
    """
    deepest = fill.deepest_in_rings(edges)
    between = np.maximum(np.diff(inside, axis=2), 0.0)
    rings = []
    for k, (inner, outer) in enumerate(pairwise(edges)):
        areas = between[1:, 0, k].tolist()
        rings.append(
            Ring(
                inner=inner,
                outer=outer,
                area=math.pi * (outer**2 - inner**2),
                covered=areas[0],
                volume=float(between[0, 1, k]),
                deepest=float(deepest[k]),
                bands=_bands(areas, levels),
            )
        )
    return tuple(rings)


def _levels(depth: float, band: float, trace: float) -> list[float]:
    """Depths between bands up to a depth, from a trace upwards; metres."""
    count = math.ceil(depth / band - 1e-9)
    return [trace, *(band * k for k in range(1, count + 1))]


def _bands(deeper: Sequence[float], levels: Sequence[float]) -> tuple[DepthBand, ...]:
    """Area in each band, from the area that is deeper than each level."""
    return tuple(
        DepthBand(0.0 if k == 0 else levels[k], levels[k + 1], max(0.0, deeper[k] - deeper[k + 1]))
        for k in range(len(levels) - 1)
    )
