"""Pipes, pumps, basins and sheets held against published figures and worked examples, and against `fluids`."""

from __future__ import annotations

import math

import pytest
from fluids.friction import friction_factor as colebrook, friction_laminar
from hypothesis import given, strategies as st

from terrain.limits import FOOT, INCH
from terrain.waterworks.membrane import box_sheet, developed_width, with_edges
from terrain.waterworks.pipe import PipeRun, bore_of, friction_factor
from terrain.waterworks.pump import operating_point, power, pump_head, yearly_energy
from terrain.waterworks.store import Store, evaporated

GALLON = 231.0 * INCH**3
GPM = GALLON / 60.0


def test_friction_factor_of_a_worked_case() -> None:
    """Re 1e5, e/D 1e-4: Swamee and Jain 0.01845245, Colebrook 0.01851387, as the documentation of `fluids` prints."""
    assert friction_factor(1e5, 1e-4) == pytest.approx(0.018452445, rel=1e-6)
    assert colebrook(Re=1e5, eD=1e-4) == pytest.approx(0.0185138661, rel=1e-6)


@given(st.floats(5e3, 1e6), st.floats(1e-6, 1e-3))
def test_friction_factor_beside_colebrook(reynolds: float, relative: float) -> None:
    """Swamee and Jain stay within 3 % of the implicit formula that they stand in for (1 % from Re 2e4 on)."""
    within = 0.01 if reynolds > 2e4 else 0.03
    assert friction_factor(reynolds, relative) == pytest.approx(colebrook(Re=reynolds, eD=relative), rel=within)
    assert friction_factor(1500.0, relative) == pytest.approx(friction_laminar(1500.0), rel=1e-12)


# Loss in feet for 100 ft of smooth pipe, by gallons a minute and nominal inches: calc, by Darcy and Weisbach; Hazen and
# Williams with C 150 beside it.
LOSSES = [
    (20, 1.25, 5.31, 5.27),
    (20, 1.5, 2.54, 2.49),
    (20, 2.0, 0.77, 0.74),
    (20, 3.0, 0.12, 0.11),
    (30, 1.25, 10.95, 11.16),
    (30, 1.5, 5.23, 5.27),
    (30, 2.0, 1.58, 1.56),
    (30, 3.0, 0.24, 0.23),
    (40, 1.25, 18.4, 19.0),
    (40, 1.5, 8.75, 8.98),
    (40, 2.0, 2.64, 2.66),
    (40, 3.0, 0.40, 0.39),
    (60, 2.0, 5.45, 5.64),
    (60, 3.0, 0.82, 0.83),
]


@pytest.mark.parametrize(("gpm", "inches", "darcy", "hazen"), LOSSES)
def test_loss_in_smooth_pipe(gpm: float, inches: float, darcy: float, hazen: float) -> None:
    pipe = PipeRun(100.0 * FOOT, bore_of(inches * INCH, "smooth"), "smooth", 0.0)
    loss = pipe.loss(gpm * GPM) / FOOT
    assert loss == pytest.approx(darcy, abs=0.006 if darcy < 10.0 else 0.06)
    assert loss == pytest.approx(hazen, rel=0.10)
    assert 0.2083 * (100.0 / 150.0) ** 1.852 * gpm**1.852 / (pipe.bore / INCH) ** 4.8655 == pytest.approx(
        hazen, abs=0.006 if hazen < 10.0 else 0.06
    )


@pytest.mark.parametrize(
    ("inches", "kind", "head"), [(2.0, "smooth", 7.36), (1.5, "smooth", 12.05), (1.5, "corrugated", 31.5)]
)
def test_the_worked_pipe(inches: float, kind: str, head: float) -> None:
    """40 gal/min, lift 5 ft, 40 ft of pipe, loss factors 5.75: calc."""
    assert kind in ("smooth", "corrugated")
    named = "smooth" if kind == "smooth" else "corrugated"
    pipe = PipeRun(40.0 * FOOT, bore_of(inches * INCH, named), named, 5.75)
    assert 5.0 + pipe.loss(40.0 * GPM) / FOOT == pytest.approx(head, abs=0.06 if head > 20.0 else 6e-3)
    assert pipe.loss(0.0) == 0.0


def test_an_iron_pipe_of_a_textbook() -> None:
    """300 mm, 6 m, 2 m/s, e 0.12 mm, nu 1e-6: f 0.0169 printed, 0.01695 by Swamee and Jain."""
    assert friction_factor(2.0 * 0.3 / 1e-6, 0.12 / 300.0) == pytest.approx(0.0169, abs=1e-4)


@pytest.mark.parametrize(("inches", "gpm"), [(1.0, 13.5), (1.25, 23.3), (1.5, 31.7), (2.0, 52.3), (3.0, 115.0)])
def test_flow_at_five_feet_a_second(inches: float, gpm: float) -> None:
    """By the bores of schedule 40: 1.049, 1.380, 1.610, 2.067, 3.068 in."""
    pipe = PipeRun(1.0, bore_of(inches * INCH, "smooth"), "smooth", 0.0)
    assert pipe.speed(gpm * GPM) / FOOT == pytest.approx(5.0, rel=5e-3)


def test_the_water_in_a_pipe() -> None:
    """40 ft of 2 in, 2.067 in inside: 0.1743 gal a foot, 7.0 gal."""
    pipe = PipeRun(40.0 * FOOT, bore_of(2.0 * INCH, "smooth"), "smooth", 0.0)
    assert pipe.volume / GALLON == pytest.approx(6.97, abs=5e-3)
    assert bore_of(0.0508, "smooth") == bore_of(2.0 * INCH, "smooth")
    assert bore_of(0.051, "smooth") == 0.051
    assert bore_of(2.0 * INCH, "corrugated") == 2.0 * INCH


# A pump of 18 ft at no flow and 70 gal/min at no head, its curve a parabola, on 5 ft of lift, 40 ft of pipe and loss
# factors of 5.75: calc.
POINTS = [
    (2.0, "smooth", 50.4, 8.67, 4.8),
    (2.0, "corrugated", 41.5, 11.7, 4.2),
    (1.5, "smooth", 40.1, 12.1, 6.3),
    (1.5, "corrugated", 25.3, 15.6, 4.6),
]
CURVE = [(0.0, 18.0 * FOOT), (35.0 * GPM, 13.5 * FOOT), (70.0 * GPM, 0.0)]


@pytest.mark.parametrize(("inches", "kind", "gpm", "head", "speed"), POINTS)
def test_where_a_pump_works(inches: float, kind: str, gpm: float, head: float, speed: float) -> None:
    named = "smooth" if kind == "smooth" else "corrugated"
    pipe = PipeRun(40.0 * FOOT, bore_of(inches * INCH, named), named, 5.75)
    found = operating_point(CURVE, lambda flow: 5.0 * FOOT + pipe.loss(flow))
    assert found is not None
    assert found[0] / GPM == pytest.approx(gpm, abs=0.06)
    assert found[1] / FOOT == pytest.approx(head, abs=0.06)
    assert pipe.speed(found[0]) / FOOT == pytest.approx(speed, abs=0.06)


def test_a_pump_that_is_too_weak_or_whose_curve_ends_early() -> None:
    without = operating_point(CURVE, lambda flow: 5.0 * FOOT)
    assert without is not None
    assert without[0] / GPM == pytest.approx(59.5, abs=0.06)
    assert operating_point(CURVE, lambda flow: 19.0 * FOOT) is None
    assert operating_point(CURVE[:2], lambda flow: 5.0 * FOOT) is None
    assert math.isinf(pump_head(CURVE, 71.0 * GPM))


def test_power_of_published_examples() -> None:
    """30 L/min by 15 m at 60 %: 122.6 W; 20 L/s by 30 m at 75 %: 7.85 kW; 20 gal/min by 20 ft: 0.101 hp."""
    assert power(0.5e-3, 15.0, 0.60) == pytest.approx(122.6, abs=0.06)
    assert power(20e-3, 30.0, 0.75) == pytest.approx(7848.0, abs=4.0)
    assert power(20.0 * GPM, 20.0 * FOOT, 1.0) / 745.7 == pytest.approx(0.101, abs=5e-4)
    assert power(40.0 * GPM, 7.36 * FOOT, 0.35) == pytest.approx(158.0, abs=1.0)
    assert yearly_energy(158.4, 12.0) == pytest.approx(694.0, abs=0.6)
    assert yearly_energy(158.4, 24.0) == pytest.approx(1388.0, abs=1.0)


def test_the_worked_basin() -> None:
    """6 x 5 ft inside, 2 ft of water, 9 in for the intake, 40 % of voids; 36.7 gal under way: calc."""
    basin = Store(30.0 * FOOT**2, 2.0 * FOOT, 0.75 * FOOT, 0.40)
    water = 36.7 * GALLON
    assert basin.volume / GALLON == pytest.approx(179.5, abs=0.06)
    assert basin.usable / GALLON == pytest.approx(112.2, abs=0.06)
    assert basin.volume / basin.full * FOOT / GALLON == pytest.approx(89.77, abs=6e-3)
    assert basin.volume / basin.full * INCH / GALLON == pytest.approx(7.48, abs=6e-3)
    assert basin.drop(water) / INCH == pytest.approx(4.9, abs=0.06)
    lost = evaporated(60.0 * FOOT**2)
    assert lost / GALLON == pytest.approx(8.42, abs=6e-3)  # 0.6234 gal for a square foot and an inch, pan x 0.75
    assert basin.days(water, lost) == pytest.approx(9.0, abs=0.06)
    assert basin.days(2.0 * basin.usable, lost) == 0.0
    least = Store(basin.least_area(water), basin.full, basin.intake, basin.voids)
    assert least.usable == pytest.approx(water, rel=1e-12)
    least = Store(basin.area, basin.least_full(water), basin.intake, basin.voids)
    assert least.usable == pytest.approx(water, rel=1e-12)


def test_the_void_ratio_is_no_porosity() -> None:
    """A void ratio of 0.4 is a porosity of 0.286: 29 % less water than a porosity of 0.4."""
    full = Store(1.0, 1.0, 0.0, 0.4).volume
    assert Store(1.0, 1.0, 0.0, 0.4 / 1.4).volume == pytest.approx(0.714 * full, rel=1e-3)


def test_sheets_of_published_pages() -> None:
    """The basin's rule, length + 2 depth + 2 edge: 10 x 8 x 6 ft, 6 in of edge: 23 x 21; 10 x 8 x 4, 2 ft: 22 x 20.

    Slack of 5 % on the body is laid on top (NRCS Arizona 428B).
    """
    for length, width, depth, edge, printed in ((10, 8, 6, 0.5, (23, 21)), (10, 8, 4, 2.0, (22, 20))):
        found = box_sheet(length, width, depth, edge)
        bare = tuple((one - 2.0 * edge) / 1.05 + 2.0 * edge for one in found)
        assert bare == pytest.approx(printed, rel=1e-12)
    assert box_sheet(6.0, 5.0, 2.0, 1.0) == pytest.approx((12.5, 11.45), rel=1e-12)


def test_the_worked_sheet() -> None:
    """Bed 1 ft, 9 in deep, sides 1:1: 3.121 ft across, 4.777 with edges of 9 in; 20 ft at 4 %, 2.5 ft of drops."""
    across = developed_width(1.0, 0.75, 1.0)
    assert across == pytest.approx(3.121, abs=5e-4)
    assert with_edges(across, 0.75) == pytest.approx(4.777, abs=5e-4)
    assert with_edges(math.hypot(20.0, 0.8) + 2.5, 2.0) == pytest.approx(27.64, abs=5e-3)
