"""The workbook's first page: what to order, how sure, on how many loads, at what cost."""

from __future__ import annotations

import math
from collections.abc import Iterator

from terrain.field import told_first
from terrain.files.workbook.book_cost import cost_rows
from terrain.files.workbook.book_soil import own, thin_unit, volume_unit
from terrain.files.workbook.cells import Cell, Row, Style, Worksheet, figure, given, head, live, text
from terrain.flow import Study
from terrain.numerics import Formula
from terrain.site import Soil
from terrain.soil import (
    LINES,
    ROCK,
    VOIDS,
    Order,
    Wall,
    loads,
    rounded,
    stone_cautions,
    sure_words,
    ton_unit,
    top_height,
    walls,
    what_if_words,
)
from terrain.units import Units, unit_length, unit_volume


def order_page(study: Study) -> Worksheet:
    """The page "Order"."""
    site, order, stones = study.site, study.order, walls(study.site)
    what_if = what_if_words(site, study.proposal, study.asked)
    as_it_stands = " ".join([*told_first(study), *sure_words(order, site.units)])
    rows = (
        (text(site.name, "title"),),
        (text(f"Soil order{f'. What if: {what_if}' if what_if else ''}", "text", strong=True),),
        (text("Change the framed figures; everything else follows. The soil's factors are on the page Soil.", "note"),),
        (),
        *_items(site.units, site.soil, order),
        (text(f"As the site file stands: {as_it_stands}", "note"),),
        (),
        *_confidence(order),
        (),
        *_supply(site.soil, order, site.units),
        (),
        *cost_rows(order, stones, site.units),
        (),
        *_heights(study),
        *_stones(stones, site.units),
    )
    return Worksheet("Order", (32, 13, 20, 13, 12, 10, 12), rows)


def _items(units: Units, soil: Soil, order: Order) -> Iterator[Row]:
    unit = f"{volume_unit(units)} loose"
    yield head(f"To order, {unit}", "expected", "enough with the chance", "order", "trucks", "barrows")
    for name, key in (("fill soil", "fill"), ("planting soil", "planting")):
        yield (
            text(name),
            live(_same_as(f"{key}_short"), "volume"),
            own(f"{key}_to_buy", "volume"),
            own(f"{key}_order"),
            own(f"{key}_trucks", "count"),
            live(_barrows(f"{key}_order"), "count", f"{key}_barrows"),
        )
    yield (
        text("all soil", strong=True),
        own("expected", "volume", strong=True),
        own("needed", "volume", strong=True),
        own("soil_order", strong=True),
        own("soil_trucks", "count", strong=True),
        live(lambda v: v.fill_barrows + v.planting_barrows, "count", "soil_barrows", strong=True),
    )
    yield text("on hand already"), text(""), given("on_hand", order.on_hand / unit_volume(units), "fine")
    yield text("to buy, before rounding"), text(""), own("to_buy", "volume")
    for name in ("mulch", "gravel"):
        yield (
            text(name),
            own(f"{name}_loose", "volume"),
            text(""),
            live(_rounded(f"{name}_loose"), "fine", f"{name}_order"),
            text(""),
            live(_barrows(f"{name}_order"), "count", f"{name}_barrows"),
        )
    yield (
        text("hauled away"),
        own("leaves", "volume"),
        text(""),
        text(""),
        live(lambda v: loads(v.leaves, v.truck_load), "count", "away_trucks"),
        live(_barrows("leaves"), "count", "away_barrows"),
    )


def _same_as(name: str) -> Formula:
    return lambda v: getattr(v, name) + 0


def _rounded(name: str) -> Formula:
    return lambda v: rounded(getattr(v, name), v.sold_in)


def _barrows(name: str) -> Formula:
    return lambda v: loads(getattr(v, name), v.barrow / v.barrows_in_unit)


def _confidence(order: Order) -> Iterator[Row]:
    yield head("How sure", "figure", "", "", "", "")
    yield figure("Chance of having enough, asked for", given("chance", order.chance, "share"))
    for name in ("low", "high", "covered", "short_median", "short_95", "heap_short"):
        line = LINES[name]
        yield figure(line.label, own(name, "share" if line.measure == "share" else "volume"))


def _supply(soil: Soil, order: Order, units: Units) -> Iterator[Row]:
    supply, size, unit = order.supply, unit_volume(units), volume_unit(units)
    ton, tons = ton_unit(units)
    small, in_unit = ("cu ft", 27.0) if units == "ft" else ("L", 1000.0)

    def over(value: float | None, by: float) -> float | None:
        return None if value is None else value / by

    yield head("How it comes", "figure", "unit", "", "", "")
    note = "smallest step; 0 sells any amount"
    yield figure("Soil is sold in steps of", given("sold_in", supply.step / size, "fine"), unit, note)
    note = "left open: no bags"
    yield figure("A bag holds", given("bag", over(supply.bag, size), "factor"), unit, note)
    yield figure("Step used", own("step", "factor"), unit)
    yield figure("Bags", live(lambda v: loads(v.soil_order, v.bag), "count", "bags"))
    yield figure("A truck holds", given("truck", over(supply.truck, size), "fine"), f"{unit} loose")
    yield figure(
        "A truck may carry", given("payload", over(supply.payload, ton), "fine"), tons, "left open: not checked"
    )
    stated = "the supplier's figure" if soil.unit_weight is not None else "published, wet"
    weight = over(supply.unit_weight, ton / size)
    yield figure("Soil weighs, at its heaviest", given("unit_weight", weight, "factor"), f"{tons} / {unit}", stated)
    yield figure("A truck brings", own("truck_load"), f"{unit} loose")
    full = live(lambda v: v.truck * v.unit_weight, "volume")
    yield figure("A full truck would weigh", full, tons, "set against what it may carry")
    yield figure("All soil weighs", live(lambda v: v.soil_order * v.unit_weight, "volume", "soil_weight"), tons)
    yield figure("A barrow holds", given("barrow", over(supply.barrow, size / in_unit), "fine"), small)
    yield figure(f"{small} in a {unit}", Cell(in_unit, "count", name="barrows_in_unit"))
    yield figure("One trip takes", given("trip", over(supply.trip, 60.0), "fine"), "min", "there and back with loading")
    yield figure("Barrows at the same time", given("at_once", float(supply.barrows_at_once), "count"))
    note = "paid for where a truck brings less; left open: what it brings"
    yield figure("Least load", given("least_load", over(supply.least_load, size), "fine"), f"{unit} loose", note)
    yield figure("Paid for and not brought", own("unbrought"), f"{unit} loose")
    above = given("machine_above", float(order.prices.machine_above), "count")
    yield figure("A machine takes the trips above", above, "barrows")
    pace = given("machine_pace", over(order.prices.machine_pace, size), "fine")
    yield figure("It moves in an hour", pace, f"{unit} loose", "left open: no machine hours")
    trips = live(
        lambda v: v.soil_barrows + v.mulch_barrows + v.gravel_barrows + v.away_barrows, "count", "gate_barrows"
    )
    yield figure("Barrow trips through the gate", trips)
    yield figure("Time for them", live(lambda v: loads(v.gate_barrows, v.at_once) * v.trip / 60, "volume"), "h")
    leaves = given("sod_leaves", order.given["sod_leaves"], "count")
    yield figure("Sod is hauled away", leaves, "1 yes, 0 turned under")


def _heights(study: Study) -> Iterator[Row]:
    thin, depth, _ = thin_unit(study.site.units)
    top = top_height(study.proposal)
    yield head("Height at the top", "figure", "unit", "", "", "")
    note = "over the ground as it is, when settled"
    yield figure("Finished", Cell(top / depth, "fine", name="top"), thin, note)
    yield figure("Build on day one", live(lambda v: v.top * (1 + v.settlement), "fine", "top_built", strong=True), thin)
    yield figure("That is higher by", live(lambda v: v.top * v.settlement, "fine"), thin)


def _stones(stones: tuple[Wall, ...], units: Units) -> Iterator[Row]:
    if not stones:
        return
    foot, (ton, tons) = unit_length(units), ton_unit(units)
    yield ()
    yield head("Stones", "length", "size", "stones", "each", "all", "as a block")
    rock = ROCK * foot**3 / ton
    note = f"{tons} / cubic {units}; 165 lb/ft3, US Army Corps of Engineers, EM 1110-2-1601: a ball of this diameter"
    yield figure("Rock weighs", given("rock", rock, "factor"), "", note)
    yield figure("Voids in the bedding", given("voids", VOIDS, "factor"), "", "share of the space between its stones")
    for number, wall in enumerate(stones, start=1):
        yield from _courses(number, wall, foot)
    yield (text(f"Lengths in {units}, weights in {tons}. {' '.join(stone_cautions(stones))}", "note"),)


def _courses(number: int, wall: Wall, foot: float) -> Iterator[Row]:
    """The courses of one wall, base course first, and the crushed stone under it; `foot` is the unit in metres."""
    style: Style = "fine"
    key = f"stones{number}"
    yield (
        text(wall.name),
        text("length"),
        given(f"{key}_size", wall.size / foot, style),
        text("size of a stone", "note"),
    )
    for k, course in enumerate(wall.courses, start=1):
        here = f"{key}_{k}"
        yield (
            text("base course" if k == 1 else f"course {k}"),
            given(f"{here}_length", course.length / foot, style),
            live(_same_as(f"{key}_size"), style),
            live(_stone_count(key, here), "count", f"{here}_count"),
            live(_stone_weight(key), "factor"),
            live(_course_weight(key, here), style, f"{here}_all"),
            live(_stone_block(key), "factor"),
        )
    yield (
        text("bedding of crushed stone"),
        live(_same_as(f"{key}_1_length"), style),
        given(f"{key}_bedding", wall.bedding / foot, "factor"),
        text("thick", "note"),
        text(""),
        live(_bedding_weight(key), style, f"{key}_bedding_all"),
    )
    face = wall.drain_volume / wall.drain / foot**2 if wall.drain > 0.0 else 0.0
    yield (
        text("crushed stone behind"),
        given(f"{key}_behind", face, style),
        given(f"{key}_drain", wall.drain / foot, "factor"),
        text("area of the face, thick", "note"),
        text(""),
        live(_drain_weight(key), style, f"{key}_drain_all"),
    )


def _stone_count(key: str, course: str) -> Formula:
    return lambda v: loads(getattr(v, f"{course}_length"), getattr(v, f"{key}_size"))


def _stone_block(key: str) -> Formula:
    return lambda v: v.rock * getattr(v, f"{key}_size") ** 3


def _stone_weight(key: str) -> Formula:
    return lambda v: _stone_block(key)(v) * math.pi / 6


def _course_weight(key: str, course: str) -> Formula:
    return lambda v: getattr(v, f"{course}_count") * _stone_weight(key)(v)


def _bedding_weight(key: str) -> Formula:
    return lambda v: (
        getattr(v, f"{key}_1_length")
        * getattr(v, f"{key}_size")
        * getattr(v, f"{key}_bedding")
        * v.rock
        * (1 - v.voids)
    )


def _drain_weight(key: str) -> Formula:
    return lambda v: getattr(v, f"{key}_behind") * getattr(v, f"{key}_drain") * v.rock * (1 - v.voids)
