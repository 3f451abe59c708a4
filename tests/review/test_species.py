"""Kinds of trees fall under the words of one list, common and botanical; what it does not have is not known.

Which species belong to a genus is botany; what the list says of the genus stands on
www.plantsgalore.com/care/abiotic/Abiotic-grade-change.htm (origin not stated).
"""

import pytest

from terrain.review.species import KINDS, harm_words, kind_of

# Each line: what the list says of the genus, then trees that belong to it.
BOTANY = {
    ("oak", "most"): (
        *("bur oak", "Quercus macrocarpa", "white oak", "Quercus alba", "northern red oak", "Quercus rubra"),
        *("live oak", "English oak", "Quercus robur", "swamp white oak", "willow oak", "Quercus phellos", "post oak"),
    ),
    ("pin oak", "least"): ("Pin Oak", "Quercus palustris"),
    ("sugar maple", "most"): ("sugar maple", "Acer saccharum"),
    ("dogwood", "most"): ("flowering dogwood", "Cornus florida", "kousa dogwood"),
    ("beech", "most"): ("two old beeches by the gate", "Fagus sylvatica", "American beech"),
    ("tulip tree", "most"): ("tulip poplar", "yellow poplar", "Liriodendron tulipifera", "tulip tree"),
    ("spruce", "most"): ("Norway spruce", "Picea abies", "Colorado blue spruce", "Picea pungens"),
    ("pine", "most"): ("eastern white pine", "Pinus strobus", "Scots pine", "Pinus nigra", "ponderosa pine"),
    ("birch", "moderately"): ("river birch", "Betula nigra", "paper birch", "Betula papyrifera"),
    ("hickory", "moderately"): ("shagbark hickory", "Carya ovata", "pecan"),
    ("hemlock", "moderately"): ("eastern hemlock", "Tsuga canadensis"),
    ("plane", "least"): ("London plane", "Platanus x acerifolia", "sycamore", "Platanus occidentalis"),
    ("poplar", "least"): ("eastern cottonwood", "Populus deltoides", "quaking aspen", "Lombardy poplar"),
    ("locust", "least"): ("black locust", "Robinia pseudoacacia"),
    ("willow", "least"): ("weeping willow", "Salix babylonica"),
    ("elm", "least"): ("the two elms", "American elm", "Ulmus americana", "Siberian elm"),
}
# Usual trees that the list does not have, and names that hold the name of another tree.
NOT_KNOWN = (
    *("silver maple", "Acer saccharinum", "red maple", "Norway maple", "green ash", "ginkgo", "little-leaf linden"),
    *(
        "honey locust",
        "honeylocust",
        "Gleditsia triacanthos",
        "blue beech",
        "desert willow",
        "silky oak",
        "Douglas fir",
    ),
    *("pineapple guava", "helmet tree", ""),
)


@pytest.mark.parametrize(("name", "row"), [(name, row) for row, names in BOTANY.items() for name in names])
def test_a_name_falls_under_the_word_of_the_list(name, row):
    kind = kind_of(name)
    assert (kind.name, kind.harmed) == row


def test_forty_usual_trees_and_more_are_known_by_common_and_botanical_names():
    assert sum(len(names) for names in BOTANY.values()) >= 40
    assert {(kind.name, kind.harmed) for kind in KINDS} == set(BOTANY)


@pytest.mark.parametrize("name", NOT_KNOWN)
def test_what_the_list_does_not_have_is_not_known_and_said_so(name):
    assert kind_of(name).harmed == ""
    assert harm_words(name) == "harm not known"


def test_no_word_stands_in_two_rows():
    words = [word for kind in KINDS for word in kind.words]
    assert len(words) == len(set(words))
