"""Places along a building's wall, and the way out from each."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from shapely.geometry import Polygon

from terrain.grid import Array

WALL_STEP = 0.3  # metres between places along a wall


@dataclass(frozen=True)
class Walls:
    """Places along a building's wall: `foot` (n, 2) on the wall, `outward` (n, 2) unit vectors away from it."""

    foot: Array
    outward: Array


def walls_of(outline: Polygon) -> Walls:
    """Places at most `WALL_STEP` apart along the outside of a building, off its corners."""
    ring = shapely.get_coordinates(shapely.orient_polygons(outline).exterior)
    feet, outward = [], []
    for start, end in pairwise(ring):
        length = float(np.hypot(*(end - start)))
        if length == 0.0:
            continue
        count = max(1, round(length / WALL_STEP))
        share = (np.arange(count) + 0.5) / count
        feet.append(start + share[:, None] * (end - start))
        # The outline runs counter-clockwise, so that outside lies to the right of each wall.
        normal = np.array([end[1] - start[1], start[0] - end[0]]) / length
        outward.append(np.tile(normal, (count, 1)))
    return Walls(np.concatenate(feet), np.concatenate(outward))
