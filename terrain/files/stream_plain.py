"""What streams need as plain values: what stands under "stream" in stream.json."""

from __future__ import annotations

import math

from terrain.estimates import Figure
from terrain.flow import Study
from terrain.waterworks import WEIGHT_SPREAD, LinerSheet, Reach, Sill, StreamNeeds, Wet

Plain = dict[str, object]


def streams_plain(study: Study) -> Plain:
    """ "stream", the first stream of the site file, and "streams", every one; SI units.

    `_low` and `_high` bound what is known within a range only.
    """
    told = [stream_plain(needs) for needs in study.streams]
    return {"stream": told[0], "streams": told}


def stream_plain(needs: StreamNeeds) -> Plain:
    """One stream: m, m2, m3, m3/s, m/s, kg, W."""
    materials, duty, store = needs.materials, needs.duty, needs.store
    stone, first = materials.rocks.stone_mass, materials.lining.sheets[0]
    least = store.least_area(needs.asked_of_basin)
    weight = Figure(stone, stone * (1.0 - WEIGHT_SPREAD), stone * (1.0 + WEIGHT_SPREAD))
    return {
        "name": materials.name,
        "flow_m3_s": needs.flow,
        "lip_m": needs.lip,
        **_ranged("head_over_lip_m", needs.head),
        "depth_on_lip_m": needs.brink,
        **_ranged("transit_m3", needs.transit.total),
        **_ranged("transit_bed_m3", needs.transit.bed),
        "transit_pools_m3": needs.transit.pools,
        "transit_pipe_m3": needs.transit.pipe,
        "basin_m3": store.volume,
        "basin_usable_m3": store.usable,
        "basin_enough": needs.enough,
        "basin_least_area_m2": least if math.isfinite(least) else None,
        "basin_least_water_m": store.least_full(needs.asked_of_basin),
        "basin_serves_too": [other.name for other in needs.beside],
        **_ranged("transit_of_basin_m3", needs.together),
        **_ranged("level_drop_m", needs.level_drop),
        "running_under_rim_m": needs.running_mark,
        "dries_off_m3_day": needs.lost,
        **_ranged("days_between_refills", needs.days),
        "storm_water_m3": needs.rain_water,
        **_ranged("static_lift_m", duty.lift),
        "friction_m": duty.friction,
        "head_m": duty.head,
        "pipe_speed_m_s": duty.speed,
        **_ranged("power_w", duty.power),
        "pump": None if needs.pump is None else {"flow_m3_s": needs.pump[0], "head_m": needs.pump[1]},
        "sheet_m": [first.length, first.width],
        "sheets": [_sheet(sheet) for sheet in materials.lining.sheets],
        "underlay_m2": materials.lining.underlay,
        **_ranged("stone_kg", weight),
        "stones": [
            {"what": one.what, "count": one.count, "bought": one.bought, "size_m": one.size, "each_kg": one.each}
            for one in materials.rocks.stones
        ],
        "gravel_m3": materials.rocks.gravel_volume,
        "gravel": [
            {"what": one.what, "volume_m3": one.volume, "size_m": one.size, "mass_kg": one.mass}
            for one in materials.rocks.gravel
        ],
        "trucks": materials.trucks,
        "sills": [_sill(sill) for sill in materials.parts.sills],
        "parts": [_part(one) for one in needs.wet],
    }


def _ranged(key: str, figure: Figure) -> Plain:
    return {key: figure.value, f"{key}_low": figure.low, f"{key}_high": figure.high}


def _sheet(sheet: LinerSheet) -> Plain:
    return {"under": sheet.name, "length_m": sheet.length, "width_m": sheet.width, "outline_m": sheet.cut}


def _sill(sill: Sill) -> Plain:
    return {
        "name": sill.name,
        "at": sill.at,
        "station_m": sill.station,
        "elevation_m": sill.elevation,
        "day_one_m": sill.day_one,
        "drop_m": sill.height,
    }


def _part(one: Wet) -> Plain:
    reach: Reach = one.reach
    return {
        "kind": reach.kind,
        "from_m": reach.start,
        "length_m": reach.length,
        "floor_m": [reach.top, reach.foot],
        **_ranged("water_depth_m", one.depth),
        "speed_m_s": one.usual.speed,
    }
