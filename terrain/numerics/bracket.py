"""Where a function of one number is zero."""

from __future__ import annotations

import math
from collections.abc import Callable

_MOST = 200  # rounds, each of which at least halves the bracket


def root_between(over: Callable[[float], float], low: float, high: float, close: float = 1e-12) -> float:
    """The place between `low` and `high`, to `close`, at which `over` is zero; its signs there differ.

    By the exponential false position of Ridders (1979), IEEE Transactions on Circuits and Systems 26, 979-980. The
    library that has such searches takes longer to load than a yard's few take.

    Raises
    ------
    ValueError
        Where `over` has one sign at both ends.
    """
    below, above, place, last = over(low), over(high), low, math.inf
    if below * above > 0.0:
        raise ValueError(f"no change of sign between {low:g} and {high:g}")
    for _ in range(_MOST):
        middle = (low + high) / 2.0
        halfway = over(middle)
        if halfway == 0.0:
            return middle
        share = halfway / math.sqrt(halfway * halfway - below * above)
        place = middle + (middle - low) * math.copysign(share, share * (below - above))
        found = over(place)
        if found == 0.0 or abs(place - last) <= close or abs(high - low) <= close:
            return place
        last = place
        if halfway * found < 0.0:
            low, below, high, above = middle, halfway, place, found
        elif below * found < 0.0:
            high, above = place, found
        else:
            low, below = place, found
    return place
