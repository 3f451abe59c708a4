"""How soil is sold, hauled and wheeled in."""

from __future__ import annotations

from dataclasses import dataclass, replace

from terrain.site import Soil, job_factors, row_of
from terrain.units import Units, unit_volume

# Soil by the truck is sold by the half yard or half m3 where the supplier says nothing: common practice, no published
# source.
USUAL_STEP = 0.5  # of the site's unit of volume
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
    least_load
        Loose m3 that is paid for where a truck brings less.
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
    least_load: float | None = None


def supply_of(soil: Soil, units: Units, least_load: float | None = None) -> Supply:
    """How soil is sold, hauled and wheeled in; its weight as the supplier states it, else the published one."""
    published = published_unit_weight(soil.kind)
    about = soil.unit_weight_spread or 0.0
    stated = None if soil.unit_weight is None else (soil.unit_weight - about, soil.unit_weight + about)
    light, heavy = stated or published or (None, None)
    return Supply(
        step=USUAL_STEP * unit_volume(units) if soil.sold_in is None else soil.sold_in,
        bag=soil.bag,
        truck=soil.truck,
        barrow=soil.barrow,
        payload=soil.payload,
        unit_weight=heavy,
        least_unit_weight=light,
        trip=soil.trip,
        barrows_at_once=soil.barrows_at_once,
        least_load=least_load,
    )


def published_unit_weight(kind: str) -> tuple[float, float] | None:
    """Weight of loose soil of a kind, dry and wet, kg/m3; None for a kind that the published figures do not name."""
    return UNIT_WEIGHTS.get(row_of(kind))


def with_kind(soil: Soil, kind: str) -> Soil:
    """The same job with soil of another kind: its factors from the published table, no supplier's weight.

    Raises
    ------
    InputError
        If the table does not know the kind (its `where` is left empty).
    """
    factors = job_factors(kind, soil.placing)
    unknown = replace(soil, stated=(), swell_spread=None, shrink_spread=None, unit_weight=None, unit_weight_spread=None)
    return replace(unknown, kind=kind, swell=factors.swell, shrink=factors.shrink)
