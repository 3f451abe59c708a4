"""One name for one thing on every sheet, and its own unit: nobody should ask whether two names mean two things."""

from __future__ import annotations

import re

import pytest
from every_drawing import DRAWINGS, drawn
from shipped import study_of

# What trades call the same things, and no sheet of ours does: the words of the page module's `named_lines` stand.
STRAYS = (
    r"(?<!structural )(?<!notional )(?<!critical )(?<!2 in in the )root zone",  # these are sources' own words
    r"tree protection zone",
    r"dripline",
    r"take care",
    r"\bwarnings?\b",
    r"final grade",
    r"design grade",
    r"future grade",
    r"planned grade",
)
FEET = re.compile(r"\d (?:ft|(?<!rises 1 )in|sq ft|cu yd|cu ft|lb|gal|tons?)\b|\d/\d in\b|1 in = ")
METRES = re.compile(r"\d (?:m|cm|mm|m2|m3|kg|L|t)\b|\b1:\d{2,}\b")
QUICK = ("plan", "sections", "trees", "cautions")


def words_of(yard: str, names: tuple[str, ...]) -> list[str]:
    pages = [page for name in names for page in drawn(name, study_of(yard))]
    return [text.get_text() for page in pages for axes in page.figure.axes for text in axes.texts]


def strays(words: list[str]) -> list[str]:
    told = " ".join(words)
    return [found[0] for stray in STRAYS for found in re.finditer(stray, told, re.IGNORECASE)]


@pytest.mark.parametrize(
    ("yard", "names"),
    [
        ("alder-bend", QUICK),
        *(pytest.param(yard, tuple(DRAWINGS), marks=pytest.mark.slow) for yard in ("alder-bend", "larkspur-rise")),
    ],
)
def test_every_sheet_calls_a_thing_by_the_same_name(yard: str, names: tuple[str, ...]) -> None:
    words = words_of(yard, names)
    assert "root protection zone" in " ".join(words)
    assert not strays(words)


def test_a_stray_name_would_be_found() -> None:
    told = ["covers 21 %", "of its root zone", "Take care"]
    assert strays(told) == ["root zone", "Take care"]
    assert not strays(["the structural root zone", "root protection zone"])


@pytest.mark.slow
@pytest.mark.parametrize(("yard", "foreign"), [("alder-bend", METRES), ("larkspur-rise", FEET)])
def test_a_sheet_in_one_unit_shows_no_other(yard: str, foreign: re.Pattern[str]) -> None:
    """What rules and makers say in both, or in their own unit, names the other one in brackets or as its source."""
    names = tuple(name for name in DRAWINGS if name not in ("trees", "cautions", "order", "plan set"))
    assert not [word for word in words_of(yard, names) if foreign.search(word)]
