"""The last truck: how much lower the mound would have to be to do without it."""

from __future__ import annotations

from dataclasses import dataclass

from terrain.ground import Ground
from terrain.limits import LAST_TRUCK, TRIM
from terrain.shape import Prepared, Proposal
from terrain.site import Site
from terrain.soil.heights import HeightRow, height_row, top_height
from terrain.soil.order import Order

AIM = 0.98  # a trial aims this share of the way short of the last load, so that it lands under it


@dataclass(frozen=True)
class Trim:
    """A mound that is `lower` metres lower at the top and needs a truck less; `row` is that mound with its order."""

    lower: float
    row: HeightRow


def _may_spare_one(order: Order) -> bool:
    """Whether one soil alone is bought, in two trucks or more, and the last of them comes nearly empty."""
    loads = order.haul
    if len(order.soils) != 1 or order.on_hand > 0.0 or (loads.trucks or 0) < 2:
        return False
    return loads.last_truck is not None and loads.last_truck < LAST_TRUCK.value * (loads.truck_load or 0.0)


def trim_of(site: Site, ground: Ground, bed: Prepared, proposal: Proposal, order: Order) -> Trim | None:
    """A small trim that saves the last truck; None where the load is worth its trip or no such trim does it."""
    loads, top = order.haul, top_height(proposal)
    if not loads.trucks or not loads.truck_load or not _may_spare_one(order):
        return None

    def lowered(by: float) -> HeightRow:
        return height_row(site, ground, bed, proposal.height_scale * (1.0 - by / top))

    def saves(row: HeightRow) -> bool:
        return (row.order.haul.trucks or 0) < (loads.trucks or 0)

    full = lowered(TRIM.value * top)
    if not saves(full):
        return None
    wanted, spared = order.needed - (loads.trucks - 1) * loads.truck_load, order.needed - full.order.needed
    small = lowered(top * min(TRIM.value, TRIM.value * wanted / spared / AIM)) if spared > 0.0 else full
    row = small if saves(small) else full
    return Trim(top - row.height, row)
