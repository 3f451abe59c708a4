"""Where the wish could not be met: by how much, and what held it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from shapely.geometry import MultiPolygon, Polygon

from terrain.grid import Array
from terrain.ground import Ground
from terrain.numerics import edge_points
from terrain.shape.layout import Layout
from terrain.shape.proposal import BuiltCrest


def built_crest(
    at: tuple[float, float],
    wished: float,
    built: float,
    ground: Ground,
    layout: Layout,
    slope: float,
    gentle_side: str | None = None,
) -> BuiltCrest:
    """Wish and result of one crest point with, where it fell short, the name of what held it.

    Parameters
    ----------
    at
        Place in metres.
    wished, built
        Height over existing grade, metres.
    slope
        Slope limit, rise/run.
    gentle_side
        The side that runs out longer, if any.
    """
    met = BuiltCrest(at, wished, built, "")
    if not met.short:
        return met
    held = _held_by(at, wished, ground, layout, slope)
    if not held:
        held = (
            f"the gentle side, {gentle_side}" if gentle_side else "the slope limit between the high points and the edge"
        )
    return replace(met, held_by=held)


def edge_hold(name: str) -> str:
    """How a crest point says that the slope limit from the edge of something holds it."""
    return f"the slope limit from {name}"


def _held_by(at: tuple[float, float], wished: float, ground: Ground, layout: Layout, slope: float) -> str:
    """The edge from which the slope limit allows least height there; "" where every edge allows what is wished."""
    least, name = np.inf, ""
    for hold_name, shape in [("the bed outline", layout.outline), *((h.name, h.area) for h in layout.holds)]:
        allowed = _allowed(at, shape, ground, slope, layout.toe)
        if allowed < least:
            least, name = allowed, hold_name
    if least < wished:
        return edge_hold(name)
    return ""


def _allowed(at: tuple[float, float], shape: Polygon | MultiPolygon, ground: Ground, slope: float, toe: float) -> float:
    """Height over existing grade that the slope limit allows at a place, seen from one edge alone, metres."""
    points: Array = np.vstack(edge_points(shape, ground.grid.cell))
    level = ground.grid.sample(ground.elevation, points)
    # The eased toe starts the face half its width inside the edge.
    run = np.maximum(np.hypot(points[:, 0] - at[0], points[:, 1] - at[1]) - toe / 2.0, 0.0)
    here = float(ground.grid.sample(ground.elevation, np.array([at]))[0])
    return float((level + slope * run).min()) - here
