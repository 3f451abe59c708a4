"""Lips, beds and drops held against published figures and worked examples, and against an independent library.

"calc": worked from the source's formula with its own constants, no figure of the source itself. The library is `fluids`
(test extra), which has Manning's, Kindsvater and Carter's and Swamee and Jain's formulas of its own.
"""

from __future__ import annotations

import math

import pytest
from fluids.open_flow import Q_weir_rectangular_full_Kindsvater_Carter, V_Manning
from hypothesis import given, strategies as st

from terrain.waterworks.armour import steady_stone
from terrain.waterworks.depth import manning_flow, normal_depth
from terrain.waterworks.lip import brink_depth, fall_speed, head_range, lip_head, throw, uneven

INCH, FOOT = 0.0254, 0.3048
GPM = 231.0 * INCH**3 / 60.0  # m3/s
GPH_PER_INCH = GPM / 60.0 / INCH  # m2/s
FEET3 = FOOT**3


@pytest.mark.parametrize(
    ("inches", "gph"), [(0.25, 22.5), (0.5, 63.6), (0.75, 116.8), (1.0, 179.8), (1.5, 330.0), (2.0, 508.0)]
)
def test_head_over_a_full_lip(inches: float, gph: float) -> None:
    """Francis, Q = 3.33 L H^1.5 (USBR Water Measurement Manual, ch. 7), tabled by the inch of lip: calc."""
    assert lip_head(gph * GPH_PER_INCH, 1.0) / INCH == pytest.approx(inches, rel=2e-3)


@pytest.mark.parametrize(
    ("length", "head", "flow"),
    [
        (2.0, 0.45, 1.919979),  # printed 1.92 in a worksheet that quotes the USBR manual, ch. 7
        (1.5, 0.0833333, 0.1188258),  # calc
    ],
)
def test_head_over_a_contracted_lip(length: float, head: float, flow: float) -> None:
    assert lip_head(flow * FEET3, length * FOOT, contracted=True) / FOOT == pytest.approx(head, rel=1e-5)


@pytest.mark.parametrize(("length", "head", "flow"), [(1.407, 0.20, 0.22497), (2.5, 0.40, 1.12648)])
def test_head_over_a_contracted_lip_in_metres(length: float, head: float, flow: float) -> None:
    """Exam pages with Francis's 1.84 in SI, which is 0.08 % above 3.33 in feet: calc."""
    assert lip_head(flow, length, contracted=True) == pytest.approx(head, rel=1e-3)


@pytest.mark.parametrize("head", [0.03, 0.06, 0.1, 0.2, 0.3])
def test_two_formulas_for_a_full_lip_agree(head: float) -> None:
    """ISO 1438's form of Kindsvater and Carter by `fluids`, the crest high over the floor: within 3 %."""
    flow = Q_weir_rectangular_full_Kindsvater_Carter(h1=head, h2=10.0 * head, b=2.0)
    assert lip_head(flow, 2.0) == pytest.approx(head, rel=0.02)  # 3 % of flow are 2 % of head


def test_the_worked_lip() -> None:
    """40 gal/min over 18 in: head 0.819 in, 0.824 in contracted, about 0.41 in deep on the edge: calc."""
    flow, lip = 40.0 * GPM, 1.5 * FOOT
    head = lip_head(flow, lip)
    assert head / INCH == pytest.approx(0.819, abs=5e-4)
    assert lip_head(flow, lip, contracted=True) / INCH == pytest.approx(0.824, abs=5e-4)
    assert brink_depth(flow, lip) / head == pytest.approx(0.50, abs=0.01)
    low, high = head_range(head)
    assert (lip_head(0.85 * flow, lip), lip_head(1.15 * flow, lip)) != pytest.approx((low, high))
    assert (low, high) == pytest.approx((head * 1.15 ** (-2 / 3), head * 0.85 ** (-2 / 3)), rel=1e-12)
    assert lip_head(flow, 2.0 * lip) / head == pytest.approx(1.0 / 1.59, abs=2e-3)


@pytest.mark.parametrize(("sixteenths", "share"), [(4, 0.59), (2, 0.26), (1, 0.12)])
def test_a_lip_out_of_level(sixteenths: int, share: float) -> None:
    """Local head to the power of 1.5 at either end of a lip under 0.82 in of head: calc."""
    assert uneven(0.82 * INCH, sixteenths * INCH / 16.0) == pytest.approx(share, abs=6e-3)
    assert math.isinf(uneven(0.125 * INCH, 0.25 * INCH))


@pytest.mark.parametrize(("drop", "reach", "speed"), [(0.5, 3.7, 5.7), (1.0, 5.2, 8.0), (2.0, 7.3, 11.3)])
def test_where_a_sheet_lands(drop: float, reach: float, speed: float) -> None:
    """0.0594 ft2/s over drops of 6, 12 and 24 in: throw in inches, speed at the foot in ft/s: calc."""
    flow, lip = 40.0 * GPM, 1.5 * FOOT
    assert throw(flow, lip, drop * FOOT) / INCH == pytest.approx(reach, abs=0.06)
    assert fall_speed(drop * FOOT) / FOOT == pytest.approx(speed, abs=0.06)
    assert throw(0.0, lip, drop * FOOT) == 0.0


def test_speed_by_manning() -> None:
    """R 0.2859 m, S 0.005236, n 0.03: 1.0468 m/s (a textbook example that `fluids` quotes); V_Manning of `fluids`."""
    radius, slope, n = 0.2859, 0.005236, 0.03
    wide = 1e6  # of so wide a bed the hydraulic radius is the depth
    assert manning_flow(radius, wide, 0.0, slope, n) / (radius * wide) == pytest.approx(1.046778, rel=2e-6)
    assert V_Manning(Rh=radius, S=slope, n=n) == pytest.approx(1.046778196, rel=1e-9)


@pytest.mark.parametrize(
    ("flow", "width", "run", "n", "slope", "depth", "within"),
    [
        (400.0, 20.0, 2.0, 0.025, 0.0016, 3.360968, 5e-5),  # Chow 1959 ex. 6-2 prints 3.36 ft; k = 1.486
        (1500.0, 20.0, 1.5, 0.014, 0.0003, 8.18, 1e-2),  # a course page prints 8.18 and 9.13 ft
        (1500.0, 20.0, 1.5, 0.014, 0.0002, 9.13, 1e-2),
    ],
)
def test_normal_depth_of_published_channels(
    flow: float, width: float, run: float, n: float, slope: float, depth: float, within: float
) -> None:
    running = normal_depth(flow * FEET3, width * FOOT, run, slope, n)
    assert running.depth / FOOT == pytest.approx(depth, rel=within)


# Depth in inches and gallons for each foot of a bed of 1 ft with sides of 1:1, by flow and slope, at n 0.05, 0.10 and
# 0.20: calc.
BEDS = {
    (20.0, 0.04): ((0.64, 0.42), (0.97, 0.65), (1.47, 1.03)),
    (40.0, 0.02): ((1.19, 0.82), (1.80, 1.29), (2.71, 2.08)),
    (40.0, 0.04): ((0.97, 0.65), (1.47, 1.03), (2.21, 1.64)),
    (40.0, 0.08): ((0.79, 0.52), (1.19, 0.82), (1.80, 1.29)),
    (60.0, 0.04): ((1.24, 0.85), (1.87, 1.35), (2.81, 2.16)),
}


@pytest.mark.parametrize("gpm_slope", BEDS)
def test_depth_and_water_of_a_garden_bed(gpm_slope: tuple[float, float]) -> None:
    gpm, slope = gpm_slope
    for n, (depth, gallons) in zip((0.05, 0.10, 0.20), BEDS[gpm_slope], strict=True):
        running = normal_depth(gpm * GPM, FOOT, 1.0, slope, n)
        assert running.depth / INCH == pytest.approx(depth, abs=6e-3)
        assert running.area / FOOT**2 * 7.48052 == pytest.approx(gallons, abs=6e-3)


def test_the_worked_bed_runs_calmly() -> None:
    running = normal_depth(40.0 * GPM, FOOT, 1.0, 0.04, 0.10)
    assert running.speed / FOOT == pytest.approx(0.65, abs=5e-3)
    assert running.speed / math.sqrt(9.80665 * running.area / running.top) == pytest.approx(0.34, abs=5e-3)  # Froude
    assert running.area / FOOT**2 * 7.48052 == pytest.approx(1.027, abs=1e-3)
    dry = normal_depth(0.0, FOOT, 1.0, 0.04, 0.10)
    assert (dry.depth, dry.speed) == (0.0, 0.0)


@given(st.floats(1e-4, 1e-2), st.floats(0.1, 1.5), st.floats(0.0, 3.0), st.floats(0.003, 0.2), st.floats(0.02, 0.3))
def test_depth_follows_flow_roughness_slope_and_width(
    flow: float, width: float, run: float, slope: float, n: float
) -> None:
    """Water rises with flow and roughness, falls with slope and width, and follows Q n / sqrt(S) alone."""
    depth = normal_depth(flow, width, run, slope, n).depth
    assert normal_depth(1.2 * flow, width, run, slope, n).depth > depth
    assert normal_depth(flow, width, run, slope, 1.2 * n).depth > depth
    assert normal_depth(flow, width, run, 1.2 * slope, n).depth < depth
    assert normal_depth(flow, 1.2 * width, run, slope, n).depth < depth
    assert normal_depth(flow / 2.0, width, run, slope, 2.0 * n).depth == pytest.approx(depth, rel=1e-8)
    assert normal_depth(2.0 * flow, width, run, 4.0 * slope, n).depth == pytest.approx(depth, rel=1e-8)


@pytest.mark.parametrize(("speed", "inches"), [(1, 0.15), (2, 0.61), (3, 1.38), (4, 2.45), (6, 5.5), (8, 9.8)])
def test_stone_that_stays(speed: float, inches: float) -> None:
    """Isbash with C 0.86, specific gravity 2.65, as NCHRP 568 (2006) quotes it: calc."""
    assert steady_stone(speed * FOOT) / INCH == pytest.approx(inches, rel=0.02)
    assert steady_stone(8.02 * FOOT) / INCH == pytest.approx(9.829107, rel=1e-4)
