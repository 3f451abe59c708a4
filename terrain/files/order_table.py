"""The order as one flat table (CSV): a line for each figure, with its measure and its unit, in the site's units."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from terrain.flow import Study
from terrain.soil import (
    LINES,
    MONEY,
    Item,
    given_in_units,
    left_out_words,
    rate_in_units,
    soils_on_the_job,
    sums,
    ton_unit,
    walls,
    working_label,
    working_words,
)
from terrain.tables import csv_text
from terrain.units import unit_length, unit_volume

HEADER = ("part", "item", "figure", "value", "unit", "note")


@dataclass(frozen=True)
class TableRow:
    """One figure of the table; a value of None is left out."""

    part: str
    item: str
    figure: str
    value: float | int | None
    unit: str = ""
    note: str = ""


def order_csv(study: Study) -> str:
    """The whole order as CSV text (RFC 4180 line ends); figures that do not exist are left out.

    Volumes in cubic yards or m3, lengths in feet or metres, weights in short tons or tonnes. Texts from the site file
    are guarded against running as formulas.
    """
    return csv_text(HEADER, (_row(line, line.value) for line in _lines(study) if line.value is not None))


def _row(line: TableRow, value: float | int) -> tuple[str | int, ...]:
    shown = value if isinstance(value, int) else f"{value:.4f}".rstrip("0").rstrip(".")
    return line.part, line.item, line.figure, shown, line.unit, line.note


def _lines(study: Study) -> Iterator[TableRow]:
    yield from _order_rows(study)
    yield from _layer_rows(study)
    yield from _load_rows(study)
    yield from _cost_rows(study)
    yield from _stone_rows(study)
    yield from _factor_rows(study)
    yield from _height_rows(study)
    yield from _working_rows(study)


def _units(study: Study) -> tuple[float, str]:
    """The site's unit of volume in m3, and its name."""
    units = study.site.units
    return unit_volume(units), "cu yd" if units == "ft" else "m3"


def _order_rows(study: Study) -> Iterator[TableRow]:
    order, (size, unit) = study.order, _units(study)
    for what, volume in (
        ("expected", order.expected),
        ("low end of the 90 % range", order.low),
        ("high end of the 90 % range", order.high),
        ("enough with the chance asked for", order.needed),
        ("on hand", order.on_hand),
        ("to order", order.quantity),
        ("where short, half miss less than", order.short_median),
        ("where short, one in twenty misses more than", order.short_95),
    ):
        yield TableRow("order", "soil", what, volume / size, f"{unit} loose")
    yield TableRow("order", "soil", "chance asked for", order.chance)
    yield TableRow("order", "soil", "chance that the order is enough", order.covered)
    yield TableRow("order", "soil", "chance that the soil on hand alone falls short", order.heap_short)
    for item in (*order.soils, *order.covers):
        yield from _item_rows(item, size, unit)


def _item_rows(item: Item, size: float, unit: str) -> Iterator[TableRow]:
    yield TableRow("order", item.name, "expected", item.expected / size, f"{unit} loose")
    yield TableRow("order", item.name, "to order", item.quantity / size, f"{unit} loose")
    yield TableRow("order", item.name, "bags", item.haul.bags)


def _layer_rows(study: Study) -> Iterator[TableRow]:
    size, unit = _units(study)
    work, square = study.work, unit_length(study.site.units) ** 2
    area = "sq ft" if study.site.units == "ft" else "m2"
    yield TableRow("measured", "sod strip", "area", work.worked_area / square, area)
    yield TableRow("measured", "mulch", "area", work.mulch_area / square, area, "less every flare and a rim round it")
    for line in study.order.ledger:
        for measure, volume in (("bank", line.bank), ("loose", line.loose), ("placed", line.placed)):
            yield TableRow("ledger", line.name, f"{line.comes} to {line.goes}", volume / size, f"{unit} {measure}")
    for sides, word in zip(sums(study.order.ledger), ("all that comes", "all that goes"), strict=True):
        yield TableRow("ledger", word, "sum", sum(sides.values()) / size, f"{unit} placed")


def _working_rows(study: Study) -> Iterator[TableRow]:
    """What the working starts from; then every line of it: what it is, its figure, its formula."""
    size, unit = _units(study)
    for name, value in given_in_units(study.order.given, study.site.units).items():
        yield TableRow("given", name, "", value)
    for name, value in study.order.working.items():
        line = LINES[name]
        volume = line.measure in ("bank", "loose", "placed")
        measure = f"{unit} {line.measure}" if volume else line.measure
        yield TableRow(
            "working", name, working_label(line), value / size if volume else value, measure, working_words(line)
        )


def _load_rows(study: Study) -> Iterator[TableRow]:
    order, (size, unit) = study.order, _units(study)
    units = study.site.units
    heavy, ton = ton_unit(units)
    for where, loads in (("soil in", order.haul), ("out", order.away)):
        yield TableRow("loads", where, "trucks", loads.trucks)
        yield TableRow("loads", where, "one truck brings", _over(loads.truck_load, size), f"{unit} loose")
        yield TableRow("loads", where, "last truck brings", _over(loads.last_truck, size), f"{unit} loose")
        yield TableRow("loads", where, "barrows", loads.barrows)
    yield TableRow("loads", "soil in", "weight dry", _over(order.haul.least_weight, heavy), ton)
    yield TableRow("loads", "soil in", "weight wet", _over(order.haul.weight, heavy), ton)
    yield TableRow("loads", "gate", "barrows", order.gate.barrows)
    yield TableRow("loads", "gate", "time", order.gate.hours, "h")


def _over(value: float | None, size: float) -> float | None:
    return None if value is None else value / size


def _cost_rows(study: Study) -> Iterator[TableRow]:
    units = study.site.units
    for line in study.order.costs:
        rate, unit = rate_in_units(line.rate, line.unit, units)
        yield TableRow("cost", line.what, "quantity", line.amount / rate, unit)
        yield TableRow(
            "cost",
            line.what,
            "price",
            rate,
            "of the sum" if line.unit == MONEY else f"per {unit.replace('tons', 'ton')}",
        )
        yield TableRow("cost", line.what, "amount", line.amount)
    yield TableRow("cost", "total", "amount", study.order.cost, note=left_out_words(study.order))


def _stone_rows(study: Study) -> Iterator[TableRow]:
    units = study.site.units
    size, (heavy, ton) = unit_length(units), ton_unit(units)
    for wall in walls(study.site):
        yield TableRow("stone", wall.name, "length", wall.line.length / size, units)
        yield TableRow("stone", wall.name, "height over the ground in front", wall.retained_height / size, units)
        yield TableRow("stone", wall.name, "depth in the ground", wall.bury / size, units)
        yield TableRow("stone", wall.name, "size of a stone", wall.size / size, units)
        for number, course in enumerate(wall.courses, start=1):
            yield TableRow("stone", wall.name, f"stones in course {number}", course.count)
        yield TableRow("stone", wall.name, "stones", wall.count)
        yield TableRow("stone", wall.name, "weight of one", wall.each / heavy, ton)
        yield TableRow("stone", wall.name, "weight of one as a block", wall.each_as_box / heavy, ton)
        yield TableRow("stone", wall.name, "weight of all", wall.mass / heavy, ton)
        yield TableRow("stone", wall.name, "thickness of the bedding", wall.bedding / size, units)
        yield TableRow("stone", wall.name, "weight of the bedding", wall.bedding_mass / heavy, ton)
        yield TableRow("stone", wall.name, "crushed stone behind, thick", wall.drain / size, units)
        yield TableRow("stone", wall.name, "weight of what lies behind", wall.drain_mass / heavy, ton)


def _factor_rows(study: Study) -> Iterator[TableRow]:
    soil = study.site.soil
    for kind, factors, source in soils_on_the_job(soil):
        yield TableRow("factors", kind, "loose per bank", 1.0 + factors.swell, note=source)
        yield TableRow("factors", kind, "placed per bank", 1.0 - factors.shrink, note=source)
        yield TableRow("factors", kind, "loose per placed", (1.0 + factors.swell) / (1.0 - factors.shrink), note=source)
    yield TableRow("factors", "settlement", "height built per finished height", 1.0 + soil.settlement)


def _height_rows(study: Study) -> Iterator[TableRow]:
    (size, unit), units = _units(study), study.site.units
    for row in study.heights:
        item = f"{100.0 * row.scale:.1f} % of the heights"
        yield TableRow("heights", item, "top over existing", row.height / unit_length(units), units)
        yield TableRow("heights", item, "fill", row.volumes.fill_placed / size, f"{unit} placed")
        yield TableRow("heights", item, "expected", row.order.expected / size, f"{unit} loose")
        yield TableRow("heights", item, "low end of the 90 % range", row.order.low / size, f"{unit} loose")
        yield TableRow("heights", item, "high end of the 90 % range", row.order.high / size, f"{unit} loose")
        yield TableRow("heights", item, "to order", row.order.quantity / size, f"{unit} loose")
        yield TableRow("heights", item, "trucks", row.order.haul.trucks)
        yield TableRow("heights", item, "cost", row.order.cost)
