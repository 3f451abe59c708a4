"""Questions on rain, running water and walls beside it, each as a small yard, with what somebody of the trade answers.

A row: the question, the professional answer, its source, the yard, and the words that our answer has or must not have.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
import review_yards as yards
from shapely.geometry import box

from terrain.site.features import Basin, Channel
from terrain.site.model import Building, Soil, Walk
from terrain.site.storm import Storm

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
        "nearer than 3.05 m",
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
        never=("from house,",),
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
