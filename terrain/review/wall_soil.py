"""What a bed brings to a building's wall: soil and mulch hold damp to it, and take the clearance below its floor.

Shaped soil starts from nothing at a wall, so that what lies right at it tells little: a hand's width out it is there,
and rain and rakes bring it to the siding. So the strip beside the wall is looked at, mulch included.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely

from terrain.findings import Finding
from terrain.grid import Array
from terrain.ground import Ground
from terrain.limits import CLEARANCE, NOISE, WALL_STRIP
from terrain.numerics import DepthFacets, Place, depth_at, fill_facets
from terrain.review.walls import walls_of
from terrain.shape import Proposal
from terrain.site import Building, Site
from terrain.soil import mulch_ground
from terrain.units import Units, show_length

STEPS = 3  # places across it
DAMP = "IRC R317.1: untreated wood 6 in above ground; whoever answers for the wall decides"


@dataclass(frozen=True)
class WallSoil:
    """Soil and mulch in the strip beside a wall, metres.

    Parameters
    ----------
    at
        The place with the most of both together.
    soil, mulch
        Deepest anywhere in the strip; 0.0 where none comes so near.
    left, left_by_soil
        Clearance below the floor over all that is raised, and over soil alone; infinite where no floor is stated.
    """

    at: Place
    soil: float
    mulch: float
    left: float
    left_by_soil: float


def low_edge(building: Building) -> tuple[str, float]:
    """What of a building soil must stay below, and its elevation in metres; infinite where nothing is stated.

    The floor stands in for the top of the foundation where neither that nor the siding is stated.
    """
    stated = {
        "its foundation's top": building.foundation_top,
        "its siding": building.siding,
        "its lowest window sill": building.sill,
    }
    if building.foundation_top is None and building.siding is None:
        stated["its floor"] = building.floor
    levels = {name: level for name, level in stated.items() if level is not None}
    return min(levels.items(), key=lambda one: one[1], default=("its floor", math.inf))


def soil_at_wall(site: Site, building: Building, ground: Ground, proposal: Proposal) -> WallSoil | None:
    """What the work brings into the strip beside a building; None where it is no more than a survey's noise."""
    walls = walls_of(building.outline)
    out = np.linspace(0.0, WALL_STRIP.value, STEPS)[:, None, None]
    places = (walls.foot + out * walls.outward).reshape(-1, 2)
    soil = depth_at(_beside(fill_facets(proposal.mesh), places), places)
    mulched = mulch_ground(site, proposal.worked)
    mulch = np.where(shapely.contains_xy(mulched, places[:, 0], places[:, 1]), site.bed.mulch, 0.0)
    raised = soil + mulch
    worst = int(np.argmax(raised))
    if raised[worst] <= NOISE.value:
        return None
    level = ground.grid.sample(ground.elevation, places)

    _, low = low_edge(building)

    def clearance(depth: Array) -> float:
        there = depth > NOISE.value
        return low - float((level + depth)[there].max()) if there.any() else math.inf

    at = (float(places[worst, 0]), float(places[worst, 1]))
    return WallSoil(at, float(soil.max()), float(mulch.max()), clearance(raised), clearance(soil))


def _beside(facets: DepthFacets, places: Array) -> DepthFacets:
    """The facets that reach into the box about some places (n, 2): a yard has many, a wall few."""
    west, south, east, north = facets.sides
    (x0, y0), (x1, y1) = places.min(axis=0), places.max(axis=0)
    near = (west <= x1) & (east >= x0) & (south <= y1) & (north >= y0)
    return DepthFacets(facets.corners[near], facets.depth[near])


def wall_soil_findings(site: Site, building: Building, ground: Ground, proposal: Proposal) -> Iterator[Finding]:
    """A stop where soil takes the clearance below the floor; a caution where mulch does, or where either lies there."""
    found = soil_at_wall(site, building, ground, proposal)
    if found is None:
        yield from _as_it_is(site.units, building, ground)
        return
    units, name = site.units, building.name
    what, one = _what(units, found)
    s = "s" if one else ""
    if found.left < CLEARANCE.value:
        by_soil = found.left_by_soil < CLEARANCE.value
        near = f"come{s} within {show_length(found.left, units)} of" if found.left > 0.0 else f"rise{s} over"
        advice = "Draw the bed back" if by_soil else "Leave the mulch off there"
        text = (
            f"{what} lie{s} against {name} and {near} {low_edge(building)[0]}. {advice}: "
            f"{show_length(CLEARANCE.value, units)} stays clear below it."
        )
        yield Finding(
            "stop" if by_soil else "caution", "drainage", text, found.left, CLEARANCE.value, CLEARANCE.source, found.at
        )
        return
    text = (
        f"{what} lie{s} against {name} and hold{s} damp to the wall. Leave a bare strip of "
        f"{show_length(WALL_STRIP.value, units)}, or ask whoever answers for the wall."
    )
    yield Finding("caution", "drainage", text, found.soil + found.mulch, 0.0, DAMP, found.at)


def _as_it_is(units: Units, building: Building, ground: Ground) -> Iterator[Finding]:
    """The ground at a wall stands too high as it is, and nothing is laid there."""
    edge, low = low_edge(building)
    if edge == "its floor":  # it only stands in for what soil harms
        return
    foot = walls_of(building.outline).foot
    level = ground.grid.sample(ground.elevation, foot)
    highest = int(np.argmax(level))
    left = low - float(level[highest])
    if left >= CLEARANCE.value - NOISE.value:
        return
    near = f"within {show_length(left, units)} of" if left > 0.0 else "over"
    text = (
        f"The ground beside {building.name} stands {near} {edge} as it is; the berm does not change that. "
        f"{show_length(CLEARANCE.value, units)} is asked for: have it lowered."
    )
    at = (float(foot[highest, 0]), float(foot[highest, 1]))
    yield Finding("caution", "drainage", text, left, CLEARANCE.value, CLEARANCE.source, at)


def _what(units: Units, found: WallSoil) -> tuple[str, bool]:
    """ "Soil 2 in deep and mulch 3 in deep", and whether that is one thing."""
    both = (("soil", found.soil), ("mulch", found.mulch))
    told = [f"{name} {show_length(depth, units)} deep" for name, depth in both if depth > NOISE.value]
    words = " and ".join(told or [f"soil and mulch {show_length(found.soil + found.mulch, units)} deep"])
    return f"{words[0].upper()}{words[1:]}", len(told) == 1
