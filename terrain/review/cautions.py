"""Cautions tied to the design: each once, where it applies, with who decides."""

from __future__ import annotations

from collections.abc import Iterator

from terrain.findings import Finding
from terrain.ground import Ground
from terrain.limits import (
    BENCH_HEIGHT,
    BENCH_SLOPE,
    EROSION_SLOPE,
    INCH,
    STORM_WATER,
)
from terrain.review.model import TreeCheck
from terrain.review.setbacks import toe_setback
from terrain.review.slopes import area_steeper
from terrain.review.walks import walk_slopes
from terrain.review.words import listed
from terrain.shape import Proposal
from terrain.site import Site
from terrain.soil import Earthwork, Order, walls
from terrain.units import Units, show_area, show_length

# U. Missouri Extension G6885: 6 to 12 in; round figures in either system.
CHIPS: dict[Units, tuple[float, float]] = {"ft": (6.0 * INCH, 12.0 * INCH), "m": (0.15, 0.30)}


def service_findings() -> Iterator[Finding]:
    """Stripping sod and setting stakes is digging too, so this one always applies."""
    yield Finding(
        "caution",
        "safety",
        "Before any digging, have buried lines located: 811 in the United States, the local service elsewhere. "
        "Private lines, old tanks and slabs are not marked: ask the owner, dig by hand near marks, and load no tank or "
        "drain field.",
        source="29 CFR 1926.651(b); for tanks common practice, no published source",
    )


def machine_findings(site: Site, trees: tuple[TreeCheck, ...]) -> Iterator[Finding]:
    """Machines and heaps do the harm that the finished shape does not show."""
    reached = [tree.name for tree in trees if tree.share_of_root_zone_disturbed > 0.0]
    if not reached:
        return
    by_hand = "; strip the sod there by hand" if site.bed.sod > 0.0 else ""
    chips = " to ".join(show_length(depth, site.units) for depth in CHIPS[site.units])
    yield Finding(
        "caution",
        "trees",
        f"Keep machines, soil heaps and barrow runs off the root protection zone of {listed(reached)}; fence it first. "
        f"Where a run must cross, ask the arborist and lay {chips} of wood chips{by_hand}.",
        source="U. Missouri Extension G6885, Preventing construction damage to trees",
    )


def overhead_findings(site: Site, order: Order) -> Iterator[Finding]:
    """A truck tips with its bed in the air, and a machine lifts stones with its arm there."""
    bagged = site.soil.bag is not None and site.soil.truck is None
    tips = order.quantity > 0.0 and not bagged
    lifts = any(wall.machine_lift for wall in walls(site))
    what = [words for words, applies in (("a truck tips", tips), ("a machine lifts", lifts)) if applies]
    if not what:
        return
    line = site.local.bound("overhead_line")
    away = show_length(line.value, site.units, "distance")
    yield Finding(
        "caution",
        "safety",
        f"Look up before {' or '.join(what)}: keep at least {away} from any overhead line, more at high voltage. "
        "Take every line for live; its owner decides.",
        None,
        line.value,
        line.source,
    )


def dust_findings(site: Site, ground: Ground, proposal: Proposal) -> Iterator[Finding]:
    """Stone is cut to fit an edge, and paving where the mound crosses it."""
    paved = any(walk.paved and walk_slopes(walk, ground, proposal) is not None for walk in site.walk)
    if not (site.retained_edge or paved):
        return
    yield Finding(
        "caution",
        "safety",
        "Cut stone or concrete wet, or with a vacuum at the blade: its dust harms the lungs. The employer answers "
        "for it.",
        source="29 CFR 1926.1153",
    )


def erosion_findings(site: Site, proposal: Proposal) -> Iterator[Finding]:
    """Bare soil on a slope, and how much of it there is; mulch that is ordered covers it."""
    bare = area_steeper(proposal.mesh, EROSION_SLOPE.value)
    if bare <= 0.0:
        return
    soil = f"{show_area(bare, site.units)} of new soil will lie on a slope over 6 %"
    if site.bed.mulch > 0.0:
        text = f"{soil}: the mulch covers it, so lay it before rain."
        yield Finding("note", "soil", text, bare, None, EROSION_SLOPE.source)
        return
    text = f"{soil}, bare until it is planted. Mulch or cover it before rain; local rules on erosion decide."
    yield Finding("caution", "soil", text, bare, None, EROSION_SLOPE.source)


def permit_findings(site: Site, proposal: Proposal, work: Earthwork) -> Iterator[Finding]:
    """Who decides, always; whether a permit is likely to be asked for, and how far to stay from an unknown lot line."""
    height = float(proposal.fill.max(initial=0.0))
    if site.bed.outline.area >= STORM_WATER.value:
        text = "An acre or more of disturbed ground needs a storm water permit in the United States; ask the office."
        yield Finding("caution", "safety", text, site.bed.outline.area, STORM_WATER.value, STORM_WATER.source)
    line, by = "", "planning defaults of the sources named"
    if site.boundary is None and height > 0.0:
        least = site.local.bound("setback")
        setback = show_length(toe_setback(height, least.value), site.units, "distance")
        line = f" This site file holds no lot line; where code sets one, the toe stays {setback} from it."
        by = least.source
    decide = "bounds here are planning figures, and local code and the licensed people on site decide."
    deep, much = site.local.bound("permit_fill"), site.local.bound("permit_volume")
    if height > deep.value or work.fill_placed > much.value:
        text = f"Fill this deep or this much often needs a grading permit, so ask the permit office: {decide}{line}"
        yield Finding("caution", "safety", text, height, deep.value, f"{deep.source}; {by}")
        return
    text = f"Ask the permit office whether a permit is needed: {decide}{line}"
    yield Finding("caution", "safety", text, height, None, by)


def bench_findings(site: Site, proposal: Proposal) -> Iterator[Finding]:
    """Deep fill on steep ground slides on it."""
    height = float(proposal.fill.max(initial=0.0))
    if height <= BENCH_HEIGHT.value or proposal.existing_steepest <= BENCH_SLOPE.value:
        return
    deep = show_length(BENCH_HEIGHT.value, site.units, "distance")
    text = f"Fill over {deep} on ground steeper than 5:1 is benched into it. Ask an engineer; cut no bench in roots."
    yield Finding("caution", "safety", text, height, BENCH_HEIGHT.value, BENCH_HEIGHT.source)


def estimate_findings(order: Order) -> Iterator[Finding]:
    """Orders go by the supplier's own figures."""
    if order.expected <= 0.0:
        return
    yield Finding(
        "note",
        "soil",
        "Swell, shrink and settlement are estimates. Check the order against the supplier's own figures.",
        source="common practice, no published source",
    )
