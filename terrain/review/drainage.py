"""Water on the finished ground: ponds that the berm makes, water that it turns, and where that water leaves.

Only what the berm makes worse is charged to it: every figure is taken before and after. A building stands in the
water's way like a wall, so that a hollow between berm and house shows.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from types import MappingProxyType

import numpy as np
import shapely
from shapely.geometry import Point, Polygon

from terrain.findings import Finding
from terrain.grid import Array, Grid, Index, Mask, frozen
from terrain.ground import Ground
from terrain.limits import POND, PRACTICE
from terrain.numerics import ends, flood, gathered
from terrain.review.buildings import walk_ground
from terrain.review.existing_water import ExistingWater, covered, existing_water, runoff
from terrain.review.exits import exits, worth_a_word
from terrain.review.rain import Rain, run_rain
from terrain.review.water import BasinWater, Pond, Water
from terrain.review.words import listed
from terrain.shape import Dig, Proposal
from terrain.site import Site, root_zone_radius
from terrain.units import Units, show_area, show_length, show_place, show_volume

MOST_PONDS = 2
ROUND_BASIN = 0.3  # metres round a basin in which water is its overflow: common practice, no published source
NO_GROUNDS: Mapping[str, Polygon] = MappingProxyType({})


@dataclass(frozen=True)
class Waters:
    """Water before and after: basins, where each node's water goes afterwards, and how deep it then stands, metres."""

    grid: Grid
    existing: ExistingWater
    basins: Mask
    after: Index
    stands: Array

    @property
    def before(self) -> Index:
        """(n,) node that each node's water went to."""
        return self.existing.onward

    @cached_property
    def flows(self) -> tuple[Array, Array]:
        """(n,) ground that drains over each node, its own with it, m2, before and after."""
        return self.existing.flows, gathered(self.after, np.full(self.after.size, self.grid.cell**2))


@dataclass(frozen=True)
class Drainage:
    """Water before and after, what stands and leaves on the finished ground, and one storm as it was run."""

    waters: Waters
    water: Water
    rain: Rain


def check_drainage(site: Site, ground: Ground, proposal: Proposal) -> Drainage:
    """Work out which way water goes, where it stands and where it leaves, before and after."""
    existing = existing_water(site, ground)
    rain = run_rain(site, existing, proposal)
    waters = run_water(site, existing, proposal, rain.water.basins)
    found = ponds(waters, POND.value, dict(walked_grounds(site)))
    leaving = exits(waters.grid, waters.before, waters.after, site.boundary)
    water = Water(waters.grid, frozen(waters.after), frozen(waters.stands), found, leaving, rain.water)
    return Drainage(waters, water, rain)


def run_water(site: Site, existing: ExistingWater, proposal: Proposal, basins: tuple[BasinWater, ...] = ()) -> Waters:
    """Let the water run over the finished ground until every hollow is full, beside what it did before.

    A basin that holds what the storm brings takes what comes to it; any other is a hollow like the rest.
    """
    grid, digs = proposal.grid, proposal.digs[: len(site.basin)]
    holding = {basin.name for basin in basins if basin.holds}
    inside = _in_digs(grid, digs)
    for stream in proposal.streams:  # its pools are to hold water, and nodes that only touch its bed close it off
        inside |= covered(grid, stream.dig.rim.buffer(grid.cell))
    drains = _in_digs(grid, tuple(dig for dig in digs if dig.name in holding))
    after = flood(proposal.elevation, existing.walls, drains)
    stands = np.where(existing.walls, 0.0, after.level - proposal.elevation)
    return Waters(grid, existing, inside, runoff(after, stands, grid.cell), stands)


def _in_digs(grid: Grid, digs: tuple[Dig, ...]) -> Mask:
    """(ny, nx): nodes in some digs."""
    inside = np.zeros(grid.nx * grid.ny, dtype=bool)
    for dig in digs:
        inside |= grid.inside(dig.rim)
    return inside.reshape(grid.shape)


def walked_grounds(site: Site) -> Iterator[tuple[str, Polygon]]:
    """Walks and other ground that is kept clear, by name."""
    yield from ((clear.name, clear.outline) for clear in site.keep_clear)
    yield from ((walk.name, walk_ground(walk)) for walk in site.walk)


def ponds(waters: Waters, least: float, grounds: Mapping[str, Polygon] = NO_GROUNDS) -> tuple[Pond, ...]:
    """Ponds that the berm makes or deepens by more than `least` metres, the largest volume first.

    Water in a basin or in the bed of a stream is no pond: they are built to hold it. A pond names the `grounds` that it
    stands on as deep.
    """
    from scipy import ndimage

    added = np.where(waters.basins, 0.0, np.maximum(waters.stands - waters.existing.stood, 0.0))
    places, count = ndimage.label(added > 1e-6, structure=np.ones((3, 3)))
    if count == 0:
        return ()
    deepest = np.zeros(count + 1)
    np.maximum.at(deepest, places.ravel(), added.ravel())
    cell = waters.grid.cell**2
    deep = added > least
    stood_on = {name: inside for name, area in grounds.items() if (inside := deep & covered(waters.grid, area)).any()}
    found = []
    for number in np.flatnonzero(deepest[1:] > least) + 1:
        j, i = ndimage.maximum_position(added, places, number)
        part = places == number
        found.append(
            Pond(
                (float(waters.grid.x[i]), float(waters.grid.y[j])),
                float(added[j, i]),
                float(added[part].sum()) * cell,
                float(part.sum()) * cell,
                tuple(name for name, inside in stood_on.items() if (part & inside).any()),
            )
        )
    return tuple(sorted(found, key=lambda pond: -pond.volume))


def pond_findings(site: Site, digs: tuple[Dig, ...], found: tuple[Pond, ...]) -> Iterator[Finding]:
    """Every channel that closes by its name; of the other ponds the largest each in a finding, any more in one."""
    units, least = site.units, POND.value
    closed = _in_channels(site, digs, found)
    for pond, name in closed.items():
        text = (
            f"{name} has no way out: water stands {show_length(pond.depth, units)} deep near "
            f"{show_place(*pond.at, units)}. End it in a basin, or give its end a taper that comes out on the slope."
        )
        yield Finding("caution", "drainage", text, pond.depth, least, PRACTICE, pond.at)
    round_basins = shapely.union_all([dig.rim for dig in digs[: len(site.basin)]]).buffer(ROUND_BASIN)
    # What a basin cannot hold stands about it too: the basin tells of it.
    found = tuple(pond for pond in found if pond not in closed and not round_basins.intersects(Point(pond.at)))
    for pond in found[:MOST_PONDS]:
        text = (
            f"The berm makes water stand near {show_place(*pond.at, units)}: {show_length(pond.depth, units)} deep, "
            f"{show_volume(pond.volume, units)}{_over_walks(pond)}{_over_roots(site, pond)}. "
            "Open a way out for it or move the toe."
        )
        yield Finding("caution", "drainage", text, pond.depth, least, PRACTICE, pond.at)
    if found[MOST_PONDS:]:
        yield _smaller_ponds(found[MOST_PONDS:], units)


def _in_channels(site: Site, digs: tuple[Dig, ...], found: tuple[Pond, ...]) -> dict[Pond, str]:
    """The ponds that stand in channels without a way out, with the channel's name.

    A channel that ends in a basin has a way out; what the basin cannot hold is told of the basin.
    """
    basins = shapely.union_all([dig.rim for dig in digs[: len(site.basin)]])
    channels = [dig for dig in digs[len(site.basin) :] if not dig.rim.intersects(basins)]
    return {pond: dig.name for pond in found for dig in channels if shapely.intersects_xy(dig.rim, *pond.at)}


def _smaller_ponds(rest: tuple[Pond, ...], units: Units) -> Finding:
    """The ponds beyond those that are told one by one, in one finding."""
    depth = max(pond.depth for pond in rest)
    volume = show_volume(sum(pond.volume for pond in rest), units)
    text = f"{len(rest)} smaller ponds stand elsewhere, up to {show_length(depth, units)} deep, {volume} in all."
    return Finding("caution", "drainage", text, depth, POND.value, PRACTICE, rest[0].at)


def _over_walks(pond: Pond) -> str:
    """Which walks and clear ground a pond stands on, as words to add."""
    return f", on {listed(pond.over)}" if pond.over else ""


def _over_roots(site: Site, pond: Pond) -> str:
    """Whose root zone a pond is deepest in, as words to add: roots that stand in water get no air."""
    away = {tree.name: math.dist(tree.at, pond.at) for tree in site.tree}
    zones = {tree.name: root_zone_radius(site.trees.rule, tree.trunk, tree.dripline) for tree in site.tree}
    over = [name for name in sorted(away, key=away.__getitem__) if away[name] < zones[name]]
    return f", over the roots of {over[0]}" if over else ""


def catchment(onward: Index, target: Mask) -> float:
    """Number of nodes, those of `target` left out, whose water comes to a (ny, nx) target."""
    goal = target.ravel()
    through = np.where(goal, np.arange(goal.size), onward)
    return float((goal[ends(through)] & ~goal).sum())


def turned_findings(site: Site, waters: Waters) -> Iterator[Finding]:
    """Water from more ground than before comes to a building."""
    from scipy import ndimage

    for building in site.building:
        house = covered(waters.grid, building.outline)
        beside = ndimage.binary_dilation(house, np.ones((3, 3))) & ~waters.existing.walls
        cell = waters.grid.cell**2
        was, now = catchment(waters.before, beside) * cell, catchment(waters.after, beside) * cell
        if not worth_a_word(now - was, was):
            continue
        text = (
            f"The berm turns water from {show_area(now - was, site.units)} more ground toward {building.name}. "
            "Lead it round with a swale or move the berm."
        )
        centre = building.outline.centroid
        yield Finding("caution", "drainage", text, now, was, PRACTICE, (centre.x, centre.y))
