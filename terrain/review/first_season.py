"""What stands in the first season: slopes before the mound settles, clay that takes up water, bare faces by paving."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
import shapely

from terrain.findings import Finding, Level
from terrain.limits import (
    BESIDE_PAVING,
    CLAY_HIGH,
    CLAY_LOAM_HIGH,
    CLAY_LOAM_SLOPE,
    CLAY_SLOPE,
    CLAY_TALL,
    MOWER_SLOPE,
    MULCH_COVERS,
    Limit,
)
from terrain.review.buildings import paved_grounds
from terrain.review.slopes import ROUNDING, area_steeper_on, facet_slopes, slope_class
from terrain.shape import Proposal
from terrain.site import Site, soil_word
from terrain.units import show_area, show_length, show_slope


def day_one_slopes(proposal: Proposal, factor: float) -> tuple[np.ndarray, np.ndarray]:
    """(m,) slope of every triangle on day one, rise/run, and (m,) whether new soil lies on ground that keeps to 1:1.

    `factor` is the height on day one for a finished height of 1.
    """
    mesh = proposal.mesh
    built = mesh.existing + np.where(mesh.fill > 0.0, factor * mesh.fill, mesh.proposed - mesh.existing)
    return facet_slopes(mesh, built), mesh.raised & mesh.inside


def steepest_on_day_one(site: Site, proposal: Proposal, factor: float) -> float:
    """Slope of the steepest new soil as built, rise/run; what is steep once settled too is no matter of day one."""
    slopes, counted = _day_one_faces(site, proposal, factor)
    return float(slopes[counted].max(initial=0.0))


def _day_one_faces(site: Site, proposal: Proposal, factor: float) -> tuple[np.ndarray, np.ndarray]:
    """(m,) slopes on day one, and (m,) which of them count."""
    slopes, filled = day_one_slopes(proposal, factor)
    own, finished = (facet_slopes(proposal.mesh, at) for at in (proposal.mesh.existing, proposal.mesh.proposed))
    # What stands past the limit once it has settled is a drop of stones, or ground that was steep before.
    return slopes, filled & (np.maximum(own, finished) <= site.berm.max_slope + ROUNDING)


def day_one_findings(site: Site, proposal: Proposal, factor: float) -> Iterator[Finding]:
    """Faces that stand past 3:1 or 2:1 until the mound has settled, though the finished ones do not."""
    slopes, counted = _day_one_faces(site, proposal, factor)
    steepest = float(slopes[counted].max(initial=0.0))
    found = slope_class(steepest)
    if found is None or found.level == "note" or found == slope_class(proposal.steepest):
        return
    area = area_steeper_on(proposal.mesh, slopes, counted, found.limit.value)
    middle = proposal.mesh.points[proposal.mesh.triangles[int(np.argmax(np.where(counted, slopes, -1.0)))]].mean(axis=0)
    text = (
        f"On day one, before it settles, the mound stands as steep as {show_slope(steepest)}: "
        f"{show_area(area, site.units)} {found.text} Lower the limit so that it keeps on day one too."
    )
    at = (float(middle[0]), float(middle[1]))
    yield Finding(found.level, "slopes", text, steepest, found.limit.value, found.limit.source, at)


@dataclass(frozen=True)
class WetSoil:
    """How a soil stands when it is wet: at most how steep, from what height that matters and must be designed."""

    slope: Limit
    high: float
    tall: float


# Sand and loam stand at 1.5:1 (Newman 1890 ch. VI), steeper than any mound may be without an engineer.
CLAYS: Mapping[str, WetSoil] = {
    **dict.fromkeys(("clay", "sandy clay", "silty clay"), WetSoil(CLAY_SLOPE, CLAY_HIGH.value, CLAY_TALL.value)),
    **dict.fromkeys(
        ("clay loam", "sandy clay loam", "silty clay loam"), WetSoil(CLAY_LOAM_SLOPE, CLAY_LOAM_HIGH.value, math.inf)
    ),
}


def clay_findings(site: Site, proposal: Proposal) -> Iterator[Finding]:
    """Clay, or soil with much of it, that stands steeper and higher than it does when it is wet."""
    wet = CLAYS.get(soil_word(site.soil.kind))
    height = float(proposal.fill.max(initial=0.0))
    if wet is None or proposal.steepest <= wet.slope.value + ROUNDING or height <= wet.high:
        return
    tall = height > wet.tall - 1e-9
    text = (
        f"{site.soil.kind.capitalize()} {show_length(height, site.units)} high at {show_slope(proposal.steepest)} "
        f"{'slides' if wet.tall < math.inf else 'may slide'} when it is wet: keep it to {show_slope(wet.slope.value)}, "
        f"or {'have an engineer design it' if tall else 'ask whoever knows the soil'}."
    )
    level: Level = "stop" if tall else "caution"
    yield Finding(level, "slopes", text, proposal.steepest, wet.slope.value, wet.slope.source)


def washing_findings(site: Site, proposal: Proposal) -> Iterator[Finding]:
    """Steep new soil that lies bare beside paving: the first rain brings it onto the walk."""
    if site.bed.mulch >= MULCH_COVERS.value:
        return
    mesh = proposal.mesh
    steep = np.flatnonzero(mesh.raised & (facet_slopes(mesh, mesh.proposed) > MOWER_SLOPE.value + ROUNDING))
    if not steep.size:
        return
    near = show_length(BESIDE_PAVING.value, site.units, "distance")
    faces = shapely.polygons(mesh.points[mesh.triangles[steep]])
    for name, area in paved_grounds(site):
        away = shapely.distance(faces, area)
        if away.min() < BESIDE_PAVING.value:
            x, y = mesh.points[mesh.triangles[steep[int(np.argmin(away))]]].mean(axis=0)
            text = (
                f"A bare face steeper than {show_slope(MOWER_SLOPE.value)} stands within {near} of {name}: rain washes "
                "it onto the paving. Mulch or mat it at once, or draw the toe back."
            )
            at = (float(x), float(y))
            yield Finding("caution", "soil", text, float(away.min()), BESIDE_PAVING.value, BESIDE_PAVING.source, at)
