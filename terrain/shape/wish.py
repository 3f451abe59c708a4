"""Where the wish could not be met: by how much, and what held it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from shapely.geometry import LineString, MultiPolygon, Polygon

from terrain.grid import Array
from terrain.ground import Ground
from terrain.numerics import edge_points
from terrain.shape.layout import Layout
from terrain.shape.proposal import BuiltCrest

# Share of what the edges allow under which a high point was let down by its ridge and not by them: the easing of the
# toe takes a tenth or two. Common practice, no published source.
RIDGE_BROKEN = 2 / 3


def built_crest(
    at: tuple[float, float],
    wished: float,
    built: float,
    ground: Ground,
    layout: Layout,
    slope: float,
    gentle_side: str | None = None,
    beside: Sequence[tuple[float, float]] = (),
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
    beside
        The high points before and after it along the crest, metres.
    """
    met = BuiltCrest(at, wished, built, "")
    if not met.short:
        return met
    least, held = _held_by(at, wished, ground, layout, slope)
    # Where the edges allow more than was built, the form is at fault: a ridge that is broken cannot be carried on.
    if built < RIDGE_BROKEN * min(least, wished) and (across := _across(at, beside, layout)):
        held = ridge_hold(across)
    if not held:
        held = (
            f"the gentle side, {gentle_side}" if gentle_side else "the slope limit between the high points and the edge"
        )
    return replace(met, held_by=held)


def edge_hold(name: str) -> str:
    """How a crest point says that the slope limit from the edge of something holds it."""
    return f"the slope limit from {name}"


def ridge_hold(name: str) -> str:
    """How a crest point says that ground without soil lies across its ridge."""
    return f"{name}, which breaks the ridge to the next high point"


def _across(at: tuple[float, float], beside: Sequence[tuple[float, float]], layout: Layout) -> str:
    """The name of what takes no soil and lies across the ridge between a high point and those beside it; "" if none."""
    ridges = [LineString([at, other]) for other in beside]
    return next((hold.name for ridge in ridges for hold in layout.holds if ridge.crosses(hold.area)), "")


def _held_by(at: tuple[float, float], wished: float, ground: Ground, layout: Layout, slope: float) -> tuple[float, str]:
    """Least height in metres that the slope limit allows there from any edge, and how that edge holds the wish.

    The words are "" where every edge allows what is wished.
    """
    least, name = np.inf, ""
    for hold_name, shape in [("the bed outline", layout.outline), *((h.name, h.area) for h in layout.holds)]:
        allowed = _allowed(at, shape, ground, slope, layout.toe)
        if allowed < least:
            least, name = allowed, hold_name
    return least, edge_hold(name) if least < wished else ""


def _allowed(at: tuple[float, float], shape: Polygon | MultiPolygon, ground: Ground, slope: float, toe: float) -> float:
    """Height over existing grade that the slope limit allows at a place, seen from one edge alone, metres."""
    points: Array = np.vstack(edge_points(shape, ground.grid.cell))
    level = ground.grid.sample(ground.elevation, points)
    # The eased toe starts the face half its width inside the edge.
    run = np.maximum(np.hypot(points[:, 0] - at[0], points[:, 1] - at[1]) - toe / 2.0, 0.0)
    here = float(ground.grid.sample(ground.elevation, np.array([at]))[0])
    return float((level + slope * run).min()) - here
