"""Loads, weight and time: how a volume of loose soil comes to the yard and through the gate."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TypeVar

from terrain.soil.loads import whole_loads

Number = TypeVar("Number", int, float)

# Weight of loose soil as delivered, dry and wet, kg/m3. Engineering data pages (densities of dirt and mud):
# loose dirt 1220 dry, 1250 moist; loam 1280; sand 1555 dry, 1905 wet; gravel 1680, 2000; clay 1600, 1760.
# Topsoil 949 (fairly dry, contractor's figure) to 1602 (2700 lb/yd3, the highest of three pages). A truck
# must carry it wet.
UNIT_WEIGHTS = {
    "sand": (1555.0, 1905.0),
    "gravel": (1680.0, 2000.0),
    "sand and gravel": (1555.0, 2000.0),
    "topsoil": (949.0, 1602.0),
    "loam": (1280.0, 1602.0),
    "common earth": (1220.0, 1602.0),
    "earth": (1220.0, 1602.0),
    "clay": (1600.0, 1760.0),
}


@dataclass(frozen=True)
class Supply:
    """How soil is sold, hauled and wheeled in; None where the user does not say.

    Parameters
    ----------
    step
        Smallest step in which soil is sold, loose m3; 0.0 sells any amount.
    bag
        Loose m3 in a bag, where soil comes in bags.
    truck, barrow
        Loose m3 that one load holds.
    payload
        Weight that one truck may carry, kg.
    unit_weight, least_unit_weight
        Weight of loose soil, kg/m3: the heaviest that it may come (wet), which a truck must carry, and the lightest
        (dry); the second left out: as the first.
    trip
        Time of one barrow trip, there and back with loading, in seconds.
    barrows_at_once
        Barrows wheeled at the same time.
    """

    step: float = 0.0
    bag: float | None = None
    truck: float | None = None
    barrow: float | None = None
    payload: float | None = None
    unit_weight: float | None = None
    least_unit_weight: float | None = None
    trip: float | None = None
    barrows_at_once: int = 1


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


def published_unit_weight(kind: str) -> tuple[float, float] | None:
    """Weight of loose soil of a kind, dry and wet, kg/m3; None for a kind that the published figures do not name."""
    return UNIT_WEIGHTS.get(" ".join(kind.lower().replace("/", " and ").split()))


def rounded_up(volume: float, step: float) -> float:
    """The least whole number of steps that holds a volume, m3; the volume itself where any amount is sold."""
    return volume if step <= 0.0 else whole_loads(volume, step) * step


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
    if supply.truck is None or supply.payload is None or supply.unit_weight is None:
        return supply.truck
    return min(supply.truck, supply.payload / supply.unit_weight)


def _hours(barrows: int | None, supply: Supply) -> float | None:
    if barrows is None or supply.trip is None:
        return None
    return math.ceil(barrows / supply.barrows_at_once) * supply.trip / 3600.0
