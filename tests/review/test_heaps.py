"""Soil heaps: off trunks and roots, 2 ft from a pit, 2 ft from the lot line; each told once."""

import dataclasses

import pytest
import review_yards as yards
from shapely.geometry import box

from terrain.limits import FOOT
from terrain.review.tree_words import limit_words
from terrain.review.trees import check_trees
from terrain.site.features import Basin
from terrain.site.model import Heap, Tree

BED = box(2.0, 2.0, 8.0, 8.0)
OAK = Tree("bur oak", (14.0, 14.0), 0.3, 0.3, 1.5)  # BS and 1 ft per inch: root zone 3.6 m


def told(outline, tree=(OAK,), **values):
    site = yards.make_site(BED, "ft", tree=tree, heap=(Heap("loam heap", outline),))
    site = dataclasses.replace(site, **values)
    ground = yards.make_ground(yards.make_grid(cell=0.5))
    proposal = yards.make_proposal(ground, 0.1, BED)
    checks = check_trees(site, proposal, yards.make_work())
    return yards.asked(yards.OF_HEAPS, site, ground, proposal, trees=checks), checks, yards.tree_findings(site, checks)


def test_heap_in_a_keep_off_is_a_stop_and_spoils_the_all_clear():
    found, (check,), about_trees = told(box(14.0, 14.0, 15.0, 15.0))
    assert [(f.level, f.topic) for f in found] == [("stop", "trees")]
    assert "inside the keep-off of bur oak" in found[0].text
    assert check.heaped_in_keep_off == pytest.approx(1.0, abs=1e-12)
    assert found[0].value == pytest.approx(1.0, abs=1e-12)
    assert not check.untouched
    assert not [f for f in about_trees if "no heap" in f.text]


def test_heap_past_the_holding_roots_counts_over_the_roots():
    # A trunk of 0.3 m: a structural root zone of 1.996 m (AS 4970-2009 cl. 3.3.5, the row of 30 cm in its table).
    near, (check,), _ = told(box(15.99, 13.0, 16.99, 15.0))
    assert [f.level for f in near] == ["stop"]
    assert "stands over the roots that hold bur oak up. Move it" in near[0].text
    assert not limit_words(check, "m")[0]
    found, (check,), about_trees = told(box(16.0, 13.0, 17.0, 15.0))
    assert limit_words(check, "m")[0]
    assert check.heaped_in_keep_off == 0.0
    share = 2.0 / (3.14159265358979 * 3.6**2)
    assert check.share_of_root_zone_heaped == pytest.approx(share, abs=1e-9)
    assert check.share_of_root_zone_disturbed == pytest.approx(share, abs=1e-9)
    assert [(f.level, f.value) for f in found] == [("caution", pytest.approx(share, abs=1e-9))]
    assert [f.level for f in about_trees if "no heap" in f.text] == ["note"]


def test_heap_on_the_bed_is_not_counted_twice():
    bed = box(10.0, 10.0, 18.0, 18.0)
    site = yards.make_site(bed, tree=(OAK,), sod=0.05, heap=(Heap("heap", box(15.5, 13.0, 19.5, 15.0)),))
    proposal = yards.make_proposal(yards.make_ground(yards.make_grid(cell=0.5)), 0.1, bed)
    (check,) = check_trees(site, proposal, yards.make_work())
    # The zone reaches to x = 17.6, so that all of the heap in it lies on the bed.
    assert check.share_of_root_zone_heaped == 0.0


@pytest.mark.parametrize(
    ("feet", "words"), [(1.5, "1 ft 6 in from the edge of pool"), (2.01, ""), (-1, "across the edge")]
)
def test_heap_stands_two_feet_back_from_a_pit(feet, words):
    # 29 CFR 1926.651(j)(2).
    pool = Basin("pool", 0.6, outline=box(4.0, 14.0, 6.0, 16.0), clearance=0.0, side_slope=10.0)
    edge = 6.0 + 0.06
    found, _, _ = told(box(edge + feet * FOOT, 14.0, 9.0, 16.0), tree=(), basin=(pool,))
    assert [f.level for f in found] == (["caution"] if words else [])
    assert all(words in f.text and "2 ft back" in f.text for f in found)


def test_shallow_dig_asks_for_no_room():
    scrape = Basin("scrape", 0.2, outline=box(4.0, 14.0, 6.0, 16.0), clearance=0.0)
    assert told(box(6.0, 14.0, 9.0, 16.0), tree=(), basin=(scrape,))[0] == ()


@pytest.mark.parametrize(
    ("east", "words"), [(20.0, "across the lot line"), (19.9 - 2 * FOOT, ""), (19.5, "from the lot line")]
)
def test_heap_keeps_two_feet_from_the_lot_line(east, words):
    # Topeka KS 17.05.190(c): stockpiles are held to the setback of a toe of fill.
    found, _, _ = told(box(10.0, 2.0, east, 4.0), tree=(), boundary=box(0.0, 0.0, 19.9, 20.0))
    assert [f.level for f in found] == (["caution"] if words else [])
    assert all(words in f.text for f in found)
