"""What a client is told of a mound: what is built, at what price, what that assumes and what it leaves out.

The price holds the markup without a line for it, and nothing says how much the order holds in reserve.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from terrain.site import Site
from terrain.soil.bill import MONEY
from terrain.soil.model import Volumes
from terrain.soil.order import MULCH, Order
from terrain.soil.stone import walls
from terrain.soil.words import Fact, item_words, money, show_quantity
from terrain.units import Units, show_length, unit_length

# What no order here ever holds: common practice, no published source.
NEVER_IN = (
    "plants and planting",
    "watering and care",
    "permits and fees",
    "moving buried lines",
    "repair of lawn and walks along the way in",
)


@dataclass(frozen=True)
class Offer:
    """The parts of the page for the client, in words.

    Parameters
    ----------
    built, price
        Pairs of what and how much.
    holds, leaves_out
        What the price pays for, and what it does not.
    assumed
        Sentences: what was taken as given.
    """

    built: tuple[Fact, ...]
    price: tuple[Fact, ...]
    holds: tuple[str, ...]
    leaves_out: tuple[str, ...]
    assumed: tuple[str, ...]


def offer_of(site: Site, work: Volumes, order: Order, top: float) -> Offer:
    """The offer of an order; `top` is the height of the finished mound over the ground at its highest, metres."""
    return Offer(
        tuple(_built(site, work, order, top)),
        tuple(_price(order)),
        tuple(line.what for line in order.costs if line.unit != MONEY and line.what not in _INSIDE),
        (*(one.partition(" (state ")[0] for one in order.unpriced), *NEVER_IN),
        tuple(_assumed(site, order, top)),
    )


# Lines of the bill that only say how another is counted.
_INSIDE = ("short of the least load",)


def _built(site: Site, work: Volumes, order: Order, top: float) -> Iterator[Fact]:
    units = site.units
    yield "mound", f"{show_length(top, units)} high once it has settled, on {show_area(work.worked_area, units)}"
    yield from _laid(site, order)
    if site.bed.sod > 0.0:
        away = "hauled away" if site.bed.sod_leaves else "turned under"
        yield "sod", f"{show_length(site.bed.sod, units)} stripped and {away}"
    for wall in walls(site):
        across = show_length(wall.size, units)
        yield f"stones, {wall.name}", f"{wall.count}, about {across} across{_unpaid('stone', order)}"
    yield from _dug(site)
    for tree in site.tree:
        if tree.keep_off is not None:
            yield tree.name, f"no soil within {show_length(tree.keep_off, units, 'distance')} of its trunk"


def _laid(site: Site, order: Order) -> Iterator[Fact]:
    """Soil, mulch and gravel."""
    units = site.units
    for item in order.soils:
        yield item.name, f"{item_words(item, units)} ({site.soil.kind}){_unpaid('soil', order)}"
    if order.on_hand > 0.0:
        yield "soil on hand", f"{show_quantity(order.on_hand, units)} loose"
    for item in order.covers:
        deep = f", {show_length(site.bed.mulch, units)} deep" if item.name == MULCH else ""
        yield item.name, f"{item_words(item, units)}{deep}{_unpaid(item.name, order)}"


def _dug(site: Site) -> Iterator[Fact]:
    """Basins and channels."""
    for basin in site.basin:
        yield basin.name, f"dug {show_length(basin.depth, site.units)} deep"
    for channel in site.channel:
        yield channel.name, f"dug {show_length(channel.depth, site.units)} deep"


def _unpaid(what: str, order: Order) -> str:
    """Said behind what has no price, where something else has one."""
    return ", not in the price" if order.costs and what in order.unpriced else ""


def _price(order: Order) -> Iterator[Fact]:
    """The price, its tax apart where that is the last thing added."""
    if order.cost is None:
        return
    last = order.costs[-1]
    if last.what == "tax" and last.unit == MONEY:
        yield "work and materials", money(order.cost - last.amount)
        yield f"tax, {100.0 * last.rate:g} %", money(last.amount)
    yield "to pay", money(order.cost)


def _assumed(site: Site, order: Order, top: float) -> Iterator[str]:
    soil, units = site.soil, site.units
    placed = f", placed {soil.placing}" if soil.placing else ""
    count = (
        f"as the {len(site.survey.shots)} measured points show it"
        if site.survey.measured
        else "flat: nobody measured it"
    )
    yield f"The ground is {count}, and the soil is {soil.kind}{placed}."
    if soil.settlement > 0.0:
        more = show_length(top * soil.settlement, units)
        yield f"The mound is built {more} higher than it is to stand, since it settles with the weather."
    if order.haul.trucks:
        plural = "s" if order.haul.trucks > 1 else ""
        yield f"{order.haul.trucks} truck{plural} can reach the place where soil is tipped."
    if order.machine_work:
        yield "There is a way in for a machine that keeps off every root protection zone."
    elif order.gate.barrows:
        yield f"About {order.gate.barrows:,} barrows can be wheeled in over a firm way."
    yield "Soil swells and settles by the load: should more be needed than stands here, both sides agree on it first."


def show_area(square_metres: float, units: Units) -> str:
    """An area as "430 sq ft" or "40 m2"."""
    return f"{square_metres / unit_length(units) ** 2:,.0f} {'sq ft' if units == 'ft' else 'm2'}"


def listed(words: Sequence[str]) -> str:
    """Words as one list: "soil, mulch and stone"."""
    return " and ".join(filter(None, (", ".join(words[:-1]), *words[-1:])))
