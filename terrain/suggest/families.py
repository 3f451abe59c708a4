"""Families of forms: each a way of laying high points along the spine of a bed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from terrain.suggest.spine import Spine

# One high point as shares: along the spine 0..1, off it towards the edge -1..1, height of the highest 0..1.
Point = tuple[float, float, float]
Rng = np.random.Generator


@dataclass(frozen=True)
class Family:
    """One kind of form.

    Parameters
    ----------
    name, sentence
        What it is called, and what it does, in plain words.
    fullness
        Share of the soil that the limits would hold up to which half of its variants are scaled. Fuller than half, a
        form comes near the limit surface itself, which has straight faces, and all alternatives are alike.
    tallest
        Share of the height of the form as drawn that it stays under, where no soil on hand sets the height.
    points
        Draws the high points of one variant.
    """

    name: str
    sentence: str
    fullness: float
    tallest: float
    points: Callable[[Rng], list[Point]]


def _flip(rng: Rng, points: list[Point]) -> list[Point]:
    """The same seen from the other end, on even odds."""
    return points if rng.uniform() < 0.5 else [(1.0 - along, off, height) for along, off, height in reversed(points)]


def _low_and_broad(rng: Rng) -> list[Point]:
    off = rng.uniform(-0.25, 0.25)
    points = [
        (rng.uniform(0.12, 0.25), off, rng.uniform(0.62, 0.8)),
        (rng.uniform(0.42, 0.58), -0.6 * off, 1.0),
        (rng.uniform(0.75, 0.9), off, rng.uniform(0.5, 0.7)),
    ]
    return _flip(rng, points)


def _long_tail(rng: Rng) -> list[Point]:
    off = rng.uniform(-0.35, 0.35)
    points = [
        (rng.uniform(0.12, 0.28), off, 1.0),
        (rng.uniform(0.48, 0.6), -0.5 * off, rng.uniform(0.42, 0.55)),
        (rng.uniform(0.78, 0.92), 0.5 * off, rng.uniform(0.12, 0.22)),
    ]
    return _flip(rng, points)


def _two_tops(rng: Rng) -> list[Point]:
    off = rng.uniform(-0.3, 0.3)
    points = [
        (rng.uniform(0.06, 0.2), off, 1.0),
        (rng.uniform(0.45, 0.58), -0.4 * off, rng.uniform(0.2, 0.34)),
        (rng.uniform(0.78, 0.94), -off, rng.uniform(0.6, 0.82)),
    ]
    return _flip(rng, points)


def _shoulder(rng: Rng) -> list[Point]:
    side = rng.choice([-1.0, 1.0])
    points = [
        (rng.uniform(0.3, 0.45), side * rng.uniform(0.25, 0.45), 1.0),
        (rng.uniform(0.6, 0.75), -side * rng.uniform(0.1, 0.35), rng.uniform(0.55, 0.72)),
    ]
    return _flip(rng, points)


def _winding(rng: Rng) -> list[Point]:
    side = rng.choice([-1.0, 1.0])
    points = [
        (rng.uniform(0.08, 0.16), side * rng.uniform(0.2, 0.4), rng.uniform(0.5, 0.65)),
        (rng.uniform(0.3, 0.4), -side * rng.uniform(0.2, 0.4), 1.0),
        (rng.uniform(0.58, 0.68), side * rng.uniform(0.15, 0.35), rng.uniform(0.7, 0.85)),
        (rng.uniform(0.84, 0.94), -side * rng.uniform(0.1, 0.3), rng.uniform(0.3, 0.45)),
    ]
    return _flip(rng, points)


FAMILIES = (
    Family("low and broad", "A low rise over most of the bed, highest near the middle.", 0.33, 0.6, _low_and_broad),
    Family("long tail", "High near one end, running out in a long tail to the other.", 0.48, 1.0, _long_tail),
    Family("two tops", "Two tops of unlike height with a saddle between.", 0.5, 1.0, _two_tops),
    Family("shoulder", "One top off the middle with a lower shoulder beside it.", 0.55, 1.0, _shoulder),
    Family("winding crest", "A crest that winds from side to side and changes height.", 0.42, 0.9, _winding),
)


def crest_of(points: list[Point], spine: Spine, top: float) -> list[tuple[float, float, float]]:
    """High points as (easting, northing, height over existing grade) in metres, the highest `top` metres high."""
    return [(*spine.place(along, off), share * top) for along, off, share in points]
