"""Plain solids for the pictures: trunks, crowns, houses, a ranging staff; triangles with a colour each."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Polygon

from terrain.grid import Array
from viewer.page import channels

SUN = np.array([-0.52, -0.28, 0.81])  # toward the light: from the viewer's upper left, once turned with the view
AMBIENT = 0.64


@dataclass(frozen=True)
class ShadedMesh:
    """Triangles (n, 3, 3) in metres with a colour (n, 3) of 0 to 1 each; `opacity` 1 is solid."""

    corners: Array
    colours: Array
    opacity: float = 1.0


def shaded(corners: Array, colour: str, sun: Array, opacity: float = 1.0) -> ShadedMesh:
    """Colour triangles (n, 3, 3) by how they face the light (3,)."""
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    length = np.linalg.norm(normal, axis=1, keepdims=True)
    facing = np.clip((normal / np.where(length > 0, length, 1.0)) @ sun, 0.0, 1.0)
    light = AMBIENT + (1.0 - AMBIENT) * facing
    return ShadedMesh(corners, np.clip(np.outer(light, channels(colour)), 0.0, 1.0), opacity)


def lathe(at: tuple[float, float], radii: Array, heights: Array, around: int = 28) -> Array:
    """Triangles (n, 3, 3) of a body turned about an upright axis, from (k,) radii at (k,) heights, metres."""
    turn = np.linspace(0.0, 2 * np.pi, around, endpoint=False)
    ring = np.column_stack([np.cos(turn), np.sin(turn)])
    rows = np.empty((len(radii), around, 3))
    rows[:, :, :2] = np.asarray(at) + np.asarray(radii)[:, None, None] * ring
    rows[:, :, 2] = np.asarray(heights)[:, None]
    low, high = rows[:-1], rows[1:]
    low_next, high_next = np.roll(low, -1, axis=1), np.roll(high, -1, axis=1)
    first = np.stack([low, low_next, high_next], axis=2).reshape(-1, 3, 3)
    second = np.stack([low, high_next, high], axis=2).reshape(-1, 3, 3)
    return np.concatenate([first, second])


def trunk(at: tuple[float, float], radius: float, flare: float, ground: float, height: float) -> Array:
    """A trunk with its root flare, from the ground up; metres."""
    radii = np.array(
        [max(flare, radius), 0.55 * radius + 0.45 * max(flare, radius), 1.12 * radius, radius, 0.8 * radius]
    )
    rise = np.array([-0.15, 0.12 * height, 0.25 * height, 0.45 * height, height])
    # The flare is a matter of the lowest foot or so, whatever the trunk's height.
    rise[1:4] = np.minimum(rise[1:4], [0.12, 0.35, 0.9])
    return lathe(at, radii, ground + rise)


def boulder(at: tuple[float, float, float], size: float, number: int) -> Array:
    """A rounded stone of a mean size about its middle, metres; each number has a shape of its own, always the same."""
    rng = np.random.default_rng([11, number])
    turn = np.linspace(-np.pi / 2, np.pi / 2, 6)
    corners = lathe((0.0, 0.0), np.cos(turn), np.sin(turn), 9)
    # No two sides alike, and no three axes: their product stays that of a ball of the size.
    bumps = 1.0 + 0.09 * np.sin(corners @ rng.normal(0.0, 2.0, (3, 3)) + rng.uniform(0.0, 6.0, 3)).sum(axis=2)
    long, wide = rng.uniform(1.0, 1.25), rng.uniform(0.9, 1.1)
    axes = size / 2.0 * np.array([long, wide, 1.0 / (long * wide)])
    angle = rng.uniform(0.0, np.pi)
    spin = np.array([[np.cos(angle), np.sin(angle), 0.0], [-np.sin(angle), np.cos(angle), 0.0], [0.0, 0.0, 1.0]])
    return np.asarray(np.asarray(at) + (corners * bumps[:, :, None] * axes) @ spin)


def crown(at: tuple[float, float], radius: float, low: float, high: float) -> Array:
    """A rounded crown between two heights, metres."""
    turn = np.linspace(-np.pi / 2, np.pi / 2, 15)
    middle, half = (low + high) / 2, (high - low) / 2
    return lathe(at, radius * np.cos(turn), middle + half * np.sin(turn), 40)


def block(outline: Polygon, ground: float, top: float) -> tuple[Array, Array]:
    """Walls and flat roof of a plain block over an outline; triangles in metres, walls first, roof second."""
    ring = np.asarray(shapely.geometry.polygon.orient(outline).exterior.coords)
    start, end = ring[:-1], ring[1:]
    walls = []
    for (x0, y0), (x1, y1) in zip(start, end, strict=True):
        a, b = (x0, y0, ground), (x1, y1, ground)
        c, d = (x1, y1, top), (x0, y0, top)
        walls += [[a, b, c], [a, c, d]]
    roof = [
        [(x, y, top) for x, y in np.asarray(shapely.geometry.polygon.orient(part).exterior.coords)[:3]]
        for part in shapely.get_parts(shapely.constrained_delaunay_triangles(outline))
    ]
    return np.array(walls, dtype=float), np.array(roof, dtype=float)


def staff(at: tuple[float, float], ground: float, band: float, count: int, radius: float) -> list[Array]:
    """The bands of a ranging staff from the ground up, metres; a list of triangles for each band."""
    bands = []
    for k in range(count):
        low, high = ground + k * band, ground + (k + 1) * band
        side = lathe(at, np.array([radius, radius]), np.array([low, high]), 12)
        lid = lathe(at, np.array([radius, 0.0]), np.array([high, high]), 12)
        bands.append(np.concatenate([side, lid]))
    return bands
