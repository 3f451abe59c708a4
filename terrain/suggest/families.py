"""Families of forms: what a designer would sketch on the spine of a bed, each with what it leads to."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from terrain.suggest.spine import Spine

# One high point as shares: along the spine 0..1, off it towards the edge -1..1 (positive away from the tree), height of
# the highest 0..1.
Point = tuple[float, float, float]

# A slope that a ride-on mower takes: 5:1 (run:rise), the gentler end of common practice, no published source.
MOWN = 1.0 / 5.0


@dataclass(frozen=True)
class Family:
    """One kind of form.

    Parameters
    ----------
    name, sentence
        What it is called, and what it does, in plain words.
    points
        The high points, from the share of the spine's length where a walk comes nearest.
    steepest
        Slope limit (rise/run) that this family keeps where the site's own is steeper; None: the site's.
    clear_of_roots
        True where the form keeps off half of the root zone that the bed lies on; only where there is one.
    left_out
        What it costs the choice to go without this family: more than any soil that is missing; more yet where it is the
        one for a tree or a mower.
    why_less
        Why it takes less soil than the drawn form, where it does.
    """

    name: str
    sentence: str
    points: Callable[[float], list[Point]]
    steepest: float | None = None
    clear_of_roots: bool = False
    left_out: float = 8.0
    why_less: str = "with more, the limits would shape it"


def _long_ridge(walk: float) -> list[Point]:
    return [(0.15, 0.1, 1.0), (0.5, -0.05, 0.45), (0.9, 0.1, 0.08)]


def _crescent(walk: float) -> list[Point]:
    return [(0.08, -0.3, 0.3), (0.32, 0.25, 0.75), (0.58, 0.45, 1.0), (0.92, -0.2, 0.22)]


def _two_tops(walk: float) -> list[Point]:
    return [(0.08, 0.2, 1.0), (0.46, -0.1, 0.12), (0.88, -0.2, 0.65)]


def _pass(walk: float) -> list[Point]:
    at = min(max(walk, 0.35), 0.65)
    return [(0.08, -0.1, 0.5), (0.6 * at, 0.1, 1.0), (at, 0.0, 0.04), (0.5 * (1.0 + at), 0.15, 0.6)]


def _second_mound(walk: float) -> list[Point]:
    return [(0.2, -0.3, 1.0), (0.45, -0.2, 0.35), (0.65, 0.1, 0.05), (0.86, 0.5, 0.4)]


def _shoulder(walk: float) -> list[Point]:
    return [(0.3, 0.4, 1.0), (0.48, -0.1, 0.55), (0.72, -0.35, 0.5)]


def _one_side(walk: float) -> list[Point]:
    return [(0.25, 0.2, 1.0), (0.6, -0.15, 0.55), (0.88, 0.1, 0.2)]


FAMILIES = (
    Family(
        "long ridge",
        "High near one end, one long tail to the other; no steeper than 5:1, so that it can be mown.",
        _long_ridge,
        steepest=MOWN,
        left_out=12.0,
    ),
    Family("crescent", "A crescent that opens to the tree.", _crescent),
    Family("two tops", "Two tops of unlike height with a saddle between.", _two_tops),
    Family("pass", "A ridge broken by a low pass where the walk comes nearest.", _pass),
    Family("second mound", "A main mound and a second, low one off its line.", _second_mound),
    Family("shoulder", "One top off the middle with a broad shoulder below it, like a terrace.", _shoulder),
    Family(
        "clear of roots",
        "Off half of the root zone under the bed; the rest of the bed stays at existing grade, for plants alone.",
        _one_side,
        clear_of_roots=True,
        left_out=18.0,
        why_less="its part of the bed holds no more",
    ),
)


def crest_of(points: list[Point], spine: Spine, top: float, away: float) -> list[tuple[float, float, float]]:
    """High points as (easting, northing, height over existing grade) in metres, the highest `top` metres high.

    `away` is the side of the spine that lies away from the tree, 1.0 or -1.0.
    """
    return [(*spine.place(along, away * off), share * top) for along, off, share in points]


def flipped(points: list[Point]) -> list[Point]:
    """The same from the other end of the spine."""
    return [(1.0 - along, off, height) for along, off, height in reversed(points)]
