"""Plain shapes as triangles: turned bodies, blocks, boulders and level sheets; metres."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient

from terrain.grid import Array
from viewer.still.stage import StillBody
from viewer.still.surfaces import STONE


def lathe(
    at: tuple[float, float], radii: Array, heights: Array, around: int = 28, lobes: Array | None = None
) -> StillBody:
    """A body turned about an upright axis at (x, y), open at both ends.

    Parameters
    ----------
    radii, heights
        (k,) of each ring from below.
    around
        Corners of a ring.
    lobes
        (k, around) factors on the radii, for what is not round.
    """
    turn = np.linspace(0.0, 2.0 * np.pi, around, endpoint=False)
    ring = np.column_stack([np.cos(turn), np.sin(turn)])
    reach = np.asarray(radii)[:, None] * (1.0 if lobes is None else lobes) * np.ones((1, around))
    rows = np.empty((len(radii), around, 3))
    rows[:, :, :2] = np.asarray(at) + reach[:, :, None] * ring
    rows[:, :, 2] = np.asarray(heights)[:, None]
    here = np.arange(around)
    onward = (here + 1) % around
    faces = []
    for low in range(0, (len(radii) - 1) * around, around):
        high = low + around
        faces += [np.column_stack([low + here, low + onward, high + onward])]
        faces += [np.column_stack([low + here, high + onward, high + here])]
    return StillBody(rows.reshape(-1, 3), np.concatenate(faces))


def limb(start: Array, end: Array, thick: float, thin: float, around: int = 7) -> StillBody:
    """A straight round limb from (3,) to (3,) of two radii, metres."""
    along = (end - start) / np.linalg.norm(end - start)
    side = np.cross(along, [0.0, 0.0, 1.0] if abs(along[2]) < 0.9 else [1.0, 0.0, 0.0])
    side /= np.linalg.norm(side)
    turned = lathe((0.0, 0.0), np.array([thick, thin]), np.array([0.0, float(np.linalg.norm(end - start))]), around)
    frame = np.stack([side, np.cross(along, side), along])
    return replace(turned, points=turned.points @ frame + start)


def sheet(area: BaseGeometry, level: float) -> StillBody:
    """A level sheet over an area."""
    corners = [
        shapely.get_coordinates(part.exterior)[:3]
        for one in shapely.get_parts(area)
        if one.geom_type == "Polygon" and not one.is_empty
        for part in shapely.get_parts(shapely.constrained_delaunay_triangles(one))
    ]
    flat = np.concatenate(corners) if corners else np.zeros((0, 2))
    points = np.column_stack([flat, np.full(len(flat), level)])
    return StillBody(points, np.arange(len(flat), dtype=np.int64).reshape(-1, 3))


def block(outline: Polygon, low: float, high: float) -> StillBody:
    """Walls over an outline with a level lid."""
    walls = [
        [[x0, y0, low], [x1, y1, low], [x1, y1, high], [x0, y0, low], [x1, y1, high], [x0, y0, high]]
        for ring in (orient(outline).exterior, *orient(outline).interiors)
        for (x0, y0), (x1, y1) in zip(ring.coords[:-1], ring.coords[1:], strict=True)
    ]
    points = np.concatenate([np.array(walls).reshape(-1, 3), sheet(outline, high).points])
    return StillBody(points, np.arange(len(points), dtype=np.int64).reshape(-1, 3))


def boulder(at: tuple[float, float, float], size: float, number: int) -> StillBody:
    """A rounded stone of a mean size about its middle, metres; each number has a shape of its own, always the same."""
    rng = np.random.default_rng([11, number])
    turn = np.linspace(-np.pi / 2, np.pi / 2, 6)
    ball = lathe((0.0, 0.0), np.cos(turn), np.sin(turn), 9)
    # No two sides alike, and no three axes: their product stays that of a ball of the size.
    bumps = 1.0 + 0.09 * np.sin(ball.points @ rng.normal(0.0, 2.0, (3, 3)) + rng.uniform(0.0, 6.0, 3)).sum(axis=1)
    long, wide = rng.uniform(1.0, 1.25), rng.uniform(0.9, 1.1)
    axes = size / 2.0 * np.array([long, wide, 1.0 / (long * wide)])
    angle = rng.uniform(0.0, np.pi)
    spin = np.array([[np.cos(angle), np.sin(angle), 0.0], [-np.sin(angle), np.cos(angle), 0.0], [0.0, 0.0, 1.0]])
    points = np.asarray(at) + (ball.points * bumps[:, None] * axes) @ spin
    tint = rng.uniform(0.8, 1.12) * np.array([1.0, rng.uniform(0.96, 1.0), rng.uniform(0.9, 1.0)])
    return replace(ball, points=points, kind=STONE, colours=np.tile(tint, (len(ball.triangles), 1)))


def gathered(bodies: list[StillBody], **changes: object) -> StillBody | None:
    """Several shapes as one body; None where there is none."""
    if not bodies:
        return None
    starts = np.cumsum([0, *(len(body.points) for body in bodies)])
    points = np.concatenate([body.points for body in bodies])
    triangles = np.concatenate([body.triangles + start for body, start in zip(bodies, starts[:-1], strict=True)])
    colours = None
    if all(body.colours is not None for body in bodies):
        colours = np.concatenate([np.asarray(body.colours) for body in bodies])
    return replace(StillBody(points, triangles, bodies[0].kind, colours), **changes)  # type: ignore[arg-type]
