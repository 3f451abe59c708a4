"""Shape to the soil on hand: one factor on all heights, so that the mound takes the soil that is there."""

from __future__ import annotations

import math
from collections.abc import Callable

CLOSE = 0.001  # share of the volume at which the search ends; the promise is 0.005
STEPS = 40
MOST = 8.0  # a mound this many times the heights as given is held by its limits everywhere


def scale_for(volume: Callable[[float], float], wanted: float, close: float = CLOSE) -> float:
    """Factor on the heights at which `volume(factor)` is `wanted`, to `close`, a share of it.

    `volume` never falls as the factor grows; it levels off where the limits hold all of the mound, and at factor 0 it
    is the volume that the bed takes with no mound at all. The factor is found by false position with halving
    (Illinois rule: Dowell and Jarratt (1971), BIT 11, 168-174).

    Returns
    -------
    float
        The factor; 0.0 where even no mound takes more than `wanted`, and MOST where the limits leave soil over.
    """
    low, high = 0.0, 1.0
    below = volume(low) - wanted
    if below >= 0.0:
        return low
    above = volume(high) - wanted
    while above < 0.0 and high < MOST:
        low, below, high = high, above, 2.0 * high
        above = volume(high) - wanted
    if above < 0.0:
        return high
    last = 0
    for _ in range(STEPS):
        middle = low + (high - low) * below / (below - above)
        found = volume(middle) - wanted
        if math.isclose(found, 0.0, abs_tol=close * wanted):
            return middle
        if found < 0.0:
            low, below, above = middle, found, above / 2.0 if last < 0 else above
            last = -1
        else:
            high, above, below = middle, found, below / 2.0 if last > 0 else below
            last = 1
    return middle
