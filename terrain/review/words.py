"""Turns of phrase that findings share."""

from __future__ import annotations

from collections.abc import Sequence

MOST_NAMES = 4
MOST_PLACES = 4


def percent(share: float) -> str:
    """A share in whole per cent; little never reads as none."""
    return f"{100 * share:.0f} %" if share >= 0.01 else "less than 1 %"


def percent_apart(share: float, bound: float) -> str:
    """A share past a bound, in as few decimals as it takes not to read like the bound: "25.3 %" beside 25 %."""
    value, most = 100.0 * share, 100.0 * bound
    places = next((k for k in range(MOST_PLACES) if round(value, k) != round(most, k)), MOST_PLACES)
    return f"{value:.{places}f} %"


def listed(names: Sequence[str]) -> str:
    """Names as they are read out: "a", "a and b", "a, b and c"; of many the first few and how many more."""
    few = MOST_NAMES - 1
    shown = list(names) if len(names) <= MOST_NAMES else [*names[:few], f"{len(names) - few} more"]
    return shown[0] if len(shown) == 1 else f"{', '.join(shown[:-1])} and {shown[-1]}"
