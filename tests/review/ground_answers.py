"""Questions on water, slopes, walls and ground, each as a small yard, with what somebody of the trade answers.

A row: the question, the professional answer, its source, the yard, and the words that our answer has or must not have.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import review_yards as yards
from shapely.geometry import box

from terrain.site.features import Basin
from terrain.site.model import Building, Soil
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
ANSWERS = (*RAIN,)
