"""Where stakes go: the outline, the crest, section ends and toes, the keep-offs, digs and the edges of stone."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import zip_longest

import numpy as np
import shapely
from shapely.geometry import LineString, Point, Polygon

from terrain.field.setout.model import Spot
from terrain.field.setout.off_roots import off_keep_offs
from terrain.ground import Ground
from terrain.numerics import cut_facets, deeper_than, depth_at, fill_facets, merged, sound
from terrain.shape import Proposal
from terrain.site import Site, basin_outline, keep_off_radius
from terrain.survey import Place
from terrain.units import show_length

FEWEST_ROUND = 6  # stakes round a keep-off, at least: they carry a fence
_ONE = 0.10  # metres: stakes nearer than this would be one
_TOE = 0.005  # metres of soil at which a crew sees the toe
_RIM = 0.001  # metres of cut at which a dig begins
_TOP_APART = 0.5  # metres: a top nearer than this to a crest point gets no stake of its own
_STEP = 0.02  # metres between the places where a section looks for its toes

Lines = Sequence[tuple[str, LineString]]
Marked = tuple[Spot, LineString | None]  # a spot, and the line that it marks


def stake_spots(site: Site, ground: Ground, proposal: Proposal, spacing: float, sections: Lines) -> tuple[Spot, ...]:
    """Every place that wants a stake, in the order they are set.

    Parameters
    ----------
    site, ground, proposal
        The stages.
    spacing
        Greatest distance between neighbouring stakes on outline, crest, keep-off circles, rims and stones, metres.
    sections
        Lines whose ends and toes are staked, with their letters.

    None stands inside a keep-off: it moves along its line. Two that would stand within 10 cm become one, named for the
    first.
    """
    spots: list[Spot] = []
    for spot in off_keep_offs(site, _all(site, proposal, spacing, sections)):
        near = next((k for k, other in enumerate(spots) if math.dist(other.at, spot.at) < _ONE), None)
        if near is None:
            spots.append(spot)
        elif spot.what not in spots[near].what:
            spots[near] = Spot(spots[near].name, f"{spots[near].what}; {spot.what}", spots[near].at)
    west, south = ground.grid.x[0], ground.grid.y[0]
    east, north = ground.grid.x[-1], ground.grid.y[-1]
    return tuple(s for s in spots if west <= s.at[0] <= east and south <= s.at[1] <= north)


def _all(site: Site, proposal: Proposal, spacing: float, sections: Lines) -> Iterator[Marked]:
    yield from _outline(site.bed.outline, spacing)
    yield from _crest(site, proposal, spacing)
    yield from _sections(proposal, sections)
    yield from _keep_offs(site, spacing)
    yield from _digs(site, proposal, spacing)
    yield from _stones(site, spacing)


def evenly_round(ring: LineString, spacing: float, fewest: int = 4) -> list[Place]:
    """Places at even distances along a closed line, at most `spacing` metres apart, from its first point on."""
    count = max(math.ceil(ring.length / spacing - 1e-9), fewest)
    return _along(ring, count)[:-1]


def evenly_along(line: LineString, spacing: float) -> list[Place]:
    """Places at even distances along an open line, both ends among them, at most `spacing` metres apart."""
    return _along(line, max(math.ceil(line.length / spacing - 1e-9), 1))


def _along(line: LineString, count: int) -> list[Place]:
    spots = shapely.line_interpolate_point(line, np.linspace(0.0, line.length, count + 1))
    return [(float(spot.x), float(spot.y)) for spot in spots]


def _outline(outline: Polygon, spacing: float) -> Iterator[Marked]:
    number = 0
    for ring in (outline.exterior, *outline.interiors):
        line = LineString(ring.coords)
        for at in evenly_round(line, spacing):
            number += 1
            yield Spot(f"O{number}", "outline", at), line


def _crest(site: Site, proposal: Proposal, spacing: float) -> Iterator[Marked]:
    """The crest points as built, stakes between them where they stand far apart, and the top."""
    points = [built.at for built in proposal.crest]
    places = list(_along_crest(points, spacing))
    if proposal.fill.max() > 0.0:
        row, column = np.unravel_index(int(np.argmax(proposal.fill)), proposal.grid.shape)
        top = (float(proposal.grid.x[column]), float(proposal.grid.y[row]))
        if all(math.dist(top, at) > _TOP_APART for at in points):
            places.append((top, "top of the mound"))
    ridge = LineString(points) if len(points) > 1 else None
    standing = [(at, what) for at, what in places if proposal.worked.covers(Point(at))]
    for number, (at, what) in enumerate(standing, start=1):
        yield Spot(f"C{number}", what, at), ridge


def _along_crest(points: Sequence[Place], spacing: float) -> Iterator[tuple[Place, str]]:
    """The crest points, and places between two that stand farther apart than the spacing, metres."""
    for at, onward in zip_longest(points, points[1:]):
        yield at, "crest point"
        if onward is not None and math.dist(at, onward) > spacing:
            yield from ((spot, "crest line") for spot in evenly_along(LineString([at, onward]), spacing)[1:-1])


def _sections(proposal: Proposal, sections: Lines) -> Iterator[Marked]:
    """Both ends of each section, and the outermost soil on it."""
    facets = fill_facets(proposal.mesh)
    for letter, line in sections:
        places = evenly_along(line, _STEP)
        yield Spot(letter, f"end of section {letter}", places[0]), line
        yield Spot(f"{letter}'", f"end of section {letter}", places[-1]), line
        soil = np.flatnonzero(depth_at(facets, np.array(places)) > _TOE)
        if soil.size:
            yield Spot(f"T{letter}", f"toe on section {letter}", places[int(soil[0])]), line
            yield Spot(f"T{letter}'", f"toe on section {letter}", places[int(soil[-1])]), line


def _keep_offs(site: Site, spacing: float) -> Iterator[Marked]:
    """A ring of stakes round every tree, where no building stands."""
    houses = shapely.union_all([house.outline for house in site.building])
    number = 0
    for tree in site.tree:
        radius = keep_off_radius(tree, site.trees.rule)
        circle = LineString(Point(tree.at).buffer(radius, quad_segs=64).exterior.coords)
        count = max(math.ceil(2.0 * math.pi * radius / spacing - 1e-9), FEWEST_ROUND)
        for turn in 2.0 * math.pi * np.arange(count) / count:
            at = (float(tree.at[0] + radius * math.cos(turn)), float(tree.at[1] + radius * math.sin(turn)))
            if not houses.intersects(Point(at)):
                number += 1
                yield Spot(f"K{number}", f"keep-off of {tree.name}", at), circle


def _digs(site: Site, proposal: Proposal, spacing: float) -> Iterator[Marked]:
    """The rims of all digs, the middles of basins, and the corners of channels."""
    corners = deeper_than(cut_facets(proposal.mesh), _RIM).corners
    dug = merged(shapely.polygons(corners))
    number = 0
    for part in shapely.get_parts(sound(dug.buffer(1e-4))):
        if not isinstance(part, Polygon) or part.area < 0.01:
            continue
        what = f"rim of {_dug_name(site, part)}"
        rim = LineString(part.exterior.simplify(0.01).coords)
        for at in evenly_round(rim, spacing, 6):
            number += 1
            yield Spot(f"D{number}", what, at), rim
    for basin in site.basin:
        unit = basin_outline(basin)
        if unit is not None:
            number += 1
            middle = unit.representative_point()
            yield Spot(f"D{number}", f"floor of {basin.name}", (float(middle.x), float(middle.y))), None
    for channel in site.channel:
        for at in channel.line:
            number += 1
            yield Spot(f"D{number}", f"bed of {channel.name}", at), LineString(channel.line)


def _dug_name(site: Site, part: Polygon) -> str:
    """The names of what is dug in one hole."""
    names = [b.name for b in site.basin if (unit := basin_outline(b)) is not None and unit.intersects(part)]
    names += [channel.name for channel in site.channel if LineString(channel.line).intersects(part)]
    return " and ".join(names) or "the dig"


def _stones(site: Site, spacing: float) -> Iterator[Marked]:
    number = 0
    for edge in site.retained_edge:
        line = LineString(edge.line)
        for at in evenly_along(line, spacing):
            number += 1
            yield Spot(f"S{number}", f"stones of {edge.name}, {show_length(edge.height, site.units)} high", at), line
