"""A girth typed as a diameter is doubted: by what the kind grows to, and by a root zone larger than the yard."""

from __future__ import annotations

import math

import pytest
import review_yards as yards
from shapely.geometry import box

from terrain.limits import INCH
from terrain.review.trunks import trunk_findings
from terrain.site.model import Tree, TreeRule

BED = box(2.0, 2.0, 8.0, 8.0)


def doubted(name: str, inches: float, size: float = 60.0, units: str = "ft", **values: object) -> list[str]:
    """What is said of a tree of a trunk in a square yard of a size in metres."""
    tree = Tree(name, (10.0, 10.0), inches * INCH, 1.2, 3.0, **values)
    ground = yards.make_ground(yards.make_grid(size, 1.0))
    site = yards.make_site(BED, units, tree=(tree,), trees=TreeRule("1 ft per inch"))
    return [found.text for found in trunk_findings(site, ground)]


# The circle of a trunk of 75 in by 1 ft per inch has a radius of 75 ft: 1,642 m2 (geometry), a square of 40.5 m.
@pytest.mark.parametrize(
    ("name", "inches", "size", "words"),
    [
        ("bur oak", 75.0, 60.0, "thicker than oak grows"),
        ("bur oak", 30.0, 60.0, None),
        ("flowering dogwood", 24.0, 60.0, "thicker than dogwood grows"),
        ("dogwood", 8.0, 60.0, None),
        ("sycamore", 75.0, 42.0, None),
        ("sycamore", 75.0, 40.0, "larger than the yard"),
        # A large tree in a small survey is no slip: below 36 in the yard alone says nothing.
        ("bur oak", 35.0, 10.0, None),
        ("the big one", 75.0, 60.0, "thicker than most kinds grows"),
    ],
)
def test_a_trunk_that_nothing_of_the_name_reaches_is_doubted(name, inches, size, words):
    told = doubted(name, inches, size)
    assert bool(told) == (words is not None)
    assert all(words in text for text in told)


@pytest.mark.parametrize(("units", "girth"), [("ft", "23 3/4 in"), ("m", "60.5 cm")])
def test_the_doubt_says_what_the_trunk_would_be(units, girth):
    assert 75.0 / math.pi == pytest.approx(23.87, abs=0.01)
    (told,) = doubted("bur oak", 75.0, units=units)
    assert f"the trunk is then {girth}" in told


def test_a_trunk_worked_out_from_a_girth_is_not_doubted_again():
    assert doubted("bur oak", 75.0, girth=75.0 * math.pi * INCH) == []
