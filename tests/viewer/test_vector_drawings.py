"""An SVG as a drawing program reads it: words are words, of the width that they were laid out with, in named layers."""

from __future__ import annotations

import xml.etree.ElementTree as Tree
from functools import cache
from pathlib import Path

import pytest
from matplotlib.font_manager import findfont
from PIL import ImageFont
from scenario import yard

from viewer.page.lettering import Type
from viewer.page.page import Page, new_page
from viewer.page.subject import Subject
from viewer.sheets.cutfill import cutfill_page
from viewer.sheets.plan import plan_page
from viewer.sheets.sections import sections_page

SVG, LABEL = "{http://www.w3.org/2000/svg}", "{http://www.inkscape.org/namespaces/inkscape}label"
WANTED = {
    "plan": {"bed", "trees", "existing contours", "proposed contours", "bed outline", "shots", "words", "title block"},
    "sections": {"Section A–A′", "Section B–B′", "legend and notes", "title block"},
    "cutfill": {"depths", "trees", "bed outline", "words", "legend and notes", "title block"},
}


@cache
def pages() -> dict[str, Page]:
    subject = Subject(*yard("ft"))
    return {"plan": plan_page(subject), "sections": sections_page(subject), "cutfill": cutfill_page(subject)}


def read(page: Page, path: Path) -> Tree.Element:
    return Tree.parse(page.save(path)).getroot()


@pytest.mark.parametrize("name", WANTED)
def test_words_are_words_and_layers_have_names(name: str, tmp_path: Path) -> None:
    page = pages()[name]
    root = read(page, tmp_path / f"{name}.svg")
    written = sorted("".join(text.itertext()) for text in root.iter(f"{SVG}text"))
    assert written == sorted(text.get_text() for text in page.axes.texts if text.get_text())
    groups = [group for group in root.iter(f"{SVG}g") if LABEL in group.attrib]
    assert {group.attrib[LABEL] for group in groups} >= WANTED[name]
    ids = [element.attrib["id"] for element in root.iter() if "id" in element.attrib]
    assert len(set(ids)) == len(ids)
    # Every mark lies in a layer, and words on the plan lie in that of words, of notes, or of the title block.
    marks = [element for element in root.iter(f"{SVG}g") if element.attrib.get("id", "").startswith("mark-")]
    assert len(marks) == sum(len(list(group)) for group in groups)


def test_a_word_keeps_its_width_where_the_type_is_another(tmp_path: Path) -> None:
    """`textLength`, SVG 1.1, section 10.5: a program sets the words to this length with whatever type it has."""
    page = pages()["plan"]
    written = [text for text in read(page, tmp_path / "plan.svg").iter(f"{SVG}text")]
    laid = [text for text in page.axes.texts if text.get_text()]
    for text, element in zip(laid, written, strict=True):
        kind = text.get_fontproperties()
        # Another library's reading of the same type.
        wide = ImageFont.truetype(findfont(kind), 1000).getlength(text.get_text()) * kind.get_size() / 1000.0
        assert float(element.attrib["textLength"]) == pytest.approx(wide, rel=0.03, abs=0.6), text.get_text()


def test_signs_of_the_format_in_a_name_are_words_too(tmp_path: Path) -> None:
    page = new_page(200.0, 100.0)
    page.text(10.0, 50.0, '<b>bed</b> & "walk"', Type(9.0))
    (text,) = read(page, tmp_path / "page.svg").iter(f"{SVG}text")
    assert "".join(text.itertext()) == '<b>bed</b> & "walk"'
