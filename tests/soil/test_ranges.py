"""The range: what it is made of, that it covers what it promises, and that it widens for a reason."""

from __future__ import annotations

import math

import numpy as np
import pytest
from berm_yards import StarYard, circle, cone, stages

from terrain.site.model import Soil
from terrain.site.soil_states import loose_to_order
from terrain.soil.measure import measure_earthwork
from terrain.soil.model import Share
from terrain.soil.ranges import (
    CENTRAL_90,
    SHRINK_RANGE,
    central_range,
    combined_deviation,
    cut_shares,
    even_deviation,
    fill_shares,
    in_loose,
    order_shares,
    swell_range,
)


def test_fill_range_is_the_mean_ground_error_and_the_sod_over_the_worked_area() -> None:
    # 60 m2, mean error 10 mm, sod 50 mm give or take a quarter: 0.6 and 0.75 m3, together 0.9605.
    shares = fill_shares(60.0, 0.010, 0.050)
    assert [share.deviation for share in shares] == pytest.approx([0.6, 0.75], rel=1e-12)
    assert combined_deviation(shares) == pytest.approx(math.hypot(0.6, 0.75), rel=1e-12)
    low, high = central_range(10.0, shares)
    assert (low, high) == pytest.approx((10.0 - 1.6449 * 0.9605, 10.0 + 1.6449 * 0.9605), abs=1e-3)


def test_range_never_falls_below_nothing() -> None:
    assert central_range(0.1, [Share("ground", 1.0, "")])[0] == 0.0
    assert central_range(-5.0, [Share("ground", 1.0, "")]) == (0.0, 0.0)


def test_a_perfectly_known_yard_has_no_range() -> None:
    work = measure_earthwork(*stages(StarYard(circle(4.0), cone(0.8))))
    assert work.fill_placed_low == work.fill_placed == work.fill_placed_high
    assert work.import_loose_low < work.import_loose < work.import_loose_high  # the soil factors remain


def test_measured_range_is_made_of_its_shares() -> None:
    yard = StarYard(circle(4.0), cone(0.8))
    work = measure_earthwork(*stages(yard, sod=0.05, mean_deviation=0.008, soil=Soil(settlement=0.08)))
    assert [share.cause for share in work.fill_shares] == ["existing grade", "sod depth"]
    causes = [share.cause for share in work.import_shares]
    assert causes == ["existing grade", "sod depth", "swell", "shrink", "settlement"]
    reach = CENTRAL_90 * math.sqrt(sum(share.deviation**2 for share in work.import_shares))
    assert work.import_loose_high - work.import_loose == pytest.approx(reach, rel=1e-9)
    assert work.import_loose - work.import_loose_low == pytest.approx(reach, rel=1e-9)
    assert all(share.source for share in work.import_shares)


@pytest.mark.parametrize(
    ("kind", "bounds"),
    [("loam", (0.10, 0.35)), ("Sand/Gravel", (0.05, 0.15)), ("clay", (0.30, 0.60)), ("topsoil", (0.10, 0.25))],
)
def test_swell_ranges_are_the_published_ones(kind: str, bounds: tuple[float, float]) -> None:
    # Peurifoy, Construction Planning, Equipment, and Methods, Table 4-1, as quoted 1998 (confirmed at second
    # hand).
    assert swell_range(kind) == bounds


@pytest.mark.parametrize(("kind", "swell"), [("common earth", 0.25), ("clay", 0.43), ("sand", 0.11), ("loam", 0.25)])
def test_default_factors_lie_inside_the_published_ranges(kind: str, swell: float) -> None:
    low, high = swell_range(kind)
    assert low <= swell <= high


def test_a_soil_without_a_name_in_the_table_is_as_unsure_as_common_earth() -> None:
    assert swell_range("our own mix") == swell_range("common earth")


def test_shares_of_the_order_are_its_slopes_times_the_factor_deviations() -> None:
    soil, placed, cut = Soil(swell=0.25, shrink=0.10, settlement=0.08), 12.0, 2.0

    def order(swell: float, shrink: float, settled: float) -> float:
        return loose_to_order(placed, Soil(swell=swell, shrink=shrink), settled) - cut * (1.0 + swell)

    step = 1e-6
    slopes = [
        (order(0.25 + step, 0.10, 0.08) - order(0.25 - step, 0.10, 0.08)) / (2 * step),
        (order(0.25, 0.10 + step, 0.08) - order(0.25, 0.10 - step, 0.08)) / (2 * step),
        (order(0.25, 0.10, 0.08 + step) - order(0.25, 0.10, 0.08 - step)) / (2 * step),
    ]
    deviations = [even_deviation(swell_range("loam")), even_deviation(SHRINK_RANGE), even_deviation((0.05, 0.10))]
    shares = order_shares(placed * 1.08, cut, soil)
    expected = [abs(slope) * deviation for slope, deviation in zip(slopes, deviations, strict=True)]
    assert [share.deviation for share in shares] == pytest.approx(expected, rel=1e-6)


def test_no_settlement_allowance_has_no_doubt_about_it() -> None:
    assert [share.deviation for share in order_shares(12.0, 0.0, Soil()) if share.cause == "settlement"] == [0.0]


def test_two_soils_err_apart_and_one_soil_errs_together() -> None:
    # 12.0 built, 2.0 bank of the site's own. By hand: the same soil 12 x 1.25 / 0.81 a unit of shrink; two soils
    # (12 - 2 x 0.9) x 1.25 / 0.81 for the bought one and 2 x 1.25 / 0.9 for the ground's.
    unit = even_deviation(SHRINK_RANGE)
    one = {share.cause: share.deviation for share in order_shares(12.0, 2.0, Soil())}
    two = {share.cause: share.deviation for share in order_shares(12.0, 2.0, Soil(ground="loam"))}
    assert one["shrink"] == pytest.approx(12.0 * 1.25 / 0.81 * unit, rel=1e-12)
    assert two["shrink"] == pytest.approx(10.2 * 1.25 / 0.81 * unit, rel=1e-12)
    assert two["shrink of the ground"] == pytest.approx(2.0 * 1.25 / 0.9 * unit, rel=1e-12)
    assert "shrink of the ground" not in one


def test_range_covers_nine_of_ten_simulated_orders() -> None:
    # 20,000 yards drawn with even swell and shrink and a normal ground error; the range is worked from the
    # middle.
    rng = np.random.default_rng(7)
    soil, area, placed = Soil(swell=0.225, shrink=0.15), 60.0, 12.0
    shares = in_loose(fill_shares(area, 0.01, 0.05), soil, 0.0) + order_shares(placed, 0.0, soil)
    low, high = central_range(loose_to_order(placed, soil, 0.0), shares)
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
