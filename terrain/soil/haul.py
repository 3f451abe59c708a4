"""Loads, weight and time: how a volume of loose soil comes to the yard and through the gate."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TypeVar

from terrain.soil.chain import evaluated, loads, rounded
from terrain.soil.given import supply_given
from terrain.soil.supply import Supply

Number = TypeVar("Number", int, float)


@dataclass(frozen=True)
class Haul:
    """Loads of one volume; None where the supply does not say enough.

    `truck_load` is what each truck brings (m3) and `last_truck` what the last one does; `held_by_weight` is
    True where the payload is reached before the truck is full. `weight` and `least_weight` are those of all soil, wet
    and dry, kg; `hours` is the time for the barrows.
    """

    trucks: int | None
    truck_load: float | None
    last_truck: float | None
    held_by_weight: bool
    barrows: int | None
    hours: float | None
    bags: int | None
    weight: float | None
    least_weight: float | None


def whole_loads(volume: float, capacity: float) -> int:
    """Number of loads of `capacity` m3 that carry `volume` m3, the last perhaps not full; 0 for none.

    Never carries less than needed; a volume that is an exact multiple but for the last digits takes no extra load.
    """
    return max(0, int(loads(volume, capacity)))


def rounded_up(volume: float, step: float) -> float:
    """The least whole number of steps that holds a volume, m3; the volume itself where any amount is sold."""
    return float(rounded(volume, step)) if step > 0.0 else volume


def haul(volume: float, supply: Supply) -> Haul:
    """Loads, weight and time for `volume` loose m3."""
    load = _truck_load(supply)
    trucks = None if load is None else whole_loads(volume, load)
    barrows = None if supply.barrow is None else whole_loads(volume, supply.barrow)
    return Haul(
        trucks=trucks,
        truck_load=load,
        last_truck=None if load is None or not trucks else min(load, volume - (trucks - 1) * load),
        held_by_weight=load is not None and supply.truck is not None and load < supply.truck,
        barrows=barrows,
        hours=_hours(barrows, supply),
        bags=None if supply.bag is None else whole_loads(volume, supply.bag),
        weight=None if supply.unit_weight is None else volume * supply.unit_weight,
        least_weight=_least_weight(volume, supply),
    )


def together(hauls: Sequence[Haul], supply: Supply) -> Haul:
    """Loads of several volumes that do not share a load; the last truck is that of the last volume."""
    barrows = _sum(one.barrows for one in hauls)
    trucks = [one for one in hauls if one.trucks]
    return Haul(
        trucks=_sum(one.trucks for one in hauls),
        truck_load=_truck_load(supply),
        last_truck=trucks[-1].last_truck if trucks else None,
        held_by_weight=any(one.held_by_weight for one in hauls),
        barrows=barrows,
        hours=_hours(barrows, supply),
        bags=_sum(one.bags for one in hauls),
        weight=_sum(one.weight for one in hauls),
        least_weight=_sum(one.least_weight for one in hauls),
    )


def _sum(values: Iterable[Number | None]) -> Number | None:
    """Sum of the values that are there; None where there is none."""
    there = [value for value in values if value is not None]
    return sum(there) if there else None


def _least_weight(volume: float, supply: Supply) -> float | None:
    if supply.unit_weight is None:
        return None
    return volume * (supply.unit_weight if supply.least_unit_weight is None else supply.least_unit_weight)


def _truck_load(supply: Supply) -> float | None:
    """Loose m3 that a truck may bring: its volume, or less where that would weigh too much."""
    return None if supply.truck is None else float(evaluated(supply_given(supply)).truck_load)


def _hours(barrows: int | None, supply: Supply) -> float | None:
    if barrows is None or supply.trip is None:
        return None
    return math.ceil(barrows / supply.barrows_at_once) * supply.trip / 3600.0
