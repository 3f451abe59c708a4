"""The soil order: how much to buy so that it is enough with a stated chance, how it comes, what it costs.

The one owner of what to buy, trucks, barrows and cost: every page, sheet, terminal line and file prints this.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from terrain.errors import InputError
from terrain.expect import expect
from terrain.fingerprint import Comparable
from terrain.limits import MACHINE_TRIPS
from terrain.numerics import Values
from terrain.site import Prices, Site
from terrain.soil.bill import Bought, CostLine, bill, left_out, prices_of
from terrain.soil.chain import DOUBTS, LINES, evaluated
from terrain.soil.draw import drawn
from terrain.soil.given import Given, given_of
from terrain.soil.haul import Haul, haul, rounded_up, together
from terrain.soil.ledger import FILL_SOIL, PLANTING_SOIL, ledger_of
from terrain.soil.model import NOTHING_LAID, Earthwork, Laid, LedgerLine, Share, Volumes, check_work
from terrain.soil.stone import Wall, walls
from terrain.soil.supply import Supply, supply_of

MULCH, GRAVEL = "mulch", "gravel"
NOTHING = 1e-6  # m3: a doubt of less is none
_NOT_ALWAYS = ("shrink of the ground", "soil lost on the way", "toe that is not cut")


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


@dataclass(frozen=True, eq=False, repr=False)
class Order(Comparable):
    """What to order. Volumes loose, m3.

    Parameters
    ----------
    ledger
        Every soil of the job, from where to where, as it is expected.
    expected, low, high
        Soil that the mound will need from outside, on hand or bought: the middle and the ends of the central 90 %
        range.
    balance
        The middle before it is cut off at nothing: below zero the site has soil to spare.
    deviation, shares
        Standard deviation of the soil needed, and its causes.
    chance
        Chance that the user asked to have enough.
    needed
        Soil that is enough with that chance, on hand or bought, before rounding.
    on_hand
        Soil that lies there already.
    heap_short
        Chance that the soil on hand alone is not enough; None where none is on hand.
    quantity
        Soil to buy: what `soils` add up to.
    covered
        Chance that `quantity` with the soil on hand is enough.
    short_median, short_95
        What is missing in the jobs that run short all the same: half of them miss less than the first, one in twenty
        misses more than the second.
    soils, covers
        What is bought, each kind of soil apart; then mulch and gravel.
    haul
        Loads of all soil bought.
    leaves, away
        Volume to haul away, and its loads.
    supply, prices
        What the loads and the bill were worked with.
    costs
        Lines of the bill, only those with a price, then markup and tax.
    unpriced
        What is bought, brought or taken away without a price.
    given, working
        What the order follows from, and every line of the chain, by name (`terrain.soil.chain`); volumes in m3.
    laid
        What is bought for streams.
    jobs
        What the drawn jobs need, as deviations from the balance at the chain's scores.
    """

    ledger: tuple[LedgerLine, ...]
    expected: float
    low: float
    high: float
    balance: float
    deviation: float
    shares: tuple[Share, ...]
    chance: float
    needed: float
    on_hand: float
    heap_short: float | None
    quantity: float
    covered: float
    short_median: float
    short_95: float
    soils: tuple[Item, ...]
    covers: tuple[Item, ...]
    haul: Haul
    leaves: float
    away: Haul
    supply: Supply
    prices: Prices
    costs: tuple[CostLine, ...]
    unpriced: tuple[str, ...]
    given: Mapping[str, float]
    jobs: Mapping[str, float]
    working: Mapping[str, float]
    laid: Laid = NOTHING_LAID

    def __repr__(self) -> str:
        sure = f"{self.low:.1f} to {self.high:.1f} in nine cases of ten"
        return f"<Order: {self.quantity:.1f} m3 loose to buy; {self.expected:.1f} m3 expected, {sure}>"

    @property
    def cost(self) -> float | None:
        """Sum of the bill in the user's money; None where nothing has a price."""
        return sum(line.amount for line in self.costs) if self.costs else None

    @property
    def gate(self) -> Haul:
        """All barrow trips through the gate: soil, mulch and gravel in, and what leaves."""
        return gate_of(self.haul, self.away, self.covers, self.supply)

    @property
    def machine_work(self) -> bool:
        """True where there are more barrow trips than people should wheel."""
        return (self.gate.barrows or 0) > MACHINE_TRIPS.value


def order_soil(site: Site, work: Volumes) -> Order:
    """Make the order for a measured yard, by its site file.

    Parameters
    ----------
    site
        How soil is sold, hauled and paid, its factors, the soil on hand, and the chance of having enough.
    work
        The volumes of the mound: `measure_earthwork`, or `measured_of` where only the mesh is measured.

    Raises
    ------
    InputError
        If the chance is not between 0 and 1, or the volumes were measured for another site.
    """
    expect("order_soil", site=(site, Site), work=(work, Volumes))
    if isinstance(work, Earthwork):
        check_work("order_soil", site, work)
    supply = supply_of(site.soil, site.units, site.prices.least_load)
    return order_of(given_of(site, work), supply, prices_of(site), walls(site), work.laid)


def order_of(
    given: Given, supply: Supply, prices: Prices, stones: tuple[Wall, ...] = (), laid: Laid = NOTHING_LAID
) -> Order:
    """Make an order from the figures that the chain starts from, and the walls and streams that it buys stones for.

    Notes
    -----
    Range, order and chances are those of ten thousand drawn jobs (`terrain.soil.draw`). Where the site has soil to
    spare the balance is negative; the range may reach over zero all the same, and what it takes to be safe is then
    ordered.
    """
    if not 0.0 < given["chance"] < 1.0:
        chance = given["chance"]
        raise InputError("chance of having enough", f"{chance:g} is no chance;", "between 0 and 1, such as 0.8")
    jobs = drawn(given)
    v = evaluated({**given, **jobs})
    soils, covers = tuple(_soils(v, supply)), tuple(_covers(v, supply))
    loads = together([item.haul for item in soils], supply) if soils else haul(0.0, supply)
    quantity, leaves = float(v.soil_order), float(v.leaves)
    away = haul(leaves, replace(supply, bag=None))
    things = (
        *_by_volume(quantity, leaves, covers, loads, prices),
        Bought("short of the least load", float(v.unbrought), "m3", prices.soil),
        *_of_walls(stones, supply, prices),
        *_of_streams(laid, supply, prices),
        *_work(gate_of(loads, away, covers, supply), supply, prices),
    )
    return Order(
        ledger=ledger_of(v),
        expected=float(v.expected),
        low=float(v.low),
        high=float(v.high),
        balance=float(v.balance),
        deviation=float(v.deviation),
        shares=_shares(v),
        chance=float(v.chance),
        needed=float(v.needed),
        on_hand=float(v.on_hand),
        heap_short=float(v.heap_short) if v.on_hand > 0.0 else None,
        quantity=quantity,
        covered=float(v.covered),
        short_median=float(v.short_median),
        short_95=float(v.short_95),
        soils=soils,
        covers=covers,
        haul=loads,
        leaves=leaves,
        away=away,
        supply=supply,
        prices=prices,
        costs=bill(things, prices),
        unpriced=left_out(things),
        given=dict(given),
        jobs=jobs,
        laid=laid,
        working={name: float(getattr(v, name)) for name in LINES},
    )


def gate_of(loads: Haul, away: Haul, covers: tuple[Item, ...], supply: Supply) -> Haul:
    """All that passes the gate: soil, mulch and gravel in, and what leaves."""
    return together([loads, away, *(item.haul for item in covers)], supply)


def _shares(v: Values) -> tuple[Share, ...]:
    """What makes the need unsure; what not every job has only where it is there."""
    shares = [Share(line.label, float(getattr(v, line.name)), line.source) for line in DOUBTS]
    return tuple(share for share in shares if share.deviation > NOTHING or share.cause not in _NOT_ALWAYS)


def _soils(v: Values, supply: Supply) -> Iterator[Item]:
    """Each kind of soil to buy."""
    for name, expected, needed, quantity in (
        (PLANTING_SOIL, v.planting_short, v.planting_to_buy, v.planting_order),
        (FILL_SOIL, v.fill_short, v.fill_to_buy, v.fill_order),
    ):
        if quantity > 0.0:
            yield Item(name, float(expected), float(needed), float(quantity), haul(float(quantity), supply))


def _covers(v: Values, supply: Supply) -> Iterator[Item]:
    """Mulch and gravel, whose depth is chosen: wheeled in, on no truck that the soil comes on."""
    by_hand = replace(supply, truck=None, bag=None, unit_weight=None)
    for name, volume in ((MULCH, float(v.mulch_loose)), (GRAVEL, float(v.gravel_loose))):
        if volume > 0.0:
            quantity = rounded_up(volume, supply.step)
            yield Item(name, volume, volume, quantity, haul(quantity, by_hand))


def _by_volume(
    quantity: float, leaves: float, covers: tuple[Item, ...], loads: Haul, prices: Prices
) -> tuple[Bought, ...]:
    """Soil with its loads, what leaves, and what is laid beside the soil."""
    in_bags = prices.bag is not None and loads.bags is not None
    laid = {item.name: item.quantity for item in covers}
    return (
        Bought("soil", None if in_bags else quantity, "m3", prices.soil),
        Bought("soil in bags", loads.bags if in_bags else None, "bag", prices.bag),
        Bought("delivery", loads.trucks, "load", prices.delivery),
        Bought("disposal", leaves, "m3", prices.disposal),
        Bought("mulch", laid.get(MULCH), "m3", prices.mulch),
        Bought("gravel", laid.get(GRAVEL), "m3", prices.gravel),
    )


def _of_walls(stones: tuple[Wall, ...], supply: Supply, prices: Prices) -> tuple[Bought, ...]:
    """The stones of all walls by weight, and the crushed stone under and behind them as gravel is sold."""
    crushed = sum(wall.crushed_volume for wall in stones)
    return (
        Bought("stone", sum(wall.mass for wall in stones), "kg", prices.stone),
        Bought("crushed stone", rounded_up(crushed, supply.step), "m3", prices.gravel),
    )


def _of_streams(laid: Laid, supply: Supply, prices: Prices) -> tuple[Bought, ...]:
    """Sheet and cloth by their area, the stones of streams by weight, and their gravel as gravel is sold."""
    return (
        Bought("sheet", laid.sheet, "m2", prices.sheet, "[[stream]]"),
        Bought("underlay", laid.underlay, "m2", prices.underlay, "[[stream]]"),
        Bought("stone of streams", laid.stone, "kg", prices.stone),
        Bought("gravel of streams", rounded_up(laid.gravel, supply.step), "m3", prices.gravel),
    )


def _work(gate: Haul, supply: Supply, prices: Prices) -> tuple[Bought, ...]:
    """Hours of people with barrows up to the stated number of trips, and of a machine for what is above it."""
    trips, by_hand = gate.barrows, None
    if trips is not None and supply.trip is not None:
        by_hand = min(trips, prices.machine_above) * supply.trip / 3600.0
    by_machine = None
    if trips is not None and supply.barrow is not None:
        rest = max(0, trips - prices.machine_above) * supply.barrow
        by_machine = rest / prices.machine_pace if prices.machine_pace else (None if rest else 0.0)
    return (
        Bought("barrow hours", by_hand, "h", prices.labour, "[soil] barrow and trip"),
        Bought("machine hours", by_machine, "h", prices.machine, "[soil] barrow and [prices] machine_pace"),
    )
