"""The bill: what has a quantity and a price, in the user's own money."""

from __future__ import annotations

from dataclasses import dataclass

from terrain.site.model import Soil


@dataclass(frozen=True)
class Prices:
    """The user's prices, in one money; None where there is none: no price, no cost.

    Soil, disposal and mulch by the loose m3, delivery by the truck load, bag by the bag.
    """

    soil: float | None = None
    bag: float | None = None
    delivery: float | None = None
    disposal: float | None = None
    mulch: float | None = None


@dataclass(frozen=True)
class CostLine:
    """One line of the bill: amount = quantity (of `unit`) times rate."""

    what: str
    quantity: float
    unit: str
    rate: float

    @property
    def amount(self) -> float:
        """Quantity times rate, in the user's money."""
        return self.quantity * self.rate


def prices_of(soil: Soil) -> Prices:
    """The prices that a site file states."""
    return Prices(
        soil=soil.price,
        bag=soil.bag_price,
        delivery=soil.delivery_price,
        disposal=soil.disposal_price,
        mulch=soil.mulch_price,
    )


def bill(quantities: tuple[tuple[str, float | None, str, float | None], ...]) -> tuple[CostLine, ...]:
    """The lines that have both a quantity and a price, from what, how much, the unit and the price."""
    return tuple(
        CostLine(what, amount, unit, rate)
        for what, amount, unit, rate in quantities
        if rate is not None and amount is not None and amount > 0
    )
