"""The soil order, worked by hand for small yards, and the laws it keeps on any other."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from berm_yards import StarYard, circle, raised_cosine, stages
from hypothesis import given, strategies as st
from order_yards import BLOCK, LOAM, a_site

from terrain.errors import InputError
from terrain.numerics.mesh import YardMesh
from terrain.site.model import Bed, Site, Soil
from terrain.site.prices import Prices
from terrain.soil.given import given_of, supply_given
from terrain.soil.haul import haul, rounded_up
from terrain.soil.ledger import sums
from terrain.soil.measure import measure_earthwork
from terrain.soil.measured import top_layer
from terrain.soil.model import LedgerLine, Volumes
from terrain.soil.order import Order, order_of, order_soil
from terrain.soil.supply import Supply
from terrain.soil.words import NOTHING, fact_words, given_words

YARD3 = 0.9144**3
FOOT3 = 0.3048**3
steps = st.one_of(st.just(0.0), st.floats(0.01, 3.0))
# Factors that are known exactly: what is then in doubt is the ground alone.
EXACT = {f"{what}_{end}": 0.1 for what in ("swell", "shrink", "own", "settling") for end in ("low", "high")}
EXACT |= {"lost_low": 0.0, "lost_high": 0.0}


def a_block(depth: float = 0.3) -> YardMesh:
    """A bed of 10 m by 5 m raised evenly, as two triangles."""
    points = np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 5.0], [0.0, 5.0]])
    triangles = np.array([[0, 1, 2], [0, 2, 3]])
    return YardMesh(points, triangles, np.ones(2, dtype=bool), np.full(4, 20.0), np.full(4, 20.0 + depth))


def volumes(site: Site, rise: float, cut: float = 0.0, planting: float = 0.0, on_digs: float = 0.0) -> Volumes:
    """What the site's bed of 50 m2 holds under a mound of `rise` m3 over existing grade."""
    bed = site.bed
    return Volumes(
        fill_placed=rise + 50.0 * bed.sod,
        worked_area=50.0,
        mulch_area=50.0,
        rise=rise,
        sod_in_bed=50.0 * bed.sod,
        sod_on_digs=on_digs,
        topsoil=50.0 * bed.topsoil,
        cut_bank=cut + on_digs,
        cut_below_sod=cut,
        planting_placed=planting,
        mulch=50.0 * bed.mulch,
    )


def ordered(
    site: Site,
    held: Volumes,
    deviation: float = 0.0,
    supply: Supply | None = None,
    prices: Prices | None = None,
    chance: float = 0.8,
) -> Order:
    """The order of a site whose need is unsure by a standard deviation in loose m3 and by nothing else."""
    supply = supply or Supply()
    spread = deviation / (1.0 + site.soil.settlement) / (1.0 + site.soil.swell) * (1.0 - site.soil.shrink)
    figures = {**given_of(site, held), **supply_given(supply), **EXACT, "sod_spread": 0.0, "chance": chance}
    return order_of({**figures, "ground_deviation": spread}, supply, prices or Prices())


def needing(loose: float, planting: float = 0.0, on_hand: float | None = None) -> tuple[Site, Volumes]:
    """A site that needs so much loose soil from outside, of it so much planting soil."""
    site = a_site(on_hand=on_hand)
    return site, volumes(site, loose * 0.9 / 1.25, planting=planting * 0.9 / 1.25)


def by_name(order: Order) -> dict[str, LedgerLine]:
    return {line.name: line for line in order.ledger}


def test_ten_yards_of_berm_in_loam_by_hand() -> None:
    # 10 yd3 placed / 0.90 x 1.25 x 1.08 = 15.0 yd3 loose: 2 trucks of 10 (the last brings 5), 15 x 27 / 3 =
    # 135 barrows; two barrows at a time make 68 rounds of 4 minutes; 15 x 2160 lb = 32,400 lb; 15 x 42 + 2 x
    # 60 = 750 in money.
    site = a_site(soil=Soil(swell=0.25, shrink=0.10, settlement=0.08))
    supply = Supply(
        step=0.5 * YARD3,
        truck=10.0 * YARD3,
        barrow=3.0 * FOOT3,
        payload=25_000.0 * 0.45359237,
        unit_weight=2160.0 * 0.45359237 / YARD3,
        trip=240.0,
        barrows_at_once=2,
    )
    order = ordered(site, volumes(site, 10.0 * YARD3), supply=supply, prices=Prices(soil=42.0 / YARD3, delivery=60.0))
    assert order.expected / YARD3 == pytest.approx(15.0, rel=1e-12)
    assert order.quantity / YARD3 == pytest.approx(15.0, rel=1e-9)
    assert (order.haul.trucks, order.haul.barrows) == (2, 135)
    assert order.haul.last_truck / YARD3 == pytest.approx(5.0, rel=1e-9)
    assert not order.haul.held_by_weight
    assert order.haul.hours == pytest.approx(68 * 4 / 60, rel=1e-12)
    assert order.haul.weight / 0.45359237 == pytest.approx(32_400.0, rel=1e-9)
    assert [(line.what, round(line.amount, 6)) for line in order.costs] == [("soil", 630.0), ("delivery", 120.0)]
    assert order.cost == pytest.approx(750.0, rel=1e-9)


def test_settlement_is_allowed_for_the_height_over_existing_grade_alone() -> None:
    # 10 m3 over existing grade and 50 m2 of sod 0.05 m deep under it: 10 x 1.08 + 2.5 = 13.3 placed, / 0.9 x 1.25.
    site = a_site(Bed(BLOCK, sod=0.05), Soil(swell=0.25, shrink=0.10, settlement=0.08))
    order = ordered(site, volumes(site, 10.0))
    assert order.working["built"] == pytest.approx(13.3, rel=1e-12)
    assert order.expected == pytest.approx(13.3 / 0.9 * 1.25, rel=1e-12)


def test_metric_block_with_kept_topsoil_and_planting_soil_by_hand() -> None:
    # 50 m2: 0.30 fill + 0.05 sod + 0.10 topsoil = 22.5 placed, of it 10.0 planting soil and 12.5 under it.
    # Topsoil 5.0 bank is 4.5 placed. Arriving: 5.5 / 0.9 x 1.25 = 7.6389 planting soil, 12.5 / 0.9 x 1.25 =
    # 17.3611 fill soil. Sod 2.5 bank leaves as 3.125 loose. Mulch 4.0 and a tenth more.
    bed = Bed(BLOCK, sod=0.05, mulch=0.08, topsoil=0.10, planting=0.20, mulch_allowance=0.1)
    site = a_site(bed)
    order = ordered(site, volumes(site, 15.0, planting=top_layer(a_block(), bed.sod + bed.topsoil, 0.20)))
    ledger = by_name(order)
    assert ledger["planting soil"].loose == pytest.approx(7.6389, abs=5e-5)
    assert ledger["fill soil"].loose == pytest.approx(17.3611, abs=5e-5)
    assert ledger["topsoil laid on top"].placed == pytest.approx(4.5, rel=1e-12)
    assert ledger["topsoil laid on top"].bank == pytest.approx(5.0, rel=1e-12)
    assert (ledger["sod"].comes, ledger["sod"].goes) == ("stripped", "leaves")
    assert ledger["sod"].loose == pytest.approx(3.125, rel=1e-12)
    assert [(item.name, item.expected) for item in order.covers] == [("mulch", pytest.approx(4.4, rel=1e-12))]
    assert order.expected == pytest.approx(25.0, rel=1e-12)
    assert order.leaves == pytest.approx(3.125, rel=1e-12)
    assert order.cost is None


def test_half_of_a_basin_fit_to_use_by_hand() -> None:
    # 6.0 bank cut, half fit: 3.0 bank = 2.7 placed of the 4.0 needed; 1.3 / 0.9 x 1.25 = 1.8056 arrives and
    # the other 3.0 bank leaves as 3.75 loose.
    site = a_site(soil=replace(LOAM, reuse=0.5))
    order = ordered(site, volumes(site, 4.0, cut=6.0), prices=Prices(disposal=20.0))
    ledger = by_name(order)
    assert ledger["cut used as fill"].bank == pytest.approx(3.0, rel=1e-12)
    assert ledger["cut unfit to use"].loose == pytest.approx(3.75, rel=1e-12)
    assert "cut to spare" not in ledger
    assert ledger["fill soil"].loose == pytest.approx(1.8056, abs=5e-5)
    assert order.costs[0].amount == pytest.approx(75.0, rel=1e-12)


def test_more_cut_than_fill_buys_nothing_by_hand() -> None:
    # 20 bank cut, 4.0 placed takes 4 / 0.9 = 4.4444 bank; 15.5556 bank leaves as 19.4444 loose.
    site = a_site()
    order = ordered(site, volumes(site, 4.0, cut=20.0), deviation=1.0, supply=Supply(truck=8.0))
    assert "fill soil" not in by_name(order)
    assert by_name(order)["cut to spare"].loose == pytest.approx(19.4444, abs=5e-5)
    assert (order.quantity, order.haul.trucks, order.haul.last_truck) == (0.0, 0, None)
    assert (order.expected, order.low, order.high) == (0.0, 0.0, 0.0)
    assert order.covered == pytest.approx(1.0, abs=1e-9)


def test_a_small_surplus_may_still_turn_out_short() -> None:
    # 5.0 bank cut, 4.0 placed takes 4.4444: 0.5556 bank, 0.6944 loose over, give or take 1.0. Enough four times in
    # five: 0.8416 - 0.6944 = 0.1472; nine times in ten within a range that ends at 1.6449 - 0.6944 = 0.9504.
    site = a_site()
    order = ordered(site, volumes(site, 4.0, cut=5.0), deviation=1.0, supply=Supply(step=0.5))
    assert order.expected == 0.0
    assert order.needed == pytest.approx(0.1472, abs=5e-5)
    assert (order.low, order.high) == pytest.approx((0.0, 0.9504), abs=5e-5)
    assert [(item.name, item.quantity) for item in order.soils] == [("fill soil", 0.5)]


def test_two_soils_are_rounded_up_each_for_itself() -> None:
    # 10.0 expected, 7.0 fill and 3.0 planting soil, give or take 1.0: 10.8416 with a chance of 0.8, shared 7 to 3:
    # 7.5891 and 3.2525, sold by the whole: 8 and 4, on one truck of 8 and one of 4.
    order = ordered(*needing(10.0, planting=3.0), deviation=1.0, supply=Supply(step=1.0, truck=8.0))
    assert [item.needed for item in order.soils] == pytest.approx([3.2525, 7.5891], abs=5e-5)
    assert [item.quantity for item in order.soils] == [4.0, 8.0]
    assert (order.quantity, order.haul.trucks) == (12.0, 2)


def test_soil_of_another_kind_on_the_site_keeps_its_own_factors_by_hand() -> None:
    # A clay site (1.45 loose, 0.85 placed a bank) and bought sand (1.11, 0.95): 2.0 bank of cut is 1.7 placed; 10.0
    # less that, 8.3 placed of sand, is 8.3 / 0.95 x 1.11 = 9.6979 loose; sod 2.5 bank of clay leaves as 3.625.
    site = a_site(Bed(BLOCK, sod=0.05), Soil(kind="sand", swell=0.11, shrink=0.05, ground="clay"))
    ledger = by_name(ordered(site, volumes(site, 7.5, cut=2.0)))
    assert ledger["cut used as fill"].placed == pytest.approx(1.7, rel=1e-12)
    assert ledger["fill soil"].loose == pytest.approx(9.6979, abs=5e-5)
    assert ledger["sod"].loose == pytest.approx(3.625, rel=1e-12)


def test_sod_turned_under_takes_up_room_by_hand() -> None:
    # 50 m2 of sod 0.05 m deep, 2.5 bank, is 2.25 placed of the 15 + 2.5 that the mound takes: 15.25 / 0.9 x 1.25
    # arrives. Hauled away it would be 17.5 / 0.9 x 1.25, and with no sod at all 15 / 0.9 x 1.25.
    sites = [a_site(Bed(BLOCK, sod=sod, sod_leaves=leaves)) for sod, leaves in ((0.05, False), (0.05, True), (0, True))]
    turned, hauled, none = (ordered(site, volumes(site, 15.0)) for site in sites)
    assert turned.expected == pytest.approx(15.25 / 0.9 * 1.25, rel=1e-12)
    assert hauled.expected == pytest.approx(17.5 / 0.9 * 1.25, rel=1e-12)
    assert none.expected == pytest.approx(15.0 / 0.9 * 1.25, rel=1e-12)
    assert (turned.leaves, turned.away.weight) == (0.0, None)
    assert by_name(turned)["sod turned under"].bank == pytest.approx(2.5, rel=1e-12)


def test_sod_on_a_dig_is_turned_under_or_leaves_with_that_of_the_bed() -> None:
    sites = [a_site(Bed(BLOCK, sod=0.05, sod_leaves=leaves)) for leaves in (True, False)]
    leaving, turned = (ordered(site, volumes(site, 15.0, cut=2.0, on_digs=0.4)) for site in sites)
    assert leaving.leaves == pytest.approx(1.25 * 2.9, rel=1e-12)
    assert by_name(turned)["sod turned under"].bank == pytest.approx(2.9, rel=1e-12)


def test_soil_on_hand_is_not_bought_again_by_hand() -> None:
    # 12.0 needed and 12.0 on hand, give or take 1.0: an even chance that the heap falls short; 0.8416 more is enough
    # four times in five, sold by the half: 1.0 is bought, which covers 84 % (one deviation).
    order = ordered(*needing(12.0, on_hand=12.0), deviation=1.0, supply=Supply(step=0.5, truck=8.0))
    assert (order.expected, order.on_hand) == (pytest.approx(12.0, rel=1e-12), 12.0)
    assert order.heap_short == pytest.approx(0.5, abs=1e-9)
    assert (order.quantity, order.haul.trucks) == (1.0, 1)
    assert order.covered == pytest.approx(0.8413, abs=5e-5)
    assert {(line.name, line.comes, line.goes) for line in order.ledger} == {("soil on hand", "on hand", "mound")}


def test_a_heap_that_is_too_small_is_bought_up_and_one_that_is_too_large_is_left_over() -> None:
    small = ordered(*needing(12.0, on_hand=5.0), supply=Supply(step=0.5))
    assert (small.quantity, small.heap_short) == (7.0, 1.0)
    assert by_name(small)["fill soil"].loose == pytest.approx(7.0, rel=1e-12)
    large = ordered(*needing(12.0, on_hand=20.0), deviation=1.0, supply=Supply(step=0.5))
    assert (large.quantity, large.soils) == (0.0, ())
    assert large.heap_short < 1e-9
    over = {line.goes: line.loose for line in large.ledger}
    assert over == {"mound": pytest.approx(12.0, rel=1e-12), "left over": pytest.approx(8.0, rel=1e-12)}


def test_soil_on_hand_goes_into_the_fill_first() -> None:
    order = ordered(*needing(10.0, planting=3.0, on_hand=8.0), supply=Supply(step=0.5))
    assert [(item.name, item.quantity) for item in order.soils] == [("planting soil", 2.0)]
    assert order.expected == pytest.approx(10.0, rel=1e-12)
    one = ordered(*needing(3.0, planting=3.0, on_hand=3.0), deviation=1.0, supply=Supply(step=0.5))
    assert [(item.name, item.quantity) for item in one.soils] == [("planting soil", 1.0)]


@pytest.mark.parametrize("on_hand", [None, 11.0])
@pytest.mark.parametrize("chance", [0.5, 0.8, 0.95])
def test_what_a_short_job_misses_is_what_drawn_jobs_miss(on_hand: float | None, chance: float) -> None:
    site, held = needing(12.0, on_hand=on_hand)
    order = ordered(site, held, deviation=1.5, supply=Supply(step=0.25), chance=chance)
    drawn = np.random.default_rng(11).normal(12.0, 1.5, 400_000) - order.quantity - order.on_hand
    missing = drawn[drawn > 0.0]
    assert len(missing) / len(drawn) == pytest.approx(1.0 - order.covered, abs=0.003)
    assert np.median(missing) == pytest.approx(order.short_median, rel=0.04)
    assert np.quantile(missing, 0.95) == pytest.approx(order.short_95, rel=0.04)


def test_planting_layer_is_cut_from_the_surfaces_not_from_the_area() -> None:
    # A cone of radius 4 and height 0.8: the top 0.2 m of the fill is the cone less the same cone 0.2 lower,
    # which is a cone of three quarters of the size.
    mesh = StarYard(circle(4.0), lambda share: 0.8 * (1.0 - share), spokes=2048, rings=2).mesh()
    whole = math.pi * 16.0 * 0.8 / 3.0
    assert top_layer(mesh, 0.0, 0.2) == pytest.approx(whole * (1.0 - 0.75**3), rel=1e-5)
    assert top_layer(mesh, 0.0, 5.0) == pytest.approx(whole, rel=1e-5)


def test_the_order_of_a_measured_yard_follows_from_its_volumes() -> None:
    soil = Soil(swell=0.25, shrink=0.10, settlement=0.08)
    site, ground, proposal = stages(StarYard(circle(4.0), raised_cosine(0.7)), sod=0.05, soil=soil)
    work = measure_earthwork(site, ground, proposal)
    order = order_soil(site, work)
    assert work.rise == pytest.approx(work.fill_placed - work.sod, rel=1e-9)
    assert order.expected == pytest.approx((1.08 * work.rise + work.sod) / 0.9 * 1.25, rel=1e-9)
    assert order.low < order.expected < order.high


def test_one_time_in_five_the_order_is_short() -> None:
    # 12.0 give or take 1.0: enough four times in five is 12.8416, rounded up to 13.0.
    order = ordered(*needing(12.0), deviation=1.0, supply=Supply(step=0.5), chance=0.8)
    assert order.needed == pytest.approx(12.8416, abs=5e-5)
    assert order.quantity == pytest.approx(13.0, rel=1e-12)
    assert order.covered == pytest.approx(0.8413, abs=5e-5)  # one deviation above the middle
    draws = np.random.default_rng(3).normal(12.0, 1.0, 50_000)
    assert np.mean(draws > order.needed) == pytest.approx(0.2, abs=0.01)


@pytest.mark.parametrize(("loads", "machine"), [(600, False), (601, True)])
def test_more_than_600_barrow_trips_are_work_for_a_machine(loads: int, machine: bool) -> None:
    order = ordered(*needing(loads * 0.1 - 0.01), supply=Supply(barrow=0.1))
    assert order.gate.barrows == loads
    assert order.machine_work == machine
    assert any("work for a machine" in text for _, text in fact_words(needing(1.0)[0], order, 0.5)) == machine


def test_wet_soil_fills_a_truck_by_weight_before_it_is_full() -> None:
    # 12 m3 truck, 15,000 kg, soil 1500 kg/m3: 10 m3 a load, so 25 m3 take three loads and the last brings 5.
    loads = haul(25.0, Supply(truck=12.0, payload=15_000.0, unit_weight=1500.0))
    assert (loads.trucks, loads.truck_load, loads.last_truck, loads.held_by_weight) == (3, 10.0, 5.0, True)


def test_soil_in_bags_is_bought_by_the_bag() -> None:
    order = ordered(*needing(1.01, planting=1.01), supply=Supply(bag=0.04), prices=Prices(soil=50.0, bag=6.0))
    assert order.haul.bags == 26
    assert order.quantity == pytest.approx(1.04, rel=1e-12)
    assert [(line.what, line.quantity, line.unit) for line in order.costs] == [("soil in bags", 26, "bag")]


@pytest.mark.parametrize("chance", [0.0, 1.0, -0.2, 80.0])
def test_a_chance_outside_nothing_and_certainty_is_refused(chance: float) -> None:
    with pytest.raises(InputError, match=r"is no chance; between 0 and 1"):
        ordered(*needing(1.0), chance=chance)


@given(st.floats(0.0, 100.0), st.floats(0.0, 5.0), st.floats(0.01, 0.99), steps, st.floats(0.0, 50.0))
def test_rounding_never_orders_less_than_needed(
    expected: float, deviation: float, chance: float, step: float, heap: float
) -> None:
    order = ordered(*needing(expected, on_hand=heap), deviation=deviation, supply=Supply(step=step), chance=chance)
    to_buy = max(0.0, order.needed - heap)
    assert order.quantity >= to_buy * (1.0 - 1e-11)
    assert order.quantity <= to_buy + step * (1.0 + 1e-11) + 1e-12
    assert rounded_up(order.quantity, step) == pytest.approx(order.quantity, rel=1e-9)
    assert 0.0 <= order.short_median <= order.short_95


@given(
    rise=st.floats(0.0, 60.0),
    cut=st.floats(0.0, 60.0),
    on_digs=st.floats(0.0, 3.0),
    sod=st.floats(0.0, 0.1),
    topsoil=st.floats(0.0, 0.3),
    planting=st.floats(0.0, 1.0),
    usable=st.floats(0.0, 1.0),
    ground=st.sampled_from([None, "clay", "sand"]),
    swell=st.floats(0.0, 0.6),
    shrink=st.floats(0.0, 0.4),
    settlement=st.floats(0.0, 0.2),
    leaves=st.booleans(),
    heap=st.one_of(st.none(), st.floats(0.01, 90.0)),
)
def test_no_soil_is_won_or_lost_in_the_ledger(
    rise: float,
    cut: float,
    on_digs: float,
    sod: float,
    topsoil: float,
    planting: float,
    usable: float,
    ground: str | None,
    swell: float,
    shrink: float,
    settlement: float,
    leaves: bool,
    heap: float | None,
) -> None:
    soil = Soil(swell=swell, shrink=shrink, settlement=settlement, reuse=usable, ground=ground)
    site = a_site(Bed(BLOCK, sod=sod, topsoil=topsoil, sod_leaves=leaves), soil, heap)
    held = volumes(site, rise, cut, planting * rise, on_digs)
    order = ordered(site, held)
    comes, goes = sums(order.ledger)
    assert sum(comes.values()) == pytest.approx(sum(goes.values()), abs=1e-9)
    # What stands is what the surfaces of day one enclose; what was taken out of the ground is all accounted for.
    stands = sum(goes.get(where, 0.0) for where in ("mound", "planting", "topsoil"))
    assert stands == pytest.approx((1.0 + settlement) * rise + 50.0 * (sod + topsoil), abs=1e-9)
    bank = {where: sum(one.bank for one in order.ledger if one.comes == where) for where in ("dug", "stripped")}
    assert bank["dug"] == pytest.approx(cut, abs=1e-9)
    assert bank["stripped"] == pytest.approx(50.0 * (sod + topsoil) + on_digs, abs=1e-9)
    assert sum(one.loose for one in order.ledger if one.comes == "on hand") == pytest.approx(heap or 0.0, abs=1e-9)
    assert sum(one.loose for one in order.ledger if one.goes == "leaves") == pytest.approx(order.leaves, abs=1e-9)
    used = sum(one.loose for one in order.ledger if one.comes in ("bought", "on hand") and one.goes != "left over")
    assert used == pytest.approx(order.expected, abs=1e-9)
    for one in order.ledger:
        factors = (1.0 + swell, 1.0 - shrink)
        if one.comes in ("dug", "stripped") and ground is not None:
            factors = {"clay": (1.45, 0.85), "sand": (1.10, 0.915)}[ground]  # the middles of their ranges
        assert (one.loose, one.placed) == pytest.approx((one.bank * factors[0], one.bank * factors[1]), rel=1e-9)
    assert all(min(one.bank, one.loose, one.placed) > 0.0 for one in order.ledger)


def test_what_a_subtraction_leaves_in_its_last_place_is_told_as_nothing() -> None:
    site = a_site()
    order = order_soil(site, volumes(site, 10.0))
    told = replace(order, given={**order.given, "own_low": 0.5 * NOTHING, "swell_low": 2.0 * NOTHING, "toe_3": 1e-9})
    words = given_words(told, "m")
    assert ", own low 0, " in words
    assert f", swell low {2.0 * NOTHING:.4g}, " in words
    assert "toe 3" not in words
