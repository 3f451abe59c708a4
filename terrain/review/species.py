"""How kinds of trees take raised grade, and how thick they grow: one table, with botanical and common names.

The table says what one published list says, as a thing to ask the arborist and never as an answer. The list goes by
genus, so each row names the usual trees of the genus. It gives sugar maple the Latin name of silver maple, which is
told apart here, and puts pin oak apart from the other oaks. Trees that it does not have are not known.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache

from terrain.limits import INCH

SOURCE = "www.plantsgalore.com/care/abiotic/Abiotic-grade-change.htm, which names no origin; ask the arborist"


@dataclass(frozen=True)
class Kind:
    """A row of the table.

    Parameters
    ----------
    name
        What the list calls it.
    harmed
        How raised grade harms it by the list: "most", "moderately", "least"; "" where the list is silent.
    thickest
        Trunk diameter that few of the kind reach, metres. Common practice, no published source; from memory.
    words
        Botanical and common names that fall under it, lower case; a genus stands for all its species.
    """

    name: str
    harmed: str
    thickest: float
    words: tuple[str, ...]


def _kind(name: str, harmed: str, inches: float, words: str) -> Kind:
    return Kind(name, harmed, inches * INCH, tuple(word.strip() for word in words.split(",")))


# What the list does not have, written out so that no shorter name claims it: honey locust is no locust.
SILENT = "honey locust, honeylocust, gleditsia, silver maple, acer saccharinum, blue beech, desert willow, chilopsis, "
SILENT += "silky oak, she oak, poison oak, norfolk island pine, araucaria, cornelian cherry, douglas fir, screw pine"

KINDS = (
    _kind("sugar maple", "most", 48, "sugar maple, acer saccharum, rock maple, hard maple"),
    _kind("dogwood", "most", 14, "dogwood, flowering dogwood, kousa dogwood, pagoda dogwood, cornus"),
    _kind("beech", "most", 54, "beech, american beech, european beech, copper beech, fagus"),
    _kind("tulip tree", "most", 60, "tulip tree, tuliptree, tulip poplar, yellow poplar, liriodendron"),
    _kind(
        "spruce",
        "most",
        42,
        "spruce, norway spruce, white spruce, blue spruce, colorado spruce, black hills spruce, serbian spruce, picea",
    ),
    _kind(
        "pine",
        "most",
        48,
        "pine, white pine, eastern white pine, scots pine, scotch pine, austrian pine, red pine, ponderosa pine, "
        "loblolly pine, longleaf pine, mugo pine, pinus",
    ),
    _kind(
        "oak",
        "most",
        60,
        "oak, bur oak, white oak, red oak, black oak, live oak, english oak, post oak, swamp white oak, scarlet oak, "
        "shingle oak, chinkapin oak, willow oak, water oak, valley oak, quercus",
    ),
    _kind("birch", "moderately", 36, "birch, river birch, paper birch, silver birch, white birch, betula"),
    _kind("hickory", "moderately", 42, "hickory, shagbark hickory, bitternut hickory, pignut hickory, pecan, carya"),
    _kind("hemlock", "moderately", 48, "hemlock, eastern hemlock, canadian hemlock, western hemlock, tsuga"),
    _kind("plane", "least", 84, "plane, planetree, plane tree, london plane, sycamore, american sycamore, platanus"),
    _kind(
        "poplar",
        "least",
        72,
        "poplar, lombardy poplar, white poplar, cottonwood, eastern cottonwood, aspen, quaking aspen, populus",
    ),
    _kind("pin oak", "least", 48, "pin oak, quercus palustris"),
    _kind("locust", "least", 42, "locust, black locust, robinia"),
    _kind("willow", "least", 60, "willow, weeping willow, black willow, white willow, salix"),
    _kind("elm", "least", 60, "elm, american elm, siberian elm, chinese elm, lacebark elm, slippery elm, ulmus"),
)
UNKNOWN = _kind("", "", 60, SILENT)


@cache
def kind_of(tree: str) -> Kind:
    """The row that the name of a tree falls under, common or botanical; the longest name that stands in it counts.

    Names are matched as whole words: "bur oak" and "Quercus macrocarpa" fall under oak, "pineapple guava" under nothing
    (`UNKNOWN`).
    """
    words = " ".join(re.findall(r"[a-z]+", tree.lower()))
    for word, kind in _by_length():
        if re.search(rf"\b{word}(e?s)?\b", words):
            return kind
    return UNKNOWN


@cache
def _by_length() -> tuple[tuple[str, Kind], ...]:
    named = [(word, kind) for kind in (*KINDS, UNKNOWN) for word in kind.words]
    return tuple(sorted(named, key=lambda one: -len(one[0])))


def harm_words(tree: str) -> str:
    """How raised grade harms a kind of tree: "most (oak)", or "not known"."""
    kind = kind_of(tree)
    return f"harms {kind.name} {kind.harmed}" if kind.harmed else "harm not known"
