"""Retained edges and basins: what their height, their stones, their depth and the trees beside them ask for."""

from __future__ import annotations

from collections.abc import Iterator

import shapely
from shapely.geometry import Point

from terrain.estimates import show_about
from terrain.findings import Finding
from terrain.limits import INCH, Limit
from terrain.numerics import polygon_area_in_disc
from terrain.review.model import TreeCheck
from terrain.shape import BATTER, Retained, retained_edges
from terrain.site import Site
from terrain.soil import ONE_PERSON, Wall, walls
from terrain.units import Units, show_length

# Soil held from which a wall is to be designed: IRC R404.4 (2009 text); later editions have 48 in without a load.
DESIGNED_HEIGHT = 24.0 * INCH
DESIGNED = "IRC R404.4 (2009): more than 24 in of soil held; ask the permit office which edition holds"


def height_findings(site: Site) -> Iterator[Finding]:
    """The height of every retained edge, from the foot of its base stones."""
    permit = site.local.bound("permit_height")
    yield from (_height(site.units, wall, permit) for wall in walls(site))


def stones_by_tree_findings(site: Site, trees: tuple[TreeCheck, ...]) -> Iterator[Finding]:
    """Stones inside keep-offs."""
    for edge in retained_edges(site):
        yield from _beside_tree(site.units, edge, trees)


def _height(units: Units, wall: Wall, permit: Limit) -> Finding:
    """A stop where codes ask for a permit and an engineer; else whom to ask and how to stand: a mound is a load."""
    at = _middle(wall)
    high = f"{wall.name}: {show_length(wall.overall, units)} high from the foot of the base stones"
    if wall.overall > permit.value + 1e-9:
        limit = show_length(permit.value, units)
        text = f"{high}, over the {limit} from which codes ask for a permit and an engineer. Lower it or step it back."
        return Finding("stop", "safety", text, wall.overall, permit.value, permit.source, at)
    lean = f"Lean its face back 1 in {1.0 / BATTER:.0f} and drain it behind."
    if wall.retained_height > DESIGNED_HEIGHT + 1e-9:
        held = show_length(DESIGNED_HEIGHT, units)
        text = f"{high}. Where more than {held} of soil bears a mound, codes ask for a design: ask an engineer. {lean}"
        return Finding("caution", "safety", text, wall.retained_height, DESIGNED_HEIGHT, DESIGNED, at)
    text = f"{high}; the mound behind is a surcharge that ends the exemption: ask whether it needs a permit. {lean}"
    return Finding("caution", "safety", text, wall.overall, permit.value, permit.source, at)


def _beside_tree(units: Units, edge: Retained, trees: tuple[TreeCheck, ...]) -> Iterator[Finding]:
    """Stones inside a keep-off; their trench in a root zone is told with the other digs."""
    for tree in trees:
        away = float(edge.stones.distance(Point(tree.at)))
        inside = polygon_area_in_disc(edge.stones, tree.at, tree.keep_off)
        if inside > 0.0:
            radius = show_length(tree.keep_off, units, "distance")
            text = f"{tree.name}: the stones of {edge.name} stand inside its keep-off of {radius}. Move the line back."
            yield Finding("stop", "trees", text, away, tree.keep_off, "the site file", tree.at)


def lift_findings(site: Site) -> Iterator[Finding]:
    """The heaviest stone, once for all edges."""
    built, units = walls(site), site.units
    if not built:
        return
    wall = max(built, key=lambda one: one.each)
    if not wall.machine_lift:
        return
    text = (
        f"A stone {show_length(wall.size, units)} across weighs about {show_about(wall.each, 'weight', units)}, more "
        "than one person may lift: use a machine or a team, and let nobody stand under it."
    )
    source = "NIOSH 94-110; EM 1110-2-1601 ch. 3; 29 CFR 1926.651(e)"
    yield Finding("caution", "safety", text, wall.each, ONE_PERSON, source, _middle(wall))


def open_water_findings(site: Site) -> Iterator[Finding]:
    """The deepest basin, where it may fall under a fence rule."""
    if not site.basin:
        return
    basin = max(site.basin, key=lambda one: one.depth)
    fence = site.local.bound("fence_depth")
    if basin.depth < fence.value:
        return
    text = f"{basin.name} is {show_length(basin.depth, site.units)} deep. Local rules may ask for a fence round it."
    yield Finding("caution", "safety", text, basin.depth, fence.value, fence.source)


def _middle(wall: Wall) -> tuple[float, float]:
    """Place half way along an edge."""
    x, y = shapely.get_coordinates(wall.line.interpolate(0.5, normalized=True))[0]
    return float(x), float(y)
