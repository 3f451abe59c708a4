"""Our answers to `ground_answers` and `root_answers`, beside those of the trade; nothing is said twice on any yard."""

from __future__ import annotations

import re
from collections import Counter
from functools import cache

import pytest
import review_yards as yards
from contradictions import contradictions
from ground_answers import ANSWERS as GROUND
from rain_answers import Answer
from root_answers import ROOT_ANSWERS

from terrain.findings import Finding

ANSWERS = (*GROUND, *ROOT_ANSWERS)


@cache
def findings_of(number: int, units: str = "m") -> tuple[Finding, ...]:
    yard = {"grid": yards.make_grid(cell=0.35), "units": units, **ANSWERS[number].yard}
    return yards.reviewed(**yard)[3].findings


@pytest.mark.parametrize("number", range(len(ANSWERS)))
def test_ours_is_the_answer_of_the_trade(number: int) -> None:
    asked: Answer = ANSWERS[number]
    found = findings_of(number)
    said = [f"{one.level}: {one.text}" for one in found]
    if asked.says:
        told = [one for one in found if asked.says in one.text]
        assert [one.level for one in told] == [asked.level], f"{asked.question} {asked.professional} {said}"
        assert told[0].source, asked.question
    for word in asked.never:
        assert not [one for one in found if word in one.text], f"{asked.question} {asked.professional} {said}"


@pytest.mark.parametrize("number", range(len(ANSWERS)))
def test_nothing_is_said_twice(number: int) -> None:
    again = [text for text, times in Counter(one.text for one in findings_of(number)).items() if times > 1]
    places = Counter((one.topic, one.text.split(" ")[0], one.at) for one in findings_of(number) if one.at is not None)
    assert not again
    assert max(places.values(), default=1) < 4


@pytest.mark.parametrize("number", range(len(ANSWERS)))
def test_nothing_contradicts_another(number: int) -> None:
    assert not list(contradictions(one.text for one in findings_of(number)))


@pytest.mark.parametrize("number", range(len(ANSWERS)))
def test_what_defers_to_law_or_licence_is_never_a_note(number: int) -> None:
    """The terminal tells stops and cautions and leaves notes to the sheet."""
    defers = re.compile(r"\b(ask|permit|arborist|engineer|local|licensed?)\b", re.IGNORECASE)
    assert not [one.text for one in findings_of(number) if one.level == "note" and defers.search(one.text)]


@pytest.mark.parametrize("number", range(0, len(ANSWERS), 3))
def test_feet_say_the_same(number: int) -> None:
    metric, feet = findings_of(number), findings_of(number, "ft")
    assert [(one.level, one.topic) for one in metric] == [(one.level, one.topic) for one in feet]
    for one, other in zip(metric, feet, strict=True):
        if one.value is not None:
            assert one.value == pytest.approx(other.value, rel=0.05), one.text  # round figures in either system
    assert not [one.text for one in feet if " cm" in one.text or " m3" in one.text]


def test_every_answer_names_its_source() -> None:
    assert all(one.source and one.professional and one.question for one in ANSWERS)
