"""When a root zone is past its bound: a table of questions, each with the answer of the trade and its source.

Ground and trees are invented. Closed formulas: a straight bed edge at d from the trunk takes
R^2 acos(d/R) - d sqrt(R^2 - d^2) of a zone of radius R (geometry).
"""

from __future__ import annotations

import dataclasses
import math
import re
from pathlib import Path

import pytest
import review_yards as yards
from examples_drawn import drawn
from hypothesis import given, settings, strategies as st
from shapely.geometry import Point, box
from test_tree_checks import FAR, HERE, checked, half_plane, oak, outside, plate

from terrain.errors import InputError
from terrain.limits import INCH
from terrain.review.tree_verdict import breaches
from terrain.review.tree_words import limit_words, work_rows
from terrain.review.trees import check_trees
from terrain.site.model import Allowed, Bed, Heap, Soil, TreeRule
from terrain.site.read import read_site

# A trunk of 0.6 m by 12 diameters: a zone of 7.2 m, three diameters 1.8 m, a structural root zone of 2.670 m (AS
# 4970-2009 cl. 3.3.5, the row of 60 cm in its table). Minnesota Stormwater Manual (Johnson 1999):
# at most 25 % of the roots; d/R = 0.40397 cuts off a quarter of a circle, 2.9086 m here (geometry).
QUARTER = 0.40397 * 7.2
ONE, OTHER = QUARTER - 0.01, QUARTER + 0.01
# On both sides of the trunk from 2 m on: 65 % of the zone (geometry).
BOTH_SIDES = yards.plates((box(12.0, -100.0, 100.0, 100.0), 1.05), (box(-80.0, -100.0, 8.0, 100.0), 1.05))
STRIP = box(11.7, 9.8, 12.2, 10.2)  # 1.7 m from the trunk, and small
BY = Allowed("A. Person", "12-3", "2026-05-04")
ALL = dataclasses.replace(BY, fill=2.0, share=1.0)


def over(mesh, tree=None, **values):
    """The one tree's check, and the findings on it."""
    (check,), findings = checked(mesh, oak() if tree is None else tree, **({"worked": outside(1.5)} | values))
    return check, findings


def stops(findings):
    return [f for f in findings if f.level == "stop"]


@pytest.mark.parametrize(
    ("question", "mesh", "values", "stop"),
    [
        ("soil over a hair more than a quarter", half_plane(0.3, ONE), {}, "25 %"),
        ("soil over a hair less than a quarter", half_plane(0.3, OTHER), {}, ""),
        ("clay 105 cm deep over 64 % of the zone", BOTH_SIDES, {"soil": Soil("clay")}, "%"),
        ("thin soil inside three diameters", plate(0.03, 1.79), {}, "roots that hold it up"),
        ("thin soil inside the structural roots", plate(0.03, 2.66), {}, "roots that hold it up"),
        ("thin soil outside them", plate(0.03, 2.68), {}, ""),
        ("sod stripped inside them, no soil", plate(0.0, 1.0), {"sod": 0.05, "worked": STRIP}, "roots that hold it up"),
        ("a shaving inside them", half_plane(0.0, 5.0), {"sod": 0.01, "worked": box(11.7, 9.0, 12.0, 9.5)}, ""),
        ("sod stripped over half the zone", half_plane(0.0, 5.0), {"sod": 0.05, "worked": outside(4.5)}, "25 %"),
        ("a dig inside them", plate(-0.3, 2.66), {}, "hold the tree up"),
        ("a dig outside them", plate(-0.3, 2.68), {}, ""),
    ],
)
def test_the_verdict_is_the_trades(question, mesh, values, stop):
    check, findings = over(mesh, **values)
    found = stops(findings)
    assert bool(found) == bool(stop), (question, [f.text for f in findings])
    assert all(stop in f.text for f in found)
    # The word on the terminal follows: never "kept" of a tree with a stop.
    assert limit_words(check, "m")[0] == (not found)


def test_a_heap_among_the_holding_roots_is_a_stop():
    ground = yards.make_ground(yards.make_grid())
    proposal = yards.make_proposal(ground, 0.0, FAR, half_plane(0.0, 5.0), worked=box(30.0, 30.0, 31.0, 31.0))

    def level(apart):
        heap = Heap("heap", box(10.0 + apart, 9.5, 13.6, 10.5))
        site = yards.make_site(FAR, tree=(oak(),), trees=TreeRule("BS 5837:2012"), heap=(heap,))
        checks = check_trees(site, proposal, yards.make_work())
        assert limit_words(checks[0], "m")[0] == (apart > 2.67)
        return [
            f.level for f in stops(yards.asked({"heaps on roots", "soil on root protection zones"}, site, trees=checks))
        ]

    assert level(2.66) == ["stop"]
    assert level(2.68) == []


@pytest.mark.parametrize(
    ("allowed", "level"),
    [
        (None, "stop"),
        (dataclasses.replace(BY, fill=0.30), "stop"),  # nothing is said of the share
        (dataclasses.replace(BY, share=0.50), "stop"),  # nothing is said of soil so near
        (dataclasses.replace(BY, fill=0.30, share=0.50), "caution"),
        (dataclasses.replace(BY, fill=0.29, share=0.50), "stop"),
        (dataclasses.replace(BY, fill=0.30, share=0.30), "stop"),
    ],
)
def test_a_permission_moves_the_bounds_that_it_names_and_no_other(allowed, level):
    # A straight edge at 1.7 m of a zone of 7.2 m takes 35 % of it (geometry).
    share = (7.2**2 * math.acos(1.7 / 7.2) - 1.7 * math.sqrt(7.2**2 - 1.7**2)) / (math.pi * 7.2**2)
    assert 0.30 < share < 0.50
    check, findings = over(half_plane(0.30, 1.7), dataclasses.replace(oak(), allowed=allowed))
    (found,) = [f for f in findings if "covers" in f.text]
    assert check.share_of_root_zone_disturbed == pytest.approx(share, abs=1e-9)
    assert found.level == level
    if level == "caution":
        assert "A. Person, licence 12-3, 2026-05-04" in found.text
        assert ("allowed", "30 cm of soil, 50 % of the zone; A. Person, licence 12-3, 2026-05-04") in work_rows(
            check, "m"
        )


def test_a_permission_holds_for_its_own_tree_alone():
    trees = (dataclasses.replace(oak(name="a"), allowed=ALL), oak(name="b", at=(10.5, 10.0)))
    _, findings = checked(half_plane(0.3, 1.9), *trees, worked=outside(1.8))
    assert {f.text.partition(":")[0]: f.level for f in findings if "covers" in f.text} == {"a": "caution", "b": "stop"}


@pytest.mark.parametrize(("past_flare", "stop"), [(6 * INCH - 0.01, True), (6 * INCH + 0.01, False)])
def test_nothing_that_is_allowed_reaches_over_the_flare(past_flare, stop):
    # Buried bark rots: U. Maryland Extension. 6 in round the flare: common practice, no published source.
    tree = dataclasses.replace(oak(flare=0.6, keep_off=0.6), allowed=ALL)
    _, findings = over(plate(0.36, 0.6 + past_flare), tree, worked=outside(0.6))
    assert bool(stops(findings)) == stop


def test_a_dig_that_somebody_named_has_allowed_is_a_caution_that_names_him():
    tree = dataclasses.replace(oak(), allowed=dataclasses.replace(BY, share=0.10))
    check, findings = over(plate(-0.3, 1.79), tree)
    (found,) = [f for f in findings if "hold the tree up" in f.text]
    assert found.level == "caution"
    assert "A. Person" in found.text
    assert limit_words(check, "m")[0]
    _, findings = over(plate(-0.3, 1.79), oak())
    assert [f.level for f in findings if "hold the tree up" in f.text] == ["stop"]


@settings(max_examples=drawn(60), deadline=None)
@given(
    depth=st.floats(-0.8, 1.2),
    apart=st.floats(-3.0, 9.0),
    keep_off=st.floats(0.7, 3.0),
    sod=st.sampled_from([0.0, 0.05]),
    allowed=st.sampled_from([None, ALL, BY, dataclasses.replace(BY, share=0.3), dataclasses.replace(BY, fill=0.1)]),
)
def test_kept_is_never_said_of_a_tree_with_a_stop(depth, apart, keep_off, sod, allowed):
    tree = dataclasses.replace(oak(keep_off=keep_off), allowed=allowed)
    check, findings = over(half_plane(depth, apart), tree, sod=sod, worked=outside(keep_off))
    kept, words = limit_words(check, "m")
    assert kept == (check.untouched and not stops(findings)), (words, [f.text for f in findings])
    assert check.keep_off_broken or bool(breaches(check, "m")) <= bool(stops(findings))


@pytest.mark.parametrize("past", [1e-4, 1e-3, 0.02, 0.2])
def test_a_figure_past_its_bound_never_reads_like_the_bound(past):
    """ "25 %, past 25 %" tells nobody what is wrong."""
    allowed = dataclasses.replace(BY, fill=0.30, share=0.25)
    cases = [
        (half_plane(0.3, QUARTER - past), oak(), {}),
        (half_plane(0.3, QUARTER - past), dataclasses.replace(oak(), allowed=allowed), {}),
        (plate(0.30 + past, 4.0), dataclasses.replace(oak(), allowed=allowed), {"worked": outside(4.0)}),
        (plate(0.03, 1.8 - past), oak(), {"worked": outside(1.8 - past)}),
    ]
    for mesh, tree, values in cases:
        check, findings = over(mesh, tree, **values)
        assert stops(findings)
        for one in breaches(check, "m"):
            figures = re.findall(r"(?:just (?:over|under) )?[0-9.]+(?= (?:%|cm|m)\b|(?= %))", one.words)
            assert len(figures) == 2, one.words
            assert figures[0] != figures[1], one.words
            asked = re.findall(r"([0-9.]+ %).*?past (?:the )?([0-9.]+ %)", one.why)
            assert all(value != bound for value, bound in asked), one.why


def test_a_stop_says_every_bound_that_is_passed_so_that_mending_one_does_not_meet_the_next():
    check, findings = over(half_plane(0.3, 1.7))
    (found,) = stops(findings)
    assert "past 25 %" in found.text
    assert "over the roots that hold it up" in found.text
    assert found.text.count("state what an arborist has allowed") == 1
    words = limit_words(check, "m")[1]
    assert "25 % at most" in words
    assert "m at least" in words


WRITTEN = """
name = "invented yard"
units = "ft"
[survey]
shots = [[0, 0, 100], [40, 0, 100.2], [40, 40, 100.9], [0, 40, 100.7]]
[bed]
outline = [[5, 5], [25, 5], [25, 20], [5, 20]]
[berm]
max_slope = "4:1"
crest = [[15, 12, "14 in"]]
[[tree]]
name = "bur oak"
at = [30.0, 30.0]
trunk = "20 in"
"""


def read(tmp_path: Path, line: str):
    (tmp_path / "site.toml").write_text(WRITTEN + line, encoding="utf-8")
    return read_site(tmp_path / "site.toml")


@pytest.mark.parametrize("date", ['"2026-05-04"', "2026-05-04"])
def test_a_permission_is_read_from_the_site_file(tmp_path, date):
    line = f'allowed = {{ fill = "3 in", share = "15 %", by = "A. Person", licence = "12-3", date = {date} }}'
    (tree,) = read(tmp_path, line).tree
    assert tree.allowed == Allowed("A. Person", "12-3", "2026-05-04", 3 * INCH, 0.15)
    assert tree.flare_assumed  # no flare is stated


@pytest.mark.parametrize("key", ['allowed_fill = "3 in"', 'allowed_share = "15 %"'])
def test_a_permission_for_every_tree_at_once_is_refused_with_what_to_write(tmp_path, key):
    with pytest.raises(InputError, match=r"names nobody.*Under the \[\[tree\]\].*by = \"A. Person\", licence"):
        read(tmp_path, f"[trees]\n{key}\n")


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ('allowed = { fill = "3 in", licence = "12-3", date = "2026-05-04" }', "allowed by: this is missing"),
        ('allowed = { by = "A", licence = "12-3", date = "2026-05-04" }', "this allows nothing"),
        ('allowed = { fill = "3 in", by = "A", licence = "1", date = "last May" }', "last May.* is not a date"),
        ('allowed = { fil = "3 in", by = "A", licence = "1", date = "2026-05-04" }', 'Did you mean "fill"'),
        ('allowed = "3 in"', "is not accepted here.*allowed = { fill"),
        ('allowed = { fill = "3 in", by = "", licence = "1", date = "2026-05-04" }', "is not a text"),
    ],
)
def test_a_permission_that_says_too_little_is_refused_in_words(tmp_path, line, words):
    with pytest.raises(InputError, match=words):
        read(tmp_path, line)


def test_the_flare_that_nobody_measured_is_said_to_be_assumed():
    tree = dataclasses.replace(oak(), flare_assumed=True)
    check, findings = over(plate(0.03, 4.0), tree)
    assert [f.level for f in findings if "Nobody measured the root flare of bur oak" in f.text] == ["caution"]
    from terrain.review.tree_words import circle_rows

    assert dict(circle_rows(check, "m"))["flare"] == "0.60 m, not measured"
    assert Point(HERE).distance(Point(check.at)) == 0.0


@pytest.mark.parametrize(
    ("question", "bed", "apart", "level"),
    [
        # Most roots lie in the top 12 to 18 in (Iowa State Extension): topsoil takes them along.
        ("topsoil stripped among the holding roots", {"topsoil": 0.15}, 2.66, "stop"),
        ("topsoil stripped in the zone", {"topsoil": 0.15}, 5.0, "caution"),
        ("sod alone, lifted by hand", {}, 5.0, None),
        ("a shaving", {"topsoil": 0.005, "sod": 0.005}, 2.0, None),
    ],
)
def test_stripped_topsoil_is_a_dig_and_judged_like_one(question, bed, apart, level):
    ground = yards.make_ground(yards.make_grid())
    proposal = yards.make_proposal(ground, 0.0, FAR, half_plane(0.0, 5.0), worked=box(10.0 + apart, 9.0, 16.0, 11.0))
    site = yards.make_site(FAR, tree=(oak(),), trees=TreeRule("BS 5837:2012"))
    site = dataclasses.replace(site, bed=Bed(FAR, **({"sod": 0.05} | bed)))
    (check,) = checks = check_trees(site, proposal, yards.make_work())
    found = [f for f in yards.tree_findings(site, checks) if "topsoil" in f.text]
    assert [f.level for f in found] == ([level] if level else [])
    if level:
        assert check.nearest_cut == pytest.approx(apart, abs=1e-9)
        assert check.deepest_cut_in_root_zone == pytest.approx(0.20, abs=1e-9)
        assert (
            f"the stripped topsoil {'comes to' if level == 'stop' else 'meets its root protection zone'}"
            in found[0].text
        )
    assert limit_words(check, "m")[0] == (level != "stop")
