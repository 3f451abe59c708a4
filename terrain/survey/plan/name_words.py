"""What the names of layers and blocks say, in the words that offices use for them in several languages.

A layer name by the United States National CAD Standard has its discipline first (V survey, C civil, L landscape) and
may end in the status of what it shows (E existing, N new).
"""

from __future__ import annotations

import re
from collections.abc import Mapping

EXISTING, PROPOSED, OUTLINE, TREES, BUILDING, BOUNDARY, UNUSED = (
    "existing",
    "proposed",
    "outline",
    "trees",
    "building",
    "boundary",
    "unused",
)
USES = (EXISTING, PROPOSED, OUTLINE, TREES, BUILDING, BOUNDARY, UNUSED)
GRADES = (EXISTING, PROPOSED)

_WORDS: Mapping[str, frozenset[str]] = {
    EXISTING: frozenset(
        [
            "ex",
            "exg",
            "exist",
            "existing",
            "eg",
            "og",
            "natural",
            "original",
            "surveyed",
            "survey",
            "bestand",
            "existant",
            "existente",
            "actual",
        ]
    ),
    PROPOSED: frozenset(
        [
            "pr",
            "prop",
            "propose",
            "proposed",
            "fg",
            "new",
            "design",
            "designed",
            "finish",
            "finished",
            "grading",
            "grad",
            "planung",
            "geplant",
            "neu",
            "projet",
            "projete",
            "propuesto",
            "proyecto",
            "proyectado",
        ]
    ),
    TREES: frozenset(
        [
            "tree",
            "trees",
            "trunk",
            "trunks",
            "oak",
            "maple",
            "conifer",
            "deciduous",
            "arbre",
            "arbres",
            "arbol",
            "arboles",
            "baum",
            "baeume",
            "bäume",
            "árbol",
        ]
    ),
    OUTLINE: frozenset(
        ["outline", "bed", "berm", "mound", "limit", "limits", "lod", "disturbance", "umriss", "contorno", "emprise"]
    ),
    BUILDING: frozenset(
        [
            "building",
            "bldg",
            "house",
            "garage",
            "gebaeude",
            "gebäude",
            "haus",
            "batiment",
            "bâtiment",
            "edificio",
            "casa",
        ]
    ),
    BOUNDARY: frozenset(["boundary", "property", "parcel", "lot", "bndy", "parcelle", "parzelle", "grenze", "lindero"]),
}
# Words that go before those of the grades: a layer of trees that are there is one of trees.
_FIRST = (TREES, BUILDING, BOUNDARY, OUTLINE)
_HEIGHT_WORDS = frozenset(
    [
        "cont",
        "contour",
        "contours",
        "cntr",
        "topo",
        "majr",
        "minr",
        "spot",
        "spots",
        "surface",
        "elev",
        "elevation",
        "elevations",
        "level",
        "levels",
        "grade",
        "tin",
        "hoehenlinien",
        "höhenlinien",
        "courbe",
        "courbes",
        "niveau",
        "curva",
        "curvas",
        "cota",
        "cotas",
    ]
)
_STATUS = {"e": EXISTING, "n": PROPOSED}
_DISCIPLINE = {"v": EXISTING}
_BOUNDS = frozenset(["line", "ln", "bndy", "corner"])
_STARTS = ((EXISTING, ("exist", "excont", "exspot")), (PROPOSED, ("propos", "propcont", "propspot", "finish")))


def words_of(name: str) -> tuple[str, ...]:
    """The words of a name in small letters: "C-TOPO_EX" has c, topo and ex; "exContours" has ex and contours."""
    own = re.split(r"[|$]", name)[-1]  # "SITE$0$V-TOPO" and "SITE|V-TOPO" are layers of a drawing put into this one
    parted = re.sub(r"(?<=[a-zà-ÿ])(?=[A-ZÀ-Ý])", " ", own)
    return tuple(word for word in re.split(r"[^a-zà-ÿß]+", parted.lower()) if word)


def grade_of(name: str) -> str:
    """ "existing" or "proposed" where a name says so, "" where it says neither or both."""
    words = words_of(name)
    said = {grade for grade in GRADES if _WORDS[grade] & set(words)}
    said |= {grade for grade, starts in _STARTS if any(word.startswith(starts) for word in words)}
    if len(said) == 1:
        return said.pop()
    return "" if said or len(words) < 2 else _STATUS.get(words[-1], _DISCIPLINE.get(words[0], ""))


def thing_of(name: str) -> str:
    """ "trees", "building", "boundary" or "outline" where a name says so, else ""."""
    words = set(words_of(name))
    if "prop" in words and words & _BOUNDS:
        return BOUNDARY
    if words & _HEIGHT_WORDS:
        return ""
    return next((thing for thing in _FIRST if _WORDS[thing] & words), "")
