"""The worked case from end to end, at the tolerances that its sources give, and the laws of what a stream needs."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from examples_drawn import drawn
from hypothesis import given, settings, strategies as st
from worked_stream import DROP, GALLON, GPM, LENGTH, SLOPE, section, site, worked

from terrain.limits import FOOT, INCH, POUND
from terrain.shape.long_section import PoolBed
from terrain.soil.stone import boulder_weight
from terrain.waterworks.build import lacks
from terrain.waterworks.lining import stream_sheet
from terrain.waterworks.reaches import developed_length
from terrain.waterworks.rocks import sold


@pytest.fixture(scope="module")
def needs():
    return worked(section())


@pytest.fixture(scope="module")
def pooled():
    """The same with three pools of 6 ft2 at the feet of the drops."""
    pools = tuple(
        PoolBed(at * FOOT, (at + 3.0) * FOOT, (at * FOOT, 0.0), level, level - 4 * INCH, 6.0 * FOOT**2, level)
        for at, level in ((5.0, 99.0), (10.0, 98.5), (15.0, 98.0))
    )
    return worked(section(pools))


def test_head_depth_and_water_under_way(needs):
    assert needs.head.value / INCH == pytest.approx(0.819, abs=1e-3)
    assert needs.brink / needs.head.value == pytest.approx(0.50, abs=0.01)
    assert needs.uneven == pytest.approx(0.12, abs=5e-3)
    beds = [one for one in needs.wet if one.reach.kind == "bed"]
    assert len(beds) == 4
    for one in beds:
        assert one.depth.value / INCH == pytest.approx(1.47, rel=0.03)  # a drop's face takes a little of its length
        assert one.usual.speed / FOOT == pytest.approx(0.65, rel=0.03)
    bed = needs.transit.bed
    assert [bed.value / GALLON, bed.low / GALLON, bed.high / GALLON] == pytest.approx([20.5, 13.1, 32.7], rel=0.03)
    assert needs.transit.pipe / GALLON == pytest.approx(7.0, abs=0.05)


def test_water_on_pools(pooled):
    """Three pools of 6 ft2, each risen by the head on its sill: 9.2 gal."""
    assert pooled.transit.pools / GALLON == pytest.approx(9.2, abs=0.05)
    assert [one.reach.kind for one in pooled.wet] == ["bed", "pool", "bed", "pool", "bed", "pool", "bed"]


def test_basin_and_days(needs):
    """36.7 gal under way of 112.2 usable, 8.42 gal a day off 60 ft2: 4.9 in lower, 9 days. Here without pools."""
    assert needs.store.usable / GALLON == pytest.approx(112.2, abs=0.06)
    under_way = needs.transit.total.value
    assert under_way / GALLON == pytest.approx(36.7 - 9.2, rel=0.03)
    assert needs.level_drop.value == pytest.approx(4.9 * INCH * under_way / (36.7 * GALLON), rel=0.01)
    assert needs.days.value == pytest.approx((needs.store.usable - under_way) / needs.lost, rel=1e-12)
    assert needs.days.low < needs.days.value < needs.days.high
    assert needs.enough
    assert not needs.runs_dry
    assert needs.running_mark > needs.level_drop.high


def test_lift_friction_power_and_the_pump(needs):
    duty = needs.duty
    assert duty.lift.value / FOOT == pytest.approx(5.0, rel=1e-9)
    assert duty.lift.low < duty.lift.value == duty.lift.high
    assert duty.head / FOOT == pytest.approx(7.36, abs=6e-3)
    assert duty.power.value == pytest.approx(158.0, abs=1.0)
    assert duty.power.low < duty.power.value < duty.power.high
    assert needs.pump is not None
    assert [needs.pump[0] / GPM, needs.pump[1] / FOOT] == pytest.approx([50.4, 8.67], abs=0.06)


def test_sheet_and_cover(needs):
    """27.6 x 4.78 ft of sheet; 0.77 cu yd and 1.03 tons of cover, 4 in deep over 20 x 3.12 ft."""
    sheet = needs.materials.lining.sheets[0]
    assert sheet.length / FOOT == pytest.approx(27.64, rel=0.01)
    assert sheet.width / FOOT == pytest.approx(4.777, abs=1e-3)
    vault = needs.materials.lining.sheets[1]
    assert [vault.length / FOOT, vault.width / FOOT] == pytest.approx([12.5, 11.45], rel=1e-9)
    assert needs.materials.lining.area == pytest.approx(sheet.area + vault.area, rel=1e-12)
    assert needs.materials.lining.underlay == pytest.approx(1.1 * (sheet.area + vault.area), rel=1e-12)
    *cover, fill = needs.materials.rocks.gravel
    assert sum(one.volume for one in cover) / (3 * FOOT) ** 3 == pytest.approx(0.77, rel=0.03)
    assert sum(one.mass for one in cover) / POUND / 2000.0 == pytest.approx(1.03, rel=0.03)
    assert fill.volume == pytest.approx(60.0 * FOOT**3, rel=1e-9)


def test_the_cut_of_a_sheet_lies_on_it_and_is_as_long_as_the_stream(pooled):
    sheet = pooled.materials.lining.sheets[0]
    along, across = zip(*sheet.cut, strict=True)
    assert (min(along), max(along)) == pytest.approx((0.0, sheet.length), abs=1e-9)
    assert max(across) == pytest.approx(sheet.width / 2.0, rel=1e-12)
    assert len(sheet.laps) == 3
    assert all(0.0 < lap < sheet.length for lap in sheet.laps)
    reaches = pooled.materials.parts.reaches
    bare = stream_sheet("run", reaches, ())
    assert bare.laps == ()
    assert developed_length(reaches) >= math.hypot(LENGTH, SLOPE * LENGTH)


def test_stones_by_size_and_mass(needs):
    """Stones of 100 to 125 lb are about 13 in across and of 250 lb about 17 in, at 165 lb/ft3: common practice, no
    published source; the formula is EM 1110-2-1601's, ch. 3."""
    assert 100.0 < boulder_weight(13.0 * INCH) / POUND < 125.0
    assert boulder_weight(17.0 * INCH) / POUND == pytest.approx(250.0, rel=0.03)
    rocks = needs.materials.rocks
    steps = [one for one in rocks.stones if one.what.startswith("step")]
    # A drop of 10 in wants stones of 13.3 in, a quarter of them in the bed: those of 17 in are the next that are sold.
    assert [one.size for one in steps] == pytest.approx([17.0 * INCH], abs=1e-9)
    assert [one.count for one in steps] == [3 * (2 + 2)]  # 18 in of lip, and one at each end, at three drops
    (edges,) = [one for one in rocks.stones if one.what == "edges"]
    assert (edges.size, edges.count) == (pytest.approx(13.0 * INCH), 2 * math.ceil(240.2 / 13.0))
    assert rocks.stone_mass == pytest.approx(
        sum(math.ceil(1.25 * one.count) * boulder_weight(one.size) for one in rocks.stones), rel=1e-12
    )
    assert rocks.mass == pytest.approx(rocks.stone_mass + sum(one.mass for one in rocks.gravel), rel=1e-12)
    assert needs.materials.trucks == math.ceil(rocks.mass / 9000.0)


@pytest.mark.parametrize(
    ("needed", "size"), [(6.0, 6.0), (7.9, 7.9), (8.1, 13.0), (13.0, 13.0), (13.1, 17.0), (17.0, 17.0), (20.0, 20.0)]
)
def test_stones_come_in_the_sizes_that_are_sold(needed, size):
    """4 to 8, 12 and 18 in, by weight balls of 13 and 17 in: common practice, no published source."""
    assert sold(needed * INCH) == pytest.approx(size * INCH, abs=1e-9)


def short_stream(feet: float):
    """Two drops of 8 in: 16 in of fall, and what the treads fall."""
    long = section(drops=(feet / 3.0, 2.0 * feet / 3.0))
    heights = tuple(replace(drop, foot=drop.sill - 8.0 * INCH) for drop in long.drops)
    kept = long.stations <= feet * FOOT + 1e-9
    fields = {key: getattr(long, key)[kept] for key in ("stations", "places", "bed", "left", "right", "existing")}
    return worked(replace(long, drops=heights, **fields)).materials.rocks


def test_two_and_a_half_tons_for_a_short_stream():
    """A short stream of about 16 in of fall takes 2.5 tons of stone on the truck: common practice, no published source.

    How short is not said: one of 10 ft takes less, one of 20 ft more, and one of 15 ft that much, to the quarter that
    weights by size are good to. Most of its stones weigh 100 to 125 lb; the gravel comes in two sizes, as much of each.
    """
    tons = {feet: short_stream(feet).stone_mass / POUND / 2000.0 for feet in (10.0, 15.0, 20.0)}
    assert tons[10.0] < 2.5 < tons[20.0]
    assert tons[15.0] == pytest.approx(2.5, rel=0.25)
    rocks = short_stream(15.0)
    heavy = [one for one in rocks.stones if one.each > 50.0 * POUND]
    assert all(100.0 <= one.each / POUND <= 125.0 for one in heavy)
    fine, coarse, _ = rocks.gravel
    assert (fine.volume, 2.0 * fine.size) == (pytest.approx(coarse.volume), pytest.approx(coarse.size))


def test_a_pool_takes_the_blow_of_a_drop(needs, pooled):
    assert sum(one.what.startswith("foot") for one in needs.materials.rocks.stones) == 3
    assert sum(one.what.startswith("foot") for one in pooled.materials.rocks.stones) == 0


def test_sills_stand_on_fill_that_settles(needs):
    sills = needs.materials.parts.sills
    assert [sill.name for sill in sills] == ["top", "drop 1", "drop 2", "drop 3", "end"]
    for sill in sills:
        assert sill.day_one - sill.elevation == pytest.approx(0.08 * 0.3, rel=1e-9)
    assert [sill.height for sill in sills[1:4]] == pytest.approx([DROP] * 3)


def test_a_small_basin_runs_dry_and_says_what_would_do():
    small = worked(section(), site(intake=1.9 * FOOT))
    assert small.runs_dry
    assert not small.enough
    assert small.days.value == 0.0
    store = small.store
    assert replace(store, area=store.least_area(small.asked_of_basin)).usable == pytest.approx(small.asked_of_basin)
    assert replace(store, full=store.least_full(small.asked_of_basin)).usable == pytest.approx(small.asked_of_basin)


def test_a_look_gives_its_flow_and_a_boxed_basin_takes_no_stone():
    """100 gal/h for an inch of lip: 18 in take 1,800 gal/h; common practice, no published source."""
    seen = worked(section(), site(flow=None, look="full sheet", voids=0.95))
    assert seen.flow / GPM == pytest.approx(30.0, rel=1e-9)
    assert {one.what for one in seen.materials.rocks.gravel} == {"cover of the bed"}
    narrow = worked(section(), site(lip=0.5 * FOOT))
    assert narrow.head.value > worked(section(), site(lip=0.5 * FOOT, flow=39.0 * GPM)).head.value


def test_what_a_site_file_lacks():
    assert lacks(site()) == ()
    assert [what for what, _ in lacks(site(flow=None, pipe=None))] == ["the flow of a stream", "the pipe of a stream"]
    assert [what for what, _ in lacks(replace(site(), stream=()))] == ["a stream"]
    open_ended = replace(site().stream[0], basin="")
    assert [what for what, _ in lacks(replace(site(), stream=(open_ended,)))] == ["the basin of a stream"]


@settings(max_examples=drawn(15))
@given(st.floats(5.0, 60.0), st.floats(0.03, 0.3))
def test_water_under_way_rises_with_flow_and_roughness(gpm: float, rough: float) -> None:
    def under_way(flow: float, n: float) -> float:
        yard = site(flow=flow * GPM)
        yard = replace(yard, stream=(replace(yard.stream[0], roughness=n),))
        return worked(section(), yard).transit.total.value

    usual = under_way(gpm, rough)
    assert under_way(1.1 * gpm, rough) > usual
    assert under_way(gpm, 1.1 * rough) > usual
