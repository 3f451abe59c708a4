"""Questions on water, slopes, walls and ground, each as a small yard, with what somebody of the trade answers.

A row: the question, the professional answer, its source, the yard, and the words that our answer has or must not have.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
import review_yards as yards
from shapely.geometry import box

from terrain.site.features import Basin, Channel, RetainedEdge
from terrain.site.model import Building, Soil, Walk
from terrain.site.storm import Storm
from terrain.site.things import Thing

COMMON = "common practice, no published source"
HOUR = 3600.0
CLAY = 1.0 / 3.6e6  # m/s, 1 mm an hour


@dataclass(frozen=True)
class Answer:
    """One question: `says` must stand in a finding of `level`; of `never` no word may stand anywhere."""

    question: str
    professional: str
    source: str
    yard: Mapping[str, object]
    says: str = ""
    level: str = "caution"
    never: tuple[str, ...] = ()


def falling(slope: float) -> yards.Depth:
    return lambda x, y: slope * y


def valley(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """A natural swale that falls 3 % to the south along x = 10."""
    return 0.03 * y + 0.08 * np.abs(x - 10.0)


BOWL = Basin("bowl", 0.30, center=(10.0, 15.0), size=(0.9, 0.0), clearance=0.05)
HOUSE = Building("house", box(2.0, 17.5, 18.0, 19.8), 2.0)
CLOUDBURST = Storm(0.08, 1.0, CLAY)

RAIN = (
    Answer(
        "A 3 ft bowl, 12 in deep, under a slope in clay: does it hold 3 in of rain in an hour?",
        "No: the ground above sends many times its volume; it runs over.",
        "catchment times rain against the volume: arithmetic",
        {"existing": falling(0.06), "basin": (BOWL,), "storm": CLOUDBURST},
        "bowl holds",
    ),
    Answer(
        "The same bowl in sand under a soft rain?",
        "Yes: nothing runs off.",
        "FAO, Irrigation methods, Annex 2: sand takes over 30 mm an hour",
        {
            "existing": falling(0.06),
            "basin": (BOWL,),
            "soil": Soil("sand"),
            "storm": Storm(0.02, 6.0),
        },
        never=("bowl holds", "dries in"),
    ),
    Answer(
        "A bowl in the pond that a mound across a natural swale makes: is the pond gone?",
        "No: a bowl of a wheelbarrow's size takes little of it; the pond stands about the bowl.",
        "Barnes, Callaghan and Wickert 2021: a hollow that is full is part of the larger one",
        {
            "existing": valley,
            "basin": (Basin("bowl", 0.30, center=(10.0, 13.8), size=(0.6, 0.0), clearance=0.05),),
            "storm": CLOUDBURST,
        },
        "the rest stands about it",
    ),
    Answer(
        "How long may a basin that shall dry stand full? A 12 in one in clay at 1 mm an hour.",
        "72 h at most; this one takes days.",
        "New Jersey Future, Developers Green Infrastructure Guide: 72 hours",
        {"existing": falling(0.06), "basin": (BOWL,), "storm": CLOUDBURST},
        "where 72 h are asked",
    ),
    Answer(
        "May water soak in 5 ft from a foundation?",
        "Ten feet away, or lined.",
        "Rain Garden Handbook for Western Washington: not within 10 feet of a foundation",
        {"existing": falling(-0.06), "basin": (BOWL,), "building": (HOUSE,)},
        "where 3.05 m are asked",
    ),
    Answer(
        "A basin 16 ft from the house?",
        "Far enough.",
        "Rain Garden Handbook for Western Washington: not within 10 feet of a foundation",
        {
            "existing": falling(-0.06),
            "basin": (Basin("bowl", 0.3, center=(10.0, 2.5), size=(0.9, 0.0)),),
            "building": (HOUSE,),
        },
        never=("from house where",),
    ),
    Answer(
        "Which storm was taken, where nobody stated one?",
        "An assumed one, said to be assumed, with where the place's own is found.",
        "NOAA Atlas 14 is the published rain of places in the United States",
        {},
        "(assumed: rain, hours, intake)",
        "note",
    ),
    Answer(
        "And where the site file states it?",
        "The stated one, and no word of an assumption.",
        "the site file",
        {"storm": Storm(0.05, 6.0, CLAY)},
        "Of 5 cm of rain in 6 h",
        "note",
        ("assumed",),
    ),
)
LOT = box(2.0, 1.0, 18.0, 19.0)
CHUTE = {  # stones beside a slanting ridge would do the same: here a channel takes the slope's water to one place
    "existing": falling(0.05),
    "channel": (Channel("ditch", ((3.0, 16.0), (10.0, 14.5), (15.5, 13.0), (16.0, 2.0)), 0.5, 0.25, 1.0),),
    "bed": box(5.0, 4.0, 12.0, 10.0),
    "crest": ((8.5, 7.0, 0.4),),
    "boundary": LOT,
    "storm": CLOUDBURST,
}
STREAMS = (
    Answer(
        "A ditch brings a slope's water to one place of the lot line; the sum on that side is the same. All well?",
        "No: water that came spread out leaves in one stream; spread it again.",
        COMMON,
        CHUTE,
        "of the lot line near",
    ),
    Answer(
        "A round mound on a slope, clear of the lot line?",
        "Its water closes behind it; nothing to say.",
        COMMON,
        {"existing": falling(0.05), "boundary": LOT, "crest": ((10.0, 9.0, 0.2),)},
        never=("of the lot line near",),
    ),
    Answer(
        "The same ditch across a walk?",
        "Lead it under the walk or along it.",
        COMMON,
        {**CHUTE, "boundary": None, "walk": (Walk("path", ((2.0, 3.0), (18.0, 3.0)), 1.0),)},
        "of path near",
    ),
)
WEST = Building("house", box(0.5, 13.0, 19.5, 19.0), 2.0)  # only its south side has 10 ft of ground
NEAR = {"bed": box(5.0, 5.0, 15.0, 12.5), "crest": ((10.0, 9.5, 0.5),), "building": (WEST,)}
HOUSES = (
    Answer(
        "A mound leaves 3 in of fall in 10 ft from the wall.",
        "A stop: 6 in, or a swale of 2 %.",
        "IRC R401.3",
        {"existing": falling(0.06), **NEAR},
        "draw a swale that falls 2 %",
        "stop",
    ),
    Answer(
        "The same with a swale of 3 % beside the wall?",
        "Allowed, as long as it stays open.",
        "IRC R401.3, swales within 10 ft at 2 %",
        {
            "existing": lambda x, y: 0.06 * y - 0.03 * x,
            **NEAR,
            "bed": box(5.0, 4.0, 15.0, 11.5),
            "crest": ((10.0, 8.5, 0.5),),
            "channel": (Channel("swale", ((1.0, 12.4), (19.5, 12.4)), 0.3, 0.1, 1.0),),
        },
        never=("draw a swale that falls",),
    ),
    Answer(
        "Ground that is flat beside the house, the mound far away: whose fault?",
        "Nobody's here: said as it is.",
        "IRC R401.3",
        {
            "existing": falling(0.01),
            "bed": box(8.0, 0.5, 12.0, 4.0),
            "crest": ((10.0, 2.2, 0.2),),
            "building": (WEST,),
        },
        "as it is, where",
        "note",
        ("draw a swale that falls",),
    ),
    Answer(
        "The siding comes down to 3 in over the ground already, and no soil comes near.",
        "Said as it is: 6 in are asked.",
        "IRC R317.1",
        {
            "existing": lambda x, y: 0.06 * np.minimum(y, 13.0),
            "bed": box(8.0, 0.5, 12.0, 4.0),
            "crest": ((10.0, 2.2, 0.2),),
            "building": (replace(WEST, siding=0.78 + 0.075),),
        },
        "of its siding as it is",
        "note",
    ),
    Answer(
        "Mulch to the wall comes within 3 in of the siding, the floor is a yard up.",
        "Leave the mulch off: the siding counts, not the floor.",
        "IRC R317.1",
        {
            "existing": falling(0.06),
            "bed": box(5.0, 5.0, 15.0, 13.0),
            "crest": ((10.0, 9.5, 0.3),),
            "building": (replace(WEST, siding=0.78 + 0.07 + 0.08),),
        },
        "of its siding. Leave the mulch off",
    ),
    Answer(
        "Mulch to the wall, the foundation's top 2 ft up, a window sill at 4 in.",
        "The sill counts.",
        "IRC R317.1; for sills common practice, no published source",
        {
            "existing": falling(0.06),
            "bed": box(5.0, 5.0, 15.0, 13.0),
            "crest": ((10.0, 9.5, 0.3),),
            "building": (replace(WEST, foundation_top=1.4, sill=0.78 + 0.10),),
        },
        "of its lowest window sill",
    ),
)
LOW = {"existing": falling(0.03), "bed": box(6.0, 5.0, 14.0, 12.0), "crest": ((10.0, 8.5, 0.6),)}


def with_things(*things: Thing) -> dict[str, object]:
    return {**LOW, "thing": things}


THINGS = (
    Answer(
        "A hydrant 2 ft from the toe.",
        "Three feet stay clear round it.",
        "City of La Porte TX fire marshal (IFC 507.5.5)",
        with_things(Thing("hydrant", "hydrant", ((10.0, 4.6),))),
        "of hydrant, which asks for 0.91 m",
    ),
    Answer(
        "A hydrant 6 ft from the toe.",
        "Clear.",
        "City of La Porte TX fire marshal (IFC 507.5.5)",
        with_things(Thing("hydrant", "hydrant", ((10.0, 3.0),))),
        never=("of hydrant",),
    ),
    Answer(
        "A mound over a septic tank.",
        "A stop: the lid must open, and it bears no load.",
        COMMON,
        with_things(
            Thing(
                "septic",
                "tank",
                (
                    (9.0, 8.0),
                    (11.0, 8.0),
                    (11.0, 9.5),
                    (9.0, 9.5),
                ),
            )
        ),
        "Soil lies on tank",
        "stop",
    ),
    Answer(
        "A mound 2 ft high, its toe a foot from an old garden wall of 3 ft.",
        "It is a load on the wall: ask.",
        "IRC R105.2: a surcharge ends the exemption",
        with_things(
            Thing(
                "wall",
                "old wall",
                (
                    (4.0, 5.2),
                    (16.0, 5.2),
                ),
                0.9,
            )
        ),
        "is a load on it",
    ),
    Answer(
        "The same wall 13 ft away.",
        "No load.",
        "IRC R105.2",
        with_things(
            Thing(
                "wall",
                "old wall",
                (
                    (4.0, 1.0),
                    (16.0, 1.0),
                ),
                0.9,
            )
        ),
        never=("is a load on it",),
    ),
    Answer(
        "Soil against a fence.",
        "No fence is built to hold soil.",
        COMMON,
        with_things(
            Thing(
                "fence",
                "back fence",
                (
                    (4.0, 11.6),
                    (16.0, 11.6),
                ),
                1.8,
            )
        ),
        "no fence is built to hold soil",
    ),
    Answer(
        "A channel dug across a gas line.",
        "Locate it and dig by hand within 24 in.",
        "29 CFR 1926.651(b)",
        {
            **with_things(Thing("buried line", "gas", ((2.0, 2.0), (18.0, 2.0)))),
            "channel": (Channel("rill", ((15.0, 4.0), (15.0, 0.5)), 0.3, 0.2),),
        },
        "open it by hand within",
    ),
    Answer(
        "A mound over a water line.",
        "Ask its owner: its cover changes.",
        COMMON,
        with_things(
            Thing(
                "buried line",
                "water",
                (
                    (2.0, 8.5),
                    (18.0, 8.5),
                ),
            )
        ),
        "lies over water",
    ),
    Answer(
        "A mound under the service drop.",
        "Tip and lift nothing within 10 ft of it.",
        "29 CFR 1926.1408 Table A",
        with_things(
            Thing(
                "overhead line",
                "service drop",
                (
                    (2.0, 8.5),
                    (18.0, 8.5),
                ),
                3.7,
            )
        ),
        "lies under service drop",
    ),
    Answer(
        "A mound of 2 ft with shrubs of 2 ft at a street corner.",
        "A stop: 30 in over the street in the triangle.",
        "Burtchville Township MI: 30 in, 25 ft",
        with_things(
            Thing("street", "north side", ((0.0, 13.0), (20.0, 13.0))),
            Thing("street", "east side", ((14.5, 0.0), (14.5, 20.0))),
            Thing("corner", "corner", ((14.5, 13.0),), 0.6),
        ),
        "past 76 cm",
        "stop",
    ),
    Answer(
        "Nobody said whether there is a septic field.",
        "Not checked, and said so: no finding invents one.",
        COMMON,
        LOW,
        never=(
            "tank,",
            "of hydrant",
        ),
    ),
)
STEEP = {"max_slope": 1 / 3, "bed": box(6.0, 5.0, 14.0, 13.0), "crest": ((10.0, 9.0, 1.2),)}
PAVED = Walk("drive", ((4.0, 4.4), (16.0, 4.4)), 1.0, paved=True)
LOWER = RetainedEdge("lower stones", ((6.0, 6.3), (14.0, 6.3)), 0.6)
TIERED = {"bed": box(5.0, 6.0, 15.0, 14.0), "crest": ((10.0, 11.0, 0.8),)}
DUG = {"building": (HOUSE,), "basin": (Basin("pit", 0.5, center=(10.0, 16.7), size=(0.8, 0.0)),)}
GROUND = (
    Answer(
        "A mound across a natural swale.",
        "A caution with the depth of the pond behind it.",
        COMMON,
        {"existing": valley},
        "The berm makes water stand near",
    ),
    Answer(
        "The pond stands on the front walk.",
        "The walk is named.",
        COMMON,
        {"existing": valley, "walk": (Walk("front walk", ((8.0, 13.6), (12.0, 13.6)), 1.2),)},
        ", on front walk",
    ),
    Answer(
        "A swale that ends in a slope at its full depth.",
        "It has no way out.",
        COMMON,
        {"existing": falling(0.05), "channel": (Channel("swale", ((16.0, 15.0), (16.0, 5.0)), 0.4, 0.2, 1.0),)},
        "swale has no way out",
    ),
    Answer(
        "The same, its end tapered to come out on the slope.",
        "A way out: nothing to say.",
        COMMON,
        {
            "existing": falling(0.05),
            "channel": (Channel("swale", ((16.0, 17.0), (16.0, 3.0)), 0.4, 0.2, 1.0, taper=7.0),),
        },
        never=("no way out",),
    ),
    Answer(
        "A swale that falls 10 %.",
        "Line it: running water takes bare soil.",
        "US Department of Veterans Affairs, sec. 12.7, note b: over 6 %",
        {"existing": falling(0.10), "channel": (Channel("swale", ((16.0, 19.0), (16.0, -1.0)), 0.4, 0.15, 1.0),)},
        "line it with stone",
    ),
    Answer(
        "A swale that falls 4 %.",
        "Grass will do.",
        "US Department of Veterans Affairs, sec. 12.7, note b: over 6 %",
        {"existing": falling(0.04), "channel": (Channel("swale", ((16.0, 19.0), (16.0, -1.0)), 0.4, 0.15, 1.0),)},
        never=("line it with stone",),
    ),
    Answer(
        "A bare 3:1 face beside a paved walk.",
        "It washes onto the walk: mulch or mat it.",
        COMMON,
        {**STEEP, "mulch": 0.0, "walk": (PAVED,)},
        "rain washes it onto the paving",
    ),
    Answer(
        "The same face under 3 in of mulch.",
        "Covered.",
        "UF/IFAS mulching pages: 2 to 4 in",
        {**STEEP, "mulch": 0.075, "walk": (PAVED,)},
        never=(
            "washes it onto",
            "will lie bare",
        ),
    ),
    Answer(
        "A limit of 2:1 and 18 % of settlement: what stands the first season?",
        "1.7:1, which needs an engineer.",
        "arithmetic: 2:1 / 1.18; GSA P100 sec. 2.5",
        {"max_slope": 0.5, "crest": ((10.0, 9.0, 1.2),), "soil": Soil(settlement=0.18)},
        "On day one, before it settles",
        "stop",
    ),
    Answer(
        "A limit of 4:1 and 8 % of settlement?",
        "3.7:1 until it settles: no class is passed.",
        "arithmetic",
        {"soil": Soil(settlement=0.08)},
        never=("On day one, before it settles",),
    ),
    Answer(
        "Clay 4 ft high at 2:1.",
        "A stop: wet clay stands at 3:1.",
        "Newman 1890, ch. VI",
        {"max_slope": 0.5, "crest": ((10.0, 9.0, 1.3),), "soil": Soil("clay")},
        "slides when it is wet",
        "stop",
    ),
    Answer(
        "Sand 4 ft high at 2:1.",
        "Sand is not clay.",
        "Newman 1890, ch. VI: sand 1.25:1 to 1.5:1",
        {"max_slope": 0.5, "crest": ((10.0, 9.0, 1.3),), "soil": Soil("sand")},
        never=("slides when it is wet",),
    ),
    Answer(
        "Clay 20 in high at 3:1.",
        "Within what wet clay does.",
        "Newman 1890, ch. VI",
        {"max_slope": 1 / 3, "soil": Soil("clay")},
        never=("slides when it is wet",),
    ),
    Answer(
        "Two stone edges of 2 ft, 2 ft apart, one above the other.",
        "They count as one wall.",
        "Bothell WA 12.14.152: twice the height",
        {**TIERED, "retained_edge": (LOWER, RetainedEdge("upper stones", ((6.5, 7.0), (13.5, 7.0)), 0.6))},
        "count as one wall",
        "stop",
    ),
    Answer(
        "The same 5 ft apart.",
        "Two walls.",
        "Bothell WA 12.14.152: twice the height",
        {**TIERED, "retained_edge": (LOWER, RetainedEdge("upper stones", ((6.5, 7.9), (13.5, 7.9)), 0.6))},
        never=("count as one wall",),
    ),
    Answer(
        "A drop of 3 ft over stones beside a path.",
        "A guard over 30 in.",
        "IRC R312.1",
        {
            **TIERED,
            "retained_edge": (replace(LOWER, height=0.9),),
            "walk": (Walk("path", ((4.0, 5.3), (16.0, 5.3)), 0.8),),
        },
        "codes ask for a guard",
    ),
    Answer(
        "A drop of 2 ft there.",
        "None asked.",
        "IRC R312.1",
        {**TIERED, "retained_edge": (LOWER,), "walk": (Walk("path", ((4.0, 5.3), (16.0, 5.3)), 0.8),)},
        never=("codes ask for a guard",),
    ),
    Answer(
        "A dig of 20 in, a foot from the house; frost goes 42 in deep.",
        "The footing lies deeper than the dig.",
        "IRC R403.1.4",
        {**DUG, "soil": Soil(frost=1.07)},
        never=("under its footing",),
    ),
    Answer(
        "The same where nothing is said of frost.",
        "A foot is the least depth: ask.",
        "IRC R403.1.4",
        DUG,
        "under its footing",
    ),
)
ANSWERS = (*RAIN, *STREAMS, *HOUSES, *THINGS, *GROUND)
