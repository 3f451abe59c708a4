"""Breaklines that a ground can follow: near the shots in height, and of one elevation where two of them cross."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations

import numpy as np
import shapely
from shapely.geometry import LineString, MultiPoint, Point

from terrain.errors import InputError
from terrain.grid import Array
from terrain.numerics import heights_along
from terrain.site import Survey
from terrain.units import Units, show_length, show_place

FARTHEST = 10.0  # metres above or below the shots; common practice, no published source


def check_breaklines(survey: Survey, units: Units, label: str) -> None:
    """Refuse breaklines that no ground can follow.

    Parameters
    ----------
    survey
        Shots and breaklines, metres.
    units, label
        For the words; `label` is the path of the site file.

    Raises
    ------
    InputError
        For a line that is not finite or has no length in plan, one far off the shots, above them or below, one that
        meets itself at two elevations, and two that cross at different elevations.
    """
    where = f"{label} [survey] breaklines"
    low, high = float(survey.shots[:, 2].min()), float(survey.shots[:, 2].max())
    for i, line in enumerate(survey.breaklines, start=1):
        if not np.isfinite(line).all() or float(np.ptp(line[:, :2], axis=0).max()) == 0.0:
            raise InputError(where, f"line {i} has no length in plan.", "Accepted: two different places or more.")
        least, most = float(line[:, 2].min()), float(line[:, 2].max())
        if least < low - FARTHEST or most > high + FARTHEST:
            ends = [show_length(level, units, "elevation") for level in (least, most, low, high)]
            raise InputError(
                where,
                f"line {i} stands at {ends[0]} to {ends[1]}, far from the shots' {ends[2]} to {ends[3]}.",
                "Give its points the elevation of the ground, in the datum and units of the shots.",
            )
        _check_place(survey, line, units, f"{where} line {i}")
        _check_itself(survey, line, units, f"{where} line {i}")
    for (i, first), (j, second) in combinations(enumerate(survey.breaklines, start=1), 2):
        for place, levels in _crossings(first, second):
            if abs(levels[1] - levels[0]) > 3.0 * survey.accuracy:
                raise InputError(
                    where,
                    f"lines {i} and {j} cross at {_two_levels(place, levels, units)}",
                    "Part the lines, or give both the same elevation where they meet.",
                )


def _two_levels(place: Point, levels: Sequence[float] | Array, units: Units) -> str:
    """A place that is given two elevations, metres, as the end of a sentence."""
    shown = " and ".join(show_length(float(level), units, "elevation") for level in levels)
    return f"{show_place(place.x, place.y, units)} at two elevations, {shown}."


def _check_place(survey: Survey, line: Array, units: Units, where: str) -> None:
    """Refuse a line that lies wholly off the shots, by more than half their own extent."""
    hull = MultiPoint(survey.shots[:, :2]).convex_hull
    away = float(LineString(line[:, :2]).distance(hull))
    if away > 0.5 * float(np.hypot(*np.ptp(survey.shots[:, :2], axis=0))):
        raise InputError(
            where,
            f"it lies wholly off the shots, {show_length(away, units, 'distance')} from them.",
            "Accepted: a line in the coordinates and units of the shots.",
        )


def _check_itself(survey: Survey, line: Array, units: Units, where: str) -> None:
    """Refuse a line that comes to one place at two elevations."""
    for place, levels in _met_twice(line):
        if abs(float(levels[1]) - float(levels[0])) > 3.0 * survey.accuracy:
            problem = f"it comes to {_two_levels(place, levels, units)}"
            raise InputError(where, problem, "Give the place one elevation, or part the line in two.")


def _met_twice(line: Array) -> Iterator[tuple[Point, Sequence[float] | Array]]:
    """Places that a (k, 3) line comes to twice, with both elevations, metres."""
    parts = np.stack([line[:-1], line[1:]], axis=1)
    upright = ~np.ptp(parts[:, :, :2], axis=1).any(axis=1)
    yield from ((Point(part[0, :2]), part[:, 2]) for part in parts[upright])
    if (line[0, :2] == line[-1, :2]).all():
        yield Point(line[0, :2]), line[[0, -1], 2]
    if not LineString(line[:, :2]).is_simple:  # pairs of many parts take long, and few lines cross themselves
        for one, other in combinations(parts[~upright], 2):
            yield from _crossings(one, other)


def _crossings(first: Array, second: Array) -> Iterator[tuple[Point, Sequence[float] | Array]]:
    """Places that two lines share in plan, with the elevation of each there, metres."""
    shared = LineString(first[:, :2]).intersection(LineString(second[:, :2]))
    for east, north in shapely.get_coordinates(shared):
        place = Point(east, north)
        yield place, [float(heights_along(line, np.array([[east, north]]))[0]) for line in (first, second)]
