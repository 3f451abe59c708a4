"""Questions on slopes, walls, things of the yard and ground, with those on rain; as `rain_answers` has them."""

from __future__ import annotations

from dataclasses import replace

from rain_answers import COMMON, HOUSE, HOUSES, RAIN, STREAMS, Answer, falling, valley
from shapely.geometry import box

from terrain.site.features import Basin, Channel, RetainedEdge
from terrain.site.local import Local
from terrain.site.model import Soil, Walk
from terrain.site.things import Thing

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
        "A window well at the edge of a mulched bed, the soil 4 ft off.",
        "Mulch falls in: leave a bare strip or edge the bed.",
        COMMON,
        {
            **with_things(Thing("window well", "well", ((12.0, 13.8), (13.0, 13.8), (13.0, 14.4), (12.0, 14.4)))),
            "bed": box(6.0, 5.0, 14.0, 13.75),
            "crest": ((9.0, 8.0, 0.4),),
        },
        "stops its drain",
    ),
    Answer(
        "Soil in a window well.",
        "A stop: it is a way out.",
        "IRC R310.2.3",
        with_things(Thing("window well", "well", ((9.0, 8.0), (10.0, 8.0), (10.0, 8.6), (9.0, 8.6)))),
        "Soil lies on well",
        "stop",
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
        "A low wall of 8 in, 20 in from a mound of 2 ft.",
        "The mound's height counts too.",
        "IRC R105.2: a surcharge ends the exemption",
        with_things(Thing("wall", "kerb wall", ((4.0, 5.2), (16.0, 5.2)), 0.2)),
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
        "Clay loam 4 1/4 ft high at 2:1.",
        "It may slide when wet: 3:1, or ask.",
        "Newman 1890 ch. VI: clay loam 1.5:1 to 3:1",
        {"max_slope": 0.5, "crest": ((10.0, 9.0, 1.3),), "soil": Soil("clay loam")},
        "may slide when it is wet",
    ),
    Answer(
        "Clay loam 3 ft high at 2:1.",
        "It stands.",
        "Newman 1890 ch. VI: clay loam 1.5:1 to 3:1",
        {"max_slope": 0.5, "crest": ((10.0, 9.0, 0.9),), "soil": Soil("clay loam")},
        never=("may slide",),
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
        {**DUG, "local": Local(frost=1.07)},
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
