"""How rare a mark is among real hills.

Quantiles of every sign over real hills, measured by `natural_look` itself: every whole hill of four open terrain grids,
and patches of all eased out in a bed, scaled to 25 to 90 m2. The grids are two that matplotlib carries (a fault near
Jacksboro, at 3 arc-seconds; a coast), low hills at 2 m and a range of mountains (`tests/data/README.md`).
`tests/look/real_hills.py` works the table out.
"""

from __future__ import annotations

from types import MappingProxyType

import numpy as np

HILLS = 728
SHARES = (0.05, 0.25, 0.5, 0.75, 0.9, 0.95, 0.97, 0.99, 1.0)

QUANTILES: MappingProxyType[str, tuple[float, ...]] = MappingProxyType(
    {
        "cone": (0.491, 0.676, 0.828, 0.919, 0.964, 0.978, 0.982, 0.988, 0.991),
        "straight_faces": (0.083, 0.1, 0.117, 0.14, 0.173, 0.192, 0.2, 0.219, 0.269),
        "sharp_toe": (0.144, 0.206, 0.258, 0.308, 0.346, 0.375, 0.402, 0.443, 0.493),
        "flat_top": (0.001, 0.003, 0.006, 0.011, 0.02, 0.031, 0.039, 0.076, 0.157),
        "sharp_peak": (0.02, 0.058, 0.102, 0.179, 0.277, 0.374, 0.431, 0.532, 0.788),
        "too_tall": (0.054, 0.074, 0.1, 0.121, 0.141, 0.148, 0.151, 0.161, 0.206),
        "same_all_round": (0.447, 0.565, 0.662, 0.764, 0.845, 0.879, 0.898, 0.92, 0.963),
        "loaf": (0.042, 0.062, 0.104, 0.146, 0.229, 0.271, 0.312, 0.369, 0.458),
        "parallel_contours": (0.014, 0.022, 0.029, 0.04, 0.049, 0.054, 0.058, 0.076, 0.132),
        "stepped": (0.0, 0.034, 0.107, 0.208, 0.356, 0.469, 0.589, 0.7, 0.78),
        "holds_water": (0.0, 0.001, 0.005, 0.024, 0.064, 0.105, 0.116, 0.178, 0.46),
        "same_section": (0.734, 0.836, 0.876, 0.901, 0.922, 0.933, 0.937, 0.948, 0.966),
        "equal_bumps": (0.0, 0.0, 0.0, 0.14, 0.648, 0.732, 0.777, 0.861, 0.924),
        "follows_outline": (0.86, 0.877, 0.903, 0.932, 0.954, 0.964, 0.97, 0.979, 0.992),
        "mirrored": (0.43, 0.631, 0.748, 0.824, 0.888, 0.923, 0.932, 0.957, 0.978),
        "ripples": (0.087, 0.129, 0.171, 0.224, 0.289, 0.324, 0.347, 0.405, 0.482),
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
