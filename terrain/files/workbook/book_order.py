"""The workbook's first page: what to order, how sure, on how many loads, at what cost."""

from __future__ import annotations

from collections.abc import Iterator

from terrain.files.workbook.book_soil import OWN, thin_unit, volume_unit
from terrain.files.workbook.cells import Cell, Page, Row, Style, given, head, live, text
from terrain.site.model import Soil
from terrain.soil.chain import formula, loads, rounded
from terrain.soil.estimate import Estimate
from terrain.soil.order import Order
from terrain.soil.stone import ROCK, VOIDS, Wall, walls
from terrain.soil.words import TON, chance_words, need_words, stone_cautions, top_of, what_if_words
from terrain.units import Units, unit_length, unit_volume

COVERED = "IF(Deviation>0,NORMSDIST((Soil_order-Balance)/Deviation),1)"


def order_page(estimate: Estimate) -> Page:
    """The page "Order"."""
    site, order = estimate.study.site, estimate.order
    what_if = what_if_words(estimate)
    rows = (
        (text(site.name, "title"),),
        (text(f"Soil order{f'. What if: {what_if}' if what_if else ''}", "text", strong=True),),
        (text("Change the framed figures; everything else follows. The soil's factors are on the page Soil.", "note"),),
        (),
        *_items(site.units, site.soil, order),
        (text(f"As the site file stands: {need_words(order, site.units)} {chance_words(order, site.units)}", "note"),),
        (),
        *_sureness(order),
        (),
        *_supply(site.soil, order, site.units),
        (),
        *_cost(order, site.units),
        (),
        *_heights(estimate),
        *_stones(walls(site), site.units),
    )
    return Page("Order", (32, 13, 20, 13, 12, 10, 12), rows)


def _line(label: str, cell: Cell, unit: str = "", note: str = "") -> Row:
    """A figure with its name, its unit and a note."""
    return text(label), cell, text(unit), text(note, "note")


def _items(units: Units, soil: Soil, order: Order) -> Iterator[Row]:
    unit = f"{volume_unit(units)} loose"
    yield head(f"To order, {unit}", "expected", "enough with the chance", "order", "trucks", "barrows")
    for name, key in (("fill soil", "Fill"), ("planting soil", "Planting")):
        yield (
            text(name),
            live(f"{key}_missing", "volume"),
            live(formula(f"{key}_needed", OWN), "volume", f"{key}_needed"),
            live(formula(f"{key}_order", OWN), "fine", f"{key}_order"),
            live(formula(f"{key}_trucks", OWN), "count", f"{key}_trucks"),
            live(_barrows(f"{key}_order"), "count", f"{key}_barrows"),
        )
    yield (
        text("all soil", strong=True),
        live("MAX(0,Balance)", "volume", "Expected", strong=True),
        live(formula("Needed", OWN), "volume", "Needed", strong=True),
        live(formula("Soil_order", OWN), "fine", "Soil_order", strong=True),
        live(formula("Soil_trucks", OWN), "count", "Soil_trucks", strong=True),
        live("Fill_barrows+Planting_barrows", "count", "Soil_barrows", strong=True),
    )
    for name, key in (("mulch", "Mulch"), ("gravel", "Gravel")):
        yield (
            text(name),
            live(f"{key}_loose", "volume"),
            live(f"{key}_loose", "volume"),
            live(rounded(f"{key}_loose", "Sold_in"), "fine", f"{key}_order"),
            text(""),
            live(_barrows(f"{key}_order"), "count", f"{key}_barrows"),
        )
    leaves = "Sod_loose*Sod_leaves+Topsoil_spare_loose+Cut_unfit_loose+Cut_spare_loose"
    yield (
        text("hauled away"),
        live(leaves, "volume", "Leaves"),
        text(""),
        text(""),
        live(f"IF(Truck_load>0,{loads('Leaves', 'Truck_load')},0)", "count", "Away_trucks"),
        live(_barrows("Leaves"), "count", "Away_barrows"),
    )


def _barrows(volume: str) -> str:
    return f"IF(Barrow>0,{loads(volume, '(Barrow/Barrows_in_unit)')},0)"


def _sureness(order: Order) -> Iterator[Row]:
    yield head("How sure", "figure", "", "", "", "")
    yield _line("Chance of having enough, asked for", given("Chance", order.chance, "share"))
    yield _line("Low end of the 90 % range", live(formula("Low", OWN), "volume", "Low"))
    yield _line("High end of the 90 % range", live(formula("High", OWN), "volume", "High"))
    yield _line("Chance that the order is enough", live(COVERED, "share", "Covered"))
    note = "high end of the range less the order"
    yield _line("Short by at most about", live("MAX(0,High-Soil_order)", "volume", "Short_by"), "", note)


def _supply(soil: Soil, order: Order, units: Units) -> Iterator[Row]:
    supply, size, unit = order.supply, unit_volume(units), volume_unit(units)
    ton, tons = (TON, "tons of 2,000 lb") if units == "ft" else (1000.0, "t")
    small, in_unit = ("cu ft", 27.0) if units == "ft" else ("L", 1000.0)

    def over(value: float | None, by: float) -> float | None:
        return None if value is None else value / by

    yield head("How it comes", "figure", "unit", "", "", "")
    note = "smallest step; 0 sells any amount"
    yield _line("Soil is sold in steps of", given("Sold_in", supply.step / size, "fine"), unit, note)
    note = "left open: no bags"
    yield _line("A bag holds", given("Bag", over(supply.bag, size), "factor"), unit, note)
    yield _line("Step used", live("IF(Bag>0,Bag,Sold_in)", "factor", "Step"), unit)
    yield _line("Bags", live(f"IF(Bag>0,{loads('Soil_order', 'Bag')},0)", "count", "Bags"))
    yield _line("A truck holds", given("Truck", over(supply.truck, size), "fine"), f"{unit} loose")
    yield _line(
        "A truck may carry", given("Payload", over(supply.payload, ton), "fine"), tons, "left open: not checked"
    )
    stated = "the supplier's figure" if soil.unit_weight is not None else "published, wet"
    weight = over(supply.unit_weight, ton / size)
    yield _line("Soil weighs, at its heaviest", given("Unit_weight", weight, "factor"), f"{tons} / {unit}", stated)
    by_weight = "IF(Payload*Unit_weight>0,MIN(Truck,Payload/Unit_weight),Truck)"
    yield _line("A truck brings", live(f"IF(Truck>0,{by_weight},0)", "fine", "Truck_load"), f"{unit} loose")
    yield _line("A full truck would weigh", live("Truck*Unit_weight", "volume"), tons, "set against what it may carry")
    yield _line("All soil weighs", live("Soil_order*Unit_weight", "volume", "Soil_weight"), tons)
    yield _line("A barrow holds", given("Barrow", over(supply.barrow, size / in_unit), "fine"), small)
    yield _line(f"{small} in a {unit}", Cell(in_unit, "count", name="Barrows_in_unit"))
    yield _line("One trip takes", given("Trip", over(supply.trip, 60.0), "fine"), "min", "there and back with loading")
    yield _line("Barrows at the same time", given("At_once", float(supply.barrows_at_once), "count"))
    total = "Soil_barrows+Mulch_barrows+Gravel_barrows+Away_barrows"
    yield _line("Barrow trips through the gate", live(total, "count", "Gate_barrows"))
    yield _line("Time for them", live("ROUNDUP(Gate_barrows/At_once,0)*Trip/60", "volume", "Gate_hours"), "h")
    leaves = any(layer.name == "sod" and layer.moves == "leaves" for layer in order.layers)
    yield _line("Sod is hauled away", given("Sod_leaves", 1.0 if leaves else 0.0, "count"), "1 yes, 0 turned under")


def _cost(order: Order, units: Units) -> Iterator[Row]:
    prices, size, unit = order.prices, unit_volume(units), volume_unit(units)
    in_bags = "Bag*Price_bag>0"
    yield head("Cost, in your own money", "quantity", "unit", "price", "amount", "")
    lines = (
        ("soil", "Soil", f"IF({in_bags},0,Soil_order)", f"{unit} loose", prices.soil, size),
        ("soil in bags", "Bag", f"IF({in_bags},Bags,0)", "bag", prices.bag, 1.0),
        ("delivery", "Delivery", "Soil_trucks", "load", prices.delivery, 1.0),
        ("disposal", "Disposal", "Leaves", f"{unit} loose", prices.disposal, size),
        ("mulch", "Mulch", "Mulch_order", unit, prices.mulch, size),
    )
    for what, key, quantity, per, price, by in lines:
        yield (
            text(what),
            live(quantity, "count" if per in ("bag", "load") else "fine", f"Cost_{key}_quantity"),
            text(per),
            given(f"Price_{key.lower()}", None if price is None else price * by, "money"),
            live(_amount(key), "money", f"Cost_{key}"),
        )
    total = ",".join(f"Cost_{key}" for _, key, *_ in lines)
    cell = live(f'IF(SUM({total})>0,SUM({total}),"")', "money", "Cost", strong=True)
    yield text("total", strong=True), text(""), text(""), text("no price, no cost", "note"), cell


def _amount(key: str) -> str:
    price, quantity = f"Price_{key.lower()}", f"Cost_{key}_quantity"
    return f'IF({price}*{quantity}>0,{price}*{quantity},"")'


def _heights(estimate: Estimate) -> Iterator[Row]:
    thin, depth, _ = thin_unit(estimate.study.site.units)
    top = top_of(estimate)
    yield head("Height at the top", "figure", "unit", "", "", "")
    note = "over the ground as it is, when settled"
    yield _line("Finished", Cell(top / depth, "fine", name="Top"), thin, note)
    yield _line("Build on day one", live("Top*(1+Settlement)", "fine", "Top_built", strong=True), thin)
    yield _line("That is higher by", live("Top*Settlement", "fine"), thin)


def _stones(stones: tuple[Wall, ...], units: Units) -> Iterator[Row]:
    if not stones:
        return
    foot, ton, tons = unit_length(units), *((TON, "tons of 2,000 lb") if units == "ft" else (1000.0, "t"))
    yield ()
    yield head("Stones", "length", "size", "stones", "each", "all", "as a block")
    rock = ROCK * foot**3 / ton
    note = f"{tons} / cubic {units}; 165 lb/ft3, US Army Corps of Engineers, EM 1110-2-1601: a ball of this diameter"
    yield _line("Rock weighs", given("Rock", rock, "factor"), "", note)
    yield _line("Voids in the bedding", given("Voids", VOIDS, "factor"), "", "share of the space between its stones")
    for number, wall in enumerate(stones, start=1):
        yield from _courses(number, wall, foot)
    yield (text(f"Lengths in {units}, weights in {tons}. {' '.join(stone_cautions(stones))}", "note"),)


def _courses(number: int, wall: Wall, foot: float) -> Iterator[Row]:
    """The courses of one wall, base course first, and the crushed stone under it; `foot` is the unit in metres."""
    style: Style = "fine"
    key = f"Stones{number}"
    yield (
        text(wall.name),
        text("length"),
        given(f"{key}_size", wall.size / foot, style),
        text("size of a stone", "note"),
    )
    for k, course in enumerate(wall.courses, start=1):
        length, count = f"{key}_{k}_length", f"{key}_{k}_count"
        yield (
            text("base course" if k == 1 else f"course {k}"),
            given(length, course.length / foot, style),
            live(f"{key}_size", style),
            live(f"ROUNDUP({length}/{key}_size-1E-9,0)", "count", count),
            live(f"Rock*PI()/6*{key}_size^3", "factor"),
            live(f"{count}*Rock*PI()/6*{key}_size^3", style, f"{key}_{k}_all"),
            live(f"Rock*{key}_size^3", "factor"),
        )
    thick = f"{key}_bedding"
    yield (
        text("bedding of crushed stone"),
        live(f"{key}_1_length", style),
        given(thick, wall.bedding / foot, "factor"),
        text("thick", "note"),
        text(""),
        live(f"{key}_1_length*{key}_size*{thick}*Rock*(1-Voids)", style, f"{key}_bedding_all"),
    )
