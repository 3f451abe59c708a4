"""The edge of the work that a plan draws, or that follows from where its proposed grade lies."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry import MultiPoint, MultiPolygon, Polygon
from shapely.geometry.polygon import orient

from terrain.grid import Array
from terrain.survey import OUTLINE, DrawnPlan, PlanHeights, PlanUses, not_clear
from terrain.units import Units, show_length

_TIGHT = 0.3  # of the hull about proposed grade: 0 follows every bay, 1 none
_SAME = 0.02  # metres: nearer elevations are one
_LEAST_ROOM, _MOST_ROOM = 0.3, 3.0  # metres beyond the outermost proposed contour


def rings_of(plan: DrawnPlan, layers: Sequence[str]) -> list[tuple[str, Polygon]]:
    """Closed lines on some layers as valid polygons, each with its layer."""
    found = ((line.layer, Polygon(line.points[:, :2])) for line in plan.lines if line.layer in layers and line.closed)
    return [(layer, ring) for layer, ring in found if ring.is_valid and ring.area > 0.0]


def work_edge(
    plan: DrawnPlan, uses: PlanUses, existing: PlanHeights, proposed: PlanHeights, units: Units
) -> tuple[Polygon, list[str]]:
    """The edge of the work; where the plan does not draw it, round the elevations that change, and that in words.

    Raises
    ------
    InputError
        Where no closed line of the outline's layers holds any of the proposed elevations, or several do.
    """
    layers = uses.layers(OUTLINE)
    if layers:
        return _drawn(plan, uses, layers, proposed), []
    corners = changed(existing.corners, proposed.corners)
    hull = shapely.concave_hull(MultiPoint(corners[:, :2]), ratio=_TIGHT)
    if not isinstance(hull, Polygon) or hull.area == 0.0:
        hull = MultiPoint(corners[:, :2]).convex_hull
    room = _room(proposed, hull)
    edge = hull.buffer(room)
    assert isinstance(edge, Polygon)
    shown = show_length(room, units, "distance")
    said = (
        f"{plan.label}: no layer says where the work ends; its edge was taken {shown} outside the outermost elevations "
        "that change. Name it if the plan draws it: --layer outline=NAME."
    )
    return orient(Polygon(edge.exterior)), [said]


def changed(existing: Array, proposed: Array) -> Array:
    """(n, 3) the proposed elevations that do not lie on existing ones; all of them where all do.

    A plan often repeats lines of existing grade among the proposed ones, to show where these run out.
    """
    from scipy.spatial import cKDTree

    away, _ = cKDTree(existing).query(proposed)
    kept = proposed[away > _SAME]
    return kept if len(kept) >= 3 else proposed


def _room(proposed: PlanHeights, hull: Polygon) -> float:
    """Metres from the outermost contour to where the work ends: the mean distance between contours, within bounds."""
    length = sum(float(np.hypot(*np.diff(line[:, :2], axis=0).T).sum()) for line in proposed.contours)
    spacing = hull.area / length if length > 0.0 else _LEAST_ROOM
    return float(np.clip(spacing, _LEAST_ROOM, _MOST_ROOM))


def _drawn(plan: DrawnPlan, uses: PlanUses, layers: tuple[str, ...], proposed: PlanHeights) -> Polygon:
    rings = [ring for _, ring in rings_of(plan, layers)]
    corners = proposed.corners
    held = [ring for ring in rings if shapely.contains_xy(ring, corners[:, 0], corners[:, 1]).any()]
    joined = shapely.union_all(held)
    if isinstance(joined, Polygon) and not joined.is_empty:
        return orient(joined)
    names = ", ".join(layers)
    if isinstance(joined, MultiPolygon):
        problem = f"{names} draws {len(joined.geoms)} separate outlines with proposed grade in them."
        raise not_clear(plan, uses, problem, "Accepted: one closed line round the work; review the others one by one.")
    problem = f"no closed line on {names} holds any of the proposed elevations."
    raise not_clear(plan, uses, problem, "Accepted: one closed line round the work, or --layer unused=NAME to find it.")
