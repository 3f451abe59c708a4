"""Natural mounds of the second set: ground that was rained on, crept, let fall along an ice front, slid or drained.

`fresh_shapes` has the made ones and says what the set is for.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

import numpy as np
from labelled_shapes import Form
from look_outlines import Array
from natural_hills import GRIDS, SHAPES, from_table
from natural_shapes import terrain
from scipy import ndimage
from scipy.interpolate import CubicSpline
from scipy.spatial import cKDTree

Maker = Callable[[np.random.Generator, int], Form]
N = 84  # nodes along a side of a table; the square is two units wide
UNIT = np.linspace(-1.0, 1.0, N)
Y, X = np.meshgrid(UNIT, UNIT, indexing="ij")
PLACES = np.column_stack([X.ravel(), Y.ravel()])
STEP = float(UNIT[1] - UNIT[0])


def set_down(rng: np.random.Generator, table: Array, steep: float | None = None) -> Form:
    """A table as a yard has it: its mound 20 to 90 m2, a sixteenth to a sixth as high as wide."""
    table = np.maximum(table - 0.01 * table.max(), 0.0)
    covered = table > 0.02 * table.max()
    area = float(covered.mean())
    across = 2.0 * float(ndimage.distance_transform_edt(covered).max()) / N
    long = float(np.sqrt(rng.uniform(20.0, 90.0) / area))
    return from_table(table, long, long * across * (rng.uniform(0.06, 0.16) if steep is None else steep))


def spline_line(rng: np.random.Generator, reach: float, wander: float, places: int = 4) -> Array:
    """(200, 2) a smooth line from one side of the square to the other that wanders aside."""
    x = np.linspace(-reach, reach, places)
    y = rng.uniform(-wander, wander, places)
    s = np.linspace(-reach, reach, 200)
    way = CubicSpline(x, y - y.mean())(s)
    return np.column_stack([s, way])


def gap_to(line: Array) -> tuple[Array, Array]:
    """Distance of every node to a line, and the share of the line's length at its nearest place."""
    away, number = cKDTree(line).query(PLACES)
    return away.reshape(N, N), number.reshape(N, N) / (len(line) - 1.0)


def slid(table: Array, slope: float, rounds: int = 160) -> Array:
    """Ground that slides where it stands steeper than `slope` (rise over run of the square): none is lost."""
    most = slope * STEP
    table = table.copy()
    for _ in range(rounds):
        moved = np.zeros_like(table)
        for axis in (0, 1):
            fall = np.diff(table, axis=axis)
            over = 0.2 * np.sign(fall) * np.maximum(np.abs(fall) - most, 0.0)
            low = [slice(None), slice(None)]
            high = [slice(None), slice(None)]
            low[axis], high[axis] = slice(None, -1), slice(1, None)
            moved[tuple(low)] += over
            moved[tuple(high)] -= over
        table += moved
    return table


def noise(rng: np.random.Generator, power: float) -> Array:
    """Random ground with a power law, mean 0, deviation 1."""
    often = np.hypot(*np.meshgrid(np.fft.fftfreq(N), np.fft.fftfreq(N)))
    often[0, 0] = np.inf
    made = np.real(np.fft.ifft2(np.fft.fft2(rng.normal(size=(N, N))) * np.minimum(often, 0.3) ** (-0.5 * power)))
    made -= made.mean()
    return made / made.std()


def star(rng: np.random.Generator, wobble: float) -> Callable[[Array], Array]:
    """Radius of an uneven outline by the angle, about 0.6."""
    parts = [(k, rng.normal(0.0, wobble / k), rng.uniform(0.0, 2.0 * np.pi)) for k in (2, 3, 4, 5)]
    return lambda angle: 0.6 * (1.0 + sum(size * np.cos(k * angle + phase) for k, size, phase in parts))


def fading(rng: np.random.Generator) -> Array:
    """1 in the middle of the square, 0 at an uneven edge, eased."""
    edge = 0.85 + 0.12 * noise(rng, 4.0)
    share = np.clip((edge - np.hypot(X, Y * rng.uniform(1.0, 1.6))) / 0.7, 0.0, 1.0)
    return share * share * (3.0 - 2.0 * share)


def warped(rng: np.random.Generator) -> Array:
    """Ridged random ground, its places warped by other random ground, fading out."""
    ground = 2.0 - np.abs(noise(rng, 3.6)) + 0.5 * noise(rng, 3.2)
    shift = [6.0 * noise(rng, 4.0) for _ in range(2)]
    rows, columns = np.meshgrid(np.arange(N), np.arange(N), indexing="ij")
    moved = ndimage.map_coordinates(ground, [rows + shift[0], columns + shift[1]], order=1, mode="reflect")
    return np.maximum(ndimage.gaussian_filter(np.maximum(moved, 0.0) * fading(rng), 2.0), 0.0)


def ridged(rng: np.random.Generator, seed: int) -> Form:
    return set_down(rng, warped(rng))


def rained_on(rng: np.random.Generator, seed: int) -> Form:
    """A block that rises while water cuts it: stream power with a slope of steepest descent, and creep."""
    table = fading(rng) * (1.0 + 0.35 * noise(rng, 3.0))
    order = np.arange(N * N)
    for _ in range(24):
        flat = np.pad(table, 1, constant_values=-1.0)
        drops = np.stack([(table - np.roll(flat, (i, j), (0, 1))[1:-1, 1:-1]) for i, j in AROUND])
        best = drops.argmax(axis=0)
        fall = np.maximum(drops.max(axis=0), 0.0)
        rows, columns = np.divmod(order, N)
        di, dj = np.array(AROUND)[best.ravel()].T
        to = np.clip(rows - di, 0, N - 1) * N + np.clip(columns - dj, 0, N - 1)
        area = np.ones(N * N)
        for node in np.argsort(-table.ravel()):
            if to[node] != node:
                area[to[node]] += area[node]
        table = table - np.minimum(0.05 * np.sqrt(area).reshape(N, N) * fall, 0.8 * fall)
        table = ndimage.gaussian_filter(table, 0.45)
    return set_down(rng, ndimage.gaussian_filter(np.maximum(table, 0.0), 1.6))


AROUND = [(i, j) for i in (-1, 0, 1) for j in (-1, 0, 1) if (i, j) != (0, 0)]


def crept(rng: np.random.Generator, seed: int) -> Form:
    """Random steps of a fault, worn by creep that goes with the cube of the slope (Roering and others 1999)."""
    table = np.maximum(noise(rng, 2.6) + rng.uniform(0.2, 0.6), 0.0) * fading(rng)
    for _ in range(220):
        east, north = np.gradient(table, STEP, axis=1), np.gradient(table, STEP, axis=0)
        slope2 = np.minimum((east**2 + north**2) / 9.0**2, 0.9)
        flux = 1.0 / (1.0 - slope2)
        table = table + 2.0e-5 * (np.gradient(flux * east, STEP, axis=1) + np.gradient(flux * north, STEP, axis=0))
    return set_down(rng, ndimage.gaussian_filter(np.maximum(table, 0.0), 2.0))


def moraine(rng: np.random.Generator, seed: int) -> Form:
    """Two hundred heaps of all sizes let fall about a wandering ice front."""
    line = spline_line(rng, 0.6, 0.35, 5)
    table = np.zeros((N, N))
    thick = np.interp(np.linspace(0, 1, 200), np.linspace(0, 1, 6), rng.uniform(0.15, 1.0, 6))
    for _ in range(200):
        k = int(rng.choice(200, p=thick / thick.sum()))
        at = line[k] + rng.normal(0.0, 0.1, 2)
        wide = 0.07 * np.exp(rng.normal(0.0, 0.45))
        table += wide * thick[k] * np.exp(-((X - at[0]) ** 2 + (Y - at[1]) ** 2) / (2.0 * wide**2))
    return set_down(rng, table)


def kames(rng: np.random.Generator, seed: int) -> Form:
    """Unlike mounds that run together, with no order, steeper on one side."""
    table = np.zeros((N, N))
    for _ in range(int(rng.integers(4, 8))):
        at, way = rng.uniform(-0.45, 0.45, 2), rng.uniform(0.0, np.pi)
        long = rng.uniform(0.12, 0.3)
        u = np.cos(way) * (X - at[0]) + np.sin(way) * (Y - at[1])
        v = np.cos(way) * (Y - at[1]) - np.sin(way) * (X - at[0])
        u = np.where(u > 0.0, u * rng.uniform(0.7, 1.4), u)
        heap = rng.uniform(0.3, 1.0) * np.exp(-((u / long) ** 2) - (v / (0.6 * long)) ** 2)
        table = np.logaddexp(6.0 * table, 6.0 * heap) / 6.0
    return set_down(rng, np.maximum(table - table[0, 0], 0.0))


def slide(rng: np.random.Generator, seed: int) -> Form:
    """The lobe of a slide: thick at its toe, thin at its head, in tongues of unlike reach, with swells on it."""
    angle = np.arctan2(Y, X + 0.6)
    reach = 0.95 + 0.15 * np.interp(angle, np.linspace(-1.2, 1.2, 7), rng.normal(0.0, 1.0, 7))
    share = np.hypot(X + 0.6, Y) / np.maximum(reach, 0.4)
    body = np.clip(share, 0.0, 1.0) ** 0.8 * np.clip((1.0 - share) / 0.35, 0.0, 1.0) * (np.abs(angle) < 1.0)
    body *= np.clip((1.0 - np.abs(angle)) / 0.6, 0.0, 1.0)
    return set_down(rng, ndimage.gaussian_filter(body * (1.0 + 0.3 * noise(rng, 3.2)), 3.0))


def lemniscate(rng: np.random.Generator, seed: int) -> Form:
    """A drumlin inside a lemniscate loop (Chorley 1959), blunt end first, ribbed and lopsided."""
    angle, radius = np.arctan2(Y, X + 0.75), np.hypot(X + 0.75, Y)
    order = rng.uniform(2.2, 3.2)
    edge = 1.5 * np.cos(np.clip(order * angle, -0.5 * np.pi, 0.5 * np.pi))
    share = np.clip(radius / np.maximum(edge, 1e-3), 0.0, 1.0)
    top = rng.uniform(0.55, 0.7)
    long = np.where(share < top, share / top, (1.0 - share) / (1.0 - top))
    body = np.sin(0.5 * np.pi * long) ** 2 * np.cos(np.clip(order * angle, -0.5 * np.pi, 0.5 * np.pi))
    body *= 1.0 + rng.uniform(0.3, 0.6) * np.clip(3.0 * angle, -1.0, 1.0) + 0.2 * noise(rng, 3.4)
    return set_down(rng, ndimage.gaussian_filter(np.maximum(body, 0.0), 2.0))


def watershed_of_tops(heights: Array) -> Array:
    """The number of the top that every node climbs to by the steepest way."""
    ny, nx = heights.shape
    high = np.pad(heights, 1, constant_values=-np.inf)
    around = [(i, j) for i in (-1, 0, 1) for j in (-1, 0, 1)]
    best = np.argmax([high[1 + i : 1 + i + ny, 1 + j : 1 + j + nx] for i, j in around], axis=0)
    step = np.array([i * nx + j for i, j in around])
    to = np.arange(ny * nx) + step[best.ravel()]
    for _ in range(12):  # each round goes twice as far
        to = to[to]
    return np.unique(to, return_inverse=True)[1].reshape(ny, nx)


@cache
def drained_hills(kind: str) -> tuple[Array, ...]:
    """Real hills: the ground that drains from one top, over the height of its rim, eased out in its lowest quarter."""
    name = GRIDS[kind]
    spline, size = terrain(name)
    rows, columns = (np.linspace(0.0, side, n) for side, n in zip(size, SHAPES[name], strict=True))
    heights = ndimage.gaussian_filter(spline(rows, columns), 1.8)
    owner = watershed_of_tops(heights)
    found = []
    for number, place in enumerate(ndimage.find_objects(owner + 1), start=0):
        if place is None:
            continue
        part = owner[place] == number
        on_border = any(p.start == 0 or p.stop == n for p, n in zip(place, heights.shape, strict=True))
        if on_border or not 200 <= part.sum() <= 2600 or min(part.shape) < 10:
            continue
        inside = ndimage.distance_transform_edt(np.pad(part, 3))
        base = float(np.quantile(heights[place][part], 0.1))
        rise = np.pad(np.maximum(heights[place] - base, 0.0), 3)
        ease = np.clip(inside / (0.45 * inside.max()), 0.0, 1.0)
        found.append(ndimage.gaussian_filter(rise * ease * ease * (3.0 - 2.0 * ease), 0.8))
    return tuple(found)


def _drained(kind: str) -> Maker:
    def make(rng: np.random.Generator, seed: int) -> Form:
        hills = drained_hills(kind)
        table = hills[(seed * 17) % len(hills)]
        covered = table > 0.02 * table.max()
        long = float(np.sqrt(rng.uniform(25.0, 90.0) / covered.mean() * max(table.shape) / min(table.shape)))
        across = 2.0 * float(ndimage.distance_transform_edt(covered).max()) / max(table.shape)
        return from_table(table, long, long * across * rng.uniform(0.06, 0.14))

    return make


GROUND: dict[str, Maker] = {
    "ridged": ridged,
    "rained_on": rained_on,
    "crept": crept,
    "moraine": moraine,
    "kames": kames,
    "slide": slide,
    "lemniscate": lemniscate,
    **{f"drained_{kind.removeprefix('hill_')}": _drained(kind) for kind in GRIDS},
}
