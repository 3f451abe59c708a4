"""The Earthwork stage: three ways agree, every derived quantity follows in plain arithmetic."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from berm_yards import StarYard, circle, cone, kidney, paraboloid, raised_cosine, stages

from terrain.site.model import Soil
from terrain.soil.measure import measure_earthwork
from terrain.soil.model import Earthwork
from terrain.soil.order import Order, order_soil
from terrain.soil.sections import cut_sections, long_axis

YARDS = {
    "round, cosine": (circle(4.0), raised_cosine(0.6)),
    "round, cone": (circle(4.0), cone(0.8)),
    "round, paraboloid": (circle(4.0), paraboloid(0.5)),
    "kidney, cosine": (kidney(4.0), raised_cosine(0.7)),
    "kidney, cone": (kidney(4.0), cone(0.7)),
}


def work_on(yard: StarYard, **options: object) -> Earthwork:
    return measure_earthwork(*stages(yard, **options))


def ordered_on(yard: StarYard, **options: object) -> tuple[Earthwork, Order]:
    site, ground, proposal = stages(yard, **options)
    work = measure_earthwork(site, ground, proposal)
    return work, order_soil(site, work)


@pytest.mark.parametrize("name", YARDS)
@pytest.mark.parametrize("sod", [0.0, 0.05])
@pytest.mark.parametrize("turn", [0.0, 0.6])
def test_three_ways_of_measuring_agree(name: str, sod: float, turn: float) -> None:
    radius, form = YARDS[name]
    checks = work_on(StarYard(radius, form, plane=(30.0, 0.04, -0.02), turn=turn), sod=sod).checks
    assert checks.grid == pytest.approx(checks.mesh, rel=0.002)
    assert checks.sections == pytest.approx(checks.mesh, rel=0.002)


def test_placed_fill_of_a_cone_on_stripped_ground_meets_the_closed_form() -> None:
    work = work_on(StarYard(circle(4.0), cone(0.8), spokes=1024, rings=16), sod=0.05)
    exact = math.pi * 16.0 * (0.8 / 3.0 + 0.05)
    for measured in (work.checks.grid, work.checks.mesh, work.checks.sections):
        assert measured == pytest.approx(exact, rel=0.002)
    assert work.fill_placed == work.checks.mesh
    assert work.cut_bank == 0.0


def test_layers_cover_the_worked_area() -> None:
    yard = StarYard(kidney(4.0), cone(0.7))
    work = work_on(yard, sod=0.05, mulch=0.08)
    assert work.bed_area == yard.outline.area
    assert work.worked_area == yard.outline.area
    assert work.sod == pytest.approx(0.05 * yard.outline.area, rel=1e-12)
    assert work.mulch == pytest.approx(0.08 * yard.outline.area, rel=1e-12)


def test_a_hole_in_the_bed_takes_neither_sod_nor_fill_nor_mulch() -> None:
    yard = StarYard(circle(4.0), raised_cosine(0.0), spokes=64, rings=16)
    site, ground, proposal = stages(yard, sod=0.05, mulch=0.08)
    hole = StarYard(circle(1.0), raised_cosine(0.0), spokes=64).outline
    mesh = proposal.mesh
    kept = np.arange(len(mesh.triangles)) < 64 * 7  # rings 1 to 4 of 16 reach to a radius of 1.0
    holed = replace(proposal, worked=proposal.worked.difference(hole), mesh=replace(mesh, inside=mesh.inside & ~kept))
    work = measure_earthwork(site, ground, holed)
    area = yard.outline.area - hole.area
    assert work.worked_area == pytest.approx(area, rel=1e-9)
    assert (work.sod, work.mulch) == pytest.approx((0.05 * area, 0.08 * area), rel=1e-9)
    assert work.checks.mesh == pytest.approx(0.05 * area, rel=1e-6)
    assert work.checks.grid == pytest.approx(0.05 * area, rel=1e-6)
    assert work.checks.sections == pytest.approx(0.05 * area, rel=0.005)  # chords of two circles between 121 sections


# Cubic yards on 100 square feet: tables of many suppliers agree for 1 to 4 in; one prints too much coverage
# at 8 and 10 in (45 and 36 square feet a yard for 40.5 and 32.4), which is wrong.
@pytest.mark.parametrize(
    ("inches", "yards"), [(1, 0.309), (2, 0.617), (3, 0.926), (4, 1.235), (6, 1.852), (8, 2.469), (10, 3.086)]
)
def test_mulch_and_sod_cover_as_the_coverage_tables_say(inches: float, yards: float) -> None:
    foot = 0.3048
    hundred_square_feet = circle(math.sqrt(100.0 / math.pi) * foot)
    yard = StarYard(hundred_square_feet, cone(0.0), spokes=2048, rings=2)
    work = measure_earthwork(*stages(yard, cell=0.2, sod=inches * foot / 12.0, mulch=inches * foot / 12.0))
    assert work.mulch / (27.0 * foot**3) == pytest.approx(yards, abs=5.1e-4)
    assert work.fill_placed / (27.0 * foot**3) == pytest.approx(yards, abs=5.1e-4)  # what was stripped is put back


def test_order_loads_and_cost_follow_in_plain_arithmetic() -> None:
    soil = Soil(swell=0.25, shrink=0.10, settlement=0.08, truck=7.6, barrow=0.085, price=55.0, sold_in=0.5)
    work, order = ordered_on(StarYard(circle(4.0), cone(0.8)), soil=soil)
    loose = work.fill_placed / 0.90 * 1.25 * 1.08
    assert order.expected == pytest.approx(loose, rel=1e-12)
    assert order.leaves == 0.0
    assert work.day_one_factor == 1.08
    bought = math.ceil((loose + 0.8416212 * order.deviation) / 0.5) * 0.5
    assert order.quantity == pytest.approx(bought, rel=1e-12)
    assert order.haul.trucks == math.ceil(bought / 7.6)
    assert order.haul.barrows == math.ceil(bought / 0.085)
    assert order.cost == pytest.approx(55.0 * bought, rel=1e-12)


def test_no_truck_no_barrow_and_no_price_give_none() -> None:
    _, order = ordered_on(StarYard(circle(4.0), cone(0.8)))
    assert (order.haul.trucks, order.haul.barrows, order.cost) == (None, None, None)


def test_cut_is_measured_apart_and_used_before_soil_is_bought() -> None:
    # Ground lowered by a cone, no fill at all: the whole cut leaves as loose soil.
    yard = StarYard(circle(4.0), lambda share: -cone(0.8)(share), spokes=512, rings=32)
    work, order = ordered_on(yard, soil=Soil(swell=0.25, shrink=0.10, truck=5.0))
    cut = math.pi * 16.0 * 0.8 / 3.0
    assert work.cut_bank == pytest.approx(cut, rel=1e-3)
    assert (work.fill_placed, work.rise) == (0.0, 0.0)
    assert work.checks.grid == pytest.approx(0.0, abs=1e-9)
    assert work.checks.sections == 0.0
    assert order.expected == 0.0
    assert order.haul.trucks == 0
    assert order.leaves == pytest.approx(1.25 * work.cut_bank, rel=1e-12)


def test_fill_and_cut_side_by_side_balance() -> None:
    # A mound inside, a moat around it: the form changes sign half way out.
    yard = StarYard(circle(4.0), lambda share: 0.5 * np.sin(2.0 * np.pi * np.minimum(share, 1.0)), rings=128)
    work, order = ordered_on(yard, sod=0.05, soil=Soil(swell=0.25, shrink=0.10))
    assert work.cut_bank > 1.0
    assert work.checks.grid == pytest.approx(work.fill_placed, rel=0.005)
    assert work.checks.sections == pytest.approx(work.fill_placed, rel=0.005)
    balance = work.fill_placed / 0.90 * 1.25 - work.cut_bank * 1.25
    assert order.balance == pytest.approx(balance, rel=1e-9)


def test_nothing_built_orders_nothing() -> None:
    work, order = ordered_on(StarYard(circle(4.0), cone(0.0)), soil=Soil(truck=5.0, barrow=0.1))
    assert (work.fill_placed, order.expected, order.haul.trucks, order.haul.barrows) == (0.0, 0.0, 0, 0)


def test_the_order_does_not_depend_on_where_the_survey_stands_or_how_it_is_turned() -> None:
    work, here = ordered_on(StarYard(kidney(4.0), raised_cosine(0.7)), sod=0.05)
    moved, there = ordered_on(StarYard(kidney(4.0), raised_cosine(0.7), centre=(1e6, 1e6), turn=1.1), sod=0.05)
    assert there.expected == pytest.approx(here.expected, rel=1e-6)
    assert moved.checks.grid == pytest.approx(work.checks.grid, rel=0.003)
    assert moved.checks.sections == pytest.approx(work.checks.sections, rel=0.003)


def test_stations_cross_the_long_axis_and_their_areas_are_known() -> None:
    yard = StarYard(lambda angle: 4.0 / np.hypot(np.cos(angle) / 1.5, np.sin(angle)), cone(0.8), turn=0.4)
    site, _, proposal = stages(yard)
    areas, stations = cut_sections(proposal.grid, proposal.fill, proposal.worked, direction=long_axis(site.bed.outline))
    assert len(stations) == len(areas) >= 60
    assert long_axis(site.bed.outline) == pytest.approx((math.cos(0.4), math.sin(0.4)), abs=0.02)
    assert stations[-1] == pytest.approx(12.0, abs=0.01)
    assert areas.max() == pytest.approx(0.8 * 4.0, rel=0.002)  # a triangle 8 m wide and 0.8 m high
