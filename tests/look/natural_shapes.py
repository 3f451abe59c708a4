"""Mounds that read natural: open terrain, hills of till, random ground, many tops, least-bent forms."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from pathlib import Path

import numpy as np
from labelled_shapes import Form
from look_outlines import Array, Outline, edge_distance, half_width, random_outline, smooth_step
from scipy.interpolate import RBFInterpolator, RectBivariateSpline
from scipy.ndimage import gaussian_filter

Maker = Callable[[np.random.Generator, int], Form]
DATA = Path(__file__).resolve().parent.parent / "data"
BEDS = ("ellipse", "kidney", "irregular", "round")


def _bed(rng: np.random.Generator, seed: int, longest: float = 2.4) -> tuple[Outline, float]:
    """An outline and a height in metres: 1/22 to 1/7 of the width (NF-2, NF-5)."""
    across = rng.uniform(1.8, 6.0)
    outline = random_outline(rng, across, BEDS[seed // 2 % len(BEDS)], longest)
    return outline, 2.0 * across * rng.uniform(0.045, 0.14)


def _to_height(outline: Outline, raw: Callable[[Array, Array], Array], high: float) -> Form:
    """The raw form scaled so that its highest point stands at `high`."""
    west, south, east, north = outline.polygon.bounds
    u, v = np.meshgrid(np.linspace(west, east, 160), np.linspace(south, north, 160))
    scale = high / float(raw(u, v).max())
    return Form(lambda u, v: scale * raw(u, v), outline.polygon)


@cache
def terrain(name: str) -> tuple[RectBivariateSpline, tuple[float, float]]:
    """A spline through open terrain, and the ground it covers in metres (rows, columns)."""
    from matplotlib.cbook import get_sample_data

    if name == "jacksboro":  # 3 arc-seconds at 36.6 degrees north
        heights, rows, columns = get_sample_data("jacksboro_fault_dem.npz")["elevation"].astype(float), 92.5, 74.5
    elif name == "hills":  # low hills seen from the air, a node every 2 m
        heights, rows, columns = _kept("hills_cm"), 2.0, 2.0
    elif name == "range":  # a range of mountains at 40.4 degrees north
        heights, rows, columns = _kept("range_m"), 0.00211 * 111_000.0, 0.00275 * 111_000.0 * np.cos(np.radians(40.4))
    else:  # a coast and its sea bed; the cell does not matter here, only the proportion of its sides
        data = get_sample_data("topobathy.npz")
        # At 2.4 km a peak or an island is a single node; one cell of smoothing leaves ground, not needles.
        heights = gaussian_filter(data["topo"].astype(float), 1.0)
        rows = float(np.diff(data["latitude"]).mean()) * 111_000.0
        columns = float(np.diff(data["longitude"]).mean()) * 111_000.0 * np.cos(np.radians(data["latitude"].mean()))
    rows, columns = abs(rows), abs(columns)
    size = (rows * (heights.shape[0] - 1), columns * (heights.shape[1] - 1))
    across, up = np.linspace(0.0, size[0], heights.shape[0]), np.linspace(0.0, size[1], heights.shape[1])
    return RectBivariateSpline(across, up, heights, kx=3, ky=3), size


def _kept(name: str) -> Array:
    """A grid of `tests/data/open_terrain.npz`, kept as differences along its rows."""
    with np.load(DATA / "open_terrain.npz") as kept:
        return np.cumsum(kept[name], axis=1).astype(float)


def _patch(name: str, cells: tuple[float, float], cell: float) -> Maker:
    """A maker of patches that are so many cells long, eased to nothing towards the bed's edge."""

    def make(rng: np.random.Generator, seed: int) -> Form:
        outline, high = _bed(rng, seed)
        spline, size = terrain(name)
        west, south, east, north = outline.polygon.bounds
        long = max(east - west, north - south)
        scale = rng.uniform(*cells) * cell / long
        reach = 0.75 * long * scale
        middle = [rng.uniform(reach, side - reach) for side in size]
        angle = rng.uniform(0.0, 2.0 * np.pi)
        easing = rng.uniform(0.35, 0.65)

        def ground(u: Array, v: Array) -> Array:
            p = middle[0] + scale * (np.cos(angle) * u - np.sin(angle) * v)
            q = middle[1] + scale * (np.sin(angle) * u + np.cos(angle) * v)
            return spline.ev(np.clip(p, 0.0, size[0]), np.clip(q, 0.0, size[1]))

        u, v = np.meshgrid(np.linspace(west, east, 80), np.linspace(south, north, 80))
        inside = outline.gauge(u, v) < 1.0
        low = float(np.quantile(ground(u, v)[inside], 0.03))
        return _to_height(
            outline,
            lambda u, v: np.maximum(ground(u, v) - low, 0.0) * smooth_step((1.0 - outline.gauge(u, v)) / easing),
            high,
        )

    return make


def drumlin(rng: np.random.Generator, seed: int) -> Form:
    """Long, lopsided, with a winding crest of several tops (NF-2 to NF-5)."""
    across = rng.uniform(1.5, 4.0)
    outline = Outline(across * rng.uniform(2.0, 4.5), across, bend=rng.uniform(-0.15, 0.15))
    high = 2.0 * across * rng.uniform(0.045, 0.13)
    top = rng.uniform(0.12, 0.3) * rng.choice([-1.0, 1.0])
    wind, phase = rng.uniform(0.08, 0.22), rng.uniform(0.0, 2.0 * np.pi)
    tops, second = rng.uniform(0.08, 0.2), rng.uniform(0.0, 2.0 * np.pi)
    steep_side = rng.uniform(0.75, 0.95)

    def raw(u: Array, v: Array) -> Array:
        s = u / outline.along
        t = (v - outline.bend * u**2 / outline.along) / across - wind * np.sin(2.5 * s + phase)
        t = np.where(t > 0, t / steep_side, t / (2.0 - steep_side))
        long = np.where(s > top, (s - top) / (1.0 - top), (top - s) / (1.0 + top))
        body = smooth_step(1.0 - np.hypot(long, t))
        return body * (1.0 + tops * np.sin(6.0 * s + second))

    return _to_height(outline, lambda u, v: raw(u, v) * smooth_step((1.0 - outline.gauge(u, v)) / 0.3), high)


def random_field(rng: np.random.Generator, seed: int) -> Form:
    """Smooth random ground (80 plane waves), eased to nothing towards the bed's edge."""
    outline, high = _bed(rng, seed)
    shortest = rng.uniform(0.9, 1.6) * outline.across
    length = shortest * rng.uniform(1.0, 2.5, 80)
    way, phase = rng.uniform(0.0, 2.0 * np.pi, (2, 80))
    amplitude = length / length.mean() * np.sqrt(2.0 / 80)
    easing, level = rng.uniform(0.4, 0.8), rng.uniform(2.4, 3.4)

    def raw(u: Array, v: Array) -> Array:
        field = np.full(u.shape, level)
        for a, k, w, p in zip(amplitude, 2.0 * np.pi / length, way, phase, strict=True):
            field += a * np.cos(k * (np.cos(w) * u + np.sin(w) * v) + p)
        return np.maximum(field, 0.0) * smooth_step((1.0 - outline.gauge(u, v)) / easing)

    return _to_height(outline, raw, high)


def _apart(rng: np.random.Generator, outline: Outline, count: int, gap: float) -> Array:
    """`count` places (n, 2) in unit bed coordinates, none nearer to another than `gap` half widths."""
    while True:
        place = rng.uniform(-0.6, 0.6, (count, 2)) * [outline.along, outline.across]
        between = np.hypot(*(place[:, None] - place[None]).transpose(2, 0, 1)) + gap * outline.across * np.eye(count)
        if between.min() >= gap * outline.across:
            return place


def many_tops(rng: np.random.Generator, seed: int) -> Form:
    """Two to four swells of unlike height and breadth, off the middle and apart, run together."""
    outline, high = _bed(rng, seed)
    count = int(rng.integers(2, 5))
    place = _apart(rng, outline, count, gap=0.7)
    breadth = outline.across * rng.uniform(0.28, 0.45, count)
    tall = np.linspace(1.0, rng.uniform(0.5, 0.75), count)
    easing = rng.uniform(0.3, 0.6)

    def raw(u: Array, v: Array) -> Array:
        v0 = outline.bend * u**2 / outline.along
        swell = np.full(u.shape, 0.15)
        for (p, q), b, h in zip(place, breadth, tall, strict=True):
            swell += h * np.exp(-((u - p) ** 2 + (v - v0 - q) ** 2) / (2.0 * b**2))
        return swell * smooth_step((1.0 - outline.gauge(u, v)) / easing)

    return _to_height(outline, raw, high)


def least_bent(rng: np.random.Generator, seed: int) -> Form:
    """The least-bent surface through two or three crest points off the middle, under a slope limit, toe eased."""
    across = rng.uniform(1.8, 6.0)
    outline = random_outline(rng, across, ("kidney", "irregular")[seed // 2 % 2], 2.4)
    edge = outline.polygon
    wide = half_width(edge)
    count = int(rng.integers(2, 4))
    along = np.linspace(-0.5, 0.5, count) + rng.uniform(-0.12, 0.12, count)
    u0 = along * outline.along
    v0 = outline.bend * u0**2 / outline.along + rng.uniform(-0.3, 0.3, count) * across
    high = 2.0 * wide * rng.uniform(0.07, 0.13)
    tall = high * rng.permutation(np.linspace(0.5, 1.0, count) + rng.uniform(-0.08, 0.0, count))
    rings = [edge.exterior, edge.buffer(0.12 * wide).exterior]
    feet = np.concatenate(
        [[line.interpolate(s, normalized=True).coords[0] for s in np.arange(64) / 64] for line in rings]
    )
    surface = RBFInterpolator(
        np.vstack([np.column_stack([u0, v0]), feet]), np.r_[tall, np.zeros(len(feet))], kernel="thin_plate_spline"
    )
    toe, limit = wide * rng.uniform(0.25, 0.4), rng.choice([1 / 3, 1 / 4])

    def height(u: Array, v: Array) -> Array:
        wish = surface(np.column_stack([u.ravel(), v.ravel()])).reshape(u.shape)
        inside = np.maximum(edge_distance(edge, u, v), 0.0)
        return np.minimum(np.maximum(wish, 0.0), limit * inside) * smooth_step(inside / toe)

    return Form(height, edge)


NATURAL: dict[str, Maker] = {
    "terrain_fault": _patch("jacksboro", (35.0, 110.0), 83.0),
    "terrain_coast": _patch("coast", (14.0, 45.0), 2430.0),
    "terrain_low": _patch("hills", (20.0, 70.0), 2.0),
    "terrain_range": _patch("range", (14.0, 45.0), 233.0),
    "drumlin": drumlin,
    "random_field": random_field,
    "many_tops": many_tops,
    "least_bent": least_bent,
}
