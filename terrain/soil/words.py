"""The order in words: sentences that the terminal, the sheet of paper and the tables share, in the site's units."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping, Sequence

from terrain.errors import InputError
from terrain.limits import POUND
from terrain.numerics import written
from terrain.site import Factors, Site, Soil, factors_source, ground_factors, job_factors
from terrain.soil.bill import MONEY, CostLine
from terrain.soil.chain import DOUBTS, SETTLEMENT_LAW, Line
from terrain.soil.doubts import doubts_of
from terrain.soil.haul import Haul
from terrain.soil.model import TOE_AT, Share
from terrain.soil.order import MULCH, Item, Order
from terrain.soil.stone import Wall
from terrain.soil.trim import Trim
from terrain.units import Units, show_length, show_span, show_volume, unit_length, unit_mass, unit_volume

Fact = tuple[str, str]
NOTHING = 1e-6  # in any unit: less is not told
_NUMBERS = ("two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")


def show_quantity(m3: float, units: Units) -> str:
    """A volume to order, never shown smaller than it is: "32.5 cu yd", "13.25 cu yd", "0.4 m3"."""
    value = m3 / unit_volume(units)
    hundredths = math.ceil(100.0 * value - 1e-6)
    text = f"{hundredths / 100.0:.2f}"
    return f"{text.removesuffix('0')} {'cu yd' if units == 'ft' else 'm3'}"


def show_weight(kg: float, units: Units) -> str:
    """A weight by what a truck or a lift is rated in: short tons and pounds, or tonnes and kilograms."""
    big, (small, name, small_name) = unit_mass(units), (POUND, "tons", "lb") if units == "ft" else (1.0, "t", "kg")
    return f"{kg / big:.1f} {name}" if kg >= big else f"{kg / small:.0f} {small_name}"


def between(low: float, high: float, units: Units) -> str:
    """Two volumes in m3 as "25.6 to 34.1 cu yd", the unit said once where both have it."""
    return f"0 to {show_volume(high, units)}" if low == 0.0 else show_span(low, high, units)


def one_time_in(chance: float) -> str:
    """How often something of a small chance happens: 0.2 is "one time in five"."""
    if chance > 0.4:
        return f"{round(100.0 * chance)} times in 100"
    times = round(1.0 / chance)
    return f"one time in {_NUMBERS[times - 2] if times <= 12 else times}"


def chance_words(order: Order, units: Units) -> str:
    """How likely the order is short, and how much is then missing."""
    short = 1.0 - order.covered
    if order.deviation == 0.0 or short < 0.005:
        return "It is as good as certain to be enough."
    half, most = show_volume(order.short_median, units), show_volume(order.short_95, units)
    return (
        f"{one_time_in(short).capitalize()} you will be short: half of those times by less than {half}, one in twenty "
        f"by more than {most}."
    )


_VOLUMES = {
    *("fill_placed", "rise", "planting_layer", "sod_in_bed", "sod_on_digs", "topsoil_stripped", "cut_under_sod"),
    *("mulch_laid", "gravel_laid", "ground_deviation", "on_hand", "sold_in", "bag", "truck", "least_load"),
    *("toe_deviation", *(f"toe_{number}" for number in range(len(TOE_AT)))),
}


def given_in_units(figures: Mapping[str, float], units: Units) -> dict[str, float]:
    """What the chain starts from, volumes in the site's own unit and weights in its tons."""
    size, (ton, _) = unit_volume(units), ton_unit(units)
    told = {name: value / size if name in _VOLUMES else value for name, value in figures.items()}
    return {**told, "payload": told["payload"] / ton, "unit_weight": told["unit_weight"] / ton * size}


def ton_unit(units: Units) -> tuple[float, str]:
    """Unit of weight in kg, and its name."""
    return unit_mass(units), "tons of 2,000 lb" if units == "ft" else "t"


def given_words(order: Order, units: Units) -> str:
    """What the working starts from, each by its name in the formulas: "fill placed 19.95, rise 15.78, ..."."""
    figures = given_in_units(order.given, units)
    # What is left of a subtraction in the last place of a number is nothing to whoever works it again by hand.
    seen = {name: value if abs(value) >= NOTHING else 0.0 for name, value in figures.items()}
    told = {name: value for name, value in seen.items() if name.strip("toe_0123456789") or value}
    return ", ".join(f"{name.replace('_', ' ')} {value:.4g}" for name, value in told.items())


def working_label(line: Line) -> str:
    """What a line of the working is called."""
    return f"Standard deviation from {line.label}" if line in DOUBTS else line.label


def working_words(line: Line) -> str:
    """How a line of the working follows from others: "fill placed + topsoil stripped + rise * settlement"."""
    text = line.told or written(line.formula, lambda name: name.replace("_", " "))
    return re.sub(_OPERATOR, r" \1 ", text)


_OPERATOR = re.compile(r"(?<![E(,])([-+*/])")  # not the sign of a number or of its power of ten


def buy_words(order: Order, units: Units) -> str:
    """What to buy, each kind of soil apart: "32.5 cu yd loose of fill soil", or "no soil"."""
    return " and ".join(f"{item_words(item, units)} of {item.name}" for item in order.soils) or "no soil"


def heap_words(order: Order, units: Units) -> str:
    """What lies on hand, and how likely it falls short; "" where nothing does."""
    if order.heap_short is None:
        return ""
    told = f"{show_volume(order.on_hand, units, 'loose')} on hand"
    if order.heap_short < 0.005:
        return f"{told}, as good as certain to be enough."
    if order.heap_short > 0.995:
        return f"{told}, which is not enough alone."
    return f"{told}; alone it falls short {one_time_in(order.heap_short)}."


def need_words(order: Order, units: Units) -> str:
    """What the mound is expected to need from outside, with its range."""
    if order.expected == 0.0 and order.high == 0.0:
        return "The site has all the soil it needs."
    expected = show_volume(order.expected, units, "loose") if order.expected > 0.0 else "nothing"
    return f"{expected} expected, {between(order.low, order.high, units)} in nine cases of ten."


LITTLE_LEFT = 0.02  # of the soil on hand; less is what every heap leaves on the ground


def left_words(order: Order, units: Units) -> str:
    """What of the soil on hand the mound does not take, "4.7 cu yd loose"; "" where that is next to nothing."""
    left = sum(line.loose for line in order.ledger if line.goes == "left over")
    return show_volume(left, units, "loose") if left > LITTLE_LEFT * order.on_hand else ""


def sure_words(order: Order, units: Units) -> Iterator[str]:
    """What is needed, what of it is on hand, and how sure the order is; what there is nothing to say of is left out."""
    yield need_words(order, units)
    if order.on_hand > 0.0:
        yield heap_words(order, units)
        left = left_words(order, units)
        if left:
            yield f"{left} of it is left over: the mound that is drawn takes no more."
    if order.soils:
        yield chance_words(order, units)


def causes_words(shares: Sequence[Share]) -> str:
    """What makes the order unsure, the strongest first, each with its part of the variance."""
    total = sum(share.deviation**2 for share in shares)
    if total == 0.0:
        return ""
    ranked = sorted(shares, key=lambda share: -share.deviation)
    parts = [(share.cause, round(100.0 * share.deviation**2 / total)) for share in ranked]
    return ", ".join(f"{cause} {part} %" for cause, part in parts if part > 0)


def doubt_words(order: Order, units: Units) -> Iterator[str]:
    """The doubt of the ground, of the sod and of the soil apart, and what each comes down to once something is done."""
    for doubt in doubts_of(order):
        half, after = show_volume(doubt.half, units), between(*doubt.after, units)
        then = "At best" if doubt.remedy.of == "ground" else "Then"
        yield f"the {doubt.remedy.of} ± {half}, {100.0 * doubt.part:.0f} % of it. {doubt.remedy.do} {then} {after}."


def truck_words(loads: Haul, units: Units, capacity: float | None) -> str:
    """Trucks and what the last one carries; empty where the truck is not known or none comes."""
    if not loads.trucks or loads.truck_load is None or capacity is None or loads.last_truck is None:
        return ""
    size, last = show_volume(capacity, units), show_volume(loads.last_truck, units)
    if loads.trucks == 1:
        return f"1 truck of {size}, with {last}"
    text = f"{loads.trucks} trucks of {size}"
    if loads.held_by_weight:
        text += f", by weight {show_volume(loads.truck_load, units)} each"
    if loads.last_truck < loads.truck_load * (1.0 - 1e-9):
        text += f"; the last with {last}"
    return text


def fact_words(site: Site, order: Order, top: float) -> Iterator[Fact]:
    """How the soil comes and how high it is built, as pairs of what and how much; what is not known is left out.

    `top` is the height of the finished mound at its highest, metres.
    """
    units = site.units
    for item in order.soils:
        loads = truck_words(item.haul, units, order.supply.truck)
        if loads:
            yield "trucks", loads if len(order.soils) == 1 else f"{item.name}: {loads}"
    yield from _weights(order, units, stated=site.soil.unit_weight is not None)
    yield from _trips(order, units)
    if order.leaves > 0.0:
        away = truck_words(order.away, units, order.supply.truck)
        yield "leaves", f"{show_volume(order.leaves, units, 'loose')}{f', {away}' if away else ''}"
    yield from _built(top, site.soil, units)


def _weights(order: Order, units: Units, *, stated: bool) -> Iterator[Fact]:
    """Weight of all soil, and of a full truck against what it may carry."""
    supply, loads = order.supply, order.haul
    if supply.unit_weight is None or not loads.weight:
        return
    light = loads.least_weight or loads.weight
    span = f"{show_weight(light, units)} dry to {show_weight(loads.weight, units)} wet"
    yield "soil weighs", show_weight(loads.weight, units) if stated else span
    if supply.truck is None:
        return
    full = f"{show_weight(supply.truck * supply.unit_weight, units)}{'' if stated else ' wet'}"
    if supply.payload is None:
        yield "full truck", f"{full}: ask what it may carry"
    else:
        yield "full truck", f"{full}, may carry {show_weight(supply.payload, units)}"


def _trips(order: Order, units: Units) -> Iterator[Fact]:
    """Barrow trips through the gate, and their time where a pace is stated."""
    trips = [("soil", order.haul.barrows), *((item.name, item.haul.barrows) for item in order.covers)]
    trips.append(("out", order.away.barrows))
    named = [f"{count:,} {what}" for what, count in trips if count]
    if not order.gate.barrows or order.supply.barrow is None:
        return
    text = f"{order.gate.barrows:,} of {_barrow(order.supply.barrow, units)}: {', '.join(named)}"
    yield "barrows", f"{text}. {MACHINE_WORDS}" if order.machine_work else text
    if order.gate.hours is not None and order.supply.trip is not None:
        crew = f", {order.supply.barrows_at_once} at a time" if order.supply.barrows_at_once > 1 else ""
        yield "time", f"{order.gate.hours:,.1f} h at {order.supply.trip / 60.0:.3g} min a trip{crew}"


MACHINE_WORDS = (
    "So many are work for a machine: ask for a loader and a way in for it that keeps off every root protection zone."
)


def trim_words(trim: Trim | None, order: Order, units: Units) -> str:
    """What a little less height would save; "" where nothing."""
    if trim is None or order.haul.last_truck is None:
        return ""
    last, lower = show_volume(order.haul.last_truck, units), show_length(trim.lower, units)
    instead = show_quantity(trim.row.order.quantity, units)
    return f"The last truck brings {last}: a mound {lower} lower at the top needs {instead} and saves that truck."


def _built(height: float, soil: Soil, units: Units) -> Iterator[Fact]:
    """The finished height, and what to build on day one so that it settles to it."""
    yield "top, settled", f"{show_length(height, units)} over the ground as it is"
    if soil.settlement > 0.0:
        more = height * soil.settlement
        yield "top, day one", f"build {show_length(height + more, units)}, {show_length(more, units)} higher"


def factor_words(name: str, factors: Factors) -> str:
    """One soil's conversions, each with its direction."""
    loose, placed = 1.0 + factors.swell, 1.0 - factors.shrink
    return f"{name}: 1 bank = {loose:.2f} loose = {placed:.2f} placed; 1 placed = {loose / placed:.2f} loose"


def soils_on_the_job(soil: Soil) -> Iterator[tuple[str, Factors, str]]:
    """Each soil with its factors and where they come from."""
    from_tables = (soil.swell, soil.shrink) == _of_tables(soil)
    yield soil.kind, soil, factors_source(soil.placing) if from_tables else "the site file"
    if soil.ground is not None:
        yield f"{soil.ground} of the site", ground_factors(soil), factors_source(soil.placing)


def _of_tables(soil: Soil) -> tuple[float, float] | None:
    try:
        factors = job_factors(soil.kind, soil.placing)
    except InputError:  # a kind of the user's own
        return None
    return factors.swell, factors.shrink


HELD = "by the slope limit, the outline and the keep-offs; asking for more height brings little."
CONVENTION = f"Shrink is counted as a share of the bank volume. Settlement: {SETTLEMENT_LAW}."


def item_words(item: Item, units: Units) -> str:
    """One thing to buy: "4.5 cu yd of mulch"; in bags where it comes in bags."""
    kind = "" if item.name == MULCH else " loose"
    if item.haul.bags is not None:
        return f"{item.haul.bags} {_plural('bag', item.haul.bags)} ({show_quantity(item.quantity, units)}{kind})"
    return f"{show_quantity(item.quantity, units)}{kind}"


def stone_words(wall: Wall, units: Units) -> str:
    """The wall of one edge: how it stands, the stones of each course, their size and weight, bedding and trench."""
    courses = " + ".join(f"{course.count}" for course in wall.courses)
    trench = show_volume(wall.trench_volume, units, "bank")
    in_courses = f" ({courses}, base course first)" if len(wall.courses) > 1 else ""
    return (
        f"{wall.name}: {wall.count} {_plural('stone', wall.count)} about {show_length(wall.size, units)} across "
        f"on {show_length(wall.line.length, units, 'distance')}{in_courses}, "
        f"{show_length(wall.retained_height, units)} over the ground in front and {show_length(wall.bury, units)} in "
        f"it; each about {show_weight(wall.each, units)} "
        f"({show_weight(wall.each_as_box, units)} as a block), {show_weight(wall.mass, units)} together. Under them "
        f"{show_quantity(wall.bedding_volume, units)} of crushed stone, {show_length(wall.bedding, units)} thick, "
        f"about {show_weight(wall.bedding_mass, units)}, and behind them {show_quantity(wall.drain_volume, units)} of "
        f"it to drain, {show_length(wall.drain, units)} thick, up to the finished grade; their trench gives {trench}, "
        "in the ledger"
    )


def stone_cautions(stones: Sequence[Wall]) -> list[str]:
    """What to heed when lifting, once for all edges; the heaviest stones decide."""
    if not stones:
        return []
    return [max(stones, key=lambda one: one.each).caution]


def cost_words(line: CostLine, units: Units) -> str:
    """One line of the bill: "soil: 32.5 cu yd at 42.00 = 1,365.00", "tax: 8 % of 1,365.00 = 109.20"."""
    rate, unit = rate_in_units(line.rate, line.unit, units)
    if line.unit == MONEY:
        return f"{line.what}: {100.0 * rate:g} % of {money(line.quantity)} = {money(line.amount)}"
    if line.unit == "m3":
        amount = show_quantity(line.quantity, units)
    elif line.unit == "h":
        amount = f"{line.quantity:.1f} h"
    elif line.unit == "m2":
        amount = f"{line.amount / rate:.0f} {unit}"
    elif line.unit == "kg":
        amount = f"{line.amount / rate:.2f} {unit}"
    else:
        amount = f"{line.quantity:g} {_plural(unit, int(line.quantity))}"
    return f"{line.what}: {amount} at {money(rate)} = {money(line.amount)}"


def money(amount: float) -> str:
    """An amount in the user's own money, which has no name here."""
    return f"{amount:,.2f}"


def left_out_words(order: Order) -> str:
    """What the sum of the bill does not hold, or ""; nothing is said where nothing has a price."""
    if not (order.costs and order.unpriced):
        return ""
    return f"The sum leaves out what has no price: {', '.join(order.unpriced)}."


def rate_in_units(rate: float, unit: str, units: Units) -> tuple[float, str]:
    """A rate and its unit as the site file has them: one for a m3 or kg becomes one for the site's own unit."""
    if unit == "kg":
        ton, tons = ton_unit(units)
        return rate * ton, tons
    if unit == "m2":
        return rate * unit_length(units) ** 2, "sq ft" if units == "ft" else "m2"
    if unit != "m3":
        return rate, unit
    return rate * unit_volume(units), "cu yd" if units == "ft" else "m3"


def _barrow(m3: float, units: Units) -> str:
    """A barrow in cubic feet or litres."""
    return f"{m3 / 0.3048**3:.3g} cu ft" if units == "ft" else f"{1000.0 * m3:.3g} L"


def _plural(word: str, count: int) -> str:
    return word if count == 1 else f"{word}s"
