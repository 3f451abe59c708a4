"""Shape to the soil on hand: one factor on all heights, so that the mound takes the soil that is there."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping

CLOSE = 0.001  # share of the volume at which the search ends; the promise is 0.005
STEPS = 40
MOST = 8.0  # a mound this many times the heights as given is held by its limits everywhere


def scale_for(
    volume: Callable[[float], float], wanted: float, close: float = CLOSE, known: Mapping[float, float] | None = None
) -> float:
    """Factor on the heights at which `volume(factor)` is `wanted`, to `close`, a share of it.

    `volume` never falls as the factor grows; it levels off where the limits hold all of the mound, and at factor 0 it
    is the volume that the bed takes with no mound at all. The factor is found by false position with halving
    (Illinois rule: Dowell and Jarratt (1971), BIT 11, 168-174), between the nearest factors that are `known` with their
    volumes.

    Returns
    -------
    float
        The factor; 0.0 where even no mound takes more than `wanted`, and MOST where the limits leave soil over.
    """
    low, below, high, above = _between(volume, wanted, known or {})
    if below >= 0.0 or above < 0.0:
        return low if below >= 0.0 else high
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


def _start(known: Mapping[float, float], wanted: float) -> tuple[float, float]:
    """The nearest factors that are known to take less and more, or 0.0 and the first to try."""
    more = min((factor for factor, found in known.items() if found >= wanted), default=math.inf)
    low = max((factor for factor, found in known.items() if found < wanted and factor < more), default=0.0)
    return low, more if more < math.inf else max(1.0, 2.0 * low)


def _between(
    volume: Callable[[float], float], wanted: float, known: Mapping[float, float]
) -> tuple[float, float, float, float]:
    """Two factors on either side of the one that is sought, each with what it takes over `wanted`.

    `below` is not negative where no mound takes as little, `above` negative where none takes as much.
    """

    def over(factor: float) -> float:
        return (known[factor] if factor in known else volume(factor)) - wanted

    low, high = _start(known, wanted)
    below = over(low)
    if below >= 0.0:
        return low, below, low, below
    above = over(high)
    while above < 0.0 and high < MOST:
        low, below, high = high, above, 2.0 * high
        above = over(high)
    return low, below, high, above
