"""A second set of labelled mounds, by generators of another design, that no bound was set on: it only reports.

Made shapes are worked as a machine or a hand works: a section swept along a spline, loads tipped and let slide to their
slope of repose, planes cut against each other, ground copied by folding or turning. Natural ones are worked as ground
is: rain that cuts valleys, creep that goes with the cube of the slope, heaps let fall along an ice front, lobes of a
slide, loops of drumlins, and real hills cut out by the ground that drains from each top.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from fresh_ground import (
    GROUND,
    Maker,
    N,
    X,
    Y,
    gap_to,
    set_down,
    slid,
    spline_line,
    star,
    warped,
)
from labelled_shapes import Form
from scipy import ndimage
from shapely.geometry import Polygon


def swept_section(rng: np.random.Generator, seed: int) -> Form:
    """One section, round or flat-shouldered, swept along a spline."""
    away, _ = gap_to(spline_line(rng, 0.6, 0.22))
    share = np.minimum(away / rng.uniform(0.22, 0.34), 1.0)
    section = (1.0 - share**2.6) ** 1.3 if seed % 2 else np.sqrt(np.maximum(1.0 - share**2, 0.0))
    return set_down(rng, section)


def bucket_windrow(rng: np.random.Generator, seed: int) -> Form:
    """Equal buckets tipped along a bent line, let slide, raked over."""
    line = spline_line(rng, 0.6, 0.18)
    table = np.zeros((N, N))
    for x, y in line[:: int(rng.integers(9, 14))]:
        table += np.exp(-((X - x) ** 2 + (Y - y) ** 2) / 0.008) * (1.0 + rng.normal(0.0, 0.06))
    return set_down(rng, ndimage.gaussian_filter(slid(table, rng.uniform(1.2, 2.0)), 1.2))


def truck_row(rng: np.random.Generator, seed: int) -> Form:
    """Three to five equal loads tipped in a row and raked: spacing and size as near as a driver comes."""
    count = int(rng.integers(3, 6))
    bend, gap = rng.uniform(-0.25, 0.25), 1.3 / count
    table = np.zeros((N, N))
    for k in range(count):
        x = (k - 0.5 * (count - 1)) * gap + rng.normal(0.0, 0.03 * gap)
        y = bend * x**2 + rng.normal(0.0, 0.03 * gap)
        table = np.maximum(table, np.maximum(1.0 - np.hypot(X - x, Y - y) / (0.62 * gap), 0.0) * rng.normal(1.0, 0.03))
    return set_down(rng, ndimage.gaussian_filter(table, rng.uniform(1.2, 2.2)))


def pushed_dome(rng: np.random.Generator, seed: int) -> Form:
    """One smooth dome whose top is pushed off the middle, its sides bent after it."""
    push, way = rng.uniform(0.1, 0.3), rng.uniform(0.0, 2.0 * np.pi)
    u, v = np.cos(way) * X + np.sin(way) * Y, np.cos(way) * Y - np.sin(way) * X
    radius = np.hypot(u / 0.7, v / rng.uniform(0.5, 0.7))
    # A map of the disc onto itself that carries the middle to the side.
    pulled = np.hypot(u / 0.7 - push * np.maximum(1.0 - radius**2, 0.0), v / 0.6)
    share = np.minimum(np.maximum(pulled, 0.0), 1.0) * (radius < 1.0) + (radius >= 1.0)
    profile = (1.0 - share**2) ** 2 if seed % 2 else np.maximum(1.0 - share**1.6, 0.0)
    return set_down(rng, ndimage.gaussian_filter(profile, 1.0))


def lobed_cone(rng: np.random.Generator, seed: int) -> Form:
    """Straight sides from one top to a lobed edge."""
    radius = star(rng, 0.22)
    share = np.hypot(X, Y) / radius(np.arctan2(Y, X))
    return set_down(rng, ndimage.gaussian_filter(np.maximum(1.0 - share, 0.0), 0.8))


def leaning_loaf(rng: np.random.Generator, seed: int) -> Form:
    """A loaf with rounded ends that leans along and across."""
    half = rng.uniform(0.25, 0.45)
    away = np.hypot(np.maximum(np.abs(X) - half, 0.0), Y) / rng.uniform(0.26, 0.36)
    lean = 1.0 + rng.uniform(0.3, 0.6) * X + rng.uniform(-0.3, 0.3) * Y
    return set_down(rng, np.maximum(1.0 - away**2, 0.0) * lean)


def washboard(rng: np.random.Generator, seed: int) -> Form:
    """A full ridge with even waves across it."""
    line = spline_line(rng, 0.55, 0.12)
    away, along = gap_to(line)
    wave = 1.0 + rng.uniform(0.12, 0.2) * np.sin(2.0 * np.pi * along * rng.uniform(4.0, 6.0))
    return set_down(rng, np.maximum(1.0 - (away / 0.33) ** 2, 0.0) * wave)


def folded_hill(rng: np.random.Generator, seed: int) -> Form:
    """One half of natural ground and its image beside it."""
    table = warped(rng)
    keep = table[:, : N // 2]
    return set_down(rng, ndimage.gaussian_filter(np.concatenate([keep, keep[:, ::-1]], axis=1), 1.0))


def turned_hill(rng: np.random.Generator, seed: int) -> Form:
    """Natural ground and itself turned by half a turn, laid over each other."""
    table = warped(rng)
    return set_down(rng, table + table[::-1, ::-1])


def bank_by_the_bed(rng: np.random.Generator, seed: int) -> Form:
    """A bank at one distance from a wobbly bed line, along a third of it, its ends run out."""
    radius = star(rng, 0.1)
    angle = np.linspace(-np.pi, np.pi, 400)
    edge = 1.4 * np.column_stack([np.cos(angle), np.sin(angle)]) * radius(angle)[:, None]
    inner = np.asarray(Polygon(edge).buffer(-0.2).exterior.coords)
    away, _ = gap_to(inner)
    turn = np.abs((np.arctan2(Y, X) - rng.uniform(-np.pi, np.pi) + np.pi) % (2.0 * np.pi) - np.pi)
    ends = np.clip((rng.uniform(1.0, 1.4) - turn) / 0.35, 0.0, 1.0)
    form = set_down(rng, np.maximum(1.0 - (away / 0.2) ** 2, 0.0) * ends)
    size = form.outline.bounds[2]
    return Form(form.height, Polygon(edge * size))


def pillow(rng: np.random.Generator, seed: int) -> Form:
    """One profile from a random outline inward, as high as it is far from the edge, then level off."""
    inside = np.hypot(X, Y / rng.uniform(0.6, 0.9)) < star(rng, 0.2)(np.arctan2(Y, X))
    depth = ndimage.distance_transform_edt(inside) / N
    return set_down(rng, ndimage.gaussian_filter(1.0 - np.exp(-depth / rng.uniform(0.06, 0.14)), 1.0) * inside)


def cut_top(rng: np.random.Generator, seed: int) -> Form:
    """Natural ground with its top cut level, and raked."""
    table = warped(rng)
    return set_down(rng, ndimage.gaussian_filter(np.minimum(table, rng.uniform(0.45, 0.6) * table.max()), 0.7))


def planes(rng: np.random.Generator, seed: int) -> Form:
    """Four to six planes cut against each other, lightly raked."""
    count = int(rng.integers(4, 7))
    ways = 2.0 * np.pi * (np.arange(count) + rng.uniform(-0.2, 0.2, count)) / count
    faces = [rng.uniform(0.5, 0.75) - np.cos(w) * X - np.sin(w) * Y for w in ways]
    faces = [face * rng.uniform(0.8, 1.25) for face in faces]
    return set_down(rng, ndimage.gaussian_filter(np.maximum(np.min(faces, axis=0), 0.0), 0.9))


def horseshoe(rng: np.random.Generator, seed: int) -> Form:
    """One section bent into a horseshoe."""
    angle = np.linspace(0.0, rng.uniform(2.6, 4.4), 300)
    bend = rng.uniform(0.38, 0.5)
    line = bend * np.column_stack([np.cos(angle) * rng.uniform(0.9, 1.15), np.sin(angle)])
    away, _ = gap_to(line)
    return set_down(rng, np.maximum(1.0 - (away / rng.uniform(0.18, 0.26)) ** 2, 0.0))


MADE_ANEW: Mapping[str, tuple[Maker, frozenset[str]]] = {
    "swept_section": (swept_section, frozenset({"same_section", "loaf", "follows_outline"})),
    "bucket_windrow": (
        bucket_windrow,
        frozenset({"same_section", "loaf", "follows_outline", "straight_faces", "ripples", "parallel_contours"}),
    ),
    "truck_row": (truck_row, frozenset({"equal_bumps", "ripples"})),
    "pushed_dome": (pushed_dome, frozenset({"cone", "mirrored"})),
    "lobed_cone": (lobed_cone, frozenset({"cone", "straight_faces", "sharp_peak"})),
    "leaning_loaf": (leaning_loaf, frozenset({"same_section", "parallel_contours", "loaf", "mirrored"})),
    "washboard": (washboard, frozenset({"ripples", "equal_bumps", "same_section"})),
    "folded_hill": (folded_hill, frozenset({"mirrored"})),
    "turned_hill": (turned_hill, frozenset({"same_all_round"})),
    "bank_by_the_bed": (bank_by_the_bed, frozenset({"follows_outline", "same_section"})),
    "pillow": (pillow, frozenset({"follows_outline", "flat_top"})),
    "cut_top": (cut_top, frozenset({"flat_top"})),
    "planes": (planes, frozenset({"straight_faces", "sharp_toe", "parallel_contours", "follows_outline", "cone"})),
    "horseshoe": (horseshoe, frozenset({"same_section", "loaf", "follows_outline", "holds_water"})),
}
NATURAL_ANEW: Mapping[str, tuple[Maker, frozenset[str]]] = {
    name: (maker, frozenset()) for name, maker in GROUND.items()
}
