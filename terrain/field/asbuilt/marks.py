"""Each shot against the plan: on what ground it stands, and whether it is within its bound."""

from __future__ import annotations

import math

from shapely.geometry import Point

from terrain.field.asbuilt.model import BuiltShot, BuiltShots, Stage, Verdict
from terrain.flow import Study
from terrain.grid import Array
from terrain.limits import SOIL_SEEN
from terrain.numerics import cut_facets, depth_at, fill_facets
from terrain.site import Site, keep_off_radius

DEVIATIONS = 3.0  # how many standard deviations a shot must stand over the ground before soil is said to lie there
KEEP_OFF = "keep-off of "  # how the ground of a shot beside a tree is named, before the tree's name
_ON_EDGE = 0.01  # metres: a shot this near to the line of a keep-off stands on it


def marked(study: Study, built: BuiltShots, stage: Stage, tolerance: float) -> tuple[BuiltShot, ...]:
    """Every shot with its plan, its bound and its verdict."""
    places, heights = built.shots[:, :2], built.shots[:, 2]
    grid, mesh = study.ground.grid, study.proposal.mesh
    existing = grid.sample(study.ground.elevation, places)
    spread = grid.sample(study.ground.deviation, places)
    fill, cut = depth_at(fill_facets(mesh), places), depth_at(cut_facets(mesh), places)
    found = []
    for i, name in enumerate(built.names):
        where = ground_of(study, places[i], float(cut[i]))
        settled = float(existing[i] + fill[i] - cut[i])
        day_one = float(existing[i] + study.work.day_one_factor * fill[i] - cut[i])
        on_work = where in ("mound", "dig")
        unsure = DEVIATIONS * math.hypot(float(spread[i]), study.site.survey.accuracy)
        bound = tolerance if on_work else max(unsure, SOIL_SEEN.value)
        off = heights[i] - (day_one if stage == "day one" else settled)
        verdict = _on_work(float(off), bound) if on_work else _beside(float(heights[i] - existing[i]), bound)
        at = (float(places[i, 0]), float(places[i, 1]))
        known = (float(heights[i]), where, float(existing[i]), day_one, settled)
        found.append(BuiltShot(name, at, *known, bound, verdict))
    return tuple(found)


def _on_work(off: float, bound: float) -> Verdict:
    if abs(off) <= bound + 1e-9:
        return "within"
    return "low" if off < 0.0 else "high"


def _beside(over: float, bound: float) -> Verdict:
    return "soil" if over > bound else "clear"


def ground_of(study: Study, at: Array, cut: float) -> str:
    """What ground a place (2,) stands on; the ground that takes no soil first."""
    spot, site = Point(at), study.site
    for tree in site.tree:
        if math.dist(at, tree.at) <= keep_off_radius(tree, site.trees.rule) - _ON_EDGE:
            return keep_off_words(tree.name)
    for clear in site.keep_clear:
        if clear.outline.buffer(-_ON_EDGE).covers(spot):
            return clear.name
    if cut > 0.0:
        return "dig"
    return "mound" if study.proposal.worked.covers(spot) else "outside the bed"


def keep_off_words(name: str) -> str:
    """How a shot in a tree's keep-off names its ground."""
    return f"{KEEP_OFF}{name}"


def beside_names(site: Site) -> set[str]:
    """Every name of ground that takes no soil."""
    return {keep_off_words(tree.name) for tree in site.tree} | {clear.name for clear in site.keep_clear}
