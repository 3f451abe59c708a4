"""What point clouds and height grids have in common: a window, a thinning, and a note on both."""

from __future__ import annotations

import math

import numpy as np
import shapely

from terrain.grid import Array
from terrain.survey.measured import Measured, ReadOptions
from terrain.survey.readers.thinning import thin_by_cells
from terrain.units import show_length


def window_box(asked: ReadOptions) -> tuple[float, float, float, float]:
    """West, south, east and north of the window, metres; without end where there is none."""
    if asked.window is None:
        return -math.inf, -math.inf, math.inf, math.inf
    west, south, east, north = asked.window.bounds
    return west, south, east, north


def shots_of(points: Array, label: str, asked: ReadOptions, said: str, notes: tuple[str, ...]) -> Measured:
    """Dense points in the window, thinned to shots.

    Parameters
    ----------
    points
        (n, 3), metres.
    label, said
        The file, and what the points are, for the note.
    notes
        Notes that were made before.
    """
    if asked.window is not None:
        shapely.prepare(asked.window)
        points = points[shapely.contains_xy(asked.window, points[:, 0], points[:, 1])]
    thinned = thin_by_cells(points, asked.most)
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
