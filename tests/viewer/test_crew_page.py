"""The crew's sheet on paper: two pages at most, figures of 14 points, black on white, no word on another."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import pdfplumber
import pytest
from shipped import study_of

from terrain.field.crew.day import HoldPoint, WayIn
from terrain.field.crew.worked_day import crew_day
from terrain.field.setout.set_out import set_out
from terrain.flow import Study
from terrain.language import TONGUES, Language
from viewer.sheets.crew_page import BETWEEN, HOURS, draw_crew

MARGIN = 25.0  # points of bare paper


@pytest.fixture(scope="module")
def studies() -> list[Study]:
    return [study_of(name, 0.25) for name in ("alder-bend", "larkspur-rise")]


def words_of(path: Path) -> list[list[dict[str, Any]]]:
    """The words of each page with their boxes, as an independent reader finds them."""
    with pdfplumber.open(path) as book:
        return [page.extract_words(extra_attrs=["size"], x_tolerance=1.5) for page in book.pages]


def overlaps(words: list[dict[str, Any]]) -> list[tuple[str, str]]:
    """Pairs of words whose letters lie on one another."""

    def meets(a: dict[str, Any], b: dict[str, Any]) -> bool:
        across = min(a["x1"], b["x1"]) - max(a["x0"], b["x0"])
        # A box has room for the longest strokes above and below: a quarter of it each way is bare.
        down = min(a["bottom"], b["bottom"]) - max(a["top"], b["top"]) - 0.25 * (a["size"] + b["size"]) / 2.0
        return across > 0.5 and down > 0.5

    return [(a["text"], b["text"]) for k, a in enumerate(words) for b in words[k + 1 :] if meets(a, b)]


@pytest.fixture(scope="module")
def sheets(studies: list[Study], tmp_path_factory: pytest.TempPathFactory) -> dict[str, list[tuple[Study, Path]]]:
    """The sheet of every yard, by language: in feet in the second, in metres in the third, both in the first."""
    drawn: dict[str, list[tuple[Study, Path]]] = {tongue: [] for tongue in TONGUES}
    for study, tongues in zip(studies, (TONGUES[:2], TONGUES[::2]), strict=True):
        stakes = set_out(study)
        day = crew_day(study, stakes)
        for tongue in tongues:
            path = tmp_path_factory.mktemp("crew") / "crew.pdf"
            drawn[tongue].append((study, draw_crew(study, stakes, day, path, Language(tongue))))
    return drawn


@pytest.mark.parametrize("tongue", ["en", *(pytest.param(tongue, marks=pytest.mark.slow) for tongue in TONGUES[1:])])
def test_figures_are_large_and_no_word_lies_on_another(
    sheets: dict[str, list[tuple[Study, Path]]], tongue: str
) -> None:
    for _, path in sheets[tongue]:
        pages = words_of(path)
        assert len(pages) == 2
        for words in pages:
            small = [word["text"] for word in words if any(map(str.isdigit, word["text"])) and word["size"] < 13.99]
            assert not small
            assert all(word["size"] >= 12.0 for word in words)
            assert not overlaps(words)


@pytest.mark.parametrize("tongue", TONGUES)
def test_nothing_runs_over_the_edge_and_all_is_black_on_white(
    sheets: dict[str, list[tuple[Study, Path]]], tongue: str
) -> None:
    for study, path in sheets[tongue]:
        with pdfplumber.open(path) as book:
            for page in book.pages:
                size = (612, 792) if study.site.units == "ft" else (595, 842)
                assert (round(page.width), round(page.height)) == size
                for sign in page.chars:
                    assert MARGIN <= sign["x0"] <= sign["x1"] <= page.width - MARGIN
                    assert sign["bottom"] <= page.height - 15.0
                    assert set(sign["non_stroking_color"]) == {0}
                for line in page.lines + page.curves + page.rects:
                    assert set(line["stroking_color"] or (0,)) <= {0, 1}


def test_the_page_says_the_grade_the_barrows_and_the_depth_of_sod(
    sheets: dict[str, list[tuple[Study, Path]]],
) -> None:
    for study, path in sheets["en"]:
        with pdfplumber.open(path) as book:
            first, second = (page.extract_text() for page in book.pages)
        assert "DAY ONE" in first
        assert study.site.name in first
        assert ("2 in deep" if study.site.units == "ft" else "4 cm deep") in first
        assert "Lift 1:" in second
        lifts = [
            int(line.split("Lift ")[k].split(": ")[1].split(" ")[0])
            for line in second.splitlines()
            if line.startswith("Lift ")
            for k in range(1, line.count("Lift ") + 1)
        ]
        own = 0 if study.site.units == "ft" else 12
        assert sum(lifts) == (study.order.haul.barrows or 0) + own


@pytest.mark.slow
def test_a_full_day_still_stands_on_two_pages(studies: list[Study], tmp_path: Path) -> None:
    study = studies[0]
    stakes = set_out(study)
    day = crew_day(study, stakes)
    holds = tuple(HoldPoint("buried line", f"line {k} from the street to the house") for k in range(9))
    way = WayIn(30.0, 0.9, tuple((f"old tree {k}", 4.0) for k in range(5)), ("drive",))
    for tongue in TONGUES[1:]:  # whose words are the longer
        path = draw_crew(study, stakes, replace(day, holds=holds, way=way), tmp_path / "crew.pdf", Language(tongue))
        pages = words_of(path)
        assert len(pages) == 2
        assert not [pair for words in pages for pair in overlaps(words)]
        first = " ".join(word["text"] for word in pages[0])
        assert "4" in first
        assert "line 4 from" in first
        assert "line 5 from" not in first
        for words in pages:
            assert max(word["bottom"] for word in words) < 792.0 - 15.0


# Words that any English sheet has and no other language may have.
ENGLISH_WORDS = re.compile(
    r"\b(?:the|of|and|barrows?|trees?|fence|stakes?|dig|build|soil|wait|along|lift)\b", re.IGNORECASE
)


@pytest.mark.parametrize("tongue", [tongue for tongue in TONGUES if tongue != "en"])
def test_no_english_is_left_on_another_sheet(sheets: dict[str, list[tuple[Study, Path]]], tongue: str) -> None:
    for study, path in sheets[tongue]:
        text = "\n".join(" ".join(word["text"] for word in words) for words in words_of(path))
        # Names are the user's own.
        for name in (study.site.name, *(tree.name for tree in study.site.tree)):
            text = text.replace(name, "")
        assert not ENGLISH_WORDS.findall(text)


@pytest.mark.parametrize("tongue", ["en", *(pytest.param(tongue, marks=pytest.mark.slow) for tongue in TONGUES[1:])])
def test_amount_and_hours_are_two_figures(sheets: dict[str, list[tuple[Study, Path]]], tongue: str) -> None:
    """On every line with hours the paper between the two columns is bare."""
    for _, path in sheets[tongue]:
        words = words_of(path)[0]
        right = max(word["x1"] for word in words)
        timed = {round(word["bottom"]) for word in words if word["text"] == "h" and word["x0"] > right - HOURS - 1.0}
        assert len(timed) > 3
        lane = (right - HOURS - BETWEEN + 1.0, right - HOURS - 1.0)
        inside = [
            word["text"]
            for word in words
            if round(word["bottom"]) in timed and word["x1"] > lane[0] and word["x0"] < lane[1]
        ]
        assert inside == []
