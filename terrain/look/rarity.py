"""How rare a mark is among real hills.

Quantiles of every sign over real hills, measured by `natural_look` itself: every whole hill of four open terrain grids,
and patches of all eased out in a bed, scaled to 25 to 90 m2. The grids are two that matplotlib carries (a fault near
Jacksboro, at 3 arc-seconds; a coast), low hills at 2 m and a range of mountains (`tests/data/README.md`).
`tests/look/real_hills.py` works the table out.
"""

from __future__ import annotations

from types import MappingProxyType

import numpy as np

HILLS = 376
SHARES = (0.05, 0.25, 0.5, 0.75, 0.9, 0.95, 0.97, 0.99, 1.0)

QUANTILES: MappingProxyType[str, tuple[float, ...]] = MappingProxyType(
    {
        "cone": (0.489, 0.647, 0.785, 0.878, 0.93, 0.95, 0.963, 0.978, 0.985),
        "straight_faces": (0.051, 0.066, 0.078, 0.093, 0.109, 0.118, 0.127, 0.152, 0.171),
        "sharp_toe": (0.14, 0.188, 0.235, 0.289, 0.332, 0.372, 0.39, 0.423, 0.478),
        "flat_top": (0.0, 0.002, 0.004, 0.009, 0.016, 0.078, 0.107, 0.16, 0.339),
        "sharp_peak": (0.024, 0.069, 0.113, 0.198, 0.316, 0.405, 0.47, 0.565, 0.788),
        "too_tall": (0.052, 0.073, 0.098, 0.12, 0.14, 0.147, 0.149, 0.154, 0.164),
        "same_all_round": (0.372, 0.49, 0.593, 0.68, 0.759, 0.805, 0.817, 0.832, 0.862),
        "loaf": (0.021, 0.062, 0.083, 0.125, 0.167, 0.193, 0.25, 0.297, 0.354),
        "parallel_contours": (0.015, 0.021, 0.028, 0.037, 0.046, 0.053, 0.06, 0.073, 0.124),
        "stepped": (0.0, 0.055, 0.12, 0.24, 0.437, 0.608, 0.666, 0.728, 0.78),
        "holds_water": (0.0, 0.002, 0.014, 0.042, 0.091, 0.112, 0.12, 0.167, 0.439),
        "same_section": (0.721, 0.817, 0.865, 0.895, 0.916, 0.927, 0.932, 0.937, 0.959),
        "equal_bumps": (0.0, 0.0, 0.0, 0.51, 0.694, 0.752, 0.817, 0.856, 0.88),
        "follows_outline": (0.864, 0.885, 0.909, 0.936, 0.955, 0.963, 0.968, 0.974, 0.98),
        "mirrored": (0.409, 0.593, 0.711, 0.793, 0.852, 0.878, 0.888, 0.921, 0.939),
        "ripples": (0.091, 0.135, 0.174, 0.233, 0.289, 0.322, 0.342, 0.409, 0.482),
    }
)


def rarity(name: str, value: float) -> float:
    """Share of the real hills that show less of this mark, 0 to 1; straight lines between the table's quantiles.

    The spike is a mark of the bed and not of the ground; hills have no bed, and its rarity is 0.0.
    """
    row = QUANTILES.get(name, ())
    if not row or value <= row[0]:
        return 0.0
    return float(np.interp(value, row, SHARES))
