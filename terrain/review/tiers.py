"""Stones that stand one above the other, and the drop beside a seat or a walk."""

from __future__ import annotations

import itertools
from collections.abc import Iterator

import shapely
from shapely.geometry import LineString

from terrain.findings import Finding
from terrain.ground import Ground
from terrain.limits import GUARD_WITHIN, TIERS_APART
from terrain.site import Site
from terrain.soil import Wall, walls
from terrain.units import show_length


def tier_findings(site: Site, ground: Ground) -> Iterator[Finding]:
    """Two walls of which the upper stands within twice the lower's height: codes count them as one."""
    permit = site.local.bound("permit_height")
    for one, two in itertools.combinations(walls(site), 2):
        lower = min((one, two), key=lambda wall: _foot(ground, wall))
        away, apart = float(one.line.distance(two.line)), TIERS_APART.value * lower.retained_height
        whole = one.overall + two.retained_height
        if away >= apart - 1e-6 or max(one.overall, two.overall) > permit.value or whole <= permit.value + 1e-9:
            continue
        middle = one.line.interpolate(0.5, normalized=True)
        source = f"{TIERS_APART.source}; {permit.source}"
        text = (
            f"{one.name} and {two.name} stand {show_length(away, site.units, 'distance')} apart and count as one wall "
            f"{show_length(whole, site.units)} high, which needs a permit and an engineer. Set them "
            f"{show_length(apart, site.units, 'distance')} apart, or lower one."
        )
        yield Finding("stop", "safety", text, away, apart, source, (middle.x, middle.y))


def _foot(ground: Ground, wall: Wall) -> float:
    """Level of the ground half way along a wall, metres."""
    spot = shapely.get_coordinates(wall.line.interpolate(0.5, normalized=True))
    return float(ground.grid.sample(ground.elevation, spot)[0])


def guard_findings(site: Site) -> Iterator[Finding]:
    """A drop over stones beside a walk or a seat: one finding for each wall."""
    places = [(walk.name, LineString(walk.line).buffer(walk.width / 2.0)) for walk in site.walk]
    places += [(terrace.name, terrace.outline) for terrace in site.terrace]
    guard = site.local.bound("guard_drop")
    for wall in walls(site):
        near = [name for name, area in places if area.distance(wall.line) < GUARD_WITHIN.value]
        drop = wall.retained_height
        if drop <= guard.value + 1e-9 or not near:
            continue
        text = (
            f"{wall.name} drops {show_length(drop, site.units)} beside {near[0]}: over "
            f"{show_length(guard.value, site.units)} codes ask for a guard there. Lower it or fence it."
        )
        spot = wall.line.interpolate(0.5, normalized=True)
        yield Finding("caution", "safety", text, drop, guard.value, guard.source, (spot.x, spot.y))
