"""Contours: which interval shows a mound well, and the lines and areas between levels, as geometry in metres."""

from __future__ import annotations

import math

import numpy as np
from shapely.geometry import MultiLineString
from shapely.geometry.base import BaseGeometry

from terrain.errors import InputError
from terrain.grid import Array, Grid
from terrain.numerics import area_between as area_between, overlap
from terrain.shape import Proposal
from terrain.units import Units, unit_length

# Intervals that people use, in the site's units, and every how many contours one is drawn stronger.
_INTERVALS: dict[Units, tuple[tuple[float, int], ...]] = {
    "ft": ((0.1, 5), (0.25, 4), (0.5, 2), (1.0, 5), (2.0, 5), (5.0, 2), (10.0, 5)),
    "m": ((0.02, 5), (0.05, 2), (0.1, 5), (0.2, 5), (0.5, 2), (1.0, 5), (2.0, 5), (5.0, 2)),
}
# Steps of depth, inches or centimetres.
_DEPTHS = (0.5, 1.0, 2.0, 3.0, 4.0, 6.0, 12.0, 24.0, 48.0)
_DEPTHS_CM = (1.0, 2.0, 5.0, 10.0, 15.0, 20.0, 30.0, 50.0, 100.0)

FEWEST, WISHED, MOST = 4, 6, 8
MOST_ASKED = 150  # contours over a yard: beyond, the paper turns black
LEAST_FILL = 1e-3  # metres: less than this is no change of grade that a drawing can show


def contour_interval(low: float, high: float, units: Units) -> float:
    """Interval in metres at which ground from `low` to `high` (metres) shows 4 to 8 contours, nearest to 6.

    The coarser of equals is taken. Where no usual interval gives 4 to 8, the one that comes nearest is.
    """
    return unit_length(units) * _choice(low, high, units)[0]


def check_interval(interval: float, elevation: Array, units: Units) -> float:
    """The interval in metres, as asked for; `InputError` where it is no interval for ground of these elevations."""
    unit = unit_length(units)
    low, high = float(elevation.min()), float(elevation.max())
    finest = (high - low) / MOST_ASKED
    if not interval > 0.0 or interval < finest:
        shown = f"{interval / unit:g} {units}"
        problem = f"{shown} makes over {MOST_ASKED} contours here." if interval > 0.0 else f"{shown} is no interval."
        raise InputError("--contours", problem, f"Accepted: {finest / unit:.3f} {units} or more.")
    if interval > high - low:
        raise InputError(
            "--contours",
            f"{interval / unit:g} {units} is more than the {(high - low) / unit:.2f} {units} that this yard rises.",
            f"Accepted: less than that, such as {contour_interval(low, high, units) / unit:g} {units}.",
        )
    return interval


def strong_every(interval: float, units: Units) -> int:
    """Every how many contours one is drawn stronger, for an interval in metres."""
    steps = {step: every for step, every in _INTERVALS[units]}
    return steps[min(steps, key=lambda step: abs(step - interval / unit_length(units)))]


def _choice(low: float, high: float, units: Units) -> tuple[float, int]:
    """(interval in the site's units, stronger every)."""
    unit = unit_length(units)

    def missed(pair: tuple[float, int]) -> tuple[bool, int]:
        count = levels_between(low, high, pair[0] * unit).size
        return not FEWEST <= count <= MOST, abs(count - WISHED)

    return min(reversed(_INTERVALS[units]), key=missed)


def levels_between(low: float, high: float, interval: float) -> Array:
    """Whole multiples of `interval` strictly between low and high."""
    first, last = math.floor(low / interval) + 1, math.ceil(high / interval) - 1
    return np.asarray(interval * np.arange(first, last + 1), dtype=float)


def level_text(level: float, interval: float, units: Units) -> str:
    """A level in the site's units with the decimals that the interval needs."""
    step = interval / unit_length(units)
    places = next(n for n in range(4) if abs(step * 10**n - round(step * 10**n)) < 1e-6 or n == 3)
    text = f"{level / unit_length(units):.{places}f}"
    return text.removeprefix("-") if float(text) == 0.0 else text


def depth_step(deepest: float, units: Units) -> float:
    """Step in metres that divides a depth into at most five bands."""
    unit = unit_length("ft") / 12.0 if units == "ft" else 0.01
    steps = _DEPTHS if units == "ft" else _DEPTHS_CM
    return unit * next((step for step in steps if deepest <= 5.0 * step * unit), steps[-1])


def contour_lines(grid: Grid, values: Array, levels: Array) -> list[MultiLineString]:
    """The lines where (ny, nx) values equal each level; one geometry a level, empty where none."""
    from contourpy import LineType, contour_generator

    tracer = contour_generator(grid.x, grid.y, values, line_type=LineType.Separate)
    return [MultiLineString([line for line in tracer.lines(float(level)) if len(line) > 1]) for level in levels]


def footprint(proposal: Proposal) -> BaseGeometry:
    """The ground that the mound covers: where it raises the grade by more than a millimetre, metres."""
    return overlap(area_between(proposal.grid, proposal.fill, LEAST_FILL, math.inf), proposal.worked)
