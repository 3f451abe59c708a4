"""The order and the ledger as plain values: what stands under "order" and "soil" in the summary."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict

from terrain.flow import Study
from terrain.site import ground_factors
from terrain.soil import (
    LINES,
    SETTLEMENT_LAW,
    CostLine,
    Course,
    Doubt,
    Haul,
    HeightRow,
    Item,
    Order,
    Trim,
    Wall,
    WhatIf,
    doubts_of,
    soils_on_the_job,
    top_height,
    walls,
)

Plain = dict[str, object]


def ledger_plain(order: Order) -> list[Plain]:
    """Every soil of the job as it is expected, from where to where, m3 in each measure; placed is as built on day one.

    The placed volumes by `from` and by `to` add up to the same.
    """
    return [
        {
            "name": line.name,
            "from": line.comes,
            "to": line.goes,
            "bank_m3": line.bank,
            "loose_m3": line.loose,
            "placed_m3": line.placed,
        }
        for line in order.ledger
    ]


def order_plain(study: Study) -> Plain:
    """The order of a study, SI units, ready for strict JSON; what does not exist is None.

    Volumes in m3 with their measure in the key (bank, loose, placed), lengths in metres, weights in kg, shares as
    fractions, money as the user's prices have it. `low` and `high` bound the central 90 % range of the soil needed, on
    hand or bought; `quantity` is what is bought, and `covered` the chance that it is enough with what is on hand.
    """
    order, soil = study.order, study.site.soil
    return {
        "expected_loose_m3": order.expected,
        "low_loose_m3": order.low,
        "high_loose_m3": order.high,
        "deviation_loose_m3": order.deviation,
        "range_parts_m3": [asdict(share) for share in order.shares],
        "doubts": [_doubt(doubt) for doubt in doubts_of(order)],
        "chance": order.chance,
        "covered": order.covered,
        "needed_loose_m3": order.needed,
        "quantity_loose_m3": order.quantity,
        "on_hand_loose_m3": order.on_hand,
        "on_hand_short": order.heap_short,
        "short_median_m3": order.short_median,
        "short_95_m3": order.short_95,
        "leaves_loose_m3": order.leaves,
        **_haul(order.haul),
        "machine_work": order.machine_work,
        "cost": order.cost,
        "costs": [_cost(line) for line in order.costs],
        "unpriced": list(order.unpriced),
        "items": [_item(item) for item in (*order.soils, *order.covers)],
        "away": _haul(order.away),
        "gate": {"barrows": order.gate.barrows, "hours": order.gate.hours},
        "step_m3": order.supply.bag or order.supply.step,
        "soils": [
            {"kind": kind, "swell": factors.swell, "shrink": factors.shrink, "source": source}
            for kind, factors, source in soils_on_the_job(soil)
        ],
        "shrink_convention": "share of the bank volume",
        "ground_shrink": ground_factors(soil).shrink,
        "settlement": soil.settlement,
        "settlement_convention": SETTLEMENT_LAW,
        "stones": [_wall(wall) for wall in walls(study.site)],
    }


def order_in_full(study: Study) -> Plain:
    """What `order` adds to its own object: the what-if, the working, the day-one height, other heights."""
    top = top_height(study.proposal)
    return {
        **order_plain(study),
        "units": study.site.units,
        "what_if": _what_if(study.asked),
        "working": [
            {"name": name, "what": LINES[name].label, "measure": LINES[name].measure, "value": value}
            for name, value in study.order.working.items()
        ],
        "day_one": {
            "factor": study.work.day_one_factor,
            "finished_height_m": top,
            "built_height_m": top * study.work.day_one_factor,
        },
        "trim": _trim(study.trim),
        "heights": _heights(study.heights),
    }


def _doubt(doubt: Doubt) -> Plain:
    low, high = doubt.after
    return {
        "of": doubt.remedy.of,
        "half_loose_m3": doubt.half,
        "part": doubt.part,
        "do": doubt.remedy.do,
        "then_low_loose_m3": low,
        "then_high_loose_m3": high,
    }


def _what_if(asked: WhatIf) -> Plain | None:
    if not asked.anything:
        return None
    return {
        "scale": asked.scale,
        "height_m": asked.height,
        "mean_depth_m": asked.depth,
        "soil_loose_m3": asked.soil,
        "kind": asked.kind,
        "chance": asked.chance,
    }


def _trim(trim: Trim | None) -> Plain | None:
    if trim is None:
        return None
    return {"lower_m": trim.lower, "height_m": trim.row.height, "scale": trim.row.scale, **_needs(trim.row.order)}


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
        "height_m": wall.retained_height,
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
        "drain_m": wall.drain,
        "drain_m3": wall.drain_volume,
        "drain_kg": wall.drain_mass,
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
            "held_by_limits": row.limited,
            "fill_placed_m3": row.volumes.fill_placed,
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
