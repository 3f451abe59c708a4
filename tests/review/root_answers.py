"""Questions on roots and on who decides, each as a small yard, with what an arborist or an inspector answers.

The bed is round, 8 m across, and ends 2.5 m from the oak's trunk of 0.5 m: three diameters are 1.5 m, the structural
root zone is 2.47 m (AS 4970-2009 cl. 3.3.5, replaced in 2025), the root zone 6 m (1 ft per inch).
"""

from __future__ import annotations

from dataclasses import replace

import review_yards as yards
from rain_answers import COMMON, Answer
from shapely.geometry import box

from terrain.site.features import Basin, RetainedEdge
from terrain.site.model import Allowed, Heap, Tree

SRZ = "AS 4970-2009 cl. 3.3.5, the structural root zone; as quoted by consultants"
JOHNSON = "Minnesota Stormwater Manual citing Johnson 1999: at most 25 % of the roots"
KINDS = "www.plantsgalore.com/care/abiotic/Abiotic-grade-change.htm"
BARK = "U. Maryland Extension, Grade changes: buried bark rots"

OAK = Tree("bur oak", (10.0, 15.5), 0.5, 0.5, 1.5)
NEAR = replace(OAK, at=(10.0, 15.2), keep_off=1.2)
AT_FLARE = replace(OAK, at=(10.0, 13.6), keep_off=0.5)
LEAVE = Allowed("A. Person", "12-3", "2026-05-04", 0.60, 0.30)
ALL = replace(LEAVE, fill=2.0, share=1.0)
SQUARE = box(6.0, 5.0, 14.0, 12.0)
STONES = RetainedEdge("front stones", ((5.5, 6.0), (14.5, 6.0)), 0.4)
POOL = Basin("pool", 0.4, center=(3.0, 3.0), size=(1.0, 0.0))
LOT = box(0.0, 0.0, 20.0, 20.0)
COARSE = yards.make_grid(cell=0.5)


def tree(*trees: Tree, **values: object) -> dict[str, object]:
    return {"grid": COARSE, "tree": trees, **values}


ROOT_ANSWERS = (
    Answer(
        "Soil 2.2 m from the centre of a 50 cm oak, outside three diameters?",
        "No: the roots that hold it up reach 2.47 m; an arborist may allow it, nobody else.",
        SRZ,
        tree(NEAR),
        "over the roots that hold it up (to 2.47 m)",
        "stop",
        never=("Allowed:",),
    ),
    Answer(
        "The same, allowed for this tree by a named arborist?",
        "It may go on as allowed; the name, the licence and the date stay with it.",
        COMMON,
        tree(replace(NEAR, allowed=LEAVE)),
        "Allowed: 60 cm of soil, 30 % of the zone; A. Person, licence 12-3, 2026-05-04",
        never=("hold it up",),
    ),
    Answer(
        "A permission for all of the zone: may soil lie on the flare?",
        "Never: bark under soil rots.",
        BARK,
        tree(replace(AT_FLARE, allowed=ALL)),
        "whatever is allowed",
        "stop",
    ),
    Answer(
        "Two trees, one of them allowed: is the other?",
        "No: a permission is given for one tree.",
        COMMON,
        tree(replace(NEAR, name="one", allowed=LEAVE), replace(NEAR, name="other", at=(10.5, 15.2))),
        "draw the bed back, or state what an arborist has allowed",
        "stop",
    ),
    Answer(
        "Work past what was allowed?",
        "Stops until it is changed or allowed anew.",
        COMMON,
        tree(replace(OAK, allowed=replace(LEAVE, fill=0.10))),
        "past the 10 cm that the site file allows there",
        "stop",
    ),
    Answer(
        "A third of the root protection zone under the bed?",
        "Too much: a quarter at most.",
        JOHNSON,
        tree(replace(OAK, at=(10.0, 11.5), keep_off=1.2)),
        "make the bed smaller, draw the bed back",
        "stop",
    ),
    Answer(
        "Thin soil over a tenth of the zone, nothing near the trunk?",
        "An arborist is asked in writing; harm shows years later.",
        "Texas A&M AgriLife Extension: months to 3 to 5 years",
        tree(OAK),
        "Get an arborist's written advice",
    ),
    Answer(
        "Nobody measured the flare: how far is it?",
        "Not known; it is measured at the ground before soil arrives.",
        BARK,
        tree(replace(OAK, flare=0.0)),
        "Nobody measured the root flare of bur oak",
    ),
    Answer("The flare was measured?", "Then nothing is said.", COMMON, tree(OAK), never=("Nobody measured",)),
    Answer(
        "The trench of a low wall 1.6 m from an oak's centre?",
        "A dig among the roots that hold the tree up: no trench before an arborist has looked.",
        SRZ,
        tree(replace(OAK, at=(10.0, 4.0), keep_off=1.2), bed=SQUARE, retained_edge=(STONES,)),
        "the trench of front stones comes to",
        "stop",
    ),
    Answer(
        "A pool dug in the zone, 3 m out?",
        "By hand, roots cut clean, none over 3 in without the arborist.",
        "Fite and Smiley, Root pruning technical report",
        tree(replace(OAK, at=(7.0, 3.0)), basin=(POOL,)),
        "pool meets its root protection zone",
    ),
    Answer(
        "An oak with a trunk of 75 in?",
        "That is what a tape reads round a trunk of 24 in.",
        "girth over pi; " + COMMON,
        tree(replace(OAK, trunk=1.9, flare=1.0, keep_off=7.0)),
        "write girth in place of trunk: the trunk is then 60.5 cm",
    ),
    Answer("An oak with a trunk of 20 in?", "As oaks are.", COMMON, tree(OAK), never=("write girth",)),
    Answer(
        "Quercus macrocarpa: does raised grade harm it?",
        "It is an oak: most of all, by one list.",
        KINDS,
        tree(replace(OAK, name="the big one", species="Quercus macrocarpa")),
        "raised grade harms the big one most",
        "note",
    ),
    Answer(
        "River birch?",
        "Moderately, by the same list.",
        KINDS,
        tree(replace(OAK, name="river birch")),
        "raised grade harms river birch moderately",
        "note",
    ),
    Answer(
        "Honey locust?",
        "No locust (Robinia) but Gleditsia: the list does not have it.",
        KINDS,
        tree(replace(OAK, name="honey locust")),
        "How raised grade harms honey locust is not known here",
        "note",
    ),
    Answer(
        "Mulch 6 in deep over roots?",
        "Too deep: 2 to 4 in.",
        "UF/IFAS Extension, mulching",
        tree(OAK, mulch=0.15),
        "Mulch 15 cm deep lies over",
    ),
    Answer(
        "Mulch 3 in deep, clear of the flare?", "As it should be.", "UF/IFAS Extension", tree(OAK), never=("Mulch ",)
    ),
    Answer(
        "A bed that runs up to the flare?",
        "The mulch is held back so that the flare shows.",
        "UF/IFAS Extension, mulching: several inches to 12 in off the trunk",
        tree(AT_FLARE),
        "Keep mulch 15 cm off it",
    ),
    Answer(
        "A heap on the root protection zone?",
        "It is moved.",
        "U. Missouri Extension G6885",
        tree(OAK, heap=(Heap("spoil", box(14.0, 14.0, 15.0, 15.0)),)),
        "Move it off the roots",
        never=("bed smaller",),
    ),
    Answer(
        "A heap 2 m from the trunk?",
        "It is moved at once, whatever else is allowed.",
        SRZ,
        tree(replace(OAK, allowed=LEAVE), heap=(Heap("spoil", box(12.0, 15.0, 13.0, 16.0)),)),
        "spoil stands over the roots that hold bur oak up",
        "stop",
        never=("bed smaller",),
    ),
    Answer(
        "The oak stands over the lot line?",
        "It is the neighbour's: the owner is asked.",
        COMMON,
        tree(OAK, boundary=box(0.0, 0.0, 20.0, 14.0)),
        "it is a neighbour's",
    ),
    Answer("The oak stands on the lot?", "The client's own.", COMMON, tree(OAK, boundary=LOT), never=("neighbour",)),
    Answer(
        "An oak right below the mound: does it get its water?",
        "The mound turns what ran to it.",
        COMMON,
        tree(replace(OAK, at=(10.0, 2.2), trunk=0.2, flare=0.3, keep_off=1.0)),
        "Runoff to the root protection zone of bur oak falls",
    ),
    Answer(
        "An oak far uphill of the mound?",
        "Its water is as it was.",
        COMMON,
        tree(replace(OAK, at=(10.0, 18.5), trunk=0.1, flare=0.2, keep_off=1.0)),
        never=("Runoff",),
    ),
    Answer(
        "A crown wider than the circle of the rule?",
        "The arborist says whether the zone follows the crown.",
        "GSA Facilities Standards P100 (2003) sec. 2.5",
        tree(replace(OAK, at=(10.0, 18.5), trunk=0.3, dripline=8.0)),
        "The crown of bur oak reaches past the root protection zone",
    ),
    Answer(
        "Is a 40 cm wall under a mound exempt from a permit?",
        "Not by its height alone: a mound is a surcharge.",
        "IRC R105.2 item 3",
        tree(bed=SQUARE, retained_edge=(STONES,)),
        "a surcharge that ends the exemption",
    ),
    Answer(
        "Who says whether a small mound needs a permit?",
        "The permit office, never the plan.",
        "IBC Appendix J, where it is adopted; local code decides",
        tree(),
        "Ask the permit office whether a permit is needed",
    ),
    Answer(
        "A truck tips in the street: how near to the wires?",
        "10 ft, more at high voltage; every line is live.",
        "29 CFR 1926.600(a)(6)",
        tree(),
        "from any overhead line",
    ),
)
