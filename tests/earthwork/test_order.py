"""The soil order, worked by hand for four yards, and the laws it keeps on any other."""

from __future__ import annotations

import math

import numpy as np
import pytest
from berm_yards import StarYard, circle, raised_cosine, stages
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import box

from terrain.earthwork.haul import Supply, haul, rounded_up
from terrain.earthwork.layers import Layer, LayerPlan, soil_layers, top_layer
from terrain.earthwork.measure import measure_earthwork
from terrain.earthwork.model import Earthwork, EndAreas, Share, VolumeChecks
from terrain.earthwork.order import Prices, order_soil
from terrain.errors import InputError
from terrain.shape.mesh import YardMesh
from terrain.site.model import Bed, Soil

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


def measured(placed: float, cut: float = 0.0, area: float = 50.0, mulch: float = 0.0) -> Earthwork:
    """Earthwork of hand-picked volumes; what the order does not read is left at nothing."""
    none = np.zeros(2)
    return Earthwork(
        fill_placed=placed,
        fill_placed_low=placed,
        fill_placed_high=placed,
        cut_bank=cut,
        sod=0.0,
        mulch=mulch,
        import_loose=0.0,
        import_loose_low=0.0,
        import_loose_high=0.0,
        export_loose=0.0,
        day_one_factor=1.0,
        trucks=None,
        barrows=None,
        cost=None,
        bed_area=area,
        worked_area=area,
        checks=VolumeChecks(placed, placed, placed),
        end_areas=EndAreas(none, none, (0.0, 0.0), (1.0, 0.0)),
        cut_below_sod=cut,
    )


def by_name(layers: tuple[Layer, ...]) -> dict[str, Layer]:
    return {layer.name: layer for layer in layers}


def test_ten_yards_of_berm_in_loam_by_hand() -> None:
    # 10 yd3 placed / 0.90 x 1.25 x 1.08 = 15.0 yd3 loose: 2 trucks of 10 (the last brings 5), 15 x 27 / 3 =
    # 135 barrows; two barrows at a time make 68 rounds of 4 minutes; 15 x 2160 lb = 32,400 lb; 15 x 42 + 2 x
    # 60 = 750 in money.
    soil = Soil(swell=0.25, shrink=0.10, settlement=0.08)
    layers = soil_layers(measured(10.0 * YARD3), Bed(BLOCK), soil, a_block())
    supply = Supply(
        step=0.5 * YARD3,
        truck=10.0 * YARD3,
        barrow=3.0 * FOOT3,
        payload=25_000.0 * 0.45359237,
        unit_weight=2160.0 * 0.45359237 / YARD3,
        trip=240.0,
        barrows_at_once=2,
    )
    order = order_soil(layers, [], supply, Prices(soil=42.0 / YARD3, delivery=60.0))
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
    plan = LayerPlan(topsoil=0.10, planting=0.20, mulch_allowance=0.1)
    work = measured(placed=17.5, mulch=4.0)
    layers = by_name(soil_layers(work, Bed(BLOCK, sod=0.05), LOAM, a_block(), plan))
    assert layers["planting soil"].loose == pytest.approx(7.6389, abs=5e-5)
    assert layers["fill soil"].loose == pytest.approx(17.3611, abs=5e-5)
    assert layers["topsoil kept and laid again"].placed == pytest.approx(4.5, rel=1e-12)
    assert layers["topsoil kept and laid again"].bank == pytest.approx(5.0, rel=1e-12)
    assert layers["sod"].moves == "leaves"
    assert layers["sod"].loose == pytest.approx(3.125, rel=1e-12)
    assert layers["mulch"].loose == pytest.approx(4.4, rel=1e-12)
    order = order_soil(tuple(layers.values()), [])
    assert order.expected == pytest.approx(25.0, rel=1e-12)
    assert order.leaves == pytest.approx(3.125, rel=1e-12)
    assert order.cost is None


def test_half_of_a_basin_fit_to_use_by_hand() -> None:
    # 6.0 bank cut, half fit: 3.0 bank = 2.7 placed of the 4.0 needed; 1.3 / 0.9 x 1.25 = 1.8056 arrives and
    # the other 3.0 bank leaves as 3.75 loose.
    layers = by_name(soil_layers(measured(4.0, cut=6.0), Bed(BLOCK), LOAM, a_block(), LayerPlan(usable_cut=0.5)))
    assert layers["cut used as fill"].bank == pytest.approx(3.0, rel=1e-12)
    assert layers["cut to spare"].loose == pytest.approx(3.75, rel=1e-12)
    assert layers["fill soil"].loose == pytest.approx(1.8056, abs=5e-5)
    order = order_soil(tuple(layers.values()), [], prices=Prices(disposal=20.0))
    assert order.costs[0].amount == pytest.approx(75.0, rel=1e-12)


def test_more_cut_than_fill_buys_nothing_by_hand() -> None:
    # 20 bank cut, 4.0 placed takes 4 / 0.9 = 4.4444 bank; 15.5556 bank leaves as 19.4444 loose.
    layers = by_name(soil_layers(measured(4.0, cut=20.0), Bed(BLOCK), LOAM, a_block()))
    assert "fill soil" not in layers
    assert layers["cut to spare"].loose == pytest.approx(19.4444, abs=5e-5)
    order = order_soil(tuple(layers.values()), [Share("swell", 1.0, "")], Supply(truck=8.0))
    assert (order.quantity, order.haul.trucks, order.haul.last_truck) == (0.0, 0, None)


def test_sod_turned_under_makes_no_load() -> None:
    plan = LayerPlan(sod_leaves=False)
    layers = by_name(soil_layers(measured(17.5), Bed(BLOCK, sod=0.05), LOAM, a_block(), plan))
    assert layers["sod"].moves == "stays"
    assert order_soil(tuple(layers.values()), []).leaves == 0.0


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
    order = order_soil(soil_layers(work, site.bed, soil, proposal.mesh), work.import_shares)
    assert order.expected == pytest.approx(work.import_loose, rel=1e-9)
    assert (order.low, order.high) == pytest.approx((work.import_loose_low, work.import_loose_high), rel=1e-9)


def test_one_time_in_five_the_order_is_short_and_by_how_much_is_said() -> None:
    # 12.0 give or take 1.0: enough four times in five is 12.8416, rounded up to 13.0; the 90 % range ends at
    # 13.6449.
    order = order_soil([Layer("fill soil", "arrives", 12.0)], [Share("all", 1.0, "")], Supply(step=0.5), chance=0.8)
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
    order = order_soil([Layer("planting soil", "arrives", 1.01)], [], Supply(bag=0.04), Prices(soil=50.0, bag=6.0))
    assert order.haul.bags == 26
    assert order.quantity == pytest.approx(1.04, rel=1e-12)
    assert [(line.what, line.quantity, line.unit) for line in order.costs] == [("soil in bags", 26, "bag")]


@pytest.mark.parametrize("chance", [0.0, 1.0, -0.2, 80.0])
def test_a_chance_outside_nothing_and_certainty_is_refused(chance: float) -> None:
    with pytest.raises(InputError, match=r"is no chance; between 0 and 1"):
        order_soil([], [], chance=chance)


@given(st.floats(0.0, 100.0), st.floats(0.0, 5.0), st.floats(0.01, 0.99), steps)
def test_rounding_never_orders_less_than_needed(expected: float, deviation: float, chance: float, step: float) -> None:
    layer = Layer("fill soil", "arrives", expected)
    order = order_soil([layer], [Share("all", deviation, "")], Supply(step=step), chance=chance)
    assert order.quantity >= order.needed * (1.0 - 1e-11)
    assert order.quantity <= order.needed + step * (1.0 + 1e-11)
    assert rounded_up(order.quantity, step) == pytest.approx(order.quantity, rel=1e-9)


@given(
    placed=st.floats(0.0, 60.0),
    cut=st.floats(0.0, 60.0),
    topsoil=st.floats(0.0, 0.3),
    planting=st.one_of(st.none(), st.floats(0.0, 0.6)),
    usable=st.floats(0.0, 1.0),
    swell=st.floats(0.0, 0.6),
    shrink=st.floats(-0.3, 0.4),
    settlement=st.floats(0.0, 0.2),
)
def test_no_soil_is_won_or_lost_between_the_layers(
    placed: float,
    cut: float,
    topsoil: float,
    planting: float | None,
    usable: float,
    swell: float,
    shrink: float,
    settlement: float,
) -> None:
    soil = Soil(swell=swell, shrink=shrink, settlement=settlement)
    plan = LayerPlan(topsoil=topsoil, planting=planting, usable_cut=usable)
    layers = by_name(soil_layers(measured(placed, cut=cut), Bed(BLOCK), soil, a_block(0.4), plan))

    def bank(*names: str) -> float:
        return sum(layers[name].bank or 0.0 for name in names if name in layers)

    def in_place(*names: str) -> float:
        return sum(layers[name].placed or 0.0 for name in names if name in layers)

    assert bank("cut used as fill", "cut to spare") == pytest.approx(cut, abs=1e-8)
    assert bank("topsoil kept and laid again", "topsoil to spare") == pytest.approx(50.0 * topsoil, abs=1e-8)
    filled = in_place("topsoil kept and laid again", "cut used as fill", "planting soil", "fill soil")
    assert filled == pytest.approx((placed + 50.0 * topsoil) * (1.0 + settlement), abs=1e-7)
    assert all(layer.loose >= 0.0 for layer in layers.values())
