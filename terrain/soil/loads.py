"""Whole loads of a volume."""

from __future__ import annotations

import math

# What is over a whole number of loads by less than this share of all is rounding in the arithmetic, not soil.
_RUBBISH = 1e-12


def whole_loads(volume: float, capacity: float) -> int:
    """Number of loads of `capacity` m3 that carry `volume` m3, the last perhaps not full; 0 for none.

    Never carries less than needed; a volume that is an exact multiple but for the last digits takes no extra
    load.
    """
    return max(0, math.ceil(volume / capacity * (1.0 - _RUBBISH)))
