"""Families of forms: what a designer would sketch on the spine of a bed, each with what it leads to."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

from terrain.shape import Spine

# One high point as shares: along the spine 0..1, off it towards the edge -1..1 (positive away from the tree), height
# 0..1 of what the limits hold there.
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
    layouts
        Ways to lay its high points on the spine, from the share of its length that it goes by: where a walk comes
        nearest, or where the eye looks across.
    toe
        Width of the eased toe as a share of the radius of the largest circle in the bed; one for most, so that one
        layout of the bed serves them. A narrow one leaves more room for soil.
    steepest
        Slope limit (rise/run) that this family keeps where the site's own is steeper; None: the site's.
    clear_of_roots
        True where the form keeps off half of the root zone that the bed lies on; only where there is one.
    left_out
        What it costs the choice to go without this family: more than any soil that is missing; more yet where it is the
        one for a tree or a mower.
    """

    name: str
    sentence: str
    layouts: Callable[[float], list[list[Point]]]
    toe: float = 0.15
    steepest: float | None = None
    clear_of_roots: bool = False
    left_out: float = 8.0


def _filled(points: list[Point]) -> list[Point]:
    """The same ridge with a point half-way between every two, so that it stays full between them."""
    dense = [points[0]]
    for one, other in pairwise(points):
        half: Point = (0.5 * (one[0] + other[0]), 0.5 * (one[1] + other[1]), 0.5 * (one[2] + other[2]))
        dense += [half, other]
    return dense


def _both_ways(points: Callable[[float], list[Point]]) -> Callable[[float], list[list[Point]]]:
    """The points, and those between, from either end of the spine."""

    def layouts(at: float) -> list[list[Point]]:
        dense = _filled(points(at))
        return [dense, [(1.0 - along, off, height) for along, off, height in reversed(dense)]]

    return layouts


def _long_ridge(at: float) -> list[Point]:
    return [(0.15, 0.1, 1.0), (0.5, -0.05, 0.45), (0.9, 0.1, 0.08)]


def _crescent(at: float) -> list[Point]:
    return [(0.08, -0.3, 0.3), (0.32, 0.25, 0.75), (0.58, 0.45, 1.0), (0.92, -0.2, 0.22)]


def _two_tops(at: float) -> list[Point]:
    return [(0.08, 0.2, 1.0), (0.46, -0.1, 0.12), (0.88, -0.2, 0.65)]


def _pass(at: float) -> list[Point]:
    at = min(max(at, 0.35), 0.65)
    return [(0.08, -0.1, 0.5), (0.6 * at, 0.1, 1.0), (at, 0.0, 0.04), (0.5 * (1.0 + at), 0.15, 0.6)]


def _second_mound(at: float) -> list[Point]:
    return [(0.2, -0.3, 1.0), (0.45, -0.2, 0.35), (0.65, 0.1, 0.05), (0.86, 0.5, 0.4)]


def _shoulder(at: float) -> list[Point]:
    return [(0.3, 0.4, 1.0), (0.48, -0.1, 0.55), (0.72, -0.35, 0.5)]


def _one_side(at: float) -> list[Point]:
    return [(0.25, 0.2, 1.0), (0.6, -0.15, 0.55), (0.88, 0.1, 0.2)]


# Six high points wind along the whole spine, so that the bed is well filled; one place in it stays low.
WINDING = ((0.08, 0.25), (0.25, -0.25), (0.42, 0.2), (0.58, -0.2), (0.75, 0.25), (0.92, -0.25))

# Where that place may be, and how far it reaches along the spine.
LOWS = ((0.08, 0.3), (0.25, 0.22), (0.3, 0.15), (0.42, 0.22), (0.58, 0.22), (0.7, 0.15), (0.75, 0.22), (0.92, 0.3))


def _low_at(low: float, wide: float, left: float = 0.1) -> list[Point]:
    """A full ridge with a low place at a share of the spine, `left` of the ridge's height there."""
    return [(along, off, 1.0 - (1.0 - left) * max(0.0, 1.0 - abs(along - low) / wide)) for along, off in WINDING]


def _high_at(high: float) -> list[Point]:
    """A ridge as high as the limits let it where the eye looks across, running out low to both sides."""
    return [(along, 0.5 * off, max(0.1, 1.0 - max(0.0, abs(along - high) - 0.12) / 0.4)) for along, off in WINDING]


FAMILIES = (
    Family(
        "long ridge",
        "High near one end, one long tail to the other; no steeper than 5:1, so that it can be mown.",
        _both_ways(_long_ridge),
        steepest=MOWN,
        toe=0.3,  # at so gentle a limit a short toe leaves the faces straight
        left_out=12.0,
    ),
    Family("crescent", "A crescent that opens to the tree.", _both_ways(_crescent)),
    Family("two tops", "Two tops of unlike height with a saddle between.", _both_ways(_two_tops)),
    Family("pass", "A ridge broken by a low pass where the walk comes nearest.", _both_ways(_pass)),
    Family("second mound", "A main mound and a second, low one off its line.", _both_ways(_second_mound)),
    Family("shoulder", "One top off the middle with a broad shoulder below it, like a terrace.", _both_ways(_shoulder)),
    Family(
        "clear of roots",
        "Off half of the root protection zone that the drawn form covers.",
        _both_ways(_one_side),
        clear_of_roots=True,
        left_out=18.0,
    ),
)
# The soil of the drawn form, in another form.
SAME_SOIL = Family(
    "same soil",
    "A full, winding ridge with one low place in it.",
    lambda at: [_low_at(low, wide) for low, wide in LOWS],
    toe=0.1,
    left_out=14.0,
)
# Only where somebody wishes to have something hidden, or in sight.
SCREEN = Family(
    "screen",
    "Highest where the eye looks across the bed.",
    lambda at: [_high_at(at)],
    toe=0.1,
    left_out=16.0,
)
WINDOW = Family(
    "window",
    "Low where the eye looks across the bed, high beside it.",
    lambda at: [_low_at(at, 0.35, 0.05)],
    left_out=16.0,
)


def crest_of(points: list[Point], spine: Spine, away: float, top: float = 1.0) -> list[tuple[float, float, float]]:
    """High points as (easting, northing) in metres with their share of `top`.

    `away` is the side of the spine that lies away from the tree: 1.0 its left, -1.0 its right.
    """
    return [(*spine.place(along, away * off), share * top) for along, off, share in points]
