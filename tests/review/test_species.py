"""Kinds of trees fall under the list's own words, and what it says is asked, never answered."""

import pytest

from terrain.review.species import sensitivity


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        # One gardening page, origin of its list not stated; it puts pin oak apart from the other oaks.
        ("bur oak", ("oak", "most")),
        ("Pin Oak", ("pin oak", "least")),
        ("sugar maple", ("sugar maple", "most")),
        ("silver maple", None),
        ("red maple", None),
        ("river birch", ("birch", "moderately")),
        ("London plane", ("plane", "least")),
        ("tulip poplar", ("tulip poplar", "most")),
        ("lombardy poplar", ("poplar", "least")),
        ("two old beeches by the gate", ("beech", "most")),
        # The page gives sugar maple the Latin name of the silver maple: neither tree goes by it.
        ("Acer saccharinum", None),
        ("the two elms", ("elm", "least")),
        ("pineapple guava", None),
        ("helmet tree", None),
        ("", None),
    ],
)
def test_names_fall_under_the_kinds_of_the_list(name, expected):
    assert sensitivity(name) == expected
