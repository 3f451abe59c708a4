"""What point clouds and height grids have in common: a window, a thinning, and a note on both."""

from __future__ import annotations

import math

import numpy as np
import shapely

from terrain.grid import Array
from terrain.survey.measured import Measured, ReadOptions
from terrain.survey.readers.thinning import Thinning
from terrain.units import show_length


def window_box(asked: ReadOptions) -> tuple[float, float, float, float]:
    """West, south, east and north of the window, metres; without end where there is none."""
    if asked.window is None:
        return -math.inf, -math.inf, math.inf, math.inf
    west, south, east, north = asked.window.bounds
    return west, south, east, north


def in_window(points: Array, asked: ReadOptions) -> Array:
    """The points (n, 3) that lie in the window, metres."""
    if asked.window is None:
        return points
    shapely.prepare(asked.window)
    inside: Array = points[shapely.contains_xy(asked.window, points[:, 0], points[:, 1])]
    return inside


def shots_of(thinning: Thinning, label: str, asked: ReadOptions, said: str, notes: tuple[str, ...]) -> Measured:
    """Dense points, thinned to shots.

    Parameters
    ----------
    thinning
        All points of the file that lie in the window.
    label, said
        The file, and what the points are, for the note.
    notes
        Notes that were made before.
    """
    thinned = thinning.shots()
    count = len(thinned.points)
    if thinned.cell:
        cell = show_length(thinned.cell, asked.site, "elevation")
        scatter = show_length(thinned.scatter, asked.site, "elevation")
        note = (
            f"{label}: {said}; the shots are their means in {count:,} squares of {cell}, "
            f"about which they scatter by {scatter} rms in height."
        )
    else:
        note = f"{label}: {said}; each is a shot."
    names = tuple(str(i) for i in range(1, count + 1))
    return Measured(np.ascontiguousarray(thinned.points), names, ("",) * count, notes=(*notes, note))
