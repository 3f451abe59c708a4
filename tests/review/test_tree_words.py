"""A tree's figures in words: nothing lost, little never told as none, the same soil in fewer rings."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from review_yards import dome, make_grid, make_ground, make_proposal, make_site, make_work
from shapely.geometry import box

from terrain.review.model import TreeCheck
from terrain.review.tree_words import (
    band_edges,
    band_name,
    circle_rows,
    findings_on,
    keep_off_words,
    merged_rings,
    ring_table,
    work_rows,
)
from terrain.review.trees import check_trees
from terrain.site.model import Tree, TreeRule


@pytest.fixture(scope="module")
def check() -> TreeCheck:
    """A trunk of 60 cm whose root zone of 7.2 m (12 x diameter) a mound 80 cm high reaches into from 2 m on."""
    bed = box(11.0, 2.0, 19.0, 18.0)
    site = make_site(
        bed, tree=(Tree("oak", (9.0, 10.0), 0.6, flare=0.8, keep_off=2.0),), trees=TreeRule("BS 5837:2012")
    )
    ground = make_ground(make_grid(cell=0.2))
    proposal = make_proposal(ground, dome(13.5, 10.0, 4.0, 0.8), bed)
    return check_trees(site, proposal, make_work(day_one=1.08))[0]


def test_joined_rings_hold_the_same_soil(check: TreeCheck) -> None:
    few = merged_rings(check.rings, 2)
    assert len(few) <= 2 < len(check.rings)
    for name in ("area", "covered", "volume"):
        assert sum(getattr(r, name) for r in few) == pytest.approx(
            sum(getattr(r, name) for r in check.rings), abs=1e-12
        )
    assert max(ring.deepest for ring in few) == max(ring.deepest for ring in check.rings)
    assert (few[0].inner, few[-1].outer) == (check.rings[0].inner, check.rings[-1].outer)
    for k, band in enumerate(check.bands):
        joined = sum(ring.bands[k].area for ring in few)
        assert joined == pytest.approx(sum(ring.bands[k].area for ring in check.rings), abs=1e-12), band


def test_depths_past_the_last_band_share_its_column(check: TreeCheck) -> None:
    assert len(check.bands) == 8
    edges = band_edges(check, 4)
    assert [name for name in (band_name(low, high, "m") for low, high in edges)] == ["0-10", "10-20", "20-30", "30+"]
    table = ring_table(check, "m")
    assert table.heads == ("out to", "0-10", "10-20", "20-30", "30+", "covered", "deepest")
    whole = [float(cell) for cell in table.rows[-1][1:5]]
    # Cells are told to a tenth of a square metre.
    assert sum(whole) == pytest.approx(check.share_of_root_zone_covered * math.pi * 7.2**2, abs=0.2)


def test_circles_are_told_from_the_centre_and_the_keep_off_from_the_flare_too(check: TreeCheck) -> None:
    rows = dict(circle_rows(check, "m"))
    assert rows["keep-off"] == "2.00 m"
    assert rows["of it off the flare"] == "1.20 m"
    assert rows["3 x diameter"] == "1.80 m"
    # AS 4970-2009 cl. 3.3.5 at 0.60 m: 2.670 m (references, table of metric radii).
    assert rows["structural roots"] == "2.67 m"
    assert rows["root protection zone"] == "7.20 m"
    assert rows["drip line"] == "not measured"
    # Mulch stays off the keep-off, and 6 in (common practice) off the flare where that reaches further.
    assert rows["no mulch within"] == "2.00 m"
    assert dict(circle_rows(replace(check, keep_off=0.80), "m"))["no mulch within"] == "0.95 m"


@pytest.mark.parametrize(
    ("rule", "height"), [("BS 5837:2012", "1.50 m"), ("AS 4970-2009", "1.40 m"), ("dripline", "1.37 m")]
)
def test_the_height_at_which_the_rule_reads_the_trunk_is_told(rule: str, height: str, check: TreeCheck) -> None:
    # BS 5837:2012 1.5 m, AS 4970-2009 1.4 m, rules of the United States 4.5 ft above ground.
    assert dict(circle_rows(replace(check, rule=rule), "m"))["trunk read at"] == height


def test_a_share_too_small_for_a_column_is_not_none(check: TreeCheck) -> None:
    for share, told in ((0.0, "0 %"), (0.004, "<1 %"), (0.0099, "<1 %"), (0.01, "1 %"), (0.5, "50 %")):
        assert ring_table(replace(check, share_of_root_zone_covered=share), "m").rows[-1][-2] == told


def test_little_is_never_told_as_none(check: TreeCheck) -> None:
    assert keep_off_words(check, "m") == "nothing"
    trace = replace(check, fill_in_keep_off=1e-5, share_of_root_zone_covered=1e-5)
    assert keep_off_words(trace, "m") != "nothing"
    assert dict(work_rows(trace, "m"))["under soil"].startswith("less than 1 %")
    bare = replace(check, share_of_root_zone_covered=0.0, nearest_fill=math.inf, deepest_fill_in_root_zone=0.0)
    rows = dict(work_rows(bare, "m"))
    assert (rows["under soil"], rows["nearest soil"], rows["deepest soil"]) == ("none", "none", "none")


def test_the_nearest_soil_is_told_as_a_multiple_of_the_trunk(check: TreeCheck) -> None:
    away = check.nearest_fill / 0.6
    assert dict(work_rows(check, "m"))["nearest soil"].endswith(f"{away:.1f} x diameter")


def test_only_findings_that_name_the_tree_are_its_own(check: TreeCheck) -> None:
    from terrain.findings import Finding

    found = (Finding("note", "trees", "oak: soil."), Finding("note", "trees", "birch: soil."))
    assert findings_on(check, found) == found[:1]


def test_a_tree_is_not_taken_for_one_whose_name_holds_its_own(check: TreeCheck) -> None:
    from terrain.findings import Finding

    texts = ("bur oak: soil.", "oak: soil.", "Fence bur oak and oak.", "The oaks: soil.")
    found = tuple(Finding("note", "trees", text) for text in texts)
    assert findings_on(check, found, ["oak", "bur oak"]) == found[1:3]


@pytest.mark.parametrize("name", ["maple (old)", "tree #4", "*", "A+B [2]", "Ahorn, groß"])
def test_a_name_of_any_letters_finds_its_findings(name: str, check: TreeCheck) -> None:
    from terrain.findings import Finding

    found = (Finding("note", "trees", f"{name}: soil."), Finding("note", "trees", f"Fence x{name}x."))
    assert findings_on(replace(check, name=name), found) == found[:1]


def test_a_finding_on_many_trees_counts_for_each_that_is_touched(check: TreeCheck) -> None:
    from terrain.findings import Finding

    found = (Finding("caution", "trees", "Fence a, b, c and 2 more first."),)
    assert findings_on(replace(check, name="e", share_of_root_zone_disturbed=0.1), found) == found
    assert findings_on(replace(check, name="e", share_of_root_zone_disturbed=0.0), found) == ()
