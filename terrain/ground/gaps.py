"""What no shot covers: no model sees it, and no stated range counts on it."""

from __future__ import annotations

import numpy as np

from terrain.grid import Array
from terrain.ground.model import Gap
from terrain.units import Units, show_length, show_place, show_volume

DITCH_DEPTH = {"ft": 0.3048, "m": 0.30}  # metres: a foot, or 30 cm; common practice, no published source


def widest_gap(bed: Array, shots: Array) -> Gap:
    """The widest circle about one of (m, 2) places in the bed with none of the (n, 3) shots inside; metres."""
    from scipy.spatial import cKDTree

    away = cKDTree(shots[:, :2]).query(bed)[0]
    middle = int(np.argmax(away))
    return Gap(2.0 * float(away[middle]), (float(bed[middle, 0]), float(bed[middle, 1])))


def hidden_ditch(gap: Gap, units: Units) -> float:
    """Volume in m3 of a ditch as wide as the gap, from side to side of it, straight down to the bottom."""
    return 0.5 * gap.width**2 * DITCH_DEPTH[units]


def gap_words(gap: Gap, units: Units) -> str:
    """The gap in one sentence, and what may hide there."""
    ditch = show_volume(hidden_ditch(gap, units), units)
    wide, deep = (show_length(length, units, "distance") for length in (gap.width, DITCH_DEPTH[units]))
    return (
        f"No shot stands in a gap {wide} wide about {show_place(*gap.at, units)}: a ditch of that width, {deep} deep, "
        f"would take {ditch} more soil, and the stated range does not count on one."
    )
