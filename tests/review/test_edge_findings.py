"""Retained edges and basins: heights, stones, roots beside them, and water that has no way out."""

import dataclasses
import math

import numpy as np
import pytest
import review_yards as yards
from shapely.geometry import box

from terrain.limits import FOOT, INCH
from terrain.review.trees import check_trees
from terrain.shape.digs import digs_of, dug_out
from terrain.site.features import Basin, Channel, RetainedEdge
from terrain.site.model import Berm, CrestPoint, Tree

BED = box(2.0, 2.0, 18.0, 18.0)


def told(*edges, tree=(), units="m", basin=(), digs=False):
    berm = Berm(0.25, (CrestPoint(10.0, 12.0, 0.5),))
    site = yards.make_site(BED, units, berm=berm, tree=tree)
    site = dataclasses.replace(site, retained_edge=edges, basin=basin)
    ground = yards.make_ground(yards.make_grid(cell=0.5))
    checks = check_trees(site, yards.make_proposal(ground, 0.0, BED), yards.make_work())
    return yards.asked(yards.OF_EDGES | ({"digging in root protection zones"} if digs else set()), site, trees=checks)


def edge(height, y=8.0, half=15.0):
    return RetainedEdge("north stones", ((10.0 - half, y), (10.0 + half, y)), height)


@pytest.mark.parametrize(
    ("shown", "level", "bound", "words"),
    [
        # IRC R105.2: a permit over 4 ft from the foot (IBC 105.2 too: from the bottom of the footing), of which a foot
        # stands in the ground, 4 in under 18 in shown; with a load behind, ask below that.
        (1.0, "caution", 4, "ask whether it needs a permit"),
        (2.0, "caution", 4, "ask whether it needs a permit"),
        # IRC R404.4 (2009): more than 24 in of soil held.
        (2.01, "caution", 2, "ask an engineer"),
        (3.0, "caution", 2, "ask an engineer"),
        (3.01, "stop", 4, "codes ask for a permit and an engineer"),
        (4.0, "stop", 4, "codes ask for a permit and an engineer"),
    ],
)
def test_edge_is_graded_by_its_height_over_all_and_the_soil_it_holds(shown, level, bound, words):
    (found,) = [f for f in told(edge(shown * FOOT)) if "base stones" in f.text]
    assert (found.level, found.bound) == (level, pytest.approx(bound * FOOT, abs=1e-9))
    assert words in found.text
    buried = (1.0 if shown >= 1.5 else 4.0 / 12.0) if bound == 4 else 0.0
    assert found.value == pytest.approx((shown + buried) * FOOT, abs=1e-9)
    assert found.at == pytest.approx((10.0, 8.0))
    assert ("Lean its face back 1 in 6 and" in found.text) == (level == "caution")


@pytest.mark.parametrize(
    ("inches", "across", "pounds"),
    # With what stands in the ground: 7 + 4 in are one course of 11 in stones, 36 + 12 in are two of 24 in stones.
    # EM 1110-2-1601 ch. 3, a ball at 165 lb/ft3: 11 in 67 lb (computed), 24 in 691 lb.
    [(7, "11 in", "67 lb"), (36, "24 in", "690 lb")],
)
def test_stones_that_one_person_may_not_lift_are_told_with_their_weight(inches, across, pounds):
    (found,) = [f for f in told(edge(inches * INCH), units="ft") if "across" in f.text]
    assert found.level == "caution"
    assert f"A stone {across} across" in found.text
    assert f"about {pounds}," in found.text


def test_stones_that_one_person_may_lift_are_not_told():
    # 51 lb of NIOSH 94-110 is a ball 10.07 in across at 165 lb/ft3 (arithmetic; rounded to 10.1): 6.07 in shown, 4 in
    # in the ground.
    for inches, said in ((6.0, 0), (6.06, 0), (6.08, 1)):
        assert len([f for f in told(edge(inches * INCH), units="ft") if "across" in f.text]) == said


@pytest.mark.parametrize(
    ("y", "levels", "words"),
    # Stones stand south of the line with 8 in of crushed stone behind them; the trunk of 0.6 m stands at y = 5. Two
    # courses of 500 mm and 12 in in the ground are 402.4 mm each; the lower stands a sixth of that before the upper.
    [
        (6.0, ["stop"], "inside its keep-off"),
        (7.4, ["stop"], "the trench of north stones comes to 1.73 m from the trunk's centre"),
        (9.0, ["caution"], "its root protection zone"),
        (14.0, [], ""),
    ],
)
def test_stones_beside_a_tree_are_graded_by_what_they_stand_on(y, levels, words):
    tree = Tree("bur oak", (10.0, 5.0), 0.6, 0.6, 1.5)
    found = [f for f in told(edge(0.5, y, 5.0), tree=(tree,), digs=True) if f.topic == "trees"]
    assert [f.level for f in found] == levels
    assert all(words in f.text for f in found)
    if levels == ["caution"]:
        wide = 7 / 6 * (0.5 + 12 * INCH) / 2 + 8 * INCH
        assert found[0].value == pytest.approx(y - wide - 5.0, abs=1e-9)
        assert f"{(y - wide - 5.0) / 0.6:.1f} trunk diameters" in found[0].text


def test_no_edge_and_a_shallow_basin_are_no_finding():
    pool = Basin("pool", 0.3, center=(10.0, 10.0), size=(2.0, 2.0))
    assert told(basin=(pool,)) == ()
    deep = dataclasses.replace(pool, depth=0.6)
    assert [f.level for f in told(basin=(deep,))] == ["caution"]


def dug(**features):
    """Drainage of a yard that falls 2 % to the south, with digs and no berm."""
    ground = yards.make_ground(yards.make_grid(), lambda x, y: 0.02 * y)
    site = dataclasses.replace(yards.make_site(BED), **features)
    proposal = yards.make_proposal(ground, 0.0, BED)
    digs = digs_of(site, ground)
    finished = dug_out(digs, ground.grid.nodes, ground.elevation.ravel()).reshape(ground.grid.shape)
    proposal = dataclasses.replace(proposal, elevation=finished, cut=ground.elevation - finished, digs=digs)
    return yards.drained(site, ground, proposal)


def test_water_in_a_basin_is_no_pond():
    assert dug(basin=(Basin("pool", 0.5, center=(10.0, 10.0), size=(3.0, 2.0)),)).findings == ()


def test_channel_that_ends_in_the_ground_is_found_by_name():
    found = dug(channel=(Channel("swale", ((10.0, 15.0), (10.0, 8.0)), 0.6, 0.3),))
    (closed,) = [f for f in found.findings if "no way out" in f.text]
    assert closed.text.startswith("swale has no way out")
    assert closed.level == "caution"
    assert np.hypot(closed.at[0] - 10.0, closed.at[1] - 8.0) < 1.5


def test_channel_that_runs_into_a_basin_or_off_the_yard_is_open():
    line = ((10.0, 15.0), (10.0, 8.0))
    pool = Basin("pool", 0.6, center=(10.0, 7.0), size=(2.0, 2.0))
    assert dug(channel=(Channel("swale", line, 0.6, 0.3),), basin=(pool,)).water.ponds == ()
    assert dug(channel=(Channel("swale", ((10.0, 15.0), (10.0, -1.0)), 0.6, 0.3),)).water.ponds == ()


def test_dig_counts_once_in_what_is_disturbed():
    ground = yards.make_ground(yards.make_grid(cell=0.5))
    mesh = yards.plates((box(14.0, 6.0, 16.0, 14.0), -0.3))
    worked = box(2.0, 2.0, 10.0, 18.0)
    tree = Tree("bur oak", (12.0, 10.0), 0.6, 0.6, 1.5)
    site = yards.make_site(BED, sod=0.05, tree=(tree,))
    (check,) = check_trees(site, yards.make_proposal(ground, 0.0, BED, mesh, worked=worked), yards.make_work())
    zone = np.pi * 7.2**2
    stripped = zone * check.share_of_root_zone_disturbed - 16.0
    half = 7.2**2 * np.arccos(2 / 7.2) - 2 * np.sqrt(7.2**2 - 4)
    assert stripped == pytest.approx(half, abs=1e-9)


def test_the_stones_count_among_the_ground_that_is_disturbed():
    # Stones 0.4 m wide along 9 m, 1.6 to 2.0 m from a trunk whose zone of 6 m they lie wholly inside.
    tree = Tree("oak", (10.0, 4.0), 0.5, 0.5, 1.2)
    stones = RetainedEdge("stones", ((5.5, 6.0), (14.5, 6.0)), 0.4)
    shape = {"bed": box(6.0, 5.0, 14.0, 12.0), "tree": (tree,), "grid": yards.make_grid(cell=0.4)}
    with_them = yards.reviewed(retained_edge=(stones,), **shape)[3].trees[0]
    assert with_them.share_of_root_zone_stones == pytest.approx(9.0 * 0.4 / (math.pi * 36.0), rel=1e-6)
    parts = with_them.share_of_root_zone_stripped + with_them.share_of_root_zone_stones
    assert with_them.share_of_root_zone_disturbed == pytest.approx(parts, rel=1e-9)
    assert yards.reviewed(**shape)[3].trees[0].share_of_root_zone_stones == 0.0
