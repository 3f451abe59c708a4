"""The range: what it is made of, that it covers what it promises, and that it widens for a reason."""

from __future__ import annotations

import math

import numpy as np
import pytest
from berm_yards import StarYard, circle, cone, stages
from order_yards import BLOCK, a_site

from terrain.site.factors import job_factors, middle, swell_range
from terrain.site.model import Bed, Soil
from terrain.site.prices import Prices
from terrain.soil.chain import evaluated
from terrain.soil.given import given_of
from terrain.soil.measure import measure_earthwork
from terrain.soil.model import Share, Volumes
from terrain.soil.order import order_of, order_soil
from terrain.soil.ranges import (
    CENTRAL_90,
    GROUND,
    central_range,
    combined_deviation,
    cut_shares,
    fill_shares,
)
from terrain.soil.supply import Supply


def test_fill_range_is_the_mean_ground_error_and_the_sod_over_the_worked_area() -> None:
    # 60 m2, mean error 10 mm, sod 50 mm give or take a quarter: 0.6 and 0.75 m3, together 0.9605.
    shares = fill_shares(60.0, 0.010, 0.250 * 0.050)
    assert [share.deviation for share in shares] == pytest.approx([0.6, 0.75], rel=1e-12)
    assert combined_deviation(shares) == pytest.approx(math.hypot(0.6, 0.75), rel=1e-12)
    low, high = central_range(10.0, shares)
    assert (low, high) == pytest.approx((10.0 - 1.6449 * 0.9605, 10.0 + 1.6449 * 0.9605), abs=1e-3)


def test_range_never_falls_below_nothing() -> None:
    assert central_range(0.1, [Share("ground", 1.0, "")])[0] == 0.0
    assert central_range(-5.0, [Share("ground", 1.0, "")]) == (0.0, 0.0)


def test_a_perfectly_known_yard_has_no_range() -> None:
    site, ground, proposal = stages(StarYard(circle(4.0), cone(0.8)))
    work = measure_earthwork(site, ground, proposal)
    order = order_soil(site, work)
    assert work.fill_placed_low == work.fill_placed == work.fill_placed_high
    assert order.low < order.expected < order.high  # the soil factors remain


def test_measured_range_is_made_of_its_shares() -> None:
    yard = StarYard(circle(4.0), cone(0.8))
    site, ground, proposal = stages(yard, sod=0.05, mean_deviation=0.008, soil=Soil(settlement=0.08))
    work = measure_earthwork(site, ground, proposal)
    order = order_soil(site, work)
    assert [share.cause for share in work.fill_shares] == ["existing grade", "sod depth"]
    assert [share.cause for share in order.shares] == [
        *("existing grade", "sod depth", "swell", "shrink", "settlement", "soil lost on the way")
    ]
    # The causes multiply each other a little and are no bell curves: near the sum of their squares, not on it.
    reach = CENTRAL_90 * math.sqrt(sum(share.deviation**2 for share in order.shares))
    assert (order.high - order.low) / 2.0 == pytest.approx(reach, rel=0.05)
    assert all(share.source for share in order.shares)


@pytest.mark.parametrize(
    ("kind", "bounds"),
    [("loam", (0.10, 0.35)), ("Sand/Gravel", (0.05, 0.15)), ("clay", (0.30, 0.60)), ("topsoil", (0.10, 0.25))],
)
def test_swell_ranges_are_the_published_ones(kind: str, bounds: tuple[float, float]) -> None:
    # Peurifoy, Construction Planning, Equipment, and Methods, Table 4-1, as quoted 1998 (confirmed at second
    # hand).
    assert swell_range(kind) == bounds


@pytest.mark.parametrize("kind", ["common earth", "clay", "sand", "loam", "topsoil", "gravel"])
def test_a_job_is_worked_with_the_middles_of_the_published_ranges(kind: str) -> None:
    low, high = swell_range(kind)
    assert job_factors(kind, None).swell == pytest.approx((low + high) / 2.0, abs=1e-12)
    assert middle((low, high)) == pytest.approx((low + high) / 2.0, abs=1e-12)


def test_a_soil_without_a_name_in_the_table_is_as_unsure_as_common_earth() -> None:
    assert swell_range("our own mix") == swell_range("common earth")


EVEN = {"swell": (0.10, 0.35), "shrink": (0.10, 0.20), "settlement": (0.05, 0.10)}  # loam, as published


def figures(ground: float = 1.0, **changed: float) -> dict[str, float]:
    """A mound of 12.0 m3 over existing grade with 3.0 of sod under it and 2.0 of cut, in loam."""
    held = Volumes(
        fill_placed=15.0,
        worked_area=60.0,
        rise=12.0,
        sod_in_bed=3.0,
        cut_below_sod=2.0,
        fill_shares=(Share(GROUND, 0.5, ""),),
    )
    soil = Soil(swell=0.225, shrink=0.15, settlement=0.08)
    return {**given_of(a_site(soil=soil), held), "one_soil": ground, "sod_spread": 0.25, **changed}


@pytest.mark.parametrize(("name", "cause"), [("swell", "swell"), ("shrink", "shrink"), ("settlement", "settlement")])
def test_shares_of_the_order_are_its_slopes_times_the_factor_deviations(name: str, cause: str) -> None:
    step, middle = 1e-6, figures()[name]

    def balance(value: float) -> float:
        # One soil: what is bought and what lies on the site swell and shrink alike.
        alike = {f"ground_{name}": value} if name != "settlement" else {}
        return float(evaluated(figures(**{name: value}, **alike)).balance)

    slope = (balance(middle + step) - balance(middle - step)) / (2 * step)
    low, high = EVEN[name]
    share = next(one for one in order_of(figures(), Supply(), Prices()).shares if one.cause == cause)
    assert share.deviation == pytest.approx(abs(slope) * (high - low) / math.sqrt(12.0), rel=1e-6)


def test_the_ground_s_error_is_an_error_of_the_height_that_settles() -> None:
    # 0.5 m3 of placed fill too much is 0.5 x 1.08 / 0.85 x 1.225 loose.
    share = next(one for one in order_of(figures(), Supply(), Prices()).shares if one.cause == GROUND)
    assert share.deviation == pytest.approx(0.5 * 1.08 / 0.85 * 1.225, rel=1e-12)


@pytest.mark.parametrize(("leaves", "part"), [(1.0, 1.0), (0.0, 0.15)])
def test_sod_that_is_turned_under_leaves_only_its_shrink_in_doubt(leaves: float, part: float) -> None:
    # A quarter of 3.0 bank of sod either way; turned under, 0.85 of what is not there is not laid again either.
    share = next(
        one for one in order_of(figures(sod_leaves=leaves), Supply(), Prices()).shares if one.cause == "sod depth"
    )
    assert share.deviation == pytest.approx(0.25 * 3.0 * part / 0.85 * 1.225, rel=1e-9)


def test_no_settlement_allowance_has_no_doubt_about_it() -> None:
    shares = order_of(figures(settlement=0.0), Supply(), Prices()).shares
    assert "settlement" in {share.cause for share in order_of(figures(), Supply(), Prices()).shares if share.deviation}
    assert "settlement" not in {share.cause for share in shares if share.deviation}


def test_two_soils_err_apart_and_one_soil_errs_together() -> None:
    # 15.96 built, 2.0 bank of the site's own. By hand: the same soil 15.96 x 1.225 / 0.7225 a unit of shrink; two soils
    # (15.96 - 2 x 0.85) x 1.225 / 0.7225 for the bought one and 2 x 1.225 / 0.85 for the ground's.
    unit = 0.10 / math.sqrt(12.0)
    one, two = (
        {share.cause: share.deviation for share in order_of(figures(alike), Supply(), Prices()).shares}
        for alike in (1.0, 0.0)
    )
    assert one["shrink"] == pytest.approx(15.96 * 1.225 / 0.7225 * unit, rel=1e-12)
    assert two["shrink"] == pytest.approx(14.26 * 1.225 / 0.7225 * unit, rel=1e-12)
    assert two["shrink of the ground"] == pytest.approx(2.0 * 1.225 / 0.85 * unit, rel=1e-12)
    assert "shrink of the ground" not in one


def test_range_covers_nine_of_ten_simulated_orders() -> None:
    # 20,000 yards drawn with even swell and shrink and a normal ground error; the range is worked from the
    # middle.
    rng = np.random.default_rng(7)
    area, placed = 60.0, 12.0
    held = Volumes(placed, area, rise=9.0, sod_in_bed=3.0, fill_shares=fill_shares(area, 0.01, 0.0125))
    order = order_soil(a_site(Bed(BLOCK, sod=0.05), Soil(swell=0.225, shrink=0.15)), held)
    low, high = order.low, order.high
    drawn = placed + area * rng.normal(0.0, math.hypot(0.01, 0.0125), 20_000)
    orders = drawn * (1.0 + rng.uniform(0.10, 0.35, 20_000)) / (1.0 - rng.uniform(0.10, 0.20, 20_000))
    assert np.mean((orders >= low) & (orders <= high)) == pytest.approx(0.90, abs=0.03)


def test_ground_s_error_over_the_digs_is_the_cut_s() -> None:
    deviation = np.array([[0.02, 0.04], [0.01, 0.5]])
    dug = np.array([[True, True], [False, False]])
    (share,) = cut_shares(deviation, dug, 0.25)
    assert share.cause == "existing grade"
    assert share.deviation == pytest.approx(0.25 * 0.06, rel=1e-12)
    low, high = central_range(1.0, (share,))
    assert high - low == pytest.approx(2.0 * 1.6448536 * 0.015, rel=1e-6)
    assert cut_shares(deviation, np.zeros((2, 2), dtype=bool), 0.25)[0].deviation == 0.0
