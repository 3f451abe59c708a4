"""The words about trees: which of a tree's figures somebody must act on, and how loudly.

A stop is kept for what breaks a limit or the tree's hold: soil, a heap or a cut in a keep-off; soil, a heap, a dig or
stripping among the roots that hold the tree up; more than a quarter of the zone filled, dug or stripped together; work
beside the flare; and work past what the site file says an arborist has allowed (`terrain.review.tree_verdict`). Less is
a caution at any depth: published figures differ from source to source (1 in of clay to 8 in), and it is an arborist who
may allow what the site file wishes. So beyond them the words grow strong and ask for that arborist's advice in writing;
they never pass it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from terrain.findings import Finding, Level
from terrain.limits import (
    ANCHORAGE,
    BESIDE_ZONE,
    CLAY_OVER_ROOTS,
    FILL_OVER_ROOTS,
    INCH,
    NOISE,
    PRACTICE,
    SHARE_TO_ASK,
)
from terrain.review.model import TreeCheck
from terrain.review.species import SOURCE, kind_of
from terrain.review.tree_verdict import (
    ALLOWED,
    ROUNDING,
    STRUCTURAL,
    allowed_words,
    breaches,
    dig_allowed,
)
from terrain.review.words import listed, percent
from terrain.site import Site, Tree, root_rule
from terrain.units import Units, show_area, show_length, show_volume

DRIPLINE = "GSA Facilities Standards P100 (2003) sec. 2.5: grade inside the dripline"
LEVELS = ("stop", "caution", "note")
MOST_TREES = 3  # trees of a kind of finding that are told one by one


Trees = tuple[TreeCheck, ...]


def keep_off_findings(site: Site, checks: Trees) -> Iterator[Finding]:
    """Soil, cuts and mulch in the keep-offs, a tree at a time; one note where all of them are free of it."""
    for tree, check in zip(site.tree, checks, strict=True):
        yield from _keep_off(site, tree, check)
    yield from _all_clear(site.units, checks)


def dig_findings(site: Site, checks: Trees) -> Iterator[Finding]:
    """Digging in the root zones, at most one a tree."""
    for check in checks:
        yield from _cut(site.units, check)


def root_zone_findings(site: Site, checks: Trees) -> Iterator[Finding]:
    """Soil over the root zones: the worst few trees one by one, the others in one."""
    yield from _fewer(site.units, [(check, found) for check in checks for found in _root_zone(site, check)])


def beside_findings(site: Site, checks: Trees) -> Iterator[Finding]:
    """Work that ends hard by a root zone; the first few trees."""
    yield from [found for check in checks for found in _beside(site.units, check)][:MOST_TREES]


def _keep_off(site: Site, tree: Tree, check: TreeCheck) -> Iterator[Finding]:
    """Soil, a cut or mulch inside the keep-off."""
    source = "the site file" if tree.keep_off is not None else root_rule(check.rule).source
    radius = show_length(check.keep_off, site.units, "distance")
    if check.fill_in_keep_off > 0.0 or check.cut_in_keep_off > 0.0:
        moved = check.fill_in_keep_off + check.cut_in_keep_off
        word = "lies" if check.fill_in_keep_off >= check.cut_in_keep_off else "is dug away"
        yield Finding(
            "stop" if check.deepest_in_keep_off > NOISE.value else "caution",
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


def _cut(units: Units, check: TreeCheck) -> Iterator[Finding]:
    """Digging in the root zone, outside the keep-off, by the name of what is dug."""
    if check.deepest_cut_in_root_zone <= NOISE.value or check.nearest_cut < check.keep_off - ROUNDING:
        return
    near = f"{show_length(check.nearest_cut, units, 'distance')} from the trunk's centre"
    thick = show_length(3.0 * INCH, units)
    times = f"{check.nearest_cut_in_diameters:.1f} trunk diameters"
    names = [dig.name for dig in check.digs]
    dig = listed(names) if names else "the digging"
    comes, meets = ("come", "meet") if len(names) > 1 else ("comes", "meets")
    if check.nearest_cut < check.holding_roots:
        level, ask = _dig_leave(units, check)
        yield Finding(
            level,
            "trees",
            f"{check.name}: {dig} {comes} to {near}, {times}, among the roots that hold the tree up. {ask}",
            check.nearest_cut,
            check.holding_roots,
            ANCHORAGE.source if check.nearest_cut_in_diameters < ANCHORAGE.value else STRUCTURAL,
            check.nearest_cut_at,
        )
        return
    yield Finding(
        "caution",
        "trees",
        f"{check.name}: {dig} {meets} its root protection zone {near}, {times}. "
        f"Dig there by hand, cut roots clean, and ask an arborist before cutting any over {thick}.",
        check.nearest_cut,
        check.root_zone,
        "Fite and Smiley, Root pruning technical report",
        check.nearest_cut_at,
    )


def _dig_leave(units: Units, check: TreeCheck) -> tuple[Level, str]:
    """How grave digging among the holding roots is, and what is asked, by whether a named person has allowed it."""
    if check.allowed is None or not dig_allowed(check):
        return "stop", "It may fall; do not dig before an arborist has looked at it."
    return "caution", f"Allowed: {allowed_words(check.allowed, units)}. Dig by hand, with the arborist there."


@dataclass(frozen=True)
class _Grade:
    """The bound that speaks loudest, and what it asks."""

    level: Level
    value: float
    bound: float | None
    source: str
    ask: str


def _root_zone(site: Site, check: TreeCheck) -> Iterator[Finding]:
    """Soil over the root zone, and work past its bounds without any; one finding a tree."""
    broken = _broken(check, site.units)
    if check.deepest_on_day_one <= NOISE.value and broken is None:
        return
    grade = broken or _grade(site, check)
    text = f"{check.name}: {_covered(check, site.units)}. {grade.ask}"
    yield Finding(grade.level, "trees", text, grade.value, grade.bound, grade.source, check.deepest_at or check.at)


def _covered(check: TreeCheck, units: Units) -> str:
    """ "soil up to 20 in deep covers 22 % of its root zone"."""
    if check.deepest_on_day_one <= NOISE.value:
        disturbed = percent(check.share_of_root_zone_disturbed)
        nearest = min(check.nearest_fill, check.nearest_stripped, check.nearest_heap, check.nearest_cut)
        away = f"{nearest / check.trunk:.1f} trunk diameters of its centre"
        return f"stripping, digging and heaps take {disturbed} of its root protection zone and come within {away}"
    depth, share = show_length(check.deepest_fill_in_root_zone, units), percent(check.share_of_root_zone_covered)
    return f"soil up to {depth} deep covers {share} of its root protection zone"


def _broken(check: TreeCheck, units: Units) -> _Grade | None:
    """The loudest bound on the zone that the work is past, as a stop that says what every one of them asks."""
    past = [one for one in breaches(check, units) if one.kind != "heap"]  # a heap is told by its name
    if not past:
        return None
    # Who mends one alone would meet the next in the next run; work on the flare goes first, and nothing allows it.
    told = past[:1] if past[0].kind == "flare" else past
    why = " and ".join(dict.fromkeys(one.why for one in told))
    mend = list(dict.fromkeys(one.mend for one in told))
    mend += [] if past[0].kind == "flare" else ["state what an arborist has allowed"]
    asked = f"{why[0].upper()}{why[1:]}: {', or '.join(filter(None, (', '.join(mend[:-1]), mend[-1])))}."
    return _Grade("stop", past[0].value, past[0].bound, past[0].source, asked)


def _grade(site: Site, check: TreeCheck) -> _Grade:
    """Depth over the bound, soil over the holding roots, share over a tenth, or none of them.

    What an arborist has allowed takes the place of the published bound on depth or on share.
    """
    most = CLAY_OVER_ROOTS if "clay" in site.soil.kind.lower() else FILL_OVER_ROOTS
    share, depth, allowed = check.share_of_root_zone_disturbed, check.deepest_on_day_one, check.allowed
    ask_depth = allowed is None or allowed.fill is None
    written = "Get an arborist's written advice before any soil arrives; harm may show only years later."
    if ask_depth and depth > most.value:
        return _Grade("caution", depth, most.value, most.source, written)
    if (allowed is None or allowed.share is None) and share > SHARE_TO_ASK.value:
        ask = f"With stripped and dug ground that is {percent(share)}: ask an arborist before soil arrives."
        return _Grade("caution", share, SHARE_TO_ASK.value, SHARE_TO_ASK.source, ask)
    if allowed is not None:
        words = f"Allowed: {allowed_words(allowed, site.units)}. Keep the signed sheet on site."
        return _Grade("caution", depth, allowed.fill, ALLOWED, words)
    thin = "Ask an arborist before soil arrives; thin soil over roots can harm too."
    return _Grade("caution", depth, most.value, most.source, thin)


def _fewer(units: Units, soil: list[tuple[TreeCheck, Finding]]) -> Iterator[Finding]:
    """Stops and the worst few trees one by one; the others in one finding."""
    ranked = sorted(soil, key=lambda one: (one[1].level != "stop", -one[0].share_of_root_zone_covered))
    told = [found for _, found in ranked]
    alone = max(MOST_TREES, sum(found.level == "stop" for found in told))
    if len(told) <= alone + 1:
        yield from told
        return
    yield from told[:alone]
    rest = ranked[alone:]
    deepest = max(check.deepest_fill_in_root_zone for check, _ in rest)
    depth, names = show_length(deepest, units), listed([check.name for check, _ in rest])
    text = f"Soil up to {depth} deep also lies over the root protection zones of {names}. Ask an arborist about each."
    first, loudest = rest[0][0], min((found for _, found in rest), key=lambda one: LEVELS.index(one.level))
    yield Finding(loudest.level, "trees", text, deepest, loudest.bound, loudest.source, first.deepest_at)


def crown_findings(site: Site, checks: Trees) -> Iterator[Finding]:
    """Grade that changes under a crown that reaches past the root zone: one finding for all trees."""
    under = [check for check in checks if check.changed_in_dripline > 0.0]
    if not under:
        return
    worst = max(under, key=lambda check: check.changed_in_dripline)
    area = show_area(worst.changed_in_dripline, site.units)
    text = (
        f"The crown of {listed([check.name for check in under])} reaches past the root protection zone, and the grade "
        f"changes on {area} there. Ask the arborist whether the zone should follow the crown."
    )
    yield Finding("caution", "trees", text, worst.changed_in_dripline, 0.0, DRIPLINE, worst.at)


def _beside(units: Units, check: TreeCheck) -> Iterator[Finding]:
    """A note where work ends just outside the circle, or no more than touches it: roots do not end there."""
    nearest = min(check.nearest_fill, check.nearest_cut)
    if check.deepest_on_day_one > NOISE.value or check.deepest_cut_in_root_zone > NOISE.value:
        return
    if nearest > check.root_zone + BESIDE_ZONE.value:
        return
    away = show_length(max(nearest - check.root_zone, 0.0), units, "distance")
    place = f"ends {away} outside" if nearest > check.root_zone else "just reaches"
    yield Finding(
        "note",
        "trees",
        f"{check.name}: the work {place} its root protection zone. Roots often run past that circle.",
        nearest,
        check.root_zone,
        root_rule(check.rule).source,
        check.at,
    )


def kind_findings(site: Site, checks: Trees) -> Iterator[Finding]:
    """How the kinds of the trees under soil take it, by one list, or that the list is silent; one for all trees."""
    by_harm: dict[str, list[str]] = {}
    for check in checks:
        if check.deepest_on_day_one > NOISE.value:
            by_harm.setdefault(kind_of(check.kind).harmed, []).append(check.name)
    silent = by_harm.pop("", [])
    told = [f"{listed(by_harm[harmed])} {harmed}" for harmed in ("most", "moderately", "least") if harmed in by_harm]
    known = [f"By one list raised grade harms {', '.join(told)}."] if told else []
    unknown = [f"How raised grade harms {listed(silent)} is not known here."] if silent else []
    if known or unknown:
        yield Finding("note", "trees", " ".join(known + unknown), source=SOURCE)


def flare_findings(site: Site, checks: Trees) -> Iterator[Finding]:
    """Flares that nobody measured: every distance from the flare rests on a figure put in their place."""
    assumed = [check for check in checks if check.flare_assumed]
    if not assumed:
        return
    radii = listed([show_length(check.flare, site.units, "distance") for check in assumed])
    text = (
        f"Nobody measured the root flare of {listed([check.name for check in assumed])}; {radii} from the centre is "
        "a guess. Measure it at the ground before any soil arrives."
    )
    yield Finding("caution", "trees", text, assumed[0].flare, None, PRACTICE, assumed[0].at)


def _all_clear(units: Units, checks: tuple[TreeCheck, ...]) -> Iterator[Finding]:
    """One note that every keep-off is free of soil, heaps and mulch, and how near the nearest soil comes."""
    if not checks or not all(check.untouched for check in checks):
        return
    nearest = min(checks, key=lambda check: check.nearest_fill)
    if not math.isfinite(nearest.nearest_fill):
        return
    away = show_length(nearest.nearest_fill, units, "distance")
    yield Finding(
        "note",
        "trees",
        "No soil, no heap and no mulch lies inside any keep-off. "
        f"The nearest soil is {away} from the centre of {nearest.name}.",
        0.0,
        0.0,
        "the site file; measured on the mesh, not on the grid",
        nearest.nearest_fill_at,
    )
