"""Every check stands in one list with its verdict, and no finding is said outside the list."""

from __future__ import annotations

import pytest
import review_yards as yards
from shapely.geometry import box

from terrain.findings import Finding
from terrain.review.check_list import CHECKS
from terrain.review.checking import WORDS, Check, count_words, judged
from terrain.review.proposal_review import TOPICS
from terrain.site.model import Building, Heap, Tree

OAK = Tree("bur oak", (10.0, 15.5), 0.5, 0.5, 1.5)


@pytest.fixture(scope="module")
def bare():
    """A bed on open ground: no tree, no building, no lot line is stated."""
    return yards.reviewed(grid=yards.make_grid(cell=0.5))[3]


@pytest.fixture(scope="module")
def full():
    house = Building("house", box(5.0, 17.0, 15.0, 19.0), 1.0)
    heap = Heap("heap", box(1.0, 1.0, 2.0, 2.0))
    lot = box(0.0, 0.0, 20.0, 20.0)
    values = {"tree": (OAK,), "building": (house,), "heap": (heap,), "boundary": lot}
    return yards.reviewed(grid=yards.make_grid(cell=0.5), **values)[3]


def test_names_are_short_and_no_two_checks_share_one():
    names = [check.name for check in CHECKS]
    assert len(set(names)) == len(names)
    assert all(len(name.split()) <= 5 and name == name.lower() for name in names)
    assert {check.topic for check in CHECKS} <= set(TOPICS)


def test_every_check_has_a_verdict_and_every_finding_a_check(bare, full):
    for review in (bare, full):
        assert [verdict.check.name for verdict in review.checks] == [check.name for check in CHECKS]
        told = [finding for verdict in review.checks for finding in verdict.findings]
        assert sorted(told, key=repr) == sorted(review.findings, key=repr)
        assert {verdict.word for verdict in review.checks} <= set(WORDS)


@pytest.mark.parametrize(
    ("levels", "lack", "word"),
    [
        ((), "", "fine"),
        (("note",), "", "fine"),
        (("note", "caution"), "", "look"),
        (("caution", "stop"), "", "stop"),
        ((), "a lot line", "not checked"),
        # What is found with half of the knowledge is still found.
        (("caution",), "the crown of one tree", "look"),
    ],
)
def test_the_worst_finding_speaks_and_what_is_not_known_is_never_fine(levels, lack, word):
    found = [Finding(level, "trees", "said") for level in levels]
    verdict = judged(Check("one", "trees", "all is well", lambda yard: found, lambda yard: lack), None)
    assert (verdict.word, verdict.lack, verdict.findings) == (word, lack, tuple(found))


def test_what_the_site_file_does_not_say_is_not_checked_and_named(bare, full):
    lacks = {verdict.check.name: verdict.lack for verdict in bare.checks if verdict.word == "not checked"}
    assert lacks["keep-offs"] == "a tree"
    assert lacks["setbacks"] == "a lot line"
    assert lacks["ground beside buildings"] == "a building"
    assert lacks["heaps on roots"] == "the place of the soil heap"
    known = {verdict.check.name: verdict.word for verdict in full.checks}
    assert known["crowns past root protection zones"] == "not checked"
    told = [
        name
        for name in lacks
        if name not in ("walks", "crowns past root protection zones") and not name.startswith("near ")
    ]
    assert "not checked" not in {known[name] for name in told}
    assert all(known[f"near {kind}s"] == "not checked" for kind in ("street", "hydrant", "buried line"))
    assert "for lack of the width of a crown, a walk, " in count_words(full.checks)


def test_the_line_counts_every_check_once(bare):
    words = count_words(bare.checks)
    numbers = [int(part.split()[0]) for part in words.split(" for lack of")[0].split(", ")]
    assert sum(numbers) == len(CHECKS)
