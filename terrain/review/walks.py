"""Walks that cross the mound: how steep they become along and across, against figures for walking surfaces."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import LineString

from terrain.findings import Finding
from terrain.grid import Array
from terrain.ground import Ground
from terrain.limits import NOISE, RAMP, TRACE, WALK_ACROSS, WALK_ALONG
from terrain.review.water import Place
from terrain.shape import Proposal
from terrain.site import Site, Walk
from terrain.units import Units, show_length, show_place

STEP = 0.15  # metres between places along a walk
# Slope is taken over the length of the level that is laid on a walk: 2 ft, common practice, no published source.
LEVEL = 0.6096
UNSEEN = 0.005  # rise/run: less is no change that a level shows
MOST_WALKS = 3


@dataclass(frozen=True)
class WalkSlopes:
    """What the work does to a walk, where it changes the ground under it.

    Parameters
    ----------
    along, across
        Steepest slope along and across after the work, rise/run, among the places where it becomes steeper than it was.
    at
        The place that goes furthest past its bound, metres.
    raised
        Largest change of level on the walk, metres.
    """

    along: float
    across: float
    at: Place
    raised: float


def walk_slopes(walk: Walk, ground: Ground, proposal: Proposal) -> WalkSlopes | None:
    """Slopes of a walk where the work changes the ground under it; None where it leaves the walk as it is."""
    line = LineString(walk.line)
    stations = np.linspace(0.0, line.length, max(2, round(line.length / STEP) + 1))
    middle, left, right = _strip(line, stations, walk.width)
    before = _slopes(ground, ground.elevation, (line, stations), (left, right), walk.width)
    after = _slopes(ground, proposal.elevation, (line, stations), (left, right), walk.width)
    change = np.abs(
        np.stack([ground.grid.sample(proposal.elevation - ground.elevation, p) for p in (middle, left, right)])
    ).max(axis=0)
    if change.max() <= NOISE.value:
        return None
    near = np.abs(stations[:, None] - stations[change > TRACE.value]).min(axis=1) <= LEVEL / 2.0
    steeper = near & (after > before + UNSEEN)
    past = np.where(steeper, after / np.array([[WALK_ALONG.value], [WALK_ACROSS.value]]), 0.0)
    worst = np.argmax(past, axis=1)
    along, across = (float(after[k, w]) if past[k, w] > 0.0 else 0.0 for k, w in enumerate(worst))
    x, y = middle[worst[int(np.argmax(past.max(axis=1)))]]
    return WalkSlopes(along, across, (float(x), float(y)), float(change.max()))


def _strip(line: LineString, stations: Array, width: float) -> tuple[Array, Array, Array]:
    """(m, 2) places on the middle line and on both edges of a walk, square to its direction."""
    middle = _on(line, stations)
    step = _on(line, np.minimum(stations + 0.05, line.length)) - _on(line, np.maximum(stations - 0.05, 0.0))
    side = np.column_stack([-step[:, 1], step[:, 0]]) / np.maximum(np.hypot(*step.T), 1e-12)[:, None]
    return middle, middle + width / 2.0 * side, middle - width / 2.0 * side


def _on(line: LineString, stations: Array) -> Array:
    """(m, 2) places at distances along a line, metres."""
    places: Array = shapely.get_coordinates(shapely.line_interpolate_point(line, stations))
    return places


def _slopes(
    ground: Ground, elevation: Array, way: tuple[LineString, Array], edges: tuple[Array, Array], width: float
) -> Array:
    """(2, m) slope along and across at each place of a walk, rise/run, never negative."""
    line, stations = way
    back, on = np.maximum(stations - LEVEL / 2, 0.0), np.minimum(stations + LEVEL / 2, line.length)
    ends = [ground.grid.sample(elevation, _on(line, at)) for at in (back, on)]
    sides = [ground.grid.sample(elevation, at) for at in edges]
    slopes: Array = np.abs(np.stack([(ends[1] - ends[0]) / (on - back), (sides[1] - sides[0]) / width]))
    return slopes


def walk_findings(site: Site, ground: Ground, proposal: Proposal) -> tuple[Finding, ...]:
    """Findings on walks that the work makes steeper than walks should be, the worst few; paving that it buries."""
    found: list[tuple[float, Finding]] = []
    for walk in site.walk:
        slopes = walk_slopes(walk, ground, proposal)
        if slopes is not None:
            found += _wording(site.units, walk, slopes)
    found.sort(key=lambda one: -one[0])
    return tuple(finding for _, finding in found[:MOST_WALKS])


def _wording(units: Units, walk: Walk, slopes: WalkSlopes) -> Iterator[tuple[float, Finding]]:
    """One finding a walk, with how far it goes past its bounds."""
    if walk.paved:
        text = (
            f"The work changes the level of {walk.name}, which is paved, by up to {show_length(slopes.raised, units)}. "
            "Lead it round, or take the paving up."
        )
        source = "common practice, no published source"
        yield 100.0, Finding("caution", "slopes", text, slopes.raised, 0.0, source, slopes.at)
        return
    past = max(slopes.along / WALK_ALONG.value, slopes.across / WALK_ACROSS.value)
    if past <= 1.0:
        return
    where = show_place(*slopes.at, units)
    steep = f"{100 * slopes.along:.0f} % along and {100 * slopes.across:.0f} % across"
    advice = "Steps or another line are needed" if slopes.along > RAMP.value else "Ease it or lead it round"
    text = f"{walk.name} becomes as steep as {steep} near {where}. {advice}; walks keep to 5 % and 2 %."
    along = slopes.along / WALK_ALONG.value >= slopes.across / WALK_ACROSS.value
    value, bound = (slopes.along, WALK_ALONG.value) if along else (slopes.across, WALK_ACROSS.value)
    yield past, Finding("caution", "slopes", text, value, bound, WALK_ALONG.source, slopes.at)
