"""Water that comes in one stream where it came spread out: at the lot line, on walks, at walls, stones and trees.

Equal sums on a side say nothing of it: ground that shed a little all along a line may send all of it through one place.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from terrain.findings import Finding
from terrain.grid import Array, Grid, Index, Mask
from terrain.limits import GATHERED, GATHERED_TIMES, PRACTICE, STREAM_WIDTH
from terrain.review.drainage import Waters
from terrain.review.exits import exit_findings
from terrain.review.water import Place, Water
from terrain.site import Site
from terrain.spellings import SI
from terrain.units import Units, show_area, show_length, show_place

MOST = 2
GALLON_A_MINUTE = SI["gallon"] / 60.0  # m3/s
LITRE_A_SECOND = 0.001
BESIDE_WALL = 0.3  # metres: water that comes so near has come to the wall


@dataclass(frozen=True)
class WaterTarget:
    """Something that water comes to: its name in a sentence, the ground that it takes, and its advice."""

    name: str
    area: BaseGeometry
    advice: str


@dataclass(frozen=True)
class GatheredStream:
    """Ground whose water comes through the narrow place where the berm gathers most of it, m2, before and after."""

    at: Place
    before: float
    after: float


def lines_of(site: Site) -> Iterator[WaterTarget]:
    """All that a gathered stream harms, the lot line left out."""
    for walk in site.walk:
        strip = LineString(walk.line).buffer(walk.width / 2.0, cap_style="flat")
        yield WaterTarget(walk.name, strip, "Lead it under the walk or along it")
    for house in site.building:
        yield WaterTarget(f"the wall of {house.name}", house.outline.buffer(BESIDE_WALL), "Lead it round in a swale")
    for edge in site.retained_edge:
        yield WaterTarget(edge.name, LineString(edge.line).buffer(BESIDE_WALL), "Lead it round the stones")
    for tree in site.tree:
        yield WaterTarget(
            f"the flare of {tree.name}", Point(tree.at).buffer(max(tree.flare, BESIDE_WALL)), "Lead it past"
        )


def stream_onto(grid: Grid, waters: Waters, area: BaseGeometry) -> GatheredStream | None:
    """The stream that the berm gathers onto some ground; None where it gathers none."""
    inside = grid.inside(area)
    return _stream(grid, waters, inside, area.boundary) if inside.any() else None


def stream_off(grid: Grid, waters: Waters, lot: Polygon) -> GatheredStream | None:
    """The stream that the berm gathers over the lot line; None where it gathers none."""
    return _stream(grid, waters, ~grid.inside(lot), lot.exterior)


def _stream(grid: Grid, waters: Waters, inside: Mask, edge: BaseGeometry) -> GatheredStream | None:
    """The stretch of an edge through which far more comes inside than came there before."""
    before, after = waters.flows
    was = _crossing(grid, waters.before, before, inside, edge)
    along, now = _crossing(grid, waters.after, after, inside, edge)
    if not along.size:
        return None
    width = STREAM_WIDTH.value
    comes = _within(along, now, along, width)
    # What moves a little along the edge is no new stream: before, the stretch that carried most may lie half aside.
    came = np.max([_within(*was, along + aside * width, width) for aside in (-0.5, 0.0, 0.5)], axis=0)
    grown = np.where(comes > GATHERED_TIMES.value * came, comes - came, 0.0)
    worst = int(np.argmax(grown))
    if grown[worst] < GATHERED.value:
        return None
    mine = (along >= along[worst]) & (along <= along[worst] + width)
    x, y = shapely.get_coordinates(edge.interpolate(float(along[mine][np.argmax(now[mine])])))[0]
    return GatheredStream((float(x), float(y)), float(came[worst]), float(comes[worst]))


def _crossing(grid: Grid, onward: Index, flows: Array, inside: Mask, edge: BaseGeometry) -> tuple[Array, Array]:
    """(k,) place along an edge where water first comes inside, in order, and the ground that it comes from, m2."""
    nodes = np.flatnonzero(~inside & inside[onward])
    along = shapely.line_locate_point(edge, shapely.points(grid.nodes[nodes]))
    order = np.argsort(along)
    return along[order], flows[nodes][order]


def _within(along: Array, amount: Array, start: Array, width: float) -> Array:
    """(k,) sum of the amounts over a width from each start."""
    sums = np.append(0.0, np.cumsum(amount))
    last, first = np.searchsorted(along, start + width, side="right"), np.searchsorted(along, start, side="left")
    total: Array = sums[last] - sums[first]
    return total


def gathering_findings(site: Site, waters: Waters, water: Water) -> Iterator[Finding]:
    """Streams that the berm gathers: over the lot line unless its side is told already, then the largest others."""
    grid, peak = waters.grid, water.storm.peak
    if site.boundary is not None and not any(exit_findings(site.units, water.exits)):
        stream = stream_off(grid, waters, site.boundary)
        if stream is not None:
            advice = "Spread it over a level edge before it leaves; whoever owns the land below may object"
            yield _wording(site.units, stream, peak, "the lot line", advice)
    found = [(stream, line) for line in lines_of(site) if (stream := stream_onto(grid, waters, line.area)) is not None]
    found.sort(key=lambda one: one[0].before - one[0].after)
    for stream, line in found[:MOST]:
        yield _wording(site.units, stream, peak, line.name, line.advice)


def _wording(units: Units, stream: GatheredStream, peak: float, onto: str, advice: str) -> Finding:
    width = show_length(STREAM_WIDTH.value, units, "distance")
    came, comes = (show_flow(peak * area, units) for area in (stream.before, stream.after))
    flow = f": {comes} at the height of the storm, {came} before" if peak > 0.0 else " before"
    text = (
        f"Water from {show_area(stream.after, units)} comes through {width} of {onto} near "
        f"{show_place(*stream.at, units)}, from {show_area(stream.before, units)}{flow}. {advice}."
    )
    return Finding("caution", "drainage", text, stream.after, stream.before, PRACTICE, stream.at)


def show_flow(flow: float, units: Units) -> str:
    """A flow in m3/s as gallons a minute or litres a second."""
    if units == "ft":
        return f"{flow / GALLON_A_MINUTE:.1f} gal/min"
    return f"{flow / LITRE_A_SECOND:.2f} L/s"
