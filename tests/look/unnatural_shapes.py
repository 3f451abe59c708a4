"""Mounds that a designer calls unnatural, each kind with the signs that name it rightly (fixed beforehand)."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from pathlib import Path

import numpy as np
from labelled_shapes import Form
from look_outlines import FAMILIES, Array, Outline, edge_distance, random_outline, smooth_step
from scipy.interpolate import RectBivariateSpline
from shapely.geometry import LineString, Polygon, box

Maker = Callable[[np.random.Generator, int], Form]
VOLCANO = Path(__file__).parent.parent / "data" / "volcano.csv"


def _size(rng: np.random.Generator) -> tuple[float, float]:
    """Half width and height in metres: sides of about 1:6 to 1:2.5."""
    across = rng.uniform(1.5, 6.0)
    return across, across * rng.uniform(0.16, 0.4)


def _any_outline(rng: np.random.Generator, seed: int, across: float, longest: float = 2.2) -> Outline:
    return random_outline(rng, across, FAMILIES[seed // 2 % len(FAMILIES)], longest)


def cone(rng: np.random.Generator, seed: int) -> Form:
    """Straight from one point down to the outline."""
    across, high = _size(rng)
    outline = _any_outline(rng, seed, across, longest=1.6)
    return Form(lambda u, v: high * (1.0 - outline.gauge(u, v)), outline.polygon)


def frustum(rng: np.random.Generator, seed: int) -> Form:
    """A cone cut off level."""
    across, high = _size(rng)
    outline = _any_outline(rng, seed, across)
    top = rng.uniform(0.3, 0.6)
    return Form(lambda u, v: high * np.minimum((1.0 - outline.gauge(u, v)) / (1.0 - top), 1.0), outline.polygon)


def spherical_cap(rng: np.random.Generator, seed: int) -> Form:
    """Part of a ball, or of a ball pulled to the outline."""
    across, high = _size(rng)
    outline = _any_outline(rng, seed, across, longest=1.6)
    ball = (across**2 + high**2) / (2.0 * high)

    def height(u: Array, v: Array) -> Array:
        inside = np.minimum(outline.gauge(u, v), 1.0)
        return np.sqrt(ball**2 - (across * inside) ** 2) - (ball - high)

    return Form(height, outline.polygon)


def _axis(rng: np.random.Generator, across: float) -> LineString:
    """A straight or evenly bent line, 3 to 9 half widths long."""
    length = across * rng.uniform(3.0, 9.0)
    bend = rng.choice([0.0, rng.uniform(0.3, 1.2)])
    if bend == 0.0:
        return LineString([(-length / 2, 0.0), (length / 2, 0.0)])
    radius = max(length / bend, 2.5 * across)
    angle = np.linspace(-0.5, 0.5, 41) * length / radius
    return LineString(np.column_stack([radius * np.sin(angle), radius * (1.0 - np.cos(angle))]))


def from_axis(axis: LineString, u: Array, v: Array) -> Array:
    """Distance in metres to the line."""
    line = np.asarray(axis.coords)
    nearest = np.full(u.shape, np.inf)
    for (p, q), (du, dv) in zip(line[:-1], np.diff(line, axis=0), strict=True):
        share = np.clip(((u - p) * du + (v - q) * dv) / (du**2 + dv**2), 0.0, 1.0)
        np.minimum(nearest, np.hypot(u - p - share * du, v - q - share * dv), out=nearest)
    return nearest


def loaf(rng: np.random.Generator, seed: int) -> Form:
    """A half cylinder (a circle's or an ellipse's half) with round ends."""
    across, high = _size(rng)
    axis = _axis(rng, across)
    return Form(
        lambda u, v: high * np.sqrt(np.clip(1.0 - (from_axis(axis, u, v) / across) ** 2, 0.0, 1.0)),
        axis.buffer(across),
    )


def windrow(rng: np.random.Generator, seed: int) -> Form:
    """A ridge of one triangular or trapezoid section, with coned, hipped or cut ends."""
    across, high = _size(rng)
    axis = _axis(rng, across)
    top = rng.choice([0.0, rng.uniform(0.1, 0.35)])

    def section(distance: Array) -> Array:
        return high * np.clip((1.0 - distance / across) / (1.0 - top), 0.0, 1.0)

    if seed // 2 % 3 == 0:
        return Form(lambda u, v: section(from_axis(axis, u, v)), axis.buffer(across))
    half = axis.length / 2 + across
    steep = high / across / (1.0 - top) * (1.0 if seed // 2 % 3 == 1 else rng.uniform(1.5, 2.5))

    def height(u: Array, v: Array) -> Array:
        return np.minimum(section(np.abs(v)), steep * (half - np.abs(u)))

    return Form(height, box(-half, -across, half, across))


def hip_roof(rng: np.random.Generator, seed: int) -> Form:
    """Every point at the slope limit inside an outline: straight-sided or curved."""
    across, high = _size(rng)
    if seed // 2 % 2:
        outline = _any_outline(rng, seed // 2, across).polygon
    else:
        sides = int(rng.integers(4, 8))
        angle = np.sort(2.0 * np.pi * (np.arange(sides) + rng.uniform(-0.25, 0.25, sides)) / sides)
        outline = Polygon(across * np.column_stack([rng.uniform(1.2, 2.0) * np.cos(angle), np.sin(angle)]))
    slope = high / across
    return Form(lambda u, v: slope * edge_distance(outline, u, v), outline)


def mesa(rng: np.random.Generator, seed: int) -> Form:
    """A broad level top with steep sides, straight or eased."""
    across, high = _size(rng)
    outline = _any_outline(rng, seed, across)
    side = rng.uniform(0.12, 0.3)
    eased = rng.random() < 0.5

    def height(u: Array, v: Array) -> Array:
        share = (1.0 - outline.gauge(u, v)) / side
        return high * (smooth_step(share) if eased else np.clip(share, 0.0, 1.0))

    return Form(height, outline.polygon)


def ring(rng: np.random.Generator, seed: int) -> Form:
    """A closed ridge round a low middle."""
    across, high = _size(rng)
    outline = _any_outline(rng, seed, across, longest=1.8)
    crest = rng.uniform(0.5, 0.7)
    floor = rng.uniform(0.0, 0.4)
    dip, phase = rng.uniform(0.0, 0.3), rng.uniform(0.0, 2.0 * np.pi)

    def height(u: Array, v: Array) -> Array:
        rho = outline.gauge(u, v)
        outside = smooth_step((1.0 - rho) / (1.0 - crest))
        inside = floor + (1.0 - floor) * smooth_step(rho / crest)
        uneven = 1.0 - dip * (0.5 + 0.5 * np.cos(np.arctan2(v, u) + phase))
        return high * np.where(rho > crest, outside, inside) * uneven

    return Form(height, outline.polygon)


def twin_humps(rng: np.random.Generator, seed: int) -> Form:
    """Two humps, one the mirror image of the other."""
    across, high = _size(rng)
    apart = across * rng.uniform(0.8, 1.3)
    lean, swing = rng.uniform(-0.3, 0.3, 2) * (seed // 2 % 2)
    stretch = rng.uniform(0.8, 1.3)

    def height(u: Array, v: Array) -> Array:
        s = np.abs(u) - apart
        r = np.hypot(s + lean * v, (v + swing * s) * stretch) / across
        return high * 0.5 * (1.0 + np.cos(np.pi * np.minimum(r, 1.0)))

    reach = across * 1.6
    return Form(height, box(-apart - reach, -reach, apart + reach, reach))


def stepped_cake(rng: np.random.Generator, seed: int) -> Form:
    """Two to four level treads with steep risers."""
    across, high = _size(rng)
    outline = _any_outline(rng, seed, across)
    steps = int(rng.integers(2, 5))
    riser = rng.uniform(0.1, 0.35)

    def height(u: Array, v: Array) -> Array:
        climbed = np.clip((1.0 - outline.gauge(u, v)) * (steps + 0.6), 0.0, float(steps))
        whole = np.floor(climbed)
        return high / steps * np.minimum(whole + smooth_step((climbed - whole) / riser), float(steps))

    return Form(height, outline.polygon)


@cache
def volcano_heights() -> Array:
    """87 x 61 heights in metres on a 10 m grid: Maunga Whau, R documentation of `datasets::volcano`."""
    return np.loadtxt(VOLCANO, delimiter=",", comments="#")


def volcano(rng: np.random.Generator, seed: int) -> Form:
    """The volcano grid scaled to a garden, above a datum, its rim eased to nothing or left as it is."""
    table = volcano_heights()
    datum = rng.uniform(94.0, 110.0)
    long = rng.uniform(5.0, 16.0)
    scale = long / 860.0
    lift = rng.uniform(0.8, 1.6) * scale
    spline = RectBivariateSpline(np.arange(87) * 10.0 - 430.0, np.arange(61) * 10.0 - 300.0, table, kx=3, ky=3)
    eased = seed // 2 % 2 == 0

    def height(u: Array, v: Array) -> Array:
        s, t = u / scale, v / scale
        inside = (np.abs(s) <= 430.0) & (np.abs(t) <= 300.0)
        rim = np.minimum(430.0 - np.abs(s), 300.0 - np.abs(t)) / 80.0
        above = np.maximum(spline.ev(np.clip(s, -430, 430), np.clip(t, -300, 300)) - datum, 0.0)
        return np.where(inside, lift * above, 0.0) * (smooth_step(rim) if eased else 1.0)

    return Form(height, box(-430 * scale, -300 * scale, 430 * scale, 300 * scale))


UNNATURAL: dict[str, tuple[Maker, frozenset[str]]] = {
    "cone": (cone, frozenset({"cone", "straight_faces"})),
    "frustum": (frustum, frozenset({"flat_top", "straight_faces"})),
    "spherical_cap": (spherical_cap, frozenset({"cone", "same_all_round", "sharp_toe"})),
    "loaf": (loaf, frozenset({"loaf"})),
    "windrow": (windrow, frozenset({"loaf", "straight_faces", "parallel_contours"})),
    "hip_roof": (hip_roof, frozenset({"straight_faces"})),
    "mesa": (mesa, frozenset({"flat_top"})),
    "ring": (ring, frozenset({"holds_water"})),
    "twin_humps": (twin_humps, frozenset({"same_all_round"})),
    "stepped_cake": (stepped_cake, frozenset({"stepped"})),
    "volcano": (volcano, frozenset({"cone", "holds_water"})),
}
