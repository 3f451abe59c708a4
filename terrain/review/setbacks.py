"""The lot line: how near soil and digs come to it, against the setbacks of published grading codes."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Polygon

from terrain.findings import Finding
from terrain.limits import CUT_MOST, CUT_SHARE, SETBACK_LEAST, TOE_MOST, TOE_SHARE, TRACE, Limit
from terrain.numerics import DepthFacets, Place, cut_facets, deeper_than, fill_facets
from terrain.shape import Proposal
from terrain.site import Site
from terrain.units import Units, show_length, show_place

ROUNDING = 1e-6  # metres


def toe_setback(height: float, least: float = SETBACK_LEAST.value) -> float:
    """Distance in metres from the toe of a fill of a height in metres to the lot line.

    Half the height, at least 2 ft and at most 20 ft: Topeka KS 17.05.190(c).
    """
    return max(least, min(TOE_MOST.value, TOE_SHARE.value * height))


def cut_setback(depth: float, least: float = SETBACK_LEAST.value) -> float:
    """Distance in metres from the top of a cut of a depth in metres to the lot line.

    A fifth of the depth, at least 2 ft and at most 10 ft: Topeka KS 17.05.190(b).
    """
    return max(least, min(CUT_MOST.value, CUT_SHARE.value * depth))


def setback_findings(site: Site, proposal: Proposal) -> tuple[Finding, ...]:
    """Findings on soil and digs near the lot line; none where the site file states no lot line."""
    lot = site.boundary
    if lot is None:
        return ()
    fill = deeper_than(fill_facets(proposal.mesh), TRACE.value)
    cut = deeper_than(cut_facets(proposal.mesh), TRACE.value)
    least = site.local.bound("setback")
    return (
        *_beside(site.units, lot, fill, _Side("Soil lies", "The toe of the mound", toe_setback, least)),
        *_beside(site.units, lot, cut, _Side("Ground is dug away", "The edge of the digging", cut_setback, least)),
    )


@dataclass(frozen=True)
class _Side:
    """Fill or cut: what it does past the line, what its edge is called, its setback by height or depth, the least."""

    does: str
    edge: str
    setback: Callable[[float, float], float]
    least: Limit


def _beside(units: Units, lot: Polygon, facets: DepthFacets, side: _Side) -> Iterator[Finding]:
    """A stop for work on somebody else's land; a caution for work nearer to the line than the setback."""
    if not len(facets):
        return
    corners = facets.corners.reshape(-1, 2)
    past = shapely.distance(lot, shapely.points(corners))
    if past.max() > ROUNDING:
        x, y = corners[int(np.argmax(past))]
        far = show_length(float(past.max()), units, "distance")
        where = show_place(x, y, units)
        text = f"{side.does} up to {far} past the lot line near {where}. Draw the bed back onto the lot."
        yield Finding("stop", "safety", text, float(past.max()), 0.0, "the site file", (float(x), float(y)))
        return
    away, at = nearest_to_line(lot, facets)
    asked = side.setback(float(facets.depth.max()), side.least.value)
    if away < asked - ROUNDING:
        text = (
            f"{side.edge} comes within {show_length(away, units, 'distance')} of the lot line near "
            f"{show_place(*at, units)}. Many codes ask for {show_length(asked, units, 'distance')}; local code decides."
        )
        yield Finding("caution", "safety", text, away, asked, side.least.source, at)


def nearest_to_line(lot: Polygon, facets: DepthFacets) -> tuple[float, Place]:
    """Distance in metres from the facets to the lot line, and the nearest place on the line."""
    triangles = shapely.polygons(facets.corners)
    away = shapely.distance(triangles, lot.exterior)
    first = int(np.argmin(away))
    x, y = shapely.get_coordinates(shapely.shortest_line(triangles[first], lot.exterior))[-1]
    return float(away[first]), (float(x), float(y))
