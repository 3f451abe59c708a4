"""The soil order: how much to buy so that it is enough with a stated chance, how it comes, what it costs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist

from terrain.earthwork.haul import Haul, Supply, haul, rounded_up
from terrain.earthwork.layers import MULCH, Layer
from terrain.earthwork.model import Share
from terrain.earthwork.ranges import central_range, combined_deviation
from terrain.errors import InputError


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


@dataclass(frozen=True)
class Order:
    """What to order. Volumes loose, m3.

    Parameters
    ----------
    layers
        Every layer of the job.
    expected, low, high
        Soil that will be needed: the middle and the ends of the central 90 % range.
    chance
        Chance that the user asked to have enough.
    needed
        Soil that is enough with that chance, before rounding.
    quantity
        Soil to order: `needed` rounded up to how soil is sold.
    covered
        Chance that `quantity` is enough.
    short_by
        How much may be missing when it is not: the upper end of the range less `quantity`, never below zero.
    leaves
        Volume to haul away.
    haul
        Loads of `quantity`.
    costs
        Lines of the bill, only those with a price.
    """

    layers: tuple[Layer, ...]
    expected: float
    low: float
    high: float
    chance: float
    needed: float
    quantity: float
    covered: float
    short_by: float
    leaves: float
    haul: Haul
    costs: tuple[CostLine, ...]

    @property
    def cost(self) -> float | None:
        """Sum of the bill in the user's money; None where nothing has a price."""
        return sum(line.amount for line in self.costs) if self.costs else None


def order_soil(
    layers: Sequence[Layer],
    shares: Sequence[Share],
    supply: Supply | None = None,
    prices: Prices | None = None,
    chance: float = 0.8,
) -> Order:
    """Make an order of the layers that arrive.

    Parameters
    ----------
    layers
        The job by layer (`soil_layers`).
    shares
        What makes the soil to order unsure, standard deviations in loose m3 (`Earthwork.import_shares`).
    supply, prices
        How soil is sold and hauled, and for how much.
    chance
        Chance of having enough that the order shall give, between 0 and 1: 0.8 leaves one job in five short.

    Raises
    ------
    InputError
        If the chance is not between 0 and 1.
    """
    if not 0.0 < chance < 1.0:
        raise InputError("chance of having enough", f"{chance:g} is no chance;", "between 0 and 1, such as 0.8")
    supply, prices = supply or Supply(), prices or Prices()
    expected = sum(layer.loose for layer in layers if layer.moves == "arrives" and layer.name != MULCH)
    deviation = combined_deviation(shares) if expected > 0.0 else 0.0
    low, high = central_range(expected, shares if expected > 0.0 else ())
    needed = max(0.0, expected + deviation * NormalDist().inv_cdf(chance))
    quantity = rounded_up(needed, supply.step if supply.bag is None else supply.bag)
    leaves = sum(layer.loose for layer in layers if layer.moves == "leaves")
    loads = haul(quantity, supply)
    return Order(
        layers=tuple(layers),
        expected=expected,
        low=low,
        high=high,
        chance=chance,
        needed=needed,
        quantity=quantity,
        covered=_chance_of(quantity, expected, deviation),
        short_by=max(0.0, high - quantity),
        leaves=leaves,
        haul=loads,
        costs=_bill(quantity, leaves, _mulch(layers), loads, prices),
    )


def _mulch(layers: Sequence[Layer]) -> float:
    return sum(layer.loose for layer in layers if layer.name == MULCH)


def _chance_of(quantity: float, expected: float, deviation: float) -> float:
    """Chance that a quantity is enough; certain where nothing is in doubt."""
    if deviation == 0.0:
        return 1.0 if quantity >= expected else 0.0
    return NormalDist(expected, deviation).cdf(quantity)


def _bill(quantity: float, leaves: float, mulch: float, loads: Haul, prices: Prices) -> tuple[CostLine, ...]:
    """Lines that have both a quantity and a price."""
    in_bags = prices.bag is not None and loads.bags is not None
    lines = (
        ("soil", None if in_bags else quantity, "m3", prices.soil),
        ("soil in bags", loads.bags if in_bags else None, "bag", prices.bag),
        ("delivery", loads.trucks, "load", prices.delivery),
        ("disposal", leaves, "m3", prices.disposal),
        ("mulch", mulch, "m3", prices.mulch),
    )
    return tuple(
        CostLine(what, amount, unit, rate)
        for what, amount, unit, rate in lines
        if rate is not None and amount is not None and amount > 0
    )
