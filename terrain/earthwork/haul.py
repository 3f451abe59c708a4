"""Loads, weight and time: how a volume of loose soil comes to the yard and through the gate."""

from __future__ import annotations

import math
from dataclasses import dataclass

from terrain.earthwork.loads import whole_loads

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
    unit_weight
        Weight of loose soil, kg/m3, as the supplier states it.
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
    trip: float | None = None
    barrows_at_once: int = 1


@dataclass(frozen=True)
class Haul:
    """Loads of one volume; None where the supply does not say enough.

    `truck_load` is what each truck brings (m3) and `last_truck` what the last one does; `held_by_weight` is
    True where the payload is reached before the truck is full. `weight` is that of all soil, kg; `hours` the
    time for the barrows.
    """

    trucks: int | None
    truck_load: float | None
    last_truck: float | None
    held_by_weight: bool
    barrows: int | None
    hours: float | None
    bags: int | None
    weight: float | None


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
    )


def _truck_load(supply: Supply) -> float | None:
    """Loose m3 that a truck may bring: its volume, or less where that would weigh too much."""
    if supply.truck is None or supply.payload is None or supply.unit_weight is None:
        return supply.truck
    return min(supply.truck, supply.payload / supply.unit_weight)


def _hours(barrows: int | None, supply: Supply) -> float | None:
    if barrows is None or supply.trip is None:
        return None
    return math.ceil(barrows / supply.barrows_at_once) * supply.trip / 3600.0
