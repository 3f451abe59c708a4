"""Spot elevations that a plan writes as texts: "102.35", "FG 102.35", "+101.2", "(100.98) EX"."""

from __future__ import annotations

import re
from dataclasses import dataclass

from terrain.survey.plan.name_words import EXISTING, PROPOSED

_LABEL = re.compile(
    r"(?P<before>[A-Za-z][A-Za-z.]{0,9})?\s*[:=]?\s*(?P<open>\()?\s*(?P<figure>[+-]?\d{1,5}[.,]\d{1,3})\s*"
    r"(?P<unit>m|ft|')?\s*\)?\s*[±+-]?\s*(?P<after>[A-Za-z]{1,9})?"
)
_GRADE_WORDS = {
    **dict.fromkeys(("ex", "exist", "existing", "eg", "xg", "og", "e"), EXISTING),
    **dict.fromkeys(("fg", "pr", "prop", "proposed", "new", "fin", "fs", "hp", "lp", "n", "bf"), PROPOSED),
    **dict.fromkeys(("el", "elev", "spot", "sp", "tg", "gr", "grade"), ""),
}


@dataclass(frozen=True)
class SpotLabel:
    """A written elevation in the unit of written elevations, and the grade that the label names, "" for none."""

    elevation: float
    grade: str


def spot_label(text: str) -> SpotLabel | None:
    """The spot elevation that a label writes.

    None for any other text, and for an elevation of something that is not the ground: the top of a wall (TW), a floor
    (FFE), a rim, an invert.
    """
    found = _LABEL.fullmatch(text.strip())
    if found is None:
        return None
    words = [word.strip(".").lower() for word in (found["before"], found["after"]) if word]
    if any(word not in _GRADE_WORDS for word in words):
        return None
    grades = {_GRADE_WORDS[word] for word in words} - {""}
    if len(grades) > 1:
        return None
    return SpotLabel(float(found["figure"].replace(",", ".")), grades.pop() if grades else "")


_CONTOUR = re.compile(r"[+-]?\d{1,5}(?:[.,]\d{1,3})?\s*(?:m|ft|')?")


def contour_label(text: str) -> float | None:
    """The elevation that stands on a contour: a bare figure, often a whole one."""
    found = _CONTOUR.fullmatch(text.strip())
    return float(re.sub(r"[^\d.+-]", "", found.group().replace(",", "."))) if found else None
