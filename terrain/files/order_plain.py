"""The order as plain values: the object that stands under "order" beside the keys of the summary."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict

from terrain.site.soil_states import ground_factors
from terrain.soil.estimate import Estimate, WhatIf
from terrain.soil.haul import Haul
from terrain.soil.heights import HeightRow
from terrain.soil.order import CostLine, Item, Order
from terrain.soil.stone import Course, Wall, walls
from terrain.soil.words import soils_on_the_job, top_of

Plain = dict[str, object]


def order_plain(estimate: Estimate) -> Plain:
    """The order of an estimate, SI units, ready for strict JSON; what does not exist is None.

    Volumes in m3 with their measure in the key (bank, loose, placed; placed is as built on day one), lengths in metres,
    weights in kg, shares as fractions, money as the user's prices have it. `low` and `high` bound the central 90 %
    range; `covered` is the chance that `quantity` is enough.
    """
    order, study = estimate.order, estimate.study
    soil, units = study.site.soil, study.site.units
    top = top_of(estimate)
    return {
        "units": units,
        "what_if": _what_if(estimate.asked),
        "soils": [
            {"kind": kind, "swell": factors.swell, "shrink": factors.shrink, "source": source}
            for kind, factors, source in soils_on_the_job(soil)
        ],
        "shrink_convention": "share of the bank volume",
        "ground_shrink": ground_factors(soil).shrink,
        "settlement": soil.settlement,
        "settlement_convention": "height built = finished height x (1 + settlement)",
        "expected_loose_m3": order.expected,
        "low_loose_m3": order.low,
        "high_loose_m3": order.high,
        "deviation_loose_m3": order.deviation,
        "chance": order.chance,
        "needed_loose_m3": order.needed,
        "quantity_loose_m3": order.quantity,
        "covered": order.covered,
        "short_by_m3": order.short_by,
        "step_m3": order.supply.bag or order.supply.step,
        "items": [_item(item) for item in (*order.soils, *order.covers)],
        "layers": [
            {"name": one.name, "moves": one.moves, "bank_m3": one.bank, "loose_m3": one.loose, "placed_m3": one.placed}
            for one in order.layers
        ],
        **_haul(order.haul),
        "leaves_loose_m3": order.leaves,
        "away": _haul(order.away),
        "gate": {"barrows": order.gate.barrows, "hours": order.gate.hours},
        "day_one": {
            "factor": study.work.day_one_factor,
            "finished_height_m": top,
            "built_height_m": top * study.work.day_one_factor,
        },
        "costs": [_cost(line) for line in order.costs],
        "cost": order.cost,
        "stones": [_wall(wall) for wall in walls(study.site)],
        "heights": _heights(estimate.heights),
    }


def _what_if(asked: WhatIf) -> Plain | None:
    if not asked.anything:
        return None
    return {"scale": asked.scale, "height_m": asked.height, "soil_loose_m3": asked.soil, "kind": asked.kind}


def _haul(haul: Haul) -> Plain:
    return {
        "trucks": haul.trucks,
        "truck_load_m3": haul.truck_load,
        "last_truck_m3": haul.last_truck,
        "held_by_weight": haul.held_by_weight,
        "barrows": haul.barrows,
        "bags": haul.bags,
        "weight_kg": haul.weight,
        "least_weight_kg": haul.least_weight,
    }


def _item(item: Item) -> Plain:
    return {
        "name": item.name,
        "expected_loose_m3": item.expected,
        "needed_loose_m3": item.needed,
        "quantity_loose_m3": item.quantity,
        **_haul(item.haul),
    }


def _cost(line: CostLine) -> Plain:
    return {**asdict(line), "amount": line.amount}


def _wall(wall: Wall) -> Plain:
    return {
        "edge": wall.name,
        "length_m": wall.line.length,
        "height_m": wall.held,
        "bury_m": wall.bury,
        "overall_m": wall.overall,
        "size_m": wall.size,
        "count": wall.count,
        "each_kg": wall.each,
        "each_as_box_kg": wall.each_as_box,
        "total_kg": wall.mass,
        "courses": [_course(course) for course in wall.courses],
        "bedding_m": wall.bedding,
        "bedding_m3": wall.bedding_volume,
        "bedding_kg": wall.bedding_mass,
        "trench_bank_m3": wall.trench_volume,
        "machine_lift": wall.machine_lift,
        "caution": wall.caution,
    }


def _course(course: Course) -> Plain:
    return {"foot_m": course.foot, "size_m": course.size, "length_m": course.length, "count": course.count}


def _heights(rows: Sequence[HeightRow]) -> list[Plain]:
    return [
        {
            "scale": row.scale,
            "height_m": row.height,
            "held_by_limits": row.held,
            "fill_placed_m3": row.fill_placed,
            **_needs(row.order),
        }
        for row in rows
    ]


def _needs(order: Order) -> Plain:
    return {
        "expected_loose_m3": order.expected,
        "low_loose_m3": order.low,
        "high_loose_m3": order.high,
        "quantity_loose_m3": order.quantity,
        "trucks": order.haul.trucks,
        "cost": order.cost,
    }
