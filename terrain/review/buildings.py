"""The ground beside a building, before and after: its fall away from the wall, less where it is paved."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import LineString, MultiPolygon, Point, Polygon

from terrain.findings import Finding
from terrain.grid import Array, Grid, Mask
from terrain.ground import Ground
from terrain.limits import FALL, FALL_WITHIN, NOISE, PAVED_SLOPE, SWALE_SLOPE, Limit
from terrain.numerics import Place
from terrain.review.swales import least_fall
from terrain.review.wall_soil import wall_soil_findings
from terrain.review.walls import Walls, walls_of
from terrain.shape import Proposal
from terrain.site import Building, Site, Walk
from terrain.units import Units, show_length, show_place

RUN_STEP = 0.15  # metres between places away from a wall
NOWHERE = Polygon()


@dataclass(frozen=True)
class WallFall:
    """Fall of the ground away from the worst place of a wall over the first stretch, metres.

    `needed` is the fall that the stretch asks for there: less where it is paved.
    """

    at: Place
    before: float
    after: float
    needed: float


def fall_away(grid: Grid, elevation: Array, walls: Walls, within: float, noise: float) -> Array:
    """(n,) fall in metres from each place on a wall to the first low point of the ground within a distance.

    Walking away from the wall, the fall ends where the ground has risen by more than `noise` over its lowest: what
    lies lower beyond a rise takes no water from the wall. Ground that rises from the wall has a fall of its rise,
    negative.
    """
    runs = np.linspace(0.0, within, round(within / RUN_STEP) + 1)
    points = walls.foot[:, None] + runs[None, :, None] * walls.outward[:, None]
    level = grid.sample(elevation, points.reshape(-1, 2)).reshape(len(walls.foot), -1)
    lowest = np.minimum.accumulate(level, axis=1)
    risen = np.maximum.accumulate(level > lowest + noise, axis=1)
    first_low = np.where(risen, np.inf, lowest).min(axis=1)
    falls: Array = level[:, 0] - first_low
    rises = falls <= 0.0
    falls[rises] = (level[:, 0] - level[:, 1:].max(axis=1))[rises]
    return falls


def paved_ground(site: Site) -> Polygon | MultiPolygon:
    """Ground that rain runs off: what is kept clear and paved, and paved walks; metres."""
    return shapely.union_all([area for _, area in paved_grounds(site)])


def paved_grounds(site: Site) -> list[tuple[str, Polygon]]:
    """Each part of that ground with its name."""
    areas = [(clear.name, clear.outline) for clear in site.keep_clear if clear.paved]
    return areas + [(walk.name, walk_ground(walk)) for walk in site.walk if walk.paved]


def walk_ground(walk: Walk) -> Polygon:
    """The ground under a walk, metres."""
    ground: Polygon = LineString(walk.line).buffer(walk.width / 2, cap_style="flat")
    return ground


def needed_fall(walls: Walls, paved: Polygon | MultiPolygon, soil: Limit = FALL) -> Array:
    """(n,) fall in metres that the first stretch from each place on a wall asks for.

    Soil falls `soil` within the first 10 ft, paving 2 %; a stretch that is paved in part asks for each over its part.
    """
    earth = soil.value / FALL_WITHIN.value
    runs = (np.arange(round(FALL_WITHIN.value / RUN_STEP)) + 0.5) / round(FALL_WITHIN.value / RUN_STEP)
    points = walls.foot[:, None] + FALL_WITHIN.value * runs[None, :, None] * walls.outward[:, None]
    on_paving = shapely.contains_xy(paved, points[..., 0], points[..., 1]).mean(axis=1)
    needed: Array = FALL_WITHIN.value * (earth + on_paving * (min(PAVED_SLOPE.value, earth) - earth))
    return needed


@dataclass(frozen=True)
class _Falls:
    """(n,) falls from the places on a wall, metres: before, after, needed, and where the berm is charged with it."""

    foot: Array
    before: Array
    after: Array
    needed: Array
    charged: Mask

    def worst(self, wanting: Array, among: Mask) -> WallFall | None:
        """The place of some that wants most fall, or None where there is none."""
        if not among.any():
            return None
        k = int(np.argmax(np.where(among, wanting, -np.inf)))
        x, y = self.foot[k]
        return WallFall((float(x), float(y)), float(self.before[k]), float(self.after[k]), float(self.needed[k]))


def _falls_of(
    building: Building, ground: Ground, proposal: Proposal, paved: Polygon | MultiPolygon, soil: Limit
) -> _Falls | None:
    """Falls from a building's walls, as far as the first stretch from them lies on the grid; None where none does."""
    within, noise = FALL_WITHIN.value, NOISE.value
    walls = _within_grid(ground.grid, walls_of(building.outline), within)
    if not len(walls.foot):
        return None
    before = fall_away(ground.grid, ground.elevation, walls, within, noise)
    after = fall_away(ground.grid, proposal.elevation, walls, within, noise)
    needed = needed_fall(walls, paved, soil)
    return _Falls(walls.foot, before, after, needed, (before - after > noise) & (after < needed))


def worst_fall(
    building: Building,
    ground: Ground,
    proposal: Proposal,
    paved: Polygon | MultiPolygon = NOWHERE,
    soil: Limit = FALL,
) -> WallFall | None:
    """Where the berm leaves too little fall beside a building, the worst place where it takes fall away.

    None where it takes away no more than noise anywhere, or where all of the fall that is needed is left.
    """
    falls = _falls_of(building, ground, proposal, paved, soil)
    return None if falls is None else falls.worst(falls.needed - falls.after, falls.charged)


def existing_fall(
    building: Building,
    ground: Ground,
    proposal: Proposal,
    paved: Polygon | MultiPolygon = NOWHERE,
    soil: Limit = FALL,
) -> WallFall | None:
    """Where the ground as it is falls too little from a building, the worst place that the berm is not charged with."""
    falls = _falls_of(building, ground, proposal, paved, soil)
    if falls is None:
        return None
    return falls.worst(falls.needed - falls.before, (falls.before < falls.needed - NOISE.value) & ~falls.charged)


def _within_grid(grid: Grid, walls: Walls, within: float) -> Walls:
    """The places of a wall from which the whole stretch lies on the grid."""
    low, high = np.array([grid.x[0], grid.y[0]]), np.array([grid.x[-1], grid.y[-1]])
    far = walls.foot + within * walls.outward
    kept = np.all((walls.foot >= low) & (walls.foot <= high) & (far >= low) & (far <= high), axis=1)
    return Walls(walls.foot[kept], walls.outward[kept])


def building_findings(site: Site, ground: Ground, proposal: Proposal) -> tuple[Finding, ...]:
    """Findings on the ground beside each building: what the berm makes worse, and what is too flat as it is."""
    findings: list[Finding] = []
    paved, soil = paved_ground(site), site.local.bound("house_fall")
    for building in site.building:
        charged, existing = (fall(building, ground, proposal, paved, soil) for fall in (worst_fall, existing_fall))
        findings += _fall(site.units, building, charged, _swale_beside(site, building, ground, charged), soil)
        if existing is not None and (charged is None or existing.before < -NOISE.value):
            findings.append(_as_it_is(site.units, building, existing, soil))
        findings += wall_soil_findings(site, building, ground, proposal)
    return tuple(findings)


def _swale_beside(site: Site, building: Building, ground: Ground, found: WallFall | None) -> str:
    """A channel beside the worst place that falls as the code asks of a swale there; "" where none is drawn."""
    if found is None:
        return ""
    for channel in site.channel:
        beside = LineString(channel.line).distance(Point(found.at)) <= FALL_WITHIN.value
        fall = least_fall(channel, building, ground, FALL_WITHIN.value) if beside else None
        if fall is not None and fall[0] >= SWALE_SLOPE.value - 1e-6:
            return channel.name
    return ""


def _fall(units: Units, building: Building, found: WallFall | None, swale: str, soil: Limit) -> Iterator[Finding]:
    """The berm leaves less fall away from a building than codes ask: a stop, unless a swale that falls is drawn."""
    if found is None:
        return
    stretch, was = show_length(FALL_WITHIN.value, units, "distance"), show_length(found.before, units)
    needed = show_length(found.needed, units)
    if found.before <= NOISE.value:
        text = (
            f"Beside {building.name} the ground does not fall away from the wall as it is, and the berm adds "
            f"{show_length(found.before - found.after, units)} of rise. "
        )
    elif found.after <= NOISE.value:
        text = (
            f"Beside {building.name} the finished ground no longer falls away within {stretch} of the wall; "
            f"it fell {was}. "
        )
    else:
        text = (
            f"Beside {building.name} the ground falls {show_length(found.after, units)} within {stretch} of the wall "
            f"where it fell {was} and codes ask for {needed}. "
        )
    text += (
        f"{swale} leads the water off: keep it open."
        if swale
        else f"Move the berm away, or draw a swale that falls {100.0 * SWALE_SLOPE.value:.0f} %."
    )
    yield Finding(
        "caution" if swale else "stop", "drainage", text, found.after, found.needed, _source(found, soil), found.at
    )


def _source(found: WallFall, soil: Limit) -> str:
    return (soil if found.needed > soil.value - 1e-9 else PAVED_SLOPE).source


def _as_it_is(units: Units, building: Building, found: WallFall, soil: Limit) -> Finding:
    """Ground that falls too little from a wall by nature: a caution where it falls towards it, else a note."""
    stretch, needed = show_length(FALL_WITHIN.value, units, "distance"), show_length(found.needed, units)
    source = _source(found, soil)
    near = f"near {show_place(*found.at, units)}"
    if found.before < -NOISE.value:
        rise = show_length(-found.before, units)
        text = (
            f"The ground falls towards {building.name} as it is, by {rise} within {stretch} of the wall {near}; the "
            "berm does not change that. Lead its water away in a swale, or have the ground regraded."
        )
        return Finding("caution", "drainage", text, found.before, found.needed, source, found.at)
    level = abs(found.before) <= NOISE.value
    does = "is as good as level" if level else f"falls {show_length(found.before, units)}"
    text = (
        f"Beside {building.name} the ground {does} within {stretch} of the wall {near} as it is, where {needed} "
        "is asked for; the berm takes none of it."
    )
    return Finding("note", "drainage", text, found.before, found.needed, source, found.at)
