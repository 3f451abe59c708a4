"""Finished slopes against the site's limit and published limits, and the wishes that the limit held back."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely

from terrain.findings import Finding, Level
from terrain.grid import Array, Mask
from terrain.limits import (
    COVERED_SLOPE,
    CREST_SHORT,
    ENGINEERED_SLOPE,
    LEVEL_SLOPE,
    MOWER_SLOPE,
    MOWN_BERM_SLOPE,
    Limit,
)
from terrain.numerics import Place, YardMesh
from terrain.review.words import listed
from terrain.shape import MOST, BuiltCrest, Proposal
from terrain.site import Site
from terrain.units import Units, show_area, show_length, show_place, show_slope, show_volume

ROUNDING = 1e-6  # rise/run
MOST_CREST_POINTS = 3
LEAST_AREA = 0.1  # m2; less is not told as a figure
SOIL_LEFT = 0.01  # share of the soil on hand that is worth a word


MOWN = f"the site file; {MOWN_BERM_SLOPE.source}: mown berms to 5:1"


@dataclass(frozen=True)
class SlopeClass:
    """What a slope steeper than a limit means, said of the area that is steeper."""

    limit: Limit
    level: Level
    text: str


SLOPE_CLASSES = (
    SlopeClass(
        ENGINEERED_SLOPE,
        "stop",
        "is steeper than 2:1, which needs an engineer's design.",
    ),
    SlopeClass(
        COVERED_SLOPE,
        "caution",
        "is steeper than 3:1, which cannot be mown and needs ground cover or an erosion mat.",
    ),
    SlopeClass(
        MOWER_SLOPE,
        "note",
        "is steeper than 4:1, too steep for a mower: plant it.",
    ),
    SlopeClass(
        MOWN_BERM_SLOPE,
        "note",
        "is steeper than 5:1, to which one design manual keeps berms that are mown: plant it.",
    ),
)


def slope_class(slope: float) -> SlopeClass | None:
    """The strictest published class that a slope (rise/run) goes beyond, or None."""
    return next((one for one in SLOPE_CLASSES if slope > one.limit.value + ROUNDING), None)


def facet_slopes(mesh: YardMesh, elevation: Array) -> Array:
    """Slope (rise/run) of every triangle of the mesh for (n,) vertex elevations in metres; shape (m,).

    In a dig it counts as none: its sides, and a stream's drops, stand as steep as the site file has them, under stone.
    """
    if elevation is mesh.existing:
        slopes = mesh.existing_slopes
    else:
        slopes = mesh.proposed_slopes if elevation is mesh.proposed else mesh.slopes_of(elevation)
    return slopes if mesh.dug is None else np.where(mesh.dug, 0.0, slopes)


def wish_findings(site: Site, proposal: Proposal) -> Iterator[Finding]:
    """Wishes that were held back: of heights, of soil on hand, of the toe."""
    yield from _crest(site.units, proposal.crest)
    yield from _scaled(site, proposal)
    yield from _toe(site, proposal)


def finished_findings(site: Site, proposal: Proposal) -> Iterator[Finding]:
    """The steepest finished ground: against the limit, and in its published class."""
    limit, steepest = site.berm.max_slope, proposal.steepest
    at = _steepest_place(proposal, limit)
    where = f" near {show_place(*at, site.units)}" if at else ""
    reached = f"The steepest finished ground is {show_slope(steepest)}{where}"
    found = slope_class(steepest)
    broken = steepest > limit + ROUNDING
    if broken:
        yield Finding(
            "stop",
            "slopes",
            f"The finished ground reaches {show_slope(steepest)}{where}, steeper than the limit of "
            f"{show_slope(limit)}. Lower the crest there or widen the bed.",
            steepest,
            limit,
            "the site file",
            at,
        )
    if found is not None and (not broken or found.level != "note"):
        text = f"{reached}. {_steeper(site.units, proposal.mesh, found.limit.value)} {found.text}"
        yield Finding(found.level, "slopes", text, steepest, found.limit.value, found.limit.source, at)
    elif not broken and steepest > 0.0:
        text = f"{reached}; the limit is {show_slope(limit)}. It may be mown or planted."
        yield Finding("note", "slopes", text, steepest, limit, MOWN, at)


def area_steeper(mesh: YardMesh, over: float) -> float:
    """Plan area of new soil whose finished slope is steeper than `over` (rise/run), m2."""
    return area_steeper_on(mesh, facet_slopes(mesh, mesh.proposed), mesh.raised, over)


def area_steeper_on(mesh: YardMesh, slopes: Array, counted: Mask, over: float) -> float:
    """Plan area of the counted triangles, (m,), whose slopes, (m,), are steeper than `over` (rise/run), m2."""
    return float(mesh.areas[counted & (slopes > over + ROUNDING)].sum())


def _steeper(units: Units, mesh: YardMesh, over: float) -> str:
    """The area of new soil that is steeper, as the words before "is steeper"."""
    area = area_steeper(mesh, over)
    return show_area(area, units) if area >= LEAST_AREA else "A little of it"


def _steepest_place(proposal: Proposal, limit: float) -> Place | None:
    """Middle of the steepest finished triangle of the bed whose own ground keeps the limit."""
    mesh = proposal.mesh
    own, finished = facet_slopes(mesh, mesh.existing), facet_slopes(mesh, mesh.proposed)
    return _middle(mesh, np.where(mesh.inside & mesh.raised & (own <= limit), finished, -1.0))


def _middle(mesh: YardMesh, rank: Array) -> Place | None:
    """Middle of the triangle that ranks highest, or None where none ranks at 0 or more."""
    best = int(np.argmax(rank)) if rank.size else -1
    if best < 0 or rank[best] < 0.0:
        return None
    x, y = mesh.points[mesh.triangles[best]].mean(axis=0)
    return float(x), float(y)


def already_steep_findings(site: Site, proposal: Proposal) -> Iterator[Finding]:
    """Ground in the bed that is steeper than the limit before any soil is laid."""
    limit = site.berm.max_slope
    if proposal.existing_steepest <= limit + ROUNDING:
        return
    mesh = proposal.mesh
    own, finished = facet_slopes(mesh, mesh.existing), facet_slopes(mesh, mesh.proposed)
    steep = mesh.inside & (own > limit + ROUNDING)
    at = _middle(mesh, np.where(steep, own, -1.0))
    where = f" near {show_place(*at, site.units)}" if at else ""
    worse = float((finished - own)[steep].max(initial=0.0))
    slope = show_slope(proposal.existing_steepest)
    text = f"The ground itself is {slope} in the bed{where}, steeper than the limit. "
    if worse > ROUNDING:
        yield Finding("stop", "slopes", text + "The berm makes it steeper still.", worse, 0.0, "the site file", at)
        return
    text += "The berm makes it no steeper; hold that ground with plants."
    yield Finding("caution", "slopes", text, proposal.existing_steepest, limit, "the site file", at)


def _crest(units: Units, crest: tuple[BuiltCrest, ...]) -> Iterator[Finding]:
    """Each crest point that is lower than wished; the worst few by name and the rest in one."""
    short = [point for point in crest if point.held_by and point.short]
    short.sort(key=lambda point: point.built - point.wished)
    for point in short[:MOST_CREST_POINTS]:
        text = (
            f"The crest at {show_place(*point.at, units)} is {show_length(point.built, units)} high where "
            f"{show_length(point.wished, units)} was wished. It is held by {point.held_by}."
        )
        yield Finding("note", "shape", text, point.built, point.wished, "the site file", point.at)
    rest = short[MOST_CREST_POINTS:]
    if rest:
        worst = max(point.wished - point.built for point in rest)
        text = f"{len(rest)} more crest points are lower than wished, by up to {show_length(worst, units)}."
        yield Finding("note", "shape", text, worst, 0.0, "the site file", rest[0].at)


def _scaled(site: Site, proposal: Proposal) -> Iterator[Finding]:
    """The heights were changed to use the soil on hand, or the limits would not take all of it."""
    soil, left = site.berm.soil, proposal.soil_left
    if soil is not None and abs(left) > SOIL_LEFT * soil:
        rest = show_volume(abs(left), site.units, "loose")
        says = f"{rest} of it is left over" if left > 0.0 else f"{rest} more is needed"
        text = f"The limits do not let the berm use the {show_volume(soil, site.units, 'loose')} on hand: {says}. "
        text += _use_of_soil(site, soil, left)
        yield Finding("caution", "shape", text, left, 0.0, "the site file")
    scale = proposal.height_scale
    # Where the limits hold the mound everywhere, or no mound is left, the factor says nothing.
    if abs(scale - 1.0) > 0.005 and 0.005 < scale < MOST:
        top = show_length(float(proposal.fill.max()), site.units)
        text = f"To use the soil on hand, every wished height was taken at {100 * scale:.0f} %: {top} at the top."
        yield Finding("note", "shape", text, scale, 1.0, "the site file")


def _use_of_soil(site: Site, soil: float, left: float) -> str:
    """What to change so that the soil on hand is used.

    A mound that its limits hold everywhere grows with the slope limit, and on a bed of the same shape with the area to
    the power of 3/2; both figures are told as "about", for the soil that replaces the sod grows otherwise.
    """
    rest = show_volume(abs(left), site.units, "loose")
    if left < 0.0:
        return "Even without a mound the bed takes that: buy it, strip less, or make the bed smaller."
    used = max(soil - left, 1e-9)
    larger = 100.0 * ((soil / used) ** (2.0 / 3.0) - 1.0)
    slope = site.berm.max_slope * soil / used
    gentler = f" or allow sides of about {show_slope(slope)}" if slope <= COVERED_SLOPE.value else ""
    return f"Make the bed about {larger:.0f} % larger{gentler}, or use {rest} elsewhere."


def _toe(site: Site, proposal: Proposal) -> Iterator[Finding]:
    """The toe is narrower than asked because the bed has no room for it, or wider than the grid can draw it."""
    asked = site.berm.toe
    if asked is None or abs(asked - proposal.toe) <= CREST_SHORT.value:
        return
    reason = (
        "The bed is too narrow for more." if asked > proposal.toe else "The grid of the ground draws none narrower."
    )
    text = (
        f"The toe eases over {show_length(proposal.toe, site.units, 'distance')} where "
        f"{show_length(asked, site.units, 'distance')} was asked. {reason}"
    )
    yield Finding("note", "shape", text, proposal.toe, asked, "the site file")


def level_top_findings(site: Site, proposal: Proposal) -> Iterator[Finding]:
    """Terraces too level to shed rain: one finding for all of them."""
    found = [(slope, name) for name, slope in top_slopes(site, proposal) if slope < LEVEL_SLOPE.value]
    if not found:
        return
    names = listed([name for _, name in found])
    are, them = ("is", "it") if len(found) == 1 else ("are", "them")
    text = f"The top of {names} {are} as good as level, and rain stands on {them}. Rake {them} to fall 1 % to 2 %."
    spot = next(one for one in site.terrace if one.name == min(found)[1]).outline.representative_point()
    yield Finding("note", "slopes", text, min(found)[0], LEVEL_SLOPE.value, LEVEL_SLOPE.source, (spot.x, spot.y))


def top_slopes(site: Site, proposal: Proposal) -> Iterator[tuple[str, float]]:
    """Name of each terrace that is filled, and the slope that half of its top does not exceed, rise/run."""
    if not site.terrace:
        return
    mesh = proposal.mesh
    middles = mesh.points[mesh.triangles].mean(axis=1)
    slopes, areas = facet_slopes(mesh, mesh.proposed), mesh.areas
    filled = (mesh.fill[mesh.triangles] > 0.0).all(axis=1)
    for terrace in site.terrace:
        on_top = filled & shapely.contains_xy(terrace.outline, middles)
        if on_top.any():
            order = np.argsort(slopes[on_top])
            share = np.cumsum(areas[on_top][order])
            yield terrace.name, float(slopes[on_top][order][np.searchsorted(share, share[-1] / 2.0)])
