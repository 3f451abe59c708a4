"""More mounds that read natural: whole hills out of open terrain, random ground with a spectrum, worn scarps, crests
between unlike tops."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

import numpy as np
from labelled_shapes import Form
from look_outlines import Array
from natural_shapes import terrain
from scipy import ndimage
from scipy.interpolate import RectBivariateSpline
from shapely.geometry import box

Maker = Callable[[np.random.Generator, int], Form]
NODES = 72  # along the longer side of a hill's table


def from_table(table: Array, long: float, high: float) -> Form:
    """A table of heights, north up, set in a yard: its longer side `long` metres, its top at `high`."""
    ny, nx = table.shape
    step = long / max(nx - 1, ny - 1)
    u, v = (step * (np.arange(n) - 0.5 * (n - 1)) for n in (nx, ny))
    spline = RectBivariateSpline(u, v, table.T * high / table.max(), kx=3, ky=3)

    def height(p: Array, q: Array) -> Array:
        inside = (np.abs(p) <= u[-1]) & (np.abs(q) <= v[-1])
        return np.where(inside, spline.ev(np.clip(p, u[0], u[-1]), np.clip(q, v[0], v[-1])), 0.0)

    return Form(height, box(u[0], v[0], u[-1], v[-1]))


def _size(rng: np.random.Generator, table: Array) -> tuple[float, float]:
    """Length of the longer side and height in metres: 40 to 90 m2 of mound, a twelfth to a seventh as high as wide."""
    share = float((table > 0.02 * table.max()).mean())
    across = 2.0 * float(ndimage.distance_transform_edt(table > 0.02 * table.max()).max()) / max(table.shape)
    long = np.sqrt(rng.uniform(25.0, 90.0) / share * max(table.shape) / min(table.shape))
    return long, long * across * rng.uniform(0.06, 0.14)


@cache
def whole_hills(kind: str) -> list[Array]:
    """Whole hills: what stands over the lowest contour that closes round one top, eased out over its lowest fifth."""
    name = GRIDS[kind]
    spline, size = terrain(name)
    found = []
    for cells in CELLS[name]:
        rows, columns = (np.linspace(0.0, side, int(n / cells)) for side, n in zip(size, SHAPES[name], strict=True))
        heights = ndimage.gaussian_filter(spline(rows, columns), 1.3)
        low, high = np.quantile(heights, (0.15, 0.995))
        for level in np.linspace(low, high, 60):
            bodies, _ = ndimage.label(heights > level)
            for number, place in enumerate(ndimage.find_objects(bodies), start=1):
                part = bodies[place] == number
                on_border = any(p.start == 0 or p.stop == n for p, n in zip(place, heights.shape, strict=True))
                if on_border or not 150 <= part.sum() <= 1500 or min(part.shape) < 8:
                    continue
                rise = np.pad(np.where(part, heights[place] - level, 0.0), 2)
                table = ndimage.gaussian_filter(rise, 0.7)
                # A hill that is cut higher up again is the same hill: the widest cut alone is kept.
                top = np.add([p.start for p in place], np.unravel_index(rise.argmax(), rise.shape))
                key = (cells, *np.round(top, -1))
                found.append((key, table))
    widest: dict[tuple[int, ...], Array] = {}
    for key, table in found:
        if key not in widest or table.size > widest[key].size:
            widest[key] = table
    return list(widest.values())


STRIDE = 37  # from seed to seed through the hills, so that neighbours in the grid fall apart
# Cells of each grid to a node of the table that hills are looked for on: the small ones are looked at finer as well.
CELLS = {"jacksboro": (1, 1.5, 2.2), "coast": (1, 1.5, 2.2), "hills": (0.5, 0.7, 1, 1.5), "range": (0.6, 1, 1.5)}
GRIDS = {"hill_fault": "jacksboro", "hill_coast": "coast", "hill_low": "hills", "hill_range": "range"}
SHAPES = {"jacksboro": (344, 403), "coast": (182, 240), "hills": (200, 200), "range": (187, 152)}


def _hill(kind: str) -> Maker:
    def make(rng: np.random.Generator, seed: int) -> Form:
        hills = whole_hills(kind)
        table = hills[(STRIDE * seed) % len(hills)]
        return from_table(table, *_size(rng, table))

    return make


def fading_field(rng: np.random.Generator, seed: int) -> Form:
    """Random ground with a power-law spectrum, fading out towards an uneven edge."""
    n = NODES
    freq = np.hypot(*np.meshgrid(np.fft.fftfreq(n), np.fft.fftfreq(n)))
    freq[0, 0] = np.inf
    slope = rng.uniform(3.0, 4.4)

    def field(power: float) -> Array:
        white = np.fft.fft2(rng.normal(size=(n, n)))
        made = np.real(np.fft.ifft2(white * np.minimum(freq, 0.25) ** (-0.5 * power)))
        return ndimage.gaussian_filter(made / made.std(), 1.2)

    y, x = np.meshgrid(np.linspace(-1.0, 1.0, n), np.linspace(-1.0, 1.0, n), indexing="ij")
    stretch = rng.uniform(1.0, 1.7)
    radius = np.hypot(x, y * stretch) * (1.0 + 0.12 * field(4.0))
    envelope = np.clip((0.9 - radius) / 0.9, 0.0, 1.0)
    envelope = envelope**2 * (3.0 - 2.0 * envelope)
    table = np.maximum((1.6 + field(slope)) * envelope, 0.0)
    return from_table(table, *_size(rng, table))


def worn_scarp(rng: np.random.Generator, seed: int) -> Form:
    """Blocks of unlike height, tilted and worn by creep: linear diffusion, Culling 1960, J. Geology 68(3)."""
    n = NODES
    y, x = np.meshgrid(np.linspace(-1.0, 1.0, n), np.linspace(-1.0, 1.0, n), indexing="ij")
    table = np.zeros((n, n))
    for k in range(int(rng.integers(3, 5))):
        at, way = rng.uniform(-0.38, 0.38, 2), rng.uniform(0.0, np.pi)
        p = np.cos(way) * (x - at[0]) + np.sin(way) * (y - at[1])
        q = np.cos(way) * (y - at[1]) - np.sin(way) * (x - at[0])
        block = (np.abs(p) < rng.uniform(0.15, 0.45)) & (np.abs(q) < rng.uniform(0.08, 0.28))
        tall = (1.0, 0.7, 0.5, 0.35)[k] * (1.0 + rng.uniform(-0.7, 0.7) * p + rng.uniform(-0.7, 0.7) * q)
        table = np.maximum(table, np.where(block, tall, 0.0))
    table = ndimage.gaussian_filter(table, rng.uniform(2.6, 4.2))
    return from_table(np.maximum(table - 0.01 * table.max(), 0.0), *_size(rng, table))


def unlike_tops(rng: np.random.Generator, seed: int) -> Form:
    """What a designer shapes: a winding crest through unlike tops and a saddle, sides that widen and narrow."""
    n = NODES
    y, x = np.meshgrid(np.linspace(-1.0, 1.0, n), np.linspace(-1.0, 1.0, n), indexing="ij")
    s = np.linspace(0.0, 1.0, 60)
    bend = 0.28 * np.sin(2.0 * np.pi * (rng.uniform(0.4, 0.9) * s + rng.uniform()))
    cx, cy = -0.62 + 1.24 * s, bend - bend.mean()
    knots = np.linspace(0.0, 1.0, 5)
    inner = rng.permutation([1.0, rng.uniform(0.4, 0.6), rng.uniform(0.6, 0.85)])
    tall = np.interp(s, knots, np.r_[rng.uniform(0.15, 0.4), inner, rng.uniform(0.1, 0.3)])
    left, right = (np.interp(s, knots, rng.uniform(0.16, 0.42, 5)) for _ in range(2))
    tall, left, right = (ndimage.gaussian_filter1d(one, 4.0, mode="nearest") for one in (tall, left, right))
    gap = np.hypot(x[..., None] - cx, y[..., None] - cy)
    near = gap.argmin(axis=-1)
    side = (y - cy[near]) > 0.0
    wide = np.where(side, left[near], right[near])
    share = np.minimum(gap.min(axis=-1) / wide, 1.0)
    table = ndimage.gaussian_filter(tall[near] * (1.0 + np.cos(np.pi * share)), 1.6)
    return from_table(table, *_size(rng, table))


HILLS: dict[str, Maker] = {
    "hill_fault": _hill("hill_fault"),
    "hill_coast": _hill("hill_coast"),
    "hill_low": _hill("hill_low"),
    "hill_range": _hill("hill_range"),
    "fading_field": fading_field,
    "worn_scarp": worn_scarp,
    "unlike_tops": unlike_tops,
}
