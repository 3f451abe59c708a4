"""What the soil order starts from: the figures of the site file and of the published tables, by the chain's names."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from terrain.numerics import CENTRAL_90, quantile
from terrain.site import (
    LOST_MOST,
    Bed,
    Site,
    Soil,
    ground_factors,
    shrink_range,
    sod_deviation,
    soil_factors,
    soil_spreads,
)
from terrain.soil.model import TOE_AT, Volumes
from terrain.soil.ranges import GROUND
from terrain.soil.supply import Supply, supply_of

Given = dict[str, float]
_STEPS = 1000  # of equal chance, over which the toe is averaged


def given_of(site: Site, volumes: Volumes) -> Given:
    """Everything that the order of a measured mound follows from; volumes in m3, weights in kg."""
    return {**volumes_given(volumes), **soil_given(site)}


def soil_given(site: Site) -> Given:
    """What the site file and the tables say of the soil, whatever the mound."""
    supply = supply_of(site.soil, site.units, site.prices.least_load)
    return {
        **_factors(site.soil),
        **_doubts(site.soil, site.bed),
        **supply_given(supply),
        "sod_leaves": float(site.bed.sod_leaves),
        "mulch_extra": site.bed.mulch_allowance,
        "on_hand": site.berm.soil or 0.0,
        "chance": site.soil.chance,
    }


def supply_given(supply: Supply) -> Given:
    """How soil is sold and hauled; 0 for what is not stated."""
    return {
        "sold_in": supply.step,
        "bag": supply.bag or 0.0,
        "truck": supply.truck or 0.0,
        "least_load": supply.least_load or 0.0,
        "payload": supply.payload or 0.0,
        "unit_weight": supply.unit_weight or 0.0,
    }


def _factors(soil: Soil) -> Given:
    own, gravel = ground_factors(soil), soil_factors("gravel")
    return {
        "swell": soil.swell,
        "shrink": soil.shrink,
        "ground_swell": own.swell,
        "ground_shrink": own.shrink,
        "one_soil": float(soil.ground is None),
        "settlement": soil.settlement,
        "lost": soil.lost or 0.0,
        "reuse": soil.reuse,
        "gravel_per_laid": gravel.loose_per_bank / gravel.compacted_per_bank,
    }


def _doubts(soil: Soil, bed: Bed) -> Given:
    """The ends of every factor's range, and the doubt of the sod as a share of its depth."""
    spreads, own = soil_spreads(soil), ground_factors(soil).shrink
    around = {name: (getattr(soil, name), spreads[name]) for name in ("swell", "shrink", "reuse")}
    around["lost"] = (LOST_MOST / 2.0,) * 2 if soil.lost is None else (soil.lost, spreads["lost"])
    around["settling"] = soil.settlement, spreads["settlement"]
    around["own"] = own, spreads["shrink"] if soil.ground is None else _own_spread(soil.ground, soil)
    ends = {f"{name}_low": figure - spread for name, (figure, spread) in around.items()}
    ends |= {f"{name}_high": figure + spread for name, (figure, spread) in around.items()}
    sod = sod_deviation(bed.sod, bed.sod_spread) / bed.sod if bed.sod else 0.0
    return {**ends, "sod_spread": sod, "reach": CENTRAL_90}


def _own_spread(kind: str, soil: Soil) -> float:
    low, high = shrink_range(kind, soil.placing)
    return (high - low) / 2.0


def volumes_given(volumes: Volumes) -> Given:
    """What the surfaces of one mound hold, m3."""
    return {
        "fill_placed": volumes.fill_placed,
        "rise": volumes.rise,
        "planting_layer": volumes.planting_placed,
        "sod_in_bed": volumes.sod_in_bed,
        "sod_on_digs": volumes.sod_on_digs,
        "topsoil_stripped": volumes.topsoil,
        "cut_under_sod": volumes.cut_below_sod,
        "mulch_laid": volumes.mulch,
        "gravel_laid": volumes.gravel,
        "ground_deviation": sum(share.deviation for share in volumes.fill_shares if share.cause == GROUND),
        **toe_given(volumes.toe),
    }


def toe_given(toe: Sequence[float]) -> Given:
    """The fill that a toe left uncut takes: as a deviation (the root of its mean square), and at each of `TOE_AT`."""
    at = np.array(toe if toe else np.zeros(len(TOE_AT)))
    shares = (np.arange(_STEPS) + 0.5) / _STEPS
    taken = np.interp(quantile(shares), TOE_AT, at)
    names = {f"toe_{number}": float(value) for number, value in enumerate(at)}
    return {"toe_deviation": float(np.sqrt(np.mean(taken**2))), **names}
