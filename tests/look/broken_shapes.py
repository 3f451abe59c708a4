"""Made mounds whose symmetry is broken a little, as a hand or a machine breaks it; the signs fixed beforehand.

Each kind keeps one thing that gives it away: one section, one spacing, one profile, one line that it follows.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from labelled_shapes import Form
from look_outlines import Array, Outline, edge_distance, smooth_step
from natural_shapes import NATURAL
from scipy.interpolate import RectBivariateSpline
from scipy.ndimage import gaussian_filter
from shapely.geometry import LineString, Polygon, box
from unnatural_shapes import from_axis

Maker = Callable[[np.random.Generator, int], Form]
Surface = Callable[[Array, Array], Array]
RASTER = 0.03  # node spacing of shapes that are raked, as a share of their longer side


def cosine(share: Array) -> Array:
    """1 at 0, 0 from 1 on, level at both ends."""
    return 0.5 * (1.0 + np.cos(np.pi * np.minimum(np.abs(share), 1.0)))


def parabola(share: Array) -> Array:
    return np.maximum(1.0 - share**2, 0.0)


def bell(share: Array) -> Array:
    return np.where(np.abs(share) < 1.0, np.exp(-4.0 * share**2) - np.exp(-4.0), 0.0) / (1.0 - np.exp(-4.0))


SECTIONS = (cosine, parabola, bell)


def _size(rng: np.random.Generator) -> tuple[float, float]:
    """Half width and height in metres: sides of about 1:6 to 1:3."""
    across = rng.uniform(1.4, 3.0)
    return across, across * rng.uniform(0.18, 0.34)


def bent_line(rng: np.random.Generator, across: float, kind: int) -> LineString:
    """An arc, a J or an S, four to seven half widths long."""
    length = across * rng.uniform(4.0, 7.0)
    s = np.linspace(0.0, length, 60)
    most = rng.uniform(0.25, 0.5) / across
    bend = {
        0: np.full(s.size, 0.7 * most),
        1: np.where(s > 0.55 * length, most, 0.0),
        2: np.where(s > 0.5 * length, most, -most),
    }[kind % 3]
    bend = gaussian_filter(bend, 4.0, mode="nearest")
    way = np.cumsum(bend) * (s[1] - s[0])
    line = np.cumsum(np.column_stack([np.cos(way), np.sin(way)]), axis=0) * (s[1] - s[0])
    return LineString(line - line.mean(axis=0))


def raked(height: Surface, outline: Polygon, reach: float) -> Form:
    """The surface smoothed by a bell curve `reach` metres wide, as a rake leaves it."""
    west, south, east, north = outline.buffer(2.5 * reach).bounds
    step = RASTER * max(east - west, north - south) / 3.0
    u, v = np.arange(west, east + step, step), np.arange(south, north + step, step)
    table = gaussian_filter(np.maximum(height(*np.meshgrid(u, v)), 0.0), reach / step).T
    spline = RectBivariateSpline(u, v, table, kx=3, ky=3)

    def there(p: Array, q: Array) -> Array:
        inside = (p >= u[0]) & (p <= u[-1]) & (q >= v[0]) & (q <= v[-1])
        return np.where(inside, np.maximum(spline.ev(np.clip(p, u[0], u[-1]), np.clip(q, v[0], v[-1])), 0.0), 0.0)

    return Form(there, outline.buffer(reach))


def sausage(rng: np.random.Generator, seed: int) -> Form:
    """One rounded section along a bent line."""
    across, high = _size(rng)
    axis, section = bent_line(rng, across, seed // 2), SECTIONS[seed // 2 % 3]
    return Form(lambda u, v: high * section(from_axis(axis, u, v) / across), axis.buffer(across))


def bent_windrow(rng: np.random.Generator, seed: int) -> Form:
    """One straight-faced section along a bent line, raked."""
    across, high = _size(rng)
    axis, top = bent_line(rng, across, seed // 2), rng.choice([0.0, rng.uniform(0.1, 0.3)])

    def heap(u: Array, v: Array) -> Array:
        return high * np.clip((1.0 - from_axis(axis, u, v) / across) / (1.0 - top), 0.0, 1.0)

    return raked(heap, axis.buffer(across), rng.uniform(0.06, 0.15) * across)


def tapered_sausage(rng: np.random.Generator, seed: int) -> Form:
    """One section along a bent line that shrinks evenly from end to end."""
    across, high = _size(rng)
    axis, section = bent_line(rng, across, seed // 2), SECTIONS[seed // 2 % 3]
    shrink = rng.uniform(0.2, 0.45)
    line = np.asarray(axis.coords)

    def height(u: Array, v: Array) -> Array:
        gap = np.hypot(u[..., None] - line[:, 0], v[..., None] - line[:, 1])
        width = 1.0 - shrink * np.argmin(gap, axis=-1) / (len(line) - 1)
        return high * width * section(gap.min(axis=-1) / (across * width))

    return Form(height, axis.buffer(across))


def row_of_bumps(rng: np.random.Generator, seed: int) -> Form:
    """Three or four bells of about one size, evenly spaced on a bent line."""
    across, high = _size(rng)
    count = int(rng.integers(3, 5))
    gap = across * rng.uniform(1.5, 1.9)
    bend = rng.uniform(0.05, 0.18) * rng.choice([-1.0, 1.0])
    at = (np.arange(count) - 0.5 * (count - 1)) * gap
    aside = bend * at**2 / across / count
    tall = high * (1.0 + rng.normal(0.0, 0.04, count))
    wide = across * rng.uniform(0.48, 0.58)

    def height(u: Array, v: Array) -> Array:
        return (
            sum(
                (
                    h * np.exp(-((u - p) ** 2 + (v - q) ** 2) / (2.0 * wide**2))
                    for p, q, h in zip(at, aside, tall, strict=True)
                ),
                np.zeros_like(u),
            )
            - 0.02 * high
        )

    return Form(height, LineString(np.column_stack([at, aside])).buffer(1.6 * across))


def raked_piles(rng: np.random.Generator, seed: int) -> Form:
    """Truck loads tipped side by side in one or two rows, raked over."""
    across, high = _size(rng)
    count, rows = int(rng.integers(3, 5)), int(rng.integers(1, 3))
    gap = across * rng.uniform(1.4, 1.7)
    p, q = np.meshgrid((np.arange(count) - 0.5 * (count - 1)) * gap, (np.arange(rows) - 0.5 * (rows - 1)) * gap)
    p, q = (side.ravel() + rng.normal(0.0, 0.05 * across, side.size) for side in (p, q))
    tall = high * (1.0 + rng.normal(0.0, 0.08, p.size))

    def heap(u: Array, v: Array) -> Array:
        return np.max([h * (1.0 - np.hypot(u - a, v - b) / across) for a, b, h in zip(p, q, tall, strict=True)], axis=0)

    reach = rng.uniform(0.15, 0.28) * across
    return raked(heap, box(p.min() - across, q.min() - across, p.max() + across, q.max() + across), reach)


def _about(outline: Outline, apex: tuple[float, float]) -> Surface:
    """Share 0..1 of the way from the apex to the edge, on straight lines from the apex."""
    ring = np.asarray(outline.polygon.exterior.coords)[:-1] - apex
    way = np.arctan2(ring[:, 1], ring[:, 0])
    order = np.argsort(way)
    way, far = way[order], np.hypot(*ring[order].T)

    def share(u: Array, v: Array) -> Array:
        return np.hypot(u - apex[0], v - apex[1]) / np.interp(
            np.arctan2(v - apex[1], u - apex[0]), way, far, period=2.0 * np.pi
        )

    return share


def shifted_bell(rng: np.random.Generator, seed: int) -> Form:
    """A round or oval bell whose top stands an eighth to a quarter of the way off the middle."""
    across, high = _size(rng)
    outline = Outline(across * rng.uniform(1.0, 1.7), across)
    shift, way = rng.uniform(0.12, 0.25), rng.uniform(0.0, 2.0 * np.pi)
    share = _about(outline, (outline.along * shift * np.cos(way), across * shift * np.sin(way)))
    section = SECTIONS[seed // 2 % 3]
    return Form(lambda u, v: high * section(share(u, v)), outline.polygon)


def wobbly_cone(rng: np.random.Generator, seed: int) -> Form:
    """A straight cone to an edge that wobbles, its top a little off the middle."""
    across, high = _size(rng)
    waves = tuple((k, rng.uniform(0.04, 0.1), rng.uniform(0.0, 2.0 * np.pi)) for k in (2, 3, 4, 5))
    outline = Outline(across * rng.uniform(1.0, 1.3), across, waves=waves)
    share = _about(outline, (rng.uniform(-0.12, 0.12) * across, rng.uniform(-0.12, 0.12) * across))
    return Form(lambda u, v: high * (1.0 - share(u, v)), outline.polygon)


def tilted_loaf(rng: np.random.Generator, seed: int) -> Form:
    """A straight loaf with round ends, higher at one end and on one side."""
    across, high = _size(rng)
    half = across * rng.uniform(1.2, 2.6)
    along, aside = rng.uniform(0.2, 0.45) / (half + across), rng.uniform(-0.2, 0.2) / across
    section = SECTIONS[seed // 2 % 2]

    def height(u: Array, v: Array) -> Array:
        share = np.hypot(np.maximum(np.abs(u) - half, 0.0), v) / across
        return high * section(share) * (1.0 + along * u + aside * v)

    return Form(height, LineString([(-half, 0.0), (half, 0.0)]).buffer(across))


def rippled(rng: np.random.Generator, seed: int) -> Form:
    """A loaf, a wobbly cone or a sausage with even ripples across it."""
    base = (tilted_loaf, wobbly_cone, sausage)[seed // 2 % 3](rng, seed)
    size = np.sqrt(base.outline.area)
    length, way, phase = size * rng.uniform(0.2, 0.34), rng.uniform(-0.4, 0.4), rng.uniform(0.0, 2.0 * np.pi)
    deep = rng.uniform(0.12, 0.2)

    def height(u: Array, v: Array) -> Array:
        wave = np.sin(2.0 * np.pi * (np.cos(way) * u + np.sin(way) * v) / length + phase)
        return base.height(u, v) * (1.0 + deep * wave)

    return Form(height, base.outline)


def mirrored_hill(rng: np.random.Generator, seed: int) -> Form:
    """One half of a natural hill and its mirror image."""
    hill = NATURAL[("terrain_fault", "random_field", "many_tops")[seed // 2 % 3]](rng, seed)
    west, *_ = hill.outline.bounds
    half = hill.outline.intersection(box(west, -1e3, 0.0, 1e3))
    other = Polygon([(-x, y) for x, y in max(getattr(half, "geoms", [half]), key=lambda g: g.area).exterior.coords])
    both = half.union(other).buffer(0.01)
    return Form(lambda u, v: hill.height(-np.abs(u), v), both if both.geom_type == "Polygon" else both.convex_hull)


def _wavy_bed(rng: np.random.Generator, across: float) -> Polygon:
    waves = tuple((k, rng.uniform(0.05, 0.16), rng.uniform(0.0, 2.0 * np.pi)) for k in (2, 3, 4))
    return Outline(across * rng.uniform(1.3, 2.0), across, waves=waves).polygon


def along_the_bed_line(rng: np.random.Generator, seed: int) -> Form:
    """A ridge at one distance from the bed line round a third of the bed or more."""
    across = rng.uniform(2.6, 4.5)
    bed = _wavy_bed(rng, across)
    half = across * rng.uniform(0.34, 0.42)
    high = half * rng.uniform(0.25, 0.4)
    start, turn = rng.uniform(-np.pi, np.pi), rng.uniform(2.0, 2.8)
    section = SECTIONS[seed // 2 % 3]

    def height(u: Array, v: Array) -> Array:
        way = np.mod(np.arctan2(v, u) - start, 2.0 * np.pi)
        ends = smooth_step(way / 0.5) * smooth_step((turn - way) / 0.5)
        return high * section((edge_distance(bed, u, v) - half) / half) * ends

    return Form(height, bed)


def same_all_along_the_edge(rng: np.random.Generator, seed: int) -> Form:
    """Every contour follows the bed line: one rounded bank all round, up to a top that nothing shaped."""
    across, high = _size(rng)
    bed = _wavy_bed(rng, across)
    bank = across * rng.uniform(0.55, 0.95)
    lift = (
        lambda s: 1.0 - cosine(s),
        lambda s: np.sqrt(np.clip(s * (2.0 - np.minimum(s, 1.0)), 0.0, 1.0)),
        smooth_step,
    )
    return Form(lambda u, v: high * lift[seed // 2 % 3](np.clip(edge_distance(bed, u, v) / bank, 0.0, 1.0)), bed)


def wobbly_mesa(rng: np.random.Generator, seed: int) -> Form:
    """A top cut off level over a wavy bed, its rim raked and its top out of level."""
    across, high = _size(rng)
    waves = tuple((k, rng.uniform(0.03, 0.1), rng.uniform(0.0, 2.0 * np.pi)) for k in (2, 3, 4))
    outline = Outline(across * rng.uniform(1.1, 1.8), across, waves=waves)
    top, lean, way = rng.uniform(0.4, 0.65), rng.uniform(0.02, 0.08), rng.uniform(0.0, 2.0 * np.pi)

    def heap(u: Array, v: Array) -> Array:
        tilt = 1.0 + lean * (np.cos(way) * u + np.sin(way) * v) / across
        return high * np.clip((1.0 - outline.gauge(u, v)) / (1.0 - top), 0.0, 1.0) * tilt

    return raked(heap, outline.polygon, rng.uniform(0.05, 0.1) * across)


def lifted_roof(rng: np.random.Generator, seed: int) -> Form:
    """Every point at the slope limit inside a wavy bed, raked: what the limits alone leave."""
    across, high = _size(rng)
    bed = _wavy_bed(rng, across)
    slope = high / across
    return raked(lambda u, v: slope * edge_distance(bed, u, v), bed, rng.uniform(0.06, 0.14) * across)


BROKEN: dict[str, tuple[Maker, frozenset[str]]] = {
    "sausage": (sausage, frozenset({"same_section", "loaf", "follows_outline"})),
    "bent_windrow": (bent_windrow, frozenset({"same_section", "loaf", "straight_faces", "follows_outline"})),
    "tapered_sausage": (tapered_sausage, frozenset({"same_section"})),
    "row_of_bumps": (row_of_bumps, frozenset({"equal_bumps"})),
    "raked_piles": (raked_piles, frozenset({"equal_bumps"})),
    "shifted_bell": (shifted_bell, frozenset({"cone"})),
    "wobbly_cone": (wobbly_cone, frozenset({"cone", "straight_faces"})),
    "tilted_loaf": (tilted_loaf, frozenset({"same_section", "loaf"})),
    "rippled": (rippled, frozenset({"ripples", "equal_bumps"})),
    "mirrored_hill": (mirrored_hill, frozenset({"mirrored", "same_all_round"})),
    "along_the_bed_line": (along_the_bed_line, frozenset({"same_section", "follows_outline", "loaf"})),
    "same_all_along_the_edge": (same_all_along_the_edge, frozenset({"follows_outline"})),
    "wobbly_mesa": (wobbly_mesa, frozenset({"flat_top", "follows_outline"})),
    "lifted_roof": (lifted_roof, frozenset({"follows_outline", "straight_faces"})),
}
