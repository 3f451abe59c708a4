"""The soil order: how much to buy so that it is enough with a stated chance, how it comes, what it costs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from statistics import NormalDist

from terrain.errors import InputError
from terrain.soil.haul import Haul, Supply, haul, rounded_up, together
from terrain.soil.layers import BOUGHT_SOIL, COVERS, FILL_SOIL, MULCH
from terrain.soil.model import Layer
from terrain.soil.need import Need
from terrain.soil.ranges import central_range, combined_deviation


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
class Item:
    """One thing to buy, loose m3.

    `expected` is the middle of what will be needed, `needed` is enough with the chance asked for (the same as
    `expected` for mulch and gravel, whose depth is chosen), `quantity` is `needed` rounded up to how it is sold.
    """

    name: str
    expected: float
    needed: float
    quantity: float
    haul: Haul


@dataclass(frozen=True)
class Order:
    """What to order. Volumes loose, m3.

    Parameters
    ----------
    layers
        Every layer of the job.
    expected, low, high
        Soil that will be needed: the middle and the ends of the central 90 % range.
    deviation
        Standard deviation of the soil needed.
    chance
        Chance that the user asked to have enough.
    needed
        Soil that is enough with that chance, before rounding.
    quantity
        Soil to order: what `soils` add up to.
    covered
        Chance that `quantity` is enough.
    short_by
        How much may be missing when it is not: the upper end of the range less `quantity`, never below zero.
    soils, covers
        What is bought, each kind of soil apart; then mulch and gravel.
    haul
        Loads of all soil bought.
    leaves, away
        Volume to haul away, and its loads.
    supply, prices
        What the loads and the bill were worked with.
    costs
        Lines of the bill, only those with a price.
    """

    layers: tuple[Layer, ...]
    expected: float
    low: float
    high: float
    deviation: float
    chance: float
    needed: float
    quantity: float
    covered: float
    short_by: float
    soils: tuple[Item, ...]
    covers: tuple[Item, ...]
    haul: Haul
    leaves: float
    away: Haul
    supply: Supply
    prices: Prices
    costs: tuple[CostLine, ...]

    @property
    def cost(self) -> float | None:
        """Sum of the bill in the user's money; None where nothing has a price."""
        return sum(line.amount for line in self.costs) if self.costs else None

    @property
    def gate(self) -> Haul:
        """All barrow trips through the gate: soil, mulch and gravel in, and what leaves."""
        return together([self.haul, self.away, *(item.haul for item in self.covers)], self.supply)


def order_soil(need: Need, supply: Supply | None = None, prices: Prices | None = None, chance: float = 0.8) -> Order:
    """Make an order for what a mound needs.

    Parameters
    ----------
    need
        Layers of the job, soil missing and what makes it unsure (`soil_need`).
    supply, prices
        How soil is sold and hauled, and for how much.
    chance
        Chance of having enough that the order shall give, between 0 and 1: 0.8 leaves one job in five short.

    Raises
    ------
    InputError
        If the chance is not between 0 and 1.

    Notes
    -----
    The soil needed is taken as normal about the balance of the site. Where the site has soil to spare the balance is
    negative; the range may reach over zero all the same, and what it takes to be safe is then ordered.
    """
    if not 0.0 < chance < 1.0:
        raise InputError("chance of having enough", f"{chance:g} is no chance;", "between 0 and 1, such as 0.8")
    supply, prices = supply or Supply(), prices or Prices()
    deviation = combined_deviation(need.shares)
    low, high = central_range(need.balance, need.shares)
    needed = max(0.0, need.balance + deviation * NormalDist().inv_cdf(chance))
    soils = tuple(_soils(need, needed, supply))
    quantity = sum(item.quantity for item in soils)
    by_hand = replace(supply, truck=None, bag=None, unit_weight=None)
    covers = tuple(_item(layer, layer.loose, by_hand) for layer in need.layers if layer.name in COVERS)
    leaves = sum(layer.loose for layer in need.layers if layer.moves == "leaves")
    loads = together([item.haul for item in soils], supply) if soils else haul(0.0, supply)
    return Order(
        layers=need.layers,
        expected=max(0.0, need.balance),
        low=low,
        high=high,
        deviation=deviation,
        chance=chance,
        needed=needed,
        quantity=quantity,
        covered=_chance_of(quantity, need.balance, deviation),
        short_by=max(0.0, high - quantity),
        soils=soils,
        covers=covers,
        haul=loads,
        leaves=leaves,
        away=haul(leaves, replace(supply, bag=None)),
        supply=supply,
        prices=prices,
        costs=_bill(quantity, leaves, covers, loads, prices),
    )


def _soils(need: Need, needed: float, supply: Supply) -> Iterator[Item]:
    """Each kind of soil to buy; what is ordered on top of the expected is shared out as the expected is."""
    if needed == 0.0:
        return
    missing = [layer for layer in need.layers if layer.name in BOUGHT_SOIL and layer.loose > 0.0]
    total = sum(layer.loose for layer in missing)
    if not missing:
        yield _item(Layer(FILL_SOIL, "arrives", 0.0), needed, supply)
    for layer in missing:
        yield _item(layer, layer.loose / total * needed, supply)


def _item(layer: Layer, needed: float, supply: Supply) -> Item:
    quantity = rounded_up(needed, supply.step if supply.bag is None else supply.bag)
    return Item(layer.name, layer.loose, needed, quantity, haul(quantity, supply))


def _chance_of(quantity: float, expected: float, deviation: float) -> float:
    """Chance that a quantity is enough; certain where nothing is in doubt."""
    if deviation == 0.0:
        return 1.0 if quantity >= expected else 0.0
    return NormalDist(expected, deviation).cdf(quantity)


def _bill(quantity: float, leaves: float, covers: Sequence[Item], loads: Haul, prices: Prices) -> tuple[CostLine, ...]:
    """Lines that have both a quantity and a price."""
    in_bags = prices.bag is not None and loads.bags is not None
    mulch = sum(item.quantity for item in covers if item.name == MULCH)
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
