"""The soil order, worked by hand for four yards, and the laws it keeps on any other."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from berm_yards import StarYard, circle, raised_cosine, stages
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import box

from terrain.errors import InputError
from terrain.numerics.mesh import YardMesh
from terrain.site.model import Bed, Soil
from terrain.soil.haul import Supply, haul, rounded_up
from terrain.soil.layers import soil_balance, soil_layers
from terrain.soil.measure import measure_earthwork
from terrain.soil.measured import Measured, top_layer
from terrain.soil.model import Layer, Share
from terrain.soil.need import Need
from terrain.soil.order import Order, Prices, order_soil
from terrain.soil.site_order import order_of

YARD3 = 0.9144**3
FOOT3 = 0.3048**3
BLOCK = box(0.0, 0.0, 10.0, 5.0)
LOAM = Soil(swell=0.25, shrink=0.10)
steps = st.one_of(st.just(0.0), st.floats(0.01, 3.0))


def a_block(depth: float = 0.3) -> YardMesh:
    """A bed of 10 m by 5 m raised evenly, as two triangles."""
    points = np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 5.0], [0.0, 5.0]])
    triangles = np.array([[0, 1, 2], [0, 2, 3]])
    return YardMesh(points, triangles, np.ones(2, dtype=bool), np.full(4, 20.0), np.full(4, 20.0 + depth))


def measured(placed: float, cut: float = 0.0, planting: float = 0.0) -> Measured:
    """What a bed of 50 m2 holds, in hand-picked volumes."""
    return Measured(placed, 50.0, 50.0, cut, cut, planting)


def ordered(layers: tuple[Layer, ...], soil: Soil = LOAM, deviation: float = 0.0, **options: Any) -> Order:
    """The order for some layers whose need is unsure by a standard deviation in loose m3."""
    return order_soil(Need(layers, soil_balance(layers, soil), (Share("all", deviation, ""),)), **options)


def by_name(layers: tuple[Layer, ...]) -> dict[str, Layer]:
    return {layer.name: layer for layer in layers}


def test_ten_yards_of_berm_in_loam_by_hand() -> None:
    # 10 yd3 placed / 0.90 x 1.25 x 1.08 = 15.0 yd3 loose: 2 trucks of 10 (the last brings 5), 15 x 27 / 3 =
    # 135 barrows; two barrows at a time make 68 rounds of 4 minutes; 15 x 2160 lb = 32,400 lb; 15 x 42 + 2 x
    # 60 = 750 in money.
    soil = Soil(swell=0.25, shrink=0.10, settlement=0.08)
    layers = soil_layers(measured(10.0 * YARD3), Bed(BLOCK), soil)
    supply = Supply(
        step=0.5 * YARD3,
        truck=10.0 * YARD3,
        barrow=3.0 * FOOT3,
        payload=25_000.0 * 0.45359237,
        unit_weight=2160.0 * 0.45359237 / YARD3,
        trip=240.0,
        barrows_at_once=2,
    )
    order = ordered(layers, soil, supply=supply, prices=Prices(soil=42.0 / YARD3, delivery=60.0))
    assert order.expected / YARD3 == pytest.approx(15.0, rel=1e-12)
    assert order.quantity / YARD3 == pytest.approx(15.0, rel=1e-9)
    assert (order.haul.trucks, order.haul.barrows) == (2, 135)
    assert order.haul.last_truck / YARD3 == pytest.approx(5.0, rel=1e-9)
    assert not order.haul.held_by_weight
    assert order.haul.hours == pytest.approx(68 * 4 / 60, rel=1e-12)
    assert order.haul.weight / 0.45359237 == pytest.approx(32_400.0, rel=1e-9)
    assert [(line.what, round(line.amount, 6)) for line in order.costs] == [("soil", 630.0), ("delivery", 120.0)]
    assert order.cost == pytest.approx(750.0, rel=1e-9)


def test_metric_block_with_kept_topsoil_and_planting_soil_by_hand() -> None:
    # 50 m2: 0.30 fill + 0.05 sod + 0.10 topsoil = 22.5 placed, of it 10.0 planting soil and 12.5 under it.
    # Topsoil 5.0 bank is 4.5 placed. Arriving: 5.5 / 0.9 x 1.25 = 7.6389 planting soil, 12.5 / 0.9 x 1.25 =
    # 17.3611 fill soil. Sod 2.5 bank leaves as 3.125 loose. Mulch 4.0 and a tenth more.
    bed = Bed(BLOCK, sod=0.05, mulch=0.08, topsoil=0.10, planting=0.20, mulch_allowance=0.1)
    planting = top_layer(a_block(), bed.sod + bed.topsoil, bed.planting)
    layers = by_name(soil_layers(measured(17.5, planting=planting), bed, LOAM))
    assert layers["planting soil"].loose == pytest.approx(7.6389, abs=5e-5)
    assert layers["fill soil"].loose == pytest.approx(17.3611, abs=5e-5)
    assert layers["topsoil kept and laid again"].placed == pytest.approx(4.5, rel=1e-12)
    assert layers["topsoil kept and laid again"].bank == pytest.approx(5.0, rel=1e-12)
    assert layers["sod"].moves == "leaves"
    assert layers["sod"].loose == pytest.approx(3.125, rel=1e-12)
    assert layers["mulch"].loose == pytest.approx(4.4, rel=1e-12)
    order = ordered(tuple(layers.values()))
    assert order.expected == pytest.approx(25.0, rel=1e-12)
    assert order.leaves == pytest.approx(3.125, rel=1e-12)
    assert order.cost is None


def test_half_of_a_basin_fit_to_use_by_hand() -> None:
    # 6.0 bank cut, half fit: 3.0 bank = 2.7 placed of the 4.0 needed; 1.3 / 0.9 x 1.25 = 1.8056 arrives and
    # the other 3.0 bank leaves as 3.75 loose.
    layers = by_name(soil_layers(measured(4.0, cut=6.0), Bed(BLOCK), replace(LOAM, reuse=0.5)))
    assert layers["cut used as fill"].bank == pytest.approx(3.0, rel=1e-12)
    assert layers["cut unfit to use"].loose == pytest.approx(3.75, rel=1e-12)
    assert "cut to spare" not in layers
    assert layers["fill soil"].loose == pytest.approx(1.8056, abs=5e-5)
    order = ordered(tuple(layers.values()), prices=Prices(disposal=20.0))
    assert order.costs[0].amount == pytest.approx(75.0, rel=1e-12)


def test_more_cut_than_fill_buys_nothing_by_hand() -> None:
    # 20 bank cut, 4.0 placed takes 4 / 0.9 = 4.4444 bank; 15.5556 bank leaves as 19.4444 loose.
    layers = by_name(soil_layers(measured(4.0, cut=20.0), Bed(BLOCK), LOAM))
    assert "fill soil" not in layers
    assert layers["cut to spare"].loose == pytest.approx(19.4444, abs=5e-5)
    order = ordered(tuple(layers.values()), deviation=1.0, supply=Supply(truck=8.0))
    assert (order.quantity, order.haul.trucks, order.haul.last_truck) == (0.0, 0, None)
    assert (order.expected, order.low, order.high) == (0.0, 0.0, 0.0)
    assert order.covered == pytest.approx(1.0, abs=1e-9)


def test_a_small_surplus_may_still_turn_out_short() -> None:
    # 5.0 bank cut, 4.0 placed takes 4.4444: 0.5556 bank, 0.6944 loose over, give or take 1.0. Enough four times in
    # five: 0.8416 - 0.6944 = 0.1472; nine times in ten within a range that ends at 1.6449 - 0.6944 = 0.9504.
    layers = soil_layers(measured(4.0, cut=5.0), Bed(BLOCK), LOAM)
    order = ordered(layers, deviation=1.0, supply=Supply(step=0.5))
    assert order.expected == 0.0
    assert order.needed == pytest.approx(0.1472, abs=5e-5)
    assert (order.low, order.high) == pytest.approx((0.0, 0.9504), abs=5e-5)
    assert [(item.name, item.quantity) for item in order.soils] == [("fill soil", 0.5)]
    assert order.short_by == pytest.approx(0.4504, abs=5e-5)


def test_two_soils_are_rounded_up_each_for_itself() -> None:
    # 10.0 expected, 7.0 fill and 3.0 planting soil, give or take 1.0: 10.8416 with a chance of 0.8, shared 7 to 3:
    # 7.5891 and 3.2525, sold by the whole: 8 and 4, on one truck of 8 and one of 4.
    layers = (Layer("planting soil", "arrives", 3.0), Layer("fill soil", "arrives", 7.0))
    order = ordered(layers, deviation=1.0, supply=Supply(step=1.0, truck=8.0))
    assert [item.needed for item in order.soils] == pytest.approx([3.2525, 7.5891], abs=5e-5)
    assert [item.quantity for item in order.soils] == [4.0, 8.0]
    assert (order.quantity, order.haul.trucks) == (12.0, 2)


def test_soil_of_another_kind_on_the_site_keeps_its_own_factors_by_hand() -> None:
    # A clay site (1.43 loose, 0.90 placed a bank) and bought sand (1.11, 0.95): 2.0 bank of cut is 1.8 placed; 10.0
    # less that, 8.2 placed of sand, is 8.2 / 0.95 x 1.11 = 9.5811 loose; sod 2.5 bank of clay leaves as 3.575.
    soil = Soil(kind="sand", swell=0.11, shrink=0.05, ground="clay")
    layers = by_name(soil_layers(measured(10.0, cut=2.0), Bed(BLOCK, sod=0.05), soil))
    assert layers["cut used as fill"].placed == pytest.approx(1.8, rel=1e-12)
    assert layers["fill soil"].loose == pytest.approx(9.5811, abs=5e-5)
    assert layers["sod"].loose == pytest.approx(3.575, rel=1e-12)


def test_sod_turned_under_makes_no_load() -> None:
    layers = by_name(soil_layers(measured(17.5), Bed(BLOCK, sod=0.05, sod_leaves=False), LOAM))
    assert layers["sod"].moves == "stays"
    assert ordered(tuple(layers.values())).leaves == 0.0


def test_planting_layer_is_cut_from_the_surfaces_not_from_the_area() -> None:
    # A cone of radius 4 and height 0.8: the top 0.2 m of the fill is the cone less the same cone 0.2 lower,
    # which is a cone of three quarters of the size.
    mesh = StarYard(circle(4.0), lambda share: 0.8 * (1.0 - share), spokes=2048, rings=2).mesh()
    whole = math.pi * 16.0 * 0.8 / 3.0
    assert top_layer(mesh, 0.0, 0.2) == pytest.approx(whole * (1.0 - 0.75**3), rel=1e-5)
    assert top_layer(mesh, 0.0, 5.0) == pytest.approx(whole, rel=1e-5)


def test_order_of_a_measured_yard_is_its_import() -> None:
    soil = Soil(swell=0.25, shrink=0.10, settlement=0.08)
    site, ground, proposal = stages(StarYard(circle(4.0), raised_cosine(0.7)), sod=0.05, soil=soil)
    work = measure_earthwork(site, ground, proposal)
    order = order_of(site, work)
    assert order.expected == pytest.approx(work.import_loose, rel=1e-9)
    assert (order.low, order.high) == pytest.approx((work.import_loose_low, work.import_loose_high), rel=1e-9)


def test_one_time_in_five_the_order_is_short_and_by_how_much_is_said() -> None:
    # 12.0 give or take 1.0: enough four times in five is 12.8416, rounded up to 13.0; the 90 % range ends at
    # 13.6449.
    order = ordered((Layer("fill soil", "arrives", 12.0),), deviation=1.0, supply=Supply(step=0.5), chance=0.8)
    assert order.needed == pytest.approx(12.8416, abs=5e-5)
    assert order.quantity == pytest.approx(13.0, rel=1e-12)
    assert order.covered == pytest.approx(0.8413, abs=5e-5)  # one deviation above the middle
    assert order.short_by == pytest.approx(0.6449, abs=5e-5)
    draws = np.random.default_rng(3).normal(12.0, 1.0, 50_000)
    assert np.mean(draws > order.needed) == pytest.approx(0.2, abs=0.01)


def test_wet_soil_fills_a_truck_by_weight_before_it_is_full() -> None:
    # 12 m3 truck, 15,000 kg, soil 1500 kg/m3: 10 m3 a load, so 25 m3 take three loads and the last brings 5.
    loads = haul(25.0, Supply(truck=12.0, payload=15_000.0, unit_weight=1500.0))
    assert (loads.trucks, loads.truck_load, loads.last_truck, loads.held_by_weight) == (3, 10.0, 5.0, True)


def test_soil_in_bags_is_bought_by_the_bag() -> None:
    layers = (Layer("planting soil", "arrives", 1.01),)
    order = ordered(layers, supply=Supply(bag=0.04), prices=Prices(soil=50.0, bag=6.0))
    assert order.haul.bags == 26
    assert order.quantity == pytest.approx(1.04, rel=1e-12)
    assert [(line.what, line.quantity, line.unit) for line in order.costs] == [("soil in bags", 26, "bag")]


@pytest.mark.parametrize("chance", [0.0, 1.0, -0.2, 80.0])
def test_a_chance_outside_nothing_and_certainty_is_refused(chance: float) -> None:
    with pytest.raises(InputError, match=r"is no chance; between 0 and 1"):
        ordered((), chance=chance)


@given(st.floats(0.0, 100.0), st.floats(0.0, 5.0), st.floats(0.01, 0.99), steps)
def test_rounding_never_orders_less_than_needed(expected: float, deviation: float, chance: float, step: float) -> None:
    layer = Layer("fill soil", "arrives", expected)
    order = ordered((layer,), deviation=deviation, supply=Supply(step=step), chance=chance)
    assert order.quantity >= order.needed * (1.0 - 1e-11)
    assert order.quantity <= order.needed + step * (1.0 + 1e-11)
    assert rounded_up(order.quantity, step) == pytest.approx(order.quantity, rel=1e-9)


@given(
    placed=st.floats(0.0, 60.0),
    cut=st.floats(0.0, 60.0),
    topsoil=st.floats(0.0, 0.3),
    planting=st.one_of(st.none(), st.floats(0.0, 0.5)),
    usable=st.floats(0.0, 1.0),
    ground=st.sampled_from([None, "clay", "sand"]),
    swell=st.floats(0.0, 0.6),
    shrink=st.floats(0.0, 0.4),
    settlement=st.floats(0.0, 0.2),
)
def test_no_soil_is_won_or_lost_between_the_layers(
    placed: float,
    cut: float,
    topsoil: float,
    planting: float | None,
    usable: float,
    ground: str | None,
    swell: float,
    shrink: float,
    settlement: float,
) -> None:
    soil = Soil(swell=swell, shrink=shrink, settlement=settlement, reuse=usable, ground=ground)
    bed = Bed(BLOCK, topsoil=topsoil, planting=planting)
    on_top = 0.0 if planting is None else top_layer(a_block(0.4), topsoil, planting)
    layers = by_name(soil_layers(measured(placed, cut, on_top), bed, soil))

    def bank(*names: str) -> float:
        return sum(layers[name].bank or 0.0 for name in names if name in layers)

    def in_place(*names: str) -> float:
        return sum(layers[name].placed or 0.0 for name in names if name in layers)

    assert bank("cut used as fill", "cut to spare", "cut unfit to use") == pytest.approx(cut, abs=1e-8)
    assert bank("topsoil kept and laid again", "topsoil to spare") == pytest.approx(50.0 * topsoil, abs=1e-8)
    filled = in_place("topsoil kept and laid again", "cut used as fill", "planting soil", "fill soil")
    assert filled == pytest.approx((placed + 50.0 * topsoil) * (1.0 + settlement), abs=1e-7)
    assert all(layer.loose >= 0.0 for layer in layers.values())
