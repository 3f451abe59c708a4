"""Things of the yard that the work comes near, each against the clearance that is published for its kind."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from terrain.findings import Finding, Level
from terrain.limits import (
    NOISE,
    SETBACK_LEAST,
    WALL_STRIP,
    WELL_CLEAR,
    Limit,
)
from terrain.numerics import DepthFacets, cut_facets, deeper_than, fill_facets
from terrain.shape import Proposal
from terrain.site import Site, Thing
from terrain.units import show_length

MORE = 0.001  # metres: what is nearer by less is as near


@dataclass(frozen=True)
class ThingClearance:
    """What a kind asks: how far soil stays off, what is so where soil lies on it, and what to do about either."""

    clear: Limit | str  # or the key of what the place says
    on: Level
    advice: str


RULES = {
    "street": ThingClearance(
        SETBACK_LEAST, "stop", "Draw the toe back: soil washes onto it, and the street is not the yard's"
    ),
    "hydrant": ThingClearance("hydrant", "stop", "Draw the bed back; the fire department decides"),
    "meter": ThingClearance("meter", "stop", "Draw the bed back; its owner decides"),
    "septic": ThingClearance("septic", "stop", "Keep soil, deep roots and machines off it; the permit record shows it"),
    "window well": ThingClearance(WELL_CLEAR, "stop", "Draw the bed back: it is a way out and must not take water"),
}


def thing_findings(site: Site, proposal: Proposal, kind: str) -> Iterator[Finding]:
    """Findings on the things of one kind, at most one each."""
    find = _OTHERS.get(kind, _kept_clear)
    for thing in site.thing:
        if thing.kind == kind:
            yield from find(site, proposal, thing)


def soil_near(facets: DepthFacets, shape: BaseGeometry) -> tuple[float, tuple[float, float]]:
    """Distance in metres from a shape to soil (or a dig) of more than a survey's noise, and the nearest place of it."""
    found = deeper_than(facets, NOISE.value)
    if not len(found):
        return np.inf, (0.0, 0.0)
    corners = shapely.polygons(found.corners)
    away = shapely.distance(corners, shape)
    first = int(np.argmin(away))
    x, y = shapely.get_coordinates(shapely.shortest_line(corners[first], shape))[0]
    return float(away[first]), (float(x), float(y))


def _kept_clear(site: Site, proposal: Proposal, thing: Thing) -> Iterator[Finding]:
    """Soil on a thing that takes none, or nearer to it than is asked."""
    rule = RULES[thing.kind]
    clear = site.local.bound(rule.clear) if isinstance(rule.clear, str) else rule.clear
    away, at = soil_near(fill_facets(proposal.mesh), thing.shape)
    if away >= clear.value - MORE:
        yield from _mulch_at_well(site, thing)
        return
    asked = show_length(clear.value, site.units, "distance")
    where = (
        f"Soil lies on {thing.name}"
        if away <= MORE
        else f"Soil comes within {show_length(away, site.units, 'distance')} of {thing.name}"
    )
    level: Level = rule.on if away <= MORE else "caution"
    text = f"{where}, which asks for {asked} of clear ground. {rule.advice}."
    yield Finding(level, "safety", text, away, clear.value, clear.source, at)


def _mulch_at_well(site: Site, thing: Thing) -> Iterator[Finding]:
    """Mulch at the rim of a window well falls in and stops its drain."""
    away = float(site.bed.outline.distance(thing.shape))
    if thing.kind != "window well" or site.bed.mulch <= 0.0 or away >= WALL_STRIP.value - MORE:
        return
    bare = show_length(WALL_STRIP.value, site.units)
    text = f"Mulch lies at the rim of {thing.name}, falls in and stops its drain. Leave {bare} bare, or edge the bed."
    yield Finding("caution", "safety", text, away, WALL_STRIP.value, WALL_STRIP.source, thing.line[0])


def _held_up(site: Site, proposal: Proposal, thing: Thing) -> Iterator[Finding]:
    """Soil nearer to a fence or a wall than the mound or the wall is high leans on it."""
    away, at = soil_near(fill_facets(proposal.mesh), thing.shape)
    reach = max(float(proposal.fill.max(initial=0.0)), thing.height or 0.0, WALL_STRIP.value)
    if away >= reach - MORE:
        return
    near = "lies against" if away <= MORE else f"comes within {show_length(away, site.units, 'distance')} of"
    what = (
        "a mound nearer than either is high is a load on it, which ends the permit-free height"
        if thing.kind == "wall"
        else "no fence is built to hold soil"
    )
    text = f"Soil {near} {thing.name}: {what}. Draw the toe back, or ask whoever answers for it."
    yield Finding("caution", "safety", text, away, reach, "IRC R105.2: a surcharge; local code decides", at)


def _buried(site: Site, proposal: Proposal, thing: Thing) -> Iterator[Finding]:
    """A dig near a line in the ground, or soil over it."""
    units, hand = site.units, site.local.bound("buried_line")
    away, at = soil_near(cut_facets(proposal.mesh), thing.shape)
    if away < hand.value - MORE:
        near = "crosses" if away <= MORE else f"comes within {show_length(away, units, 'distance')} of"
        text = (
            f"A dig {near} {thing.name}. Have it located and open it by hand within "
            f"{show_length(hand.value, units, 'distance')}; its owner decides."
        )
        yield Finding("caution", "safety", text, away, hand.value, hand.source, at)
        return
    deepest, at = soil_over(proposal, thing.shape)
    if deepest > NOISE.value:
        text = (
            f"Up to {show_length(deepest, units)} of soil lies over {thing.name}. Ask its owner first: it must be "
            "reached again, and its cover changes."
        )
        yield Finding("caution", "safety", text, deepest, 0.0, hand.source, at)


def soil_over(proposal: Proposal, shape: BaseGeometry) -> tuple[float, tuple[float, float]]:
    """Deepest fill along a shape, metres, and its place."""
    spots = shapely.get_coordinates(shapely.segmentize(shape, max(proposal.grid.cell, 0.1)))
    depth = proposal.grid.sample(proposal.fill, spots)
    first = int(np.argmax(depth))
    return float(depth[first]), (float(spots[first, 0]), float(spots[first, 1]))


def _overhead(site: Site, proposal: Proposal, thing: Thing) -> Iterator[Finding]:
    """Work under or beside a line in the air."""
    away, at = soil_near(fill_facets(proposal.mesh), thing.shape)
    clear = site.local.bound("overhead_line")
    if away >= clear.value - MORE:
        return
    deepest, _ = soil_over(proposal, thing.shape)
    under = f"; the mound brings the ground {show_length(deepest, site.units)} nearer to it" if deepest > 0.0 else ""
    near = "lies under" if away <= MORE else f"comes within {show_length(away, site.units, 'distance')} of"
    text = (
        f"The mound {near} {thing.name}{under}. Tip and lift nothing within "
        f"{show_length(clear.value, site.units, 'distance')} of it, plant nothing tall, and ask its owner."
    )
    yield Finding("caution", "safety", text, away, clear.value, clear.source, at)


def sight_triangle(site: Site, corner: Thing) -> Polygon:
    """Ground between a corner and the ends of its legs along the streets; round the corner where no two are stated."""
    here, leg = Point(corner.line[0]), site.local.bound("sight_leg").value
    legs = [end for street in site.thing if street.kind == "street" for end in _legs(street, here, leg)]
    if len(legs) < 2:
        return here.buffer(leg)
    return LineString([corner.line[0], *legs]).convex_hull


def _legs(street: Thing, here: Point, leg: float) -> Iterator[tuple[float, float]]:
    """Where a leg along a street ends, on either side of the corner as far as the street goes there."""
    line = street.shape
    if not isinstance(line, LineString) or line.distance(here) > leg / 2.0:
        return
    at = line.project(here)
    for way in (at - leg, at + leg):
        end = min(max(way, 0.0), line.length)
        if abs(end - at) > leg / 2.0:
            x, y = shapely.get_coordinates(line.interpolate(end))[0]
            yield float(x), float(y)


def _corner(site: Site, proposal: Proposal, thing: Thing) -> Iterator[Finding]:
    """Ground and plants in a sight triangle, over the street at the corner."""
    grid, area = proposal.grid, sight_triangle(site, thing)
    if not isinstance(area, Polygon):
        return
    inside = grid.inside(area) & proposal.bed.ravel()
    if not inside.any():
        return
    street = float(grid.sample(proposal.elevation, np.array([thing.line[0]]))[0])
    over = np.where(inside, proposal.elevation.ravel() - street, -np.inf)
    first = int(np.argmax(over))
    at = (float(grid.nodes[first, 0]), float(grid.nodes[first, 1]))
    yield _seen(site, thing, float(over[first]), at)


def _seen(site: Site, thing: Thing, ground: float, at: tuple[float, float]) -> Finding:
    units, highest = site.units, site.local.bound("sight_height")
    most, top = show_length(highest.value, units), ground + (thing.height or 0.0)
    rises = f"In the sight triangle at {thing.name} the mound rises {show_length(ground, units)} over the street"
    if top > highest.value + NOISE.value:
        plants = "" if thing.height is None else f" and plants {show_length(thing.height, units)} more"
        text = f"{rises}{plants}, past {most}. Lower it there or keep the bed out of the triangle; local code decides."
        return Finding("stop", "safety", text, top, highest.value, highest.source, at)
    room = show_length(max(highest.value - ground, 0.0), units)
    text = f"{rises}. Plants on it may grow to {room} there, {most} in all; local code decides."
    return Finding("note", "safety", text, top, highest.value, highest.source, at)


_OTHERS: dict[str, Callable[[Site, Proposal, Thing], Iterator[Finding]]] = {
    "fence": _held_up,
    "wall": _held_up,
    "buried line": _buried,
    "overhead line": _overhead,
    "corner": _corner,
}
