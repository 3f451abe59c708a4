"""Beds far longer than wide, as along a drive or a lot line: east to west, to the north, bent. All invented."""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon

from terrain.flow import Study, run_site
from terrain.site.read import build_site

BENDS = {
    "east": [(0.0, 0.0), (54.0, 3.0)],
    "north": [(0.0, 0.0), (2.0, 54.0)],
    "bent": [(0.0, 0.0), (25.0, 2.0), (48.0, 20.0)],
    "hook": [(0.0, 0.0), (40.0, 3.0), (46.0, 9.0), (44.0, 16.0), (36.0, 17.0)],
}


@cache
def long_study(way: str, units: str = "m") -> Study:
    """The study of a bed about 55 m long and 3 m wide along a line; shots all round it."""
    line = LineString(BENDS[way])
    bed = line.buffer(1.6, 4)
    unit = 0.3048 if units == "ft" else 1.0
    along = [line.interpolate(share, normalized=True) for share in np.linspace(0.15, 0.85, 5)]
    rng = np.random.default_rng(3)
    west, south, east, north = bed.buffer(5.0).bounds
    spots = rng.uniform((west, south), (east, north), (60, 2))
    heights = 30.0 + 0.01 * spots[:, 0] + 0.02 * spots[:, 1]
    told: dict[str, Any] = {
        "name": f"long bed to the {way} (invented)",
        "units": units,
        "survey": {"shots": (np.column_stack([spots, heights]) / unit).tolist(), "accuracy": 0.006 / unit},
        "bed": {"outline": _ring(bed, unit), "sod": 0.05 / unit},
        "tree": [
            {
                "name": "bur oak",
                "at": [along[1].x / unit, (along[1].y + 3.6) / unit],
                "trunk": 0.3 / unit,
                "keep_off": 1.5 / unit,
            }
        ],
        "berm": {
            "max_slope": "3:1",
            "crest": [[spot.x / unit, spot.y / unit, 0.4 / unit] for spot in along],
        },
        "soil": {"kind": "loam"},
    }
    return run_site(build_site(told))


def _ring(bed: Polygon, unit: float) -> list[list[float]]:
    return (shapely.get_coordinates(bed.exterior)[:-1] / unit).tolist()
