"""The order as one flat table (CSV): a line for each figure, with its measure and its unit, in the site's units."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass

from terrain.files.safe import guarded
from terrain.soil.estimate import Estimate
from terrain.soil.order import Item
from terrain.soil.stone import walls
from terrain.soil.words import TON, rate_in_units, soils_on_the_job
from terrain.units import unit_length, unit_volume

HEADER = ("part", "item", "figure", "value", "unit", "note")


@dataclass(frozen=True)
class Line:
    """One figure of the table; a value of None is left out."""

    part: str
    item: str
    figure: str
    value: float | int | None
    unit: str = ""
    note: str = ""


def order_csv(estimate: Estimate) -> str:
    """The whole order as CSV text (RFC 4180 line ends); figures that do not exist are left out.

    Volumes in cubic yards or m3, lengths in feet or metres, weights in short tons or tonnes. Texts from the site file
    are guarded against running as formulas.
    """
    text = io.StringIO()
    writer = csv.writer(text)
    writer.writerow(HEADER)
    for line in _lines(estimate):
        if line.value is not None:
            shown = line.value if isinstance(line.value, int) else f"{line.value:.4f}".rstrip("0").rstrip(".")
            writer.writerow((line.part, guarded(line.item), line.figure, shown, line.unit, guarded(line.note)))
    return text.getvalue()


def _lines(estimate: Estimate) -> Iterator[Line]:
    yield from _order_rows(estimate)
    yield from _layer_rows(estimate)
    yield from _load_rows(estimate)
    yield from _cost_rows(estimate)
    yield from _stone_rows(estimate)
    yield from _factor_rows(estimate)
    yield from _height_rows(estimate)


def _units(estimate: Estimate) -> tuple[float, str]:
    """The site's unit of volume in m3, and its name."""
    units = estimate.study.site.units
    return unit_volume(units), "cu yd" if units == "ft" else "m3"


def _order_rows(estimate: Estimate) -> Iterator[Line]:
    order, (size, unit) = estimate.order, _units(estimate)
    for what, volume in (
        ("expected", order.expected),
        ("low end of the 90 % range", order.low),
        ("high end of the 90 % range", order.high),
        ("enough with the chance asked for", order.needed),
        ("to order", order.quantity),
        ("short by at most about", order.short_by),
    ):
        yield Line("order", "soil", what, volume / size, f"{unit} loose")
    yield Line("order", "soil", "chance asked for", order.chance)
    yield Line("order", "soil", "chance that the order is enough", order.covered)
    for item in (*order.soils, *order.covers):
        yield from _item_rows(item, size, unit)


def _item_rows(item: Item, size: float, unit: str) -> Iterator[Line]:
    yield Line("order", item.name, "expected", item.expected / size, f"{unit} loose")
    yield Line("order", item.name, "to order", item.quantity / size, f"{unit} loose")
    yield Line("order", item.name, "bags", item.haul.bags)


def _layer_rows(estimate: Estimate) -> Iterator[Line]:
    size, unit = _units(estimate)
    work, square = estimate.study.work, unit_length(estimate.study.site.units) ** 2
    area = "sq ft" if estimate.study.site.units == "ft" else "m2"
    yield Line("layers", "sod strip", "area", work.worked_area / square, area)
    yield Line("layers", "mulch", "area", work.mulch_area / square, area, "less every flare and a rim round it")
    for layer in estimate.order.layers:
        for measure in ("bank", "loose", "placed"):
            volume: float | None = getattr(layer, measure)
            told = None if volume is None else volume / size
            yield Line("layers", layer.name, layer.moves, told, f"{unit} {measure}")


def _load_rows(estimate: Estimate) -> Iterator[Line]:
    order, (size, unit) = estimate.order, _units(estimate)
    units = estimate.study.site.units
    heavy, ton = (TON, "tons of 2000 lb") if units == "ft" else (1000.0, "t")
    for where, loads in (("soil in", order.haul), ("out", order.away)):
        yield Line("loads", where, "trucks", loads.trucks)
        yield Line("loads", where, "one truck brings", _over(loads.truck_load, size), f"{unit} loose")
        yield Line("loads", where, "last truck brings", _over(loads.last_truck, size), f"{unit} loose")
        yield Line("loads", where, "barrows", loads.barrows)
    yield Line("loads", "soil in", "weight dry", _over(order.haul.least_weight, heavy), ton)
    yield Line("loads", "soil in", "weight wet", _over(order.haul.weight, heavy), ton)
    yield Line("loads", "gate", "barrows", order.gate.barrows)
    yield Line("loads", "gate", "time", order.gate.hours, "h")


def _over(value: float | None, size: float) -> float | None:
    return None if value is None else value / size


def _cost_rows(estimate: Estimate) -> Iterator[Line]:
    units = estimate.study.site.units
    for line in estimate.order.costs:
        rate, unit = rate_in_units(line.rate, line.unit, units)
        yield Line("cost", line.what, "quantity", line.amount / rate, unit)
        yield Line("cost", line.what, "price", rate, f"per {unit}")
        yield Line("cost", line.what, "amount", line.amount)
    yield Line("cost", "total", "amount", estimate.order.cost)


def _stone_rows(estimate: Estimate) -> Iterator[Line]:
    units = estimate.study.site.units
    size, heavy, ton = unit_length(units), *((TON, "tons of 2000 lb") if units == "ft" else (1000.0, "t"))
    for wall in walls(estimate.study.site):
        yield Line("stone", wall.name, "length", wall.line.length / size, units)
        yield Line("stone", wall.name, "height over the ground in front", wall.held / size, units)
        yield Line("stone", wall.name, "depth in the ground", wall.bury / size, units)
        yield Line("stone", wall.name, "size of a stone", wall.size / size, units)
        for number, course in enumerate(wall.courses, start=1):
            yield Line("stone", wall.name, f"stones in course {number}", course.count)
        yield Line("stone", wall.name, "stones", wall.count)
        yield Line("stone", wall.name, "weight of one", wall.each / heavy, ton)
        yield Line("stone", wall.name, "weight of one as a block", wall.each_as_box / heavy, ton)
        yield Line("stone", wall.name, "weight of all", wall.mass / heavy, ton)
        yield Line("stone", wall.name, "thickness of the bedding", wall.bedding / size, units)
        yield Line("stone", wall.name, "weight of the bedding", wall.bedding_mass / heavy, ton)


def _factor_rows(estimate: Estimate) -> Iterator[Line]:
    soil = estimate.study.site.soil
    for kind, factors, source in soils_on_the_job(soil):
        yield Line("factors", kind, "loose per bank", 1.0 + factors.swell, note=source)
        yield Line("factors", kind, "placed per bank", 1.0 - factors.shrink, note=source)
        yield Line("factors", kind, "loose per placed", (1.0 + factors.swell) / (1.0 - factors.shrink), note=source)
    yield Line("factors", "settlement", "height built per finished height", 1.0 + soil.settlement)


def _height_rows(estimate: Estimate) -> Iterator[Line]:
    (size, unit), units = _units(estimate), estimate.study.site.units
    for row in estimate.heights:
        item = f"{100.0 * row.scale:.1f} % of the heights"
        yield Line("heights", item, "top over existing", row.height / unit_length(units), units)
        yield Line("heights", item, "fill", row.fill_placed / size, f"{unit} placed")
        yield Line("heights", item, "expected", row.order.expected / size, f"{unit} loose")
        yield Line("heights", item, "low end of the 90 % range", row.order.low / size, f"{unit} loose")
        yield Line("heights", item, "high end of the 90 % range", row.order.high / size, f"{unit} loose")
        yield Line("heights", item, "to order", row.order.quantity / size, f"{unit} loose")
        yield Line("heights", item, "trucks", row.order.haul.trucks)
        yield Line("heights", item, "cost", row.order.cost)
