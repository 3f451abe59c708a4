"""Whole loads of a volume."""

from __future__ import annotations

import math

# A part of a load below this share is rounding in the arithmetic, not soil: a thimble in a truck.
_RUBBISH = 1e-9


def whole_loads(volume: float, capacity: float) -> int:
    """Number of loads of `capacity` m3 that carry `volume` m3, the last perhaps not full; 0 for none.

    Never carries less than needed; a volume that is an exact multiple but for the last digits takes no extra
    load.
    """
    loads = volume / capacity
    return max(0, math.ceil(loads - _RUBBISH * max(1.0, loads)))
