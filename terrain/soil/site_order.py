"""The order of a site: how the site file says that soil is sold, hauled and paid, put to what its mound needs."""

from __future__ import annotations

from dataclasses import replace

from terrain.site.model import Site, Soil
from terrain.site.soils import soil_factors
from terrain.soil.haul import Supply, published_unit_weight
from terrain.soil.model import Earthwork
from terrain.soil.need import Need
from terrain.soil.order import Order, Prices, order_soil
from terrain.units import Units, unit_volume

# Soil by the truck is sold by the half yard or half m3 where the supplier says nothing: common practice, no published
# source.
USUAL_STEP = 0.5  # of the site's unit of volume


def order_of(site: Site, work: Earthwork) -> Order:
    """The order for a measured yard, by its site file."""
    return order_of_need(site, Need(work.layers, work.balance_loose, work.import_shares))


def order_of_need(site: Site, need: Need) -> Order:
    """The order for a need, by the site file."""
    return order_soil(need, supply_of(site.soil, site.units), prices_of(site.soil), site.soil.chance)


def supply_of(soil: Soil, units: Units) -> Supply:
    """How soil is sold, hauled and wheeled in; its weight as the supplier states it, else the published one."""
    published = published_unit_weight(soil.kind)
    stated = None if soil.unit_weight is None else (soil.unit_weight, soil.unit_weight)
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
    )


def prices_of(soil: Soil) -> Prices:
    """The prices that a site file states."""
    return Prices(
        soil=soil.price,
        bag=soil.bag_price,
        delivery=soil.delivery_price,
        disposal=soil.disposal_price,
        mulch=soil.mulch_price,
    )


def with_kind(soil: Soil, kind: str) -> Soil:
    """The same job with soil of another kind: its factors from the published table, no supplier's weight.

    Raises
    ------
    InputError
        If the table does not know the kind (its `where` is left empty).
    """
    factors = soil_factors(kind)
    return replace(soil, kind=kind, swell=factors.swell, shrink=factors.shrink, unit_weight=None)
