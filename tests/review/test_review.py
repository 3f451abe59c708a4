"""The review as a whole: its order, its words, and that it reads as a sequence of findings."""

import ast
import dataclasses
import re
from pathlib import Path

import pytest
import review_yards as yards
from examples_drawn import drawn
from hypothesis import given, settings, strategies as st
from shapely.geometry import box

import terrain.review
from terrain.findings import Finding
from terrain.review.proposal_review import LEVELS, TOPICS, in_order, review
from terrain.site.model import Building, Tree
from terrain.site.read import read_site

BED = box(2.0, 2.0, 18.0, 14.0)
HOUSE = Building("house", box(6.0, 14.5, 14.0, 18.0), 1.5)
OAK = Tree("bur oak", (17.0, 8.0), 0.6, 0.6, 1.5)


def reviewed(fill=None, **values):
    ground = yards.make_ground(yards.make_grid(), lambda x, y: 0.05 * y)
    proposal = yards.make_proposal(ground, yards.dome(10, 8, 5, 0.8) if fill is None else fill, BED, **values)
    site = yards.make_site(BED, tree=(OAK,), building=(HOUSE,), sod=0.05)
    return review(site, ground, proposal, yards.make_work(1.1))


def test_review_reads_as_its_findings():
    found = reviewed()
    assert len(found) == len(found.findings) > 0
    assert list(found) == list(found.findings)
    assert found[0] is found.findings[0]
    assert found[-2:] == found.findings[-2:]
    assert found.findings[1] in found
    assert [check.name for check in found.trees] == ["bur oak"]
    with pytest.raises(dataclasses.FrozenInstanceError):
        found.findings = ()


def test_worst_comes_first_and_topics_keep_together():
    found = reviewed(steepest=0.6)
    ranks = [(LEVELS.index(f.level), TOPICS.index(f.topic)) for f in found]
    assert ranks == sorted(ranks)
    assert found[0].level == "stop"
    assert found.stopped
    assert not reviewed(yards.dome(6, 8, 3, 0.5), worked=box(3.0, 5.0, 9.0, 11.0)).stopped


def test_order_keeps_findings_of_a_kind_as_they_came():
    some = tuple(Finding("note", "soil", str(k)) for k in range(5))
    assert in_order(some) == some
    mixed = (Finding("note", "trees", "a"), Finding("stop", "safety", "b"), Finding("stop", "trees", "c"))
    assert [f.text for f in in_order(mixed)] == ["c", "b", "a"]


def test_signs_of_an_unnatural_shape_become_cautions_with_place_and_advice():
    found = reviewed(lambda x, y: 0.25 * abs(5 - abs(x - 10)) * (abs(x - 10) < 5) * (abs(y - 8) < 4))
    present = [sign for sign in found.look.signs if sign.present]
    looks = [f for f in found if f.topic == "look" and f.level == "caution"]
    assert not found.look.reads_natural
    assert [f.value for f in looks] == [s.value for s in present if s.sign != "holds_water"]
    assert all(f.level == "caution" and f.at is not None for f in looks)
    assert all(s.suggestion in f.text for s, f in zip(present, looks, strict=False))


def test_standing_water_is_told_once():
    found = reviewed(lambda x, y: 0.5 * (abs((x - 10) ** 2 + (y - 8) ** 2 - 12) < 6))
    assert found.look["holds_water"].present
    assert len([f for f in found if "water stand" in f.text or f.value == found.look["holds_water"].value]) == 1


def test_bowl_too_shallow_for_a_pond_is_still_a_sign():
    ground = yards.make_ground(yards.make_grid())
    proposal = yards.make_proposal(ground, lambda x, y: 0.018 * (abs((x - 10) ** 2 + (y - 8) ** 2 - 12) < 6), BED)
    found = review(yards.make_site(BED), ground, proposal, yards.make_work())
    assert not [f for f in found if "water stand" in f.text]
    assert len([f for f in found if f.value == found.look["holds_water"].value]) == 1


def sentences(text):
    return [part for part in re.split(r"(?<=[.!?])\s+", text) if part]


def everything_said():
    """Findings of quiet and of troubled yards."""
    deep = reviewed(lambda x, y: 0.9, steepest=0.7, existing_steepest=0.4, toe=0.1)
    crest = tuple(yards.short_crest(1.0, 0.4) for _ in range(5))
    ring = reviewed(lambda x, y: 0.5 * (abs((x - 10) ** 2 + (y - 8) ** 2 - 12) < 6), crest=crest, height_scale=0.7)
    dug = reviewed(lambda x, y: -1.3 * (x > 12))
    return [*reviewed(), *deep, *ring, *dug]


def test_texts_are_short_and_every_figure_has_a_source():
    said = everything_said()
    assert {f.level for f in said} == {"note", "caution", "stop"}
    for finding in said:
        assert 1 <= len(sentences(finding.text)) <= 2, finding.text
        assert len(finding.text) <= 230, finding.text
        assert finding.text[0] == finding.text[0].strip() != ""
        assert finding.source, finding.text
        assert finding.topic in TOPICS


def test_no_text_promises_what_nobody_may_promise():
    banned = re.compile(r"\b(safe|safely|compliant|compliance|stable|will survive|guarantee\w*)\b", re.IGNORECASE)
    folder = Path(terrain.__file__).parent / "review"
    words = [
        node.value
        for path in folder.glob("*.py")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
    ]
    assert len(words) > 100
    assert [w for w in words if banned.search(w) and not w.startswith("Smiley")] == []
    assert [f.text for f in everything_said() if banned.search(f.text)] == []


places = st.tuples(st.floats(-15, 35), st.floats(-15, 35))


@settings(max_examples=drawn(15), deadline=None)
@given(
    trees=st.lists(st.tuples(places, st.floats(0.05, 1.5), st.floats(0.0, 4.0)), max_size=3),
    corner=places,
    mound=st.tuples(st.floats(3, 17), st.floats(3, 13), st.floats(0.5, 6), st.floats(-0.5, 1.5)),
    units=st.sampled_from(["ft", "m"]),
)
def test_any_trees_house_and_mound_are_reviewed_in_short_texts(trees, corner, mound, units):
    ground = yards.make_ground(yards.make_grid(cell=0.5), lambda x, y: 0.03 * x - 0.02 * y)
    proposal = yards.make_proposal(ground, yards.dome(*mound), BED, steepest=0.3)
    site = yards.make_site(
        BED,
        units,
        tree=tuple(Tree(f"tree {k}", at, trunk, 0.0, keep) for k, (at, trunk, keep) in enumerate(trees)),
        building=(Building("house", box(*corner, corner[0] + 6.0, corner[1] + 4.0), 0.1),),
    )
    found = review(site, ground, proposal, yards.make_work())
    assert len(found.trees) == len(trees)
    for check in found.trees:
        assert 0.0 <= check.share_of_root_zone_covered <= check.share_of_root_zone_disturbed <= 1.0
        assert check.fill_in_keep_off >= 0.0
        assert sum(r.covered for r in check.rings) <= sum(r.area for r in check.rings) + 1e-9
    for finding in found:
        assert 1 <= len(sentences(finding.text)) <= 2, finding.text
        assert "nan" not in finding.text
        assert "inf " not in finding.text
        assert " m " not in finding.text or units == "m"


@pytest.mark.parametrize("name", yards.EXAMPLES)
def test_shipped_example_has_few_findings_and_breaks_no_limit(name, request):
    from terrain.shape.berm import shape_berm
    from terrain.soil.measure import measure_earthwork

    site = read_site(request.config.rootpath / "examples" / name / "site.toml")
    ground = yards.plane_under(site)
    proposal = shape_berm(site, ground)
    found = review(site, ground, proposal, measure_earthwork(site, ground, proposal))
    assert not found.stopped
    assert 5 <= len(found) <= 16  # one of them says where the storm goes
    assert all(1 <= len(sentences(f.text)) <= 2 for f in found)
