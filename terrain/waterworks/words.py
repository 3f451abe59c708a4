"""What a stream needs, in words for terminal and sheet alike: two figures at most, since none is known better."""

from __future__ import annotations

import math
from collections.abc import Iterator

from terrain.estimates import Figure, show_about, show_figure, show_mass, two_figures
from terrain.limits import BETWEEN_REFILLS, SILL
from terrain.units import Units, unit_length
from terrain.waterworks.lining import LinerSheet
from terrain.waterworks.needs import StreamNeeds
from terrain.waterworks.pump import yearly_energy
from terrain.waterworks.reaches import Sill
from terrain.waterworks.rocks import WEIGHT_SPREAD, Rocks, Stones

Row = tuple[str, str]
HALF_DAY, WHOLE_DAY = 12.0, 24.0  # running hours a day


def water_rows(needs: StreamNeeds, units: Units) -> Iterator[Row]:
    """Flow, depths, basin, lift and pump, each as (label, text)."""
    yield "Flow", f"{show_about(needs.flow, 'flow', units)} over lips {show_about(needs.lip, 'thin', units)} wide"
    yield "", f"still water stands {show_figure(needs.head, 'thin', units)} over a lip, about half of that on its edge"
    yield "", _level_words(needs, units)
    yield "Bed", depth_words(needs, units)
    yield "Under way", f"{show_figure(needs.transit.total, 'water', units)}: {_parts(needs, units)}"
    yield from _basin_rows(needs, units)
    yield from _pump_rows(needs, units)


def laid_rows(needs: StreamNeeds, units: Units) -> Iterator[Row]:
    """Sheet, cloth, stones and gravel."""
    materials = needs.materials
    label = "Sheet"
    for sheet in materials.lining.sheets:
        yield label, f"{sheet_words(sheet, units)} under {sheet.name}"
        label = ""
    yield "", f"{show_about(materials.lining.underlay, 'area', units)} of cloth under all of it"
    yield from stone_rows(materials.rocks, units)
    if materials.trucks is not None:
        yield "", f"{materials.trucks} truck {'load' if materials.trucks == 1 else 'loads'} by weight"


def depth_words(needs: StreamNeeds, units: Units) -> str:
    """Depth and speed of the running water, of all stretches of bed."""
    beds = [one for one in needs.wet if one.reach.kind == "bed"]
    if not beds:
        return "no stretch of bed between the pools"
    deepest = max(beds, key=lambda one: one.usual.depth)
    fastest = max(one.usual.speed for one in beds)
    deep = show_figure(deepest.depth, "thin", units)
    return f"water {deep} deep at the most, up to {show_about(fastest, 'speed', units)}"


def sheet_words(sheet: LinerSheet, units: Units) -> str:
    """A rectangle of sheet, rounded up: what is cut too short is waste."""
    long, wide = (_rounded_up(side, units) for side in (sheet.length, sheet.width))
    return f"{long} by {wide}"


def stone_rows(rocks: Rocks, units: Units) -> Iterator[Row]:
    """Every stone and gravel of a stream, then their sum."""
    label = "Stone"
    for one in rocks.stones:
        yield label, stones_words(one, units)
        label = ""
    if rocks.stones:
        more = sum(one.bought - one.count for one in rocks.stones)
        yield "", f"and {more} more on the truck, to choose from"
    if rocks.by_two:
        yield "", f"{rocks.by_two} of the stones take two people or a machine to lift"
    label = "Gravel"
    for each in rocks.gravel:
        size, cube = show_about(each.size, "thin", units), show_about(each.volume, "cube", units)
        yield label, f"{cube} of about {size} for {each.what}, {show_mass(each.mass, units)}"
        label = ""
    whole = Figure(rocks.mass, rocks.mass * (1.0 - WEIGHT_SPREAD), rocks.mass * (1.0 + WEIGHT_SPREAD))
    yield "In all", show_figure(whole, "load", units)


def stones_words(stones: Stones, units: Units) -> str:
    """ "12 of about 10 in for drop 1, 50 lb each"."""
    size, each = show_about(stones.size, "thin", units), show_about(stones.each, "weight", units)
    return f"{stones.count} of about {size} for {stones.what}, {each} each"


def sill_words(sill: Sill, units: Units) -> str:
    """How far the water falls below a sill."""
    return f"falls {show_about(sill.height, 'thin', units)}" if sill.height > 0.0 else "runs on"


def least_words(needs: StreamNeeds, units: Units) -> str:
    """The least basin that is enough: as deep and larger, or as large and deeper."""
    store = needs.store
    area, deep = store.least_area(needs.asked_of_basin), store.least_full(needs.asked_of_basin)
    deeper = f"{show_about(deep, 'thin', units, up=True)} of water in the same outline"
    larger = f"{show_about(area, 'area', units, up=True)} of the same depth, or " if math.isfinite(area) else ""
    return f"{larger}{deeper} would be enough"


def tolerance_words(units: Units) -> str:
    """How far off a sill may be: 1/16 in, or 1.6 mm."""
    return "1/16 in" if units == "ft" else f"{two_figures(1000.0 * SILL.value)} mm"


def _level_words(needs: StreamNeeds, units: Units) -> str:
    more = needs.uneven
    told = (
        "leaves its high end dry" if math.isinf(more) else f"passes {two_figures(100.0 * more)} % more at its low end"
    )
    return f"a lip {tolerance_words(units)} out of level {told}: set each to that"


def _parts(needs: StreamNeeds, units: Units) -> str:
    transit = needs.transit
    parts = (("bed", transit.bed.value), ("pools", transit.pools), ("pipe", transit.pipe))
    return ", ".join(f"{name} {show_about(water, 'water', units)}" for name, water in parts if water > 0.0)


def _basin_rows(needs: StreamNeeds, units: Units) -> Iterator[Row]:
    store = needs.store
    yield "Basin", f"{show_about(store.usable, 'water', units)} usable of {show_about(store.volume, 'water', units)}"
    if needs.beside:
        names = ", ".join(other.name for other in needs.beside)
        yield "", f"it serves {names} too: {show_figure(needs.together, 'water', units)} under way when all run"
    starts = "all pumps start" if needs.beside else "the pump starts"
    yield "", f"its water sinks {show_figure(needs.level_drop, 'thin', units)} when {starts}"
    yield "", f"running, fill it to {show_about(needs.running_mark, 'thin', units)} under the rim: it drains back"
    if needs.enough:
        yield (
            "",
            f"enough; about {show_figure(needs.days, 'days', units)} between refills in summer, splash not counted",
        )
        return
    yield "", f"not enough for {BETWEEN_REFILLS.value:.0f} days; {least_words(needs, units)}"


def _pump_rows(needs: StreamNeeds, units: Units) -> Iterator[Row]:
    duty = needs.duty
    flow, head = show_about(duty.flow, "flow", units), show_about(duty.head, "head", units)
    its_own = ", one for this stream alone" if needs.beside else ""
    yield "Pump", f"ask for {flow} at {head} of head{its_own}"
    lift, friction = show_figure(duty.lift, "head", units), show_about(duty.friction, "head", units)
    yield "", f"lift {lift}, pipe and fittings {friction}, {show_about(duty.speed, 'speed', units)} in the pipe"
    half, whole = (yearly_energy(duty.power.value, hours) for hours in (HALF_DAY, WHOLE_DAY))
    yield (
        "",
        (
            f"about {show_figure(duty.power, 'power', units)}; a year takes {show_about(half, 'energy', units)} at 12 "
            f"hours a day, {show_about(whole, 'energy', units)} nonstop"
        ),
    )
    if needs.pump is not None:
        flow, head = show_about(needs.pump[0], "flow", units), show_about(needs.pump[1], "head", units)
        yield "", f"the pump stated gives {flow} at {head}"


def _rounded_up(metres: float, units: Units) -> str:
    """Up to the next half foot or tenth of a metre; from ten on to a whole one."""
    length = metres / unit_length(units)
    step = 1.0 if length > 10.0 else 0.5 if units == "ft" else 0.1
    return f"{math.ceil(length / step - 1e-6) * step:.1f}".removesuffix(".0") + f" {units}"
