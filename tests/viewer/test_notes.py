"""Sentences under a heading: none lies on its mark or leaves its room, and what finds none is counted."""

from __future__ import annotations

from itertools import combinations
from pathlib import Path

import pytest
from paper_words import faults_of
from scenario import yard
from shapely.geometry import box

from viewer.page.marks import FactsBlock, NotesBlock, TitleBlock, flow
from viewer.page.page import Page, new_page, save_book
from viewer.page.sheet import BORDER
from viewer.sheets.notes_page import notes_pages

LONG = "Read the shot again, the rod on the ground and not on the grass, and write it beside the first reading. " * 2


def inks(page: Page) -> list[tuple[str, object]]:
    page.figure.set_dpi(72.0)
    page.figure.canvas.draw()
    texts = [text for text in page.axes.texts if text.get_text()]
    return [(text.get_text(), box(*text.get_window_extent().extents)) for text in texts]


@pytest.mark.parametrize("mark", ["!", "stop", "GS-14", "corner of the shed", "north end of the old wall 12"])
def test_no_sentence_lies_on_its_mark_however_long_that_is(mark: str) -> None:
    page = new_page(300.0, 400.0)
    NotesBlock("Read these again first", [(mark, LONG), (mark, LONG)], "ground.json").draw(
        page, 20.0, 380.0, 200.0, 300.0
    )
    found = inks(page)
    assert any(mark in text for text, _ in found)
    for (one, ink), (other, more) in combinations(found, 2):
        assert ink.intersection(more).area < 1.0, (one, other)


@pytest.mark.parametrize(("room", "under"), [(320.0, False), (110.0, True)])
def test_the_only_sentences_of_a_page_stand_where_more_of_them_does(room: float, under: bool) -> None:
    panels = tuple((left, 20.0, left + 160.0, 20.0 + room) for left in (20.0, 200.0, 380.0))
    notes = NotesBlock("Cautions", [("!", LONG)] * 2, "review.pdf")
    facts = FactsBlock("At a glance", [("Soil", "12 m3")])
    page = new_page(560.0, 400.0)
    flow(page, panels, [[TitleBlock("Plan", ""), notes], [facts], [facts]])
    lines = [ink for text, ink in inks(page) if text.startswith("Read the shot")]
    assert lines
    assert (max(ink.bounds[2] for ink in lines) > 200.0) == under
    assert all(ink.bounds[1] > 20.0 - 3.0 for ink in lines)


@pytest.mark.parametrize("count", [1, 4, 12, 60, 150])
def test_what_finds_no_room_beside_a_drawing_stands_whole_on_pages_of_its_own(count: int, tmp_path: Path) -> None:
    """Each sentence once, on the sheet or behind it; nothing goes over an edge."""
    sheet = new_page(612.0, 400.0)
    blocks = [
        NotesBlock(heading, [("!", f"Sentence {heading} {k}. {LONG}") for k in range(count)], "the notes")
        for heading in ("first", "second")
    ]
    panels = ((30.0, 100.0, 300.0, 370.0), (320.0, 100.0, 580.0, 370.0))
    left = flow(sheet, panels, [[blocks[0]], [blocks[1]]])
    pages = [sheet, *notes_pages(yard("ft")[0], left)]
    words = [text.get_text() for page in pages for text in page.axes.texts]
    for heading in ("first", "second"):
        for k in range(count):
            assert sum(word.startswith(f"Sentence {heading} {k}.") for word in words) == 1
    assert sum(word.endswith("more in the notes") for word in words) == len(left)
    assert not faults_of(save_book(pages, tmp_path / "notes.pdf"), BORDER)
    assert (len(pages) > 1) == (count > 4)


def test_what_finds_no_room_is_said_to_stand_in_the_file_that_holds_it() -> None:
    page = new_page(300.0, 400.0)
    NotesBlock("Read these again first", [("!", LONG)] * 9, "ground.json").draw(page, 20.0, 380.0, 200.0, 150.0)
    assert any(text.endswith("more in ground.json") for text, _ in inks(page))
