"""Bed outlines with a gauge: 0.0 at the middle, 1.0 on the edge. Local metres, long axis along the first coordinate."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon

Array = NDArray[np.float64]
FAMILIES = ("round", "ellipse", "kidney", "rectangle", "irregular")


@dataclass(frozen=True)
class Outline:
    """A superellipse with half axes `along` and `across`, wavy by `waves` (order, size, phase), bent by `bend`."""

    along: float
    across: float
    power: float = 2.0
    bend: float = 0.0
    waves: tuple[tuple[int, float, float], ...] = ()

    def _waviness(self, angle: Array) -> Array:
        return 1.0 + sum((size * np.cos(order * angle + phase) for order, size, phase in self.waves), np.zeros(1))

    def gauge(self, u: Array, v: Array) -> Array:
        s = u / self.along
        t = (v - self.bend * u**2 / self.along) / self.across
        radius = (np.abs(s) ** self.power + np.abs(t) ** self.power) ** (1.0 / self.power)
        return radius / self._waviness(np.arctan2(t, s))

    @property
    def polygon(self) -> Polygon:
        angle = np.linspace(0.0, 2.0 * np.pi, 241)[:-1]
        unit = (np.abs(np.cos(angle)) ** self.power + np.abs(np.sin(angle)) ** self.power) ** (1.0 / self.power)
        reach = self._waviness(angle) / unit
        u = self.along * reach * np.cos(angle)
        return Polygon(np.column_stack([u, self.across * reach * np.sin(angle) + self.bend * u**2 / self.along]))


def random_outline(rng: np.random.Generator, across: float, family: str, longest: float = 2.2) -> Outline:
    """One outline of a family; `across` is the half width in metres, `longest` the greatest length to width."""
    stretch = rng.uniform(1.1, longest)
    if family == "round":
        return Outline(across, across)
    if family == "ellipse":
        return Outline(across * stretch, across)
    if family == "kidney":
        return Outline(across * max(stretch, 1.4), across, bend=rng.uniform(0.25, 0.5) / max(stretch, 1.4))
    if family == "rectangle":
        return Outline(across * stretch, across, power=rng.uniform(4.0, 7.0))
    waves = tuple((k, rng.uniform(0.03, 0.22) / k, rng.uniform(0.0, 2.0 * np.pi)) for k in (2, 3, 4, 5))
    return Outline(across * stretch, across, waves=waves)


def edge_distance(polygon: Polygon, u: Array, v: Array) -> Array:
    """Distance in metres to the polygon's edge, positive inside and negative outside."""
    ring = np.asarray(polygon.exterior.coords)
    start, leg = ring[:-1], np.diff(ring, axis=0)
    nearest = np.full(u.shape, np.inf)
    for (p, q), (du, dv) in zip(start, leg, strict=True):
        share = np.clip(((u - p) * du + (v - q) * dv) / (du**2 + dv**2), 0.0, 1.0)
        np.minimum(nearest, (u - p - share * du) ** 2 + (v - q - share * dv) ** 2, out=nearest)
    inside = shapely.contains_xy(polygon, u, v)
    return np.where(inside, 1.0, -1.0) * np.sqrt(nearest)


def smooth_step(share: Array) -> Array:
    """0 below 0, 1 above 1, level at both ends."""
    t = np.clip(share, 0.0, 1.0)
    return t * t * (3.0 - 2.0 * t)


def half_width(polygon: Polygon) -> float:
    """Radius of the largest circle inside, metres."""
    return float(shapely.maximum_inscribed_circle(polygon).length)
