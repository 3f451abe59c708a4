"""Volumes from areas: average end areas, the prismoidal rule and its correction, contour areas."""

from __future__ import annotations

import numpy as np

from terrain.errors import InputError
from terrain.grid import Array


def end_area_volume(areas: Array, stations: Array) -> float:
    """Volume in m3 by average end areas: sum of L (A1 + A2) / 2 over neighbouring sections.

    Parameters
    ----------
    areas
        (n,) section areas in m2.
    stations
        (n,) distances of the sections along the line in metres, rising.

    Notes
    -----
    Exact for prisms and wedges, 3/2 of the truth for a solid that runs out to a point (Deakin and Hunter,
    "The Prismoidal Correction Revisited", 2009).
    """
    return float(np.sum((areas[1:] + areas[:-1]) / 2.0 * np.diff(stations)))


def prismoidal_volume(first: float, middle: float, last: float, length: float) -> float:
    """Volume in m3 of a prismoid, L (A1 + 4 Am + A2) / 6.

    `middle` is the area in m2 of the true section half way, measured or built from mean dimensions; the mean
    of the two end areas is not it. `length` in metres.
    """
    return length * (first + 4.0 * middle + last) / 6.0


def prismoidal_series(areas: Array, spacing: float) -> float:
    """Volume in m3 over equally spaced sections, two intervals at a time as one prismoid (Simpson's rule).

    Raises
    ------
    InputError
        If the number of areas is even or less than three: the rule needs pairs of intervals.
    """
    count = len(areas)
    if count < 3 or count % 2 == 0:
        raise InputError("section areas", f"{count} areas cannot be paired into prismoids;", "an odd number, 3 or more")
    weights = np.ones(count)
    weights[1:-1:2], weights[2:-1:2] = 4.0, 2.0
    return float(spacing / 3.0 * (weights @ areas))


def prismoidal_correction(length: float, side_slope: float, first: float, last: float) -> float:
    """Average-end-area volume less the true one for a level section, m3: L s (h1 - h2)^2 / 6.

    Parameters
    ----------
    length
        Distance between the sections, metres.
    side_slope
        Run over rise of both sides.
    first, last
        Centre heights of the two sections, metres.
    """
    return length * side_slope / 6.0 * (first - last) ** 2


def three_level_correction(length: float, heights: tuple[float, float], widths: tuple[float, float]) -> float:
    """Average-end-area volume less the true one for a three-level section, m3: L/12 (c1-c2)(w1-w2).

    `heights` are the centre heights and `widths` the total widths between slope stakes of the two sections,
    metres.
    """
    return length / 12.0 * (heights[0] - heights[1]) * (widths[0] - widths[1])


def contour_area_volume(areas: Array, interval: float) -> float:
    """Volume in m3 between contours by average areas: ci * ((A0 + An) / 2 + sum of the others).

    `areas` is (n,), the plan areas inside the contours in m2, in order; `interval` the contour interval in
    metres. The prismoidal form is `prismoidal_series(areas, interval)`, for an odd number of contours.
    """
    return end_area_volume(areas, interval * np.arange(len(areas), dtype=float))
