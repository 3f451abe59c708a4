"""Digs are measured to their closed form, three ways, and their spoil is used before soil is bought."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
import trimesh
from berm_yards import StarYard, circle, raised_cosine, stages

from terrain.shape.berm import shape_berm
from terrain.shape.proposal import Proposal
from terrain.site.features import Basin, Channel, RetainedEdge
from terrain.site.model import Site, Soil
from terrain.soil.cuts import dig_solid
from terrain.soil.ledger import sums
from terrain.soil.measure import measure_earthwork
from terrain.soil.model import Earthwork
from terrain.soil.order import order_soil

LEVEL = (30.0, 0.0, 0.0)
SLOPING = (30.0, 0.03, -0.02)
POOL = Basin("pool", depth=0.5, center=(2.6, 0.0), size=(1.2, 0.9), clearance=0.1, side_slope=2.0)
STONES = RetainedEdge("stones", ((-2.0, -3.0), (2.0, -3.0)), 0.25)
SWALE = Channel("swale", ((-1.0, -3.6), (2.4, -3.0)), width=0.3, depth=0.2, side_slope=0.5)


def dug_yard(
    plane: tuple[float, float, float], *, sod: float = 0.0, **features: object
) -> tuple[Site, Proposal, Earthwork]:
    yard = StarYard(circle(5.0), raised_cosine(0.5), plane=plane, spokes=96, rings=8)
    site, ground, _ = stages(yard, cell=0.08, sod=sod, soil=Soil(swell=0.25, shrink=0.10))
    site = replace(site, **features)
    proposal = shape_berm(site, ground)
    return site, proposal, measure_earthwork(site, ground, proposal)


def pit_volume(length: float, width: float, depth: float, side_slope: float) -> float:
    """A pit whose sides run out evenly from a rectangular floor: the floor, its edges and its rounded corners."""
    run = depth / side_slope
    return depth * length * width + depth * run * (length + width) + math.pi * run**2 * depth / 3.0


def test_a_basin_in_level_ground_has_the_volume_of_its_pit() -> None:
    _, _, work = dug_yard(LEVEL, basin=(POOL,))
    exact = pit_volume(1.4, 1.1, 0.5, 2.0)
    assert work.cut_bank == pytest.approx(exact, rel=0.005)
    assert work.cut_checks.mesh == pytest.approx(work.cut_bank, rel=1e-9)
    assert work.cut_checks.grid == pytest.approx(exact, rel=0.02)  # sides as steep as 2:1 fall between the nodes
    assert work.cut_checks.sections == pytest.approx(exact, rel=0.02)


def test_basin_and_channel_in_sloping_ground_agree_three_ways() -> None:
    _, proposal, work = dug_yard(SLOPING, basin=(POOL,), channel=(SWALE,))
    assert work.cut_bank > 1.0
    assert work.cut_checks.mesh == pytest.approx(work.cut_bank, rel=1e-6)
    assert work.cut_checks.grid == pytest.approx(work.cut_bank, rel=0.02)
    assert work.cut_checks.sections == pytest.approx(work.cut_bank, rel=0.02)
    assert work.checks.grid == pytest.approx(work.fill_placed, rel=0.005)
    assert work.checks.sections == pytest.approx(work.fill_placed, rel=0.005)
    solid = dig_solid(proposal.mesh)
    body = trimesh.Trimesh(solid.vertices, solid.faces, process=True)
    assert body.is_watertight
    assert body.is_winding_consistent


def test_spoil_is_used_before_soil_is_bought() -> None:
    site, _, work = dug_yard(LEVEL, basin=(POOL,))
    need = work.fill_placed / 0.90 * 1.25
    assert order_soil(site, work).expected == pytest.approx(need - 1.25 * work.cut_bank, rel=1e-9)


def test_sod_on_a_dig_is_no_fill() -> None:
    site, _, work = dug_yard(LEVEL, sod=0.05, basin=(POOL,))
    under = pit_volume(1.4, 1.1, 0.45, 2.0)  # the pit as dug from 5 cm lower down
    assert work.cut_below_sod == pytest.approx(under, rel=0.005)
    assert work.cut_bank == pytest.approx(pit_volume(1.4, 1.1, 0.5, 2.0), rel=0.005)
    order = order_soil(site, work)
    ledger = {line.name: line for line in order.ledger}
    on_dig = work.cut_bank - work.cut_below_sod
    assert ledger["sod"].bank == pytest.approx(0.05 * work.worked_area + on_dig, rel=1e-9)
    assert work.sod == pytest.approx(ledger["sod"].bank, rel=1e-9)
    assert order.leaves == pytest.approx(1.25 * work.sod, rel=1e-9)
    assert ledger["cut used as fill"].bank == pytest.approx(work.cut_below_sod, rel=1e-9)
    assert ledger["fill soil"].loose == pytest.approx(order.expected, rel=1e-9)


@pytest.mark.parametrize("reuse", [1.0, 0.3, 0.0])
def test_the_trench_under_a_wall_gives_sod_and_soil_by_hand(reuse: float) -> None:
    # 0.25 m is held and 4 in (0.1016 m) stand in the ground: two courses of 0.1758 m on 2 in of crushed stone. The
    # trench is 4 m x 0.1758 m x 0.1524 m = 0.10717 m3, of it 4 x 0.1758 x 0.05 = 0.03516 m3 sod.
    site, proposal, work = dug_yard(LEVEL, sod=0.05, retained_edge=(STONES,))
    assert (work.trench, work.sod_on_digs) == pytest.approx((0.107168, 0.03516), abs=1e-6)
    assert work.cut_below_sod == pytest.approx(0.107168 - 0.03516, abs=1e-6)
    assert work.cut_bank == 0.0  # stones and bedding fill it again: no surface shows it
    assert float(proposal.cut.max()) == 0.0
    order = order_soil(replace(site, soil=replace(site.soil, reuse=reuse)), work)
    ledger = {line.name: line for line in order.ledger}
    used, unfit = (ledger[name].bank if name in ledger else 0.0 for name in ("cut used as fill", "cut unfit to use"))
    assert (used, unfit) == pytest.approx((reuse * 0.072008, (1.0 - reuse) * 0.072008), abs=1e-6)
    comes, goes = (sum(side.values()) for side in sums(order.ledger))
    assert comes == pytest.approx(goes, abs=1e-9)
    # Without the trench 0.072 m3 more of bank is bought, as far as it is fit; what is unfit leaves with the sod on it.
    still = replace(work, trench=0.0, sod_on_digs=0.0, cut_below_sod=0.0)
    before = order_soil(replace(site, soil=replace(site.soil, reuse=reuse)), still)
    assert before.expected - order.expected == pytest.approx(1.25 * reuse * 0.072008, abs=1e-6)
    assert order.leaves - before.leaves == pytest.approx(1.25 * (0.03516 + (1.0 - reuse) * 0.072008), abs=1e-6)


def test_sod_deeper_than_a_trench_is_no_more_than_the_trench() -> None:
    _, _, work = dug_yard(LEVEL, sod=0.2, retained_edge=(STONES,))
    assert (work.sod_on_digs, work.cut_below_sod) == pytest.approx((work.trench, 0.0), abs=1e-12)


def test_no_dig_is_no_cut() -> None:
    _, proposal, work = dug_yard(SLOPING)
    assert (work.cut_bank, work.cut_below_sod, work.cut_checks.grid) == (0.0, 0.0, 0.0)
    assert len(dig_solid(proposal.mesh).faces) == 0
