"""Soil heaps: off trunks and roots, back from the edge of a dig, and off the lot line."""

from __future__ import annotations

import math
from collections.abc import Iterator

from shapely.geometry import Point, Polygon

from terrain.findings import Finding
from terrain.numerics import polygon_area_in_disc
from terrain.review.model import TreeCheck
from terrain.review.pits import HEAP_BACK, PIT_DEPTH
from terrain.review.tree_verdict import ROUNDING, STRUCTURAL, heap_reach
from terrain.review.words import listed, percent
from terrain.shape import Dig
from terrain.site import Heap, Site
from terrain.units import show_length

ROOTS = "U. Missouri Extension G6885, Preventing construction damage to trees"
PIT = "29 CFR 1926.651(j)(2): 2 ft back from the edge"


def heap_on_roots_findings(site: Site, trees: tuple[TreeCheck, ...]) -> Iterator[Finding]:
    """Heaps on keep-offs and root zones, at most one finding a heap."""
    for heap in site.heap:
        yield from _on_roots(heap, trees)


def heap_place_findings(site: Site, digs: tuple[Dig, ...]) -> Iterator[Finding]:
    """Heaps at the edge of a pit and at the lot line, at most one of each a heap."""
    for heap in site.heap:
        yield from _at_pit(site, digs, heap)
        yield from _at_lot_line(site, heap)


def _on_roots(heap: Heap, trees: tuple[TreeCheck, ...]) -> Iterator[Finding]:
    """A stop inside a keep-off and among the holding roots; a caution on the rest of a root zone."""
    at = _middle(heap.outline)
    areas = _above_nought({tree.name: polygon_area_in_disc(heap.outline, tree.at, tree.keep_off) for tree in trees})
    if areas:
        text = f"{heap.name} stands inside the keep-off of {listed(list(areas))}. Move it away from the trunk."
        yield Finding("stop", "trees", text, max(areas.values()), 0.0, "the site file", at)
        return
    among = [tree for tree in trees if heap.outline.distance(Point(tree.at)) < heap_reach(tree) - ROUNDING]
    if among:
        names, first = listed([tree.name for tree in among]), among[0]
        away = float(heap.outline.distance(Point(first.at)))
        text = f"{heap.name} stands over the roots that hold {names} up. Move it off the root protection zone."
        yield Finding("stop", "trees", text, away, heap_reach(first), STRUCTURAL, at)
        return
    shares = _above_nought({tree.name: _share(heap, tree) for tree in trees})
    if shares:
        most = max(shares.values())
        zones = f"the root protection zone of {listed(list(shares))}"
        text = f"{heap.name} covers {percent(most)} of {zones}. Move it off the roots."
        yield Finding("caution", "trees", text, most, 0.0, ROOTS, at)


def _above_nought(figures: dict[str, float]) -> dict[str, float]:
    return {name: figure for name, figure in figures.items() if figure > 0.0}


def _share(heap: Heap, tree: TreeCheck) -> float:
    """Share of a root zone that lies under a heap."""
    return polygon_area_in_disc(heap.outline, tree.at, tree.root_zone) / (math.pi * tree.root_zone**2)


def _at_pit(site: Site, digs: tuple[Dig, ...], heap: Heap) -> Iterator[Finding]:
    """A heap nearer to the edge of a pit than the rule on excavations allows: its weight may break the edge down."""
    depths = [*(basin.depth for basin in site.basin), *(channel.depth for channel in site.channel)]
    pits = [dig for dig, depth in zip(digs, depths, strict=True) if depth >= PIT_DEPTH]
    if not pits:
        return
    nearest = min(pits, key=lambda pit: float(pit.rim.distance(heap.outline)))
    away = float(nearest.rim.distance(heap.outline))
    if away < HEAP_BACK - 1e-9:
        back = show_length(HEAP_BACK, site.units, "distance")
        text = f"{heap.name} stands {_away(away, site)} the edge of {nearest.name}. Keep it {back} back."
        yield Finding("caution", "safety", text, away, HEAP_BACK, PIT, _middle(heap.outline))


def _at_lot_line(site: Site, heap: Heap) -> Iterator[Finding]:
    """A heap on or hard by the lot line."""
    if site.boundary is None:
        return
    inside = site.boundary.contains(heap.outline)
    away = float(site.boundary.exterior.distance(heap.outline)) if inside else 0.0
    setback = site.local.bound("setback")
    if away < setback.value - 1e-9:
        back = show_length(setback.value, site.units, "distance")
        text = f"{heap.name} stands {_away(away, site)} the lot line. Keep it {back} back; local code decides."
        yield Finding("caution", "safety", text, away, setback.value, setback.source, _middle(heap.outline))


def _away(away: float, site: Site) -> str:
    """ "1 ft from", or "across" where it reaches over."""
    return f"{show_length(away, site.units, 'distance')} from" if away > 0.0 else "across"


def _middle(outline: Polygon) -> tuple[float, float]:
    """A place on the heap."""
    spot = outline.representative_point()
    return float(spot.x), float(spot.y)
