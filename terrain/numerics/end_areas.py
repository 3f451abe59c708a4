"""Volumes from areas of sections: average end areas."""

from __future__ import annotations

import numpy as np

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
