"""The workbook's bill: every quantity follows from its own page, each price stands in a frame, and the sum follows."""

from __future__ import annotations

from collections.abc import Iterator
from functools import reduce
from operator import add

from terrain.files.workbook.book_soil import volume_unit
from terrain.files.workbook.cells import Cell, Row, Style, given, head, live, text
from terrain.numerics import Figure, Formula, either, least, most
from terrain.soil import Order, Wall, left_out_words, rounded, ton_unit
from terrain.units import Units, unit_length, unit_volume

# What is paid for, the key of its cells, its quantity, its unit, and the cell of its price.
Thing = tuple[str, str, Formula | float, str, Cell]


def cost_rows(order: Order, stones: tuple[Wall, ...], units: Units) -> Iterator[Row]:
    """The bill of an order, and what it leaves out as the site file stands."""
    things = (
        *_by_volume(order, units),
        *_of_walls(order, stones, units),
        *_of_streams(order, stones, units),
        *_work(order),
    )
    yield head("Cost, in your own money", "quantity", "unit", "price", "amount", "")
    for what, key, quantity, per, price in things:
        style: Style = "count" if per in ("bag", "load") else "fine"
        yield (
            text(what),
            _quantity(quantity, style, f"cost_{key}_quantity"),
            text(per),
            price,
            live(_amount(key), "money", f"cost_{key}"),
        )
    keys = [key for _, key, *_ in things]
    for key in order.prices.shares:
        share = getattr(order.prices, key)
        yield (
            text(key),
            live(_sum_of(keys), "money", f"cost_{key}_quantity"),
            text("of all above"),
            given(f"price_{key}", share, "share"),
            live(_amount(key), "money", f"cost_{key}"),
        )
        keys = [*keys, key]
    total = live(_sum_of(keys), "money", "cost", strong=True)
    yield text("total", strong=True), text(""), text(""), text("no price, no cost", "note"), total
    if left_out_words(order):
        yield (text(f"As the site file stands: {left_out_words(order)}", "note"),)


def _by_volume(order: Order, units: Units) -> tuple[Thing, ...]:
    prices, size, unit = order.prices, unit_volume(units), volume_unit(units)
    return (
        (
            "soil",
            "soil",
            lambda v: either(_in_bags(v), 0, v.soil_order),
            f"{unit} loose",
            _price("soil", prices.soil, size),
        ),
        ("soil in bags", "bag", lambda v: either(_in_bags(v), v.bags, 0), "bag", _price("bag", prices.bag)),
        ("delivery", "delivery", lambda v: v.soil_trucks + 0, "load", _price("delivery", prices.delivery)),
        ("disposal", "disposal", lambda v: v.leaves + 0, f"{unit} loose", _price("disposal", prices.disposal, size)),
        (
            "short of the least load",
            "unbrought",
            lambda v: v.unbrought + 0,
            f"{unit} loose",
            live(lambda v: v.price_soil + 0, "money", "price_unbrought"),
        ),
        ("mulch", "mulch", lambda v: v.mulch_order + 0, unit, _price("mulch", prices.mulch, size)),
        ("gravel", "gravel", lambda v: v.gravel_order + 0, unit, _price("gravel", prices.gravel, size)),
    )


def _of_walls(order: Order, stones: tuple[Wall, ...], units: Units) -> tuple[Thing, ...]:
    """Stones by weight, crushed stone under and behind them by volume, from the table of stones further down."""
    if not stones:
        return ()
    walls = list(enumerate(stones, start=1))
    courses = [f"stones{n}_{k}_all" for n, wall in walls for k in range(1, len(wall.courses) + 1)]
    beddings = [f"stones{n}" for n, _ in walls]
    cubes = unit_volume(units) / unit_length(units) ** 3  # cubic feet in a cubic yard

    def crushed(v: Figure) -> Figure:
        volumes = (
            getattr(v, f"{key}_1_length") * getattr(v, f"{key}_size") * getattr(v, f"{key}_bedding")
            + getattr(v, f"{key}_drain") * getattr(v, f"{key}_behind")
            for key in beddings
        )
        return rounded(reduce(add, volumes) / cubes, v.sold_in)

    ton, tons = ton_unit(units)
    as_gravel = live(lambda v: v.price_gravel + 0, "money", "price_crushed")
    return (
        ("stone", "stone", _sum(courses), tons, _price("stone", order.prices.stone, ton)),
        ("crushed stone", "crushed", crushed, volume_unit(units), as_gravel),
    )


def _of_streams(order: Order, stones: tuple[Wall, ...], units: Units) -> tuple[Thing, ...]:
    """Sheet, cloth, stones and gravel of streams: quantities that may be changed, at the prices above."""
    laid, prices = order.laid, order.prices
    if not laid.sheet:
        return ()
    square, area = unit_length(units) ** 2, "sq ft" if units == "ft" else "m2"
    size, (ton, tons) = unit_volume(units), ton_unit(units)
    by_weight = live(lambda v: v.price_stone + 0, "money", "price_stream_stone")
    as_gravel = live(lambda v: v.price_gravel + 0, "money", "price_stream_gravel")
    step = order.supply.step
    gravel = rounded(laid.gravel, step) if step else laid.gravel
    return (
        ("sheet", "sheet", laid.sheet / square, area, _price("sheet", prices.sheet, square)),
        ("underlay", "underlay", laid.underlay / square, area, _price("underlay", prices.underlay, square)),
        (
            "stone of streams",
            "stream_stone",
            laid.stone / ton,
            tons,
            by_weight if stones else _price("stream_stone", prices.stone, ton),
        ),
        ("gravel of streams", "stream_gravel", float(gravel) / size, volume_unit(units), as_gravel),
    )


def _quantity(quantity: Formula | float, style: Style, name: str) -> Cell:
    """A quantity that follows from the other pages, or one that may be changed here."""
    return live(quantity, style, name) if callable(quantity) else given(name, quantity, style)


def _work(order: Order) -> tuple[Thing, ...]:
    """Hours of people with barrows, and of a machine for the trips above the stated number."""
    return (
        (
            "barrow hours",
            "labour",
            lambda v: least(v.gate_barrows, v.machine_above) * v.trip / 60,
            "h",
            _price("labour", order.prices.labour),
        ),
        (
            "machine hours",
            "machine",
            lambda v: either(
                v.machine_pace > 0,
                most(0, v.gate_barrows - v.machine_above) * v.barrow / v.barrows_in_unit / v.machine_pace,
                0,
            ),
            "h",
            _price("machine", order.prices.machine),
        ),
    )


def _price(key: str, price: float | None, by: float = 1.0) -> Cell:
    """The frame of a price, for the site's own unit, which is `by` in SI units."""
    return given(f"price_{key}", None if price is None else price * by, "money")


def _in_bags(v: Figure) -> Figure:
    return v.bag * v.price_bag > 0


def _amount(key: str) -> Formula:
    return lambda v: getattr(v, f"price_{key}") * getattr(v, f"cost_{key}_quantity")


def _sum_of(keys: list[str]) -> Formula:
    return _sum([f"cost_{key}" for key in keys])


def _sum(names: list[str]) -> Formula:
    return lambda v: reduce(add, (getattr(v, name) for name in names)) + 0
