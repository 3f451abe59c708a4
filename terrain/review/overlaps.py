"""What lies on what: basins, channels, terraces, stones, keep-offs; each overlap is told with what becomes of it.

Digs whose floor reaches into ground that takes no cut are refused where the shape is laid out
(`terrain.shape.digs.check_digs`); what stops their sides is told by `terrain.review.dig_sides`;
stones inside a keep-off are a stop of `terrain.review.edges`. All others are resolved by the shape, and told here.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator

import shapely
from shapely.geometry.base import BaseGeometry

from terrain.findings import Finding, Level
from terrain.ground import Ground
from terrain.shape import Dig, Retained, holds_of, retained_edges, terrace_level
from terrain.site import Site, Terrace
from terrain.units import show_area, show_length

LEAST = 0.01  # m2; what overlaps less than a spade's width either way is a matter of the tape
SAME_LEVEL = 0.01  # metres; two terraces that agree this well make one
SHORT = 0.02  # share of a stated height that the stones may lack without a word
SOURCE = "the site file"


def overlap_findings(site: Site, ground: Ground, digs: tuple[Dig, ...]) -> tuple[Finding, ...]:
    """Findings on everything of a site that lies on something else, and on stones that cannot reach their height."""
    stones = retained_edges(site)
    return (
        *_terraces(site, ground, digs, stones),
        *_stones(site, digs, stones),
        *_digs(site, digs),
        *(finding for edge in stones for finding in _short(site, edge)),
    )


def _wording(
    site: Site, one: str, other: str, shared: BaseGeometry, outcome: str, level: Level = "caution"
) -> Iterator[Finding]:
    """The finding on an overlap that is worth a word."""
    area = float(shared.area)
    if area < LEAST:
        return
    spot = shapely.point_on_surface(shared)
    text = f"{one} and {other} overlap on {show_area(area, site.units)}: {outcome}"
    yield Finding(level, "shape", text, area, 0.0, SOURCE, (float(spot.x), float(spot.y)))


def _terraces(site: Site, ground: Ground, digs: tuple[Dig, ...], stones: tuple[Retained, ...]) -> Iterator[Finding]:
    """Terraces against all that takes no soil, and against one another."""
    holds = holds_of(site, ground.grid.cell / 2.0)
    for terrace in site.terrace:
        where, name = terrace.outline, f"The terrace {terrace.name}"
        for hold in holds:
            kept = "there the ground stays as it is. Draw the terrace clear of it."
            yield from _wording(site, name, hold.name, where.intersection(hold.area), kept)
        for dig in digs:
            dug = "there the ground is dug and takes no soil."
            yield from _wording(site, name, f"the dig of {dig.name}", where.intersection(dig.rim), dug)
        for edge in stones:
            stood = "there the stones stand, and no soil lies."
            yield from _wording(site, name, f"the stones of {edge.name}", where.intersection(edge.stones), stood)
    for one, other in itertools.combinations(site.terrace, 2):
        yield from _two_terraces(site, ground, one, other)


def _two_terraces(site: Site, ground: Ground, one: Terrace, other: Terrace) -> Iterator[Finding]:
    """Two terraces of unlike level: the one listed later sets the level where both lie."""
    first, second = terrace_level(one, ground), terrace_level(other, ground)
    if abs(first - second) <= SAME_LEVEL:
        return
    apart = show_length(abs(first - second), site.units)
    outcome = f"their levels are {apart} apart, and there {other.name} sets the level."
    names = f"The terrace {one.name}", f"the terrace {other.name}"
    yield from _wording(site, *names, one.outline.intersection(other.outline), outcome)


def _stones(site: Site, digs: tuple[Dig, ...], stones: tuple[Retained, ...]) -> Iterator[Finding]:
    """Stones against digs, against ground kept clear, and against other stones."""
    others = [(clear.name, clear.outline) for clear in site.keep_clear]
    others += [(building.name, building.outline) for building in site.building]
    for edge in stones:
        name = f"The stones of {edge.name}"
        for dig in digs:
            outcome = "the dig takes the ground from under them. Move one of the two."
            yield from _wording(site, name, f"the dig of {dig.name}", edge.stones.intersection(dig.rim), outcome)
        for other, outline in others:
            outcome = "that ground is kept clear. Move the line back."
            yield from _wording(site, name, other, edge.stones.intersection(outline), outcome)
    for one, two in itertools.combinations(stones, 2):
        names = f"The stones of {one.name}", f"those of {two.name}"
        outcome = "both stand there, and neither holds its height. Move one line or join them."
        yield from _wording(site, *names, one.stones.intersection(two.stones), outcome)


def _digs(site: Site, digs: tuple[Dig, ...]) -> Iterator[Finding]:
    """Digs that meet, but for a channel that ends in a basin as it should; and digs that take ground from the bed."""
    ends = {channel.name: shapely.Point(channel.line[-1]) for channel in site.channel}
    for one, other in itertools.combinations(digs, 2):
        if any(a.name in ends and b.rim.covers(ends[a.name]) for a, b in ((one, other), (other, one))):
            continue
        outcome = "they meet, and the deeper counts."
        names = f"The dig of {one.name}", f"that of {other.name}"
        yield from _wording(site, *names, one.rim.intersection(other.rim), outcome, "note")
    for dig in digs:
        outcome = "there the ground is dug, and the mound stops at its edge."
        yield from _wording(
            site, f"The dig of {dig.name}", "the bed", dig.rim.intersection(site.bed.outline), outcome, "note"
        )


def _short(site: Site, edge: Retained) -> Iterator[Finding]:
    """A line too short to reach its height: both ends run out to nothing."""
    slope, units = site.berm.max_slope, site.units
    reached = edge.reached(slope)
    if reached >= (1.0 - SHORT) * edge.height:
        return
    middle = edge.line.interpolate(0.5, normalized=True)
    text = (
        f"The stones of {edge.name} hold {show_length(reached, units)} at most where {show_length(edge.height, units)} "
        f"was asked: the line is {show_length(edge.line.length, units, 'distance')} long and its ends run out to "
        f"nothing. It needs {show_length(edge.needed_length(slope), units, 'distance')}, or a lower height."
    )
    yield Finding("caution", "shape", text, reached, edge.height, SOURCE, (float(middle.x), float(middle.y)))
