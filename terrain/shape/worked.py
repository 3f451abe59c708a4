"""The ground that may take fill: the bed less every keep-off disc and every keep-clear area."""

from __future__ import annotations

from dataclasses import dataclass

import shapely
from shapely.geometry import MultiPolygon, Polygon

from terrain.numerics import disc_polygon
from terrain.site import Site, keep_off_radius


@dataclass(frozen=True)
class Hold:
    """One thing that holds fill back: its name as a person would say it, and its geometry in metres.

    `disc` is (centre, radius) for a keep-off circle; None for a polygon.
    """

    name: str
    area: Polygon
    disc: tuple[tuple[float, float], float] | None = None


def holds_of(site: Site, edge: float) -> tuple[Hold, ...]:
    """Keep-offs of all trees, then keep-clear areas and buildings, in the order of the site file.

    `edge` is the longest side, metres, of the polygons that stand for keep-off circles.
    """
    holds = []
    for tree in site.tree:
        radius = keep_off_radius(tree, site.trees.rule)
        holds.append(Hold(f"the keep-off of {tree.name}", disc_polygon(tree.at, radius, edge), (tree.at, radius)))
    holds += [Hold(clear.name, clear.outline) for clear in site.keep_clear]
    holds += [Hold(building.name, building.outline) for building in site.building]
    return tuple(holds)


def worked_ground(outline: Polygon, holds: tuple[Hold, ...]) -> Polygon | MultiPolygon:
    """The outline less every hold; may be empty or in several parts."""
    worked = outline
    for hold in holds:
        worked = shapely.difference(worked, hold.area)
    parts = [p for p in shapely.get_parts(worked) if isinstance(p, Polygon) and p.area > 0.0]
    if len(parts) == 1:
        return parts[0]
    return MultiPolygon(parts)
