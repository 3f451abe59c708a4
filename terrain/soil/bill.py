"""The bill: what has a quantity and a price, in the user's own money."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from terrain.site import Prices, Site, with_short

MONEY = "money"  # the unit of what a share is taken of


@dataclass(frozen=True)
class Bought:
    """One thing that may be paid for: how much of it (None and 0: none), its unit, and its price where it has one.

    `state` is what the site file has to state before a priced thing has a quantity; "": nothing.
    """

    what: str
    quantity: float | None
    unit: str
    rate: float | None
    state: str = ""


@dataclass(frozen=True)
class CostLine:
    """One line of the bill: amount = quantity (of `unit`) times rate; of markup and tax a sum times a share."""

    what: str
    quantity: float
    unit: str
    rate: float

    @property
    def amount(self) -> float:
        """Quantity times rate, in the user's money."""
        return self.quantity * self.rate


def prices_of(site: Site) -> Prices:
    """The prices that a site file states, in either place."""
    return with_short(site.prices, site.soil)


def bill(things: Sequence[Bought], prices: Prices) -> tuple[CostLine, ...]:
    """The lines that have both a quantity and a price; then markup and tax, each on all before it."""
    lines = [
        CostLine(one.what, one.quantity, one.unit, one.rate)
        for one in things
        if one.rate is not None and one.quantity is not None and one.quantity > 0
    ]
    for what in prices.shares:
        share = getattr(prices, what)
        if lines and share > 0.0:
            lines.append(CostLine(what, sum(line.amount for line in lines), MONEY, share))
    return tuple(lines)


def left_out(things: Sequence[Bought]) -> tuple[str, ...]:
    """What no sum holds: what is bought, brought or taken away without a price, and what has one and no quantity."""
    return tuple(
        f"{one.what} (state {one.state})" if one.quantity is None else one.what
        for one in things
        if (one.quantity and one.rate is None) or (one.quantity is None and one.rate is not None and one.state)
    )
