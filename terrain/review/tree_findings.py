"""The words about trees: which of a tree's figures somebody must act on, and how loudly.

A stop is kept for what breaks a limit or the tree's hold: soil or a cut in a keep-off, a cut among the
roots that hold the tree up. Soil on the root zone outside the keep-off is a caution at any depth and share,
though published planning figures would forbid more than 2 in, any soil within three diameters, or more than
a quarter of the zone. A berm beside a mature tree is what this
tool is for; those figures differ from source to source (1 in of clay to 8 in), and it is an arborist who
may allow what the site file wishes. So beyond them the words grow strong and ask for that arborist's advice
in writing; they never pass it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from terrain.findings import Finding
from terrain.review.bounds import BOUNDS, Bounds
from terrain.review.model import TreeCheck
from terrain.review.zones import INCH, root_rule
from terrain.site.model import Site, Tree
from terrain.units import Units, show_area, show_length, show_volume

SHARE_MOST = "Minnesota Stormwater Manual citing Johnson 1999: disturb at most 25 % of the roots"
SHARE_TO_ASK = "AS 4970-2009 cl. 3.3.3: more than 10 % of the zone asks for an arborist"
DEPTH = "U. Delaware Extension (Barton, 2008): avoid grade changes over 2 in in the root zone"
CLAY = "U. Maryland Extension, Grade changes: clay over about 1 in"
ANCHORAGE = "Smiley, Root pruning and stability of young willow oak: no trench within 3 trunk diameters"


def tree_findings(site: Site, checks: tuple[TreeCheck, ...], bounds: Bounds = BOUNDS) -> tuple[Finding, ...]:
    """Findings on all trees of a site: at most one a tree and kind, and one on all keep-offs."""
    findings: list[Finding] = []
    for tree, check in zip(site.tree, checks, strict=True):
        findings += _keep_off(site, tree, check, bounds)
        findings += _cut(site.units, check, bounds)
        findings += _root_zone(site, check, bounds)
    return (*findings, *_all_clear(site.units, checks))


def _keep_off(site: Site, tree: Tree, check: TreeCheck, bounds: Bounds) -> Iterator[Finding]:
    """Soil, a cut or mulch inside the keep-off."""
    source = "the site file" if tree.keep_off is not None else root_rule(check.rule).source
    radius = show_length(check.keep_off, site.units, "distance")
    if check.fill_in_keep_off > 0.0 or check.cut_in_keep_off > 0.0:
        moved = check.fill_in_keep_off + check.cut_in_keep_off
        word = "lies" if check.fill_in_keep_off >= check.cut_in_keep_off else "is dug away"
        yield Finding(
            "stop" if check.deepest_in_keep_off > bounds.noise else "caution",
            "trees",
            f"{check.name}: {show_volume(moved, site.units)} of soil {word} inside its keep-off of {radius}. "
            "Draw the work back from the trunk.",
            moved,
            0.0,
            source,
            check.at,
        )
    if check.mulched_in_keep_off > 0.0:
        area = show_area(check.mulched_in_keep_off, site.units)
        yield Finding(
            "caution",
            "trees",
            f"{check.name}: {area} inside its keep-off of {radius} "
            "would be stripped and mulched with the bed. Leave that ground as it is, flare in sight.",
            check.mulched_in_keep_off,
            0.0,
            source,
            check.at,
        )


def _cut(units: Units, check: TreeCheck, bounds: Bounds) -> Iterator[Finding]:
    """Digging in the root zone, outside the keep-off."""
    if check.deepest_cut_in_root_zone <= bounds.noise or check.cut_in_keep_off > 0.0:
        return
    near = f"{show_length(check.nearest_cut, units, 'distance')} from the trunk's centre"
    thick = show_length(3.0 * INCH, units)
    times = f"{check.nearest_cut_in_diameters:.1f} trunk diameters"
    if check.nearest_cut < check.holding_roots:
        yield Finding(
            "stop",
            "trees",
            f"{check.name}: the digging comes to {near}, {times}, among the roots that hold the tree up. "
            "It may fall; do not dig before an arborist has looked at it.",
            check.nearest_cut,
            check.holding_roots,
            ANCHORAGE,
            check.at,
        )
        return
    yield Finding(
        "caution",
        "trees",
        f"{check.name}: the digging meets its root zone {near}, {times}. "
        f"Dig there by hand, cut roots clean, and ask an arborist before cutting any over {thick}.",
        check.nearest_cut,
        check.root_zone,
        "Fite and Smiley, Root pruning technical report",
        check.at,
    )


@dataclass(frozen=True)
class _Grade:
    """The bound that speaks loudest, and what it asks."""

    value: float
    bound: float
    source: str
    ask: str


def _root_zone(site: Site, check: TreeCheck, bounds: Bounds) -> Iterator[Finding]:
    """Soil over the root zone, one finding a tree; or a word that work is near."""
    if check.deepest_on_day_one <= bounds.noise:
        yield from _beside(site.units, check, bounds)
        return
    grade = _grade(site, check, bounds)
    depth = show_length(check.deepest_fill_in_root_zone, site.units)
    share = _percent(check.share_of_root_zone_covered)
    nearness = ""
    if check.nearest_fill < check.holding_roots:
        nearness = f" and comes within {check.nearest_fill_in_diameters:.1f} trunk diameters of its centre"
    yield Finding(
        "caution",
        "trees",
        f"{check.name}: soil up to {depth} deep covers {share} of its root zone{nearness}. {grade.ask}",
        grade.value,
        grade.bound,
        grade.source,
        check.deepest_at,
    )


def _grade(site: Site, check: TreeCheck, bounds: Bounds) -> _Grade:
    """Share over a quarter, depth over the bound, share over a tenth, or none of them."""
    clay = "clay" in site.soil.kind.lower()
    most, source = (bounds.clay_over_roots, CLAY) if clay else (bounds.fill_over_roots, DEPTH)
    share, depth = check.share_of_root_zone_disturbed, check.deepest_on_day_one
    written = "Get an arborist's written advice before any soil arrives; harm may show only years later."
    if share > bounds.share_most:
        ask = f"That disturbs more than {_percent(bounds.share_most)} of it: make the bed smaller, "
        return _Grade(share, bounds.share_most, SHARE_MOST, ask + "or get an arborist's written advice first.")
    if depth > most:
        return _Grade(depth, most, source, written)
    ask = "Ask an arborist before soil arrives; thin soil over roots can harm too."
    if share > bounds.share_to_ask:
        return _Grade(share, bounds.share_to_ask, SHARE_TO_ASK, ask)
    return _Grade(depth, most, source, ask)


def _beside(units: Units, check: TreeCheck, bounds: Bounds) -> Iterator[Finding]:
    """A note where work ends just outside the circle, or no more than touches it: roots do not end there."""
    nearest = min(check.nearest_fill, check.nearest_cut)
    if nearest > check.root_zone + bounds.beside_zone or check.deepest_cut_in_root_zone > bounds.noise:
        return
    away = show_length(max(nearest - check.root_zone, 0.0), units, "distance")
    place = f"ends {away} outside" if nearest > check.root_zone else "just reaches"
    yield Finding(
        "note",
        "trees",
        f"{check.name}: the work {place} its root zone. Roots often run past that circle.",
        nearest,
        check.root_zone,
        root_rule(check.rule).source,
        check.at,
    )


def _all_clear(units: Units, checks: tuple[TreeCheck, ...]) -> Iterator[Finding]:
    """One note that every keep-off is free of soil and mulch, and how near the nearest soil comes."""
    clear = all(
        check.fill_in_keep_off == 0.0 and check.cut_in_keep_off == 0.0 and check.mulched_in_keep_off == 0.0
        for check in checks
    )
    if not checks or not clear:
        return
    nearest = min(checks, key=lambda check: check.nearest_fill)
    if not math.isfinite(nearest.nearest_fill):
        return
    away = show_length(nearest.nearest_fill, units, "distance")
    yield Finding(
        "note",
        "trees",
        f"No soil and no mulch lies inside any keep-off. The nearest soil is {away} from the centre of {nearest.name}.",
        0.0,
        0.0,
        "the site file; measured on the mesh, not on the grid",
        nearest.at,
    )


def _percent(share: float) -> str:
    """A share in whole per cent; little never reads as none."""
    return f"{100 * share:.0f} %" if share >= 0.01 else "less than 1 %"
