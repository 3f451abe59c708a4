"""The title block says whose, what, when and which of how many; a PDF holds its words as text in a language."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pypdf
import pytest
from paper_words import faults_of
from scenario import yard

from terrain.errors import InputError
from terrain.language import Language
from terrain.papers import LYING, NAMED, turned
from terrain.site.drafting import Drafting, Revision
from terrain.site.model import Site
from terrain.site.read import build_site
from viewer.page.lettering import LEAST, Type, text_size
from viewer.page.page import Page, new_page, save_book, side_by_side
from viewer.page.sheet import BORDER, FLOOR, page_of_words
from viewer.page.title_block import Stamp, fitted, numbered, stamp
from viewer.sheets.sheet_language import in_language


def words_on(page: Page) -> list[str]:
    return [text.get_text() for text in page.axes.texts]


def site(**changes: object) -> Site:
    return replace(yard("ft")[0], **changes)


def stamped(one: Site) -> Page:
    page = new_page(612.0, 792.0)
    stamp(page, Stamp(one, "Contour plan", "1 in = 8 ft", "letter"))
    return page


def test_the_block_says_all_that_a_sheet_is_known_by() -> None:
    revisions = (Revision("A", "2026-04-01", "first"), Revision("B", "2026-05-04", "bed moved"))
    drawn = Drafting("R. Example", "", "nail in the walk, assumed 100.00", revisions)
    one = site(name="Example bed", drawing=drawn, path=Path("/somewhere/site.toml"))
    page, other = numbered([stamped(one), stamped(one)])
    said = " ".join(words_on(other))
    for words in ("Example bed", "Contour plan", "1 in = 8 ft", "on letter paper", "drawn: R. Example", "2 of 2"):
        assert words in said
    assert "nail in the walk, assumed 100.00" in said
    assert "revision B, 2026-05-04: bed moved" in said
    assert "first" not in said  # the latest revision stands in for those before it
    assert f"site.toml, run {one.run_print}" in said
    assert "1 of 2" in words_on(page)
    assert page.title == "Example bed: Contour plan"


def test_the_run_tells_every_state_from_another_and_not_its_folder() -> None:
    one = site(path=Path("/a/site.toml"))
    assert replace(one, path=Path("/b/site.toml")).run_print == one.run_print
    for changed in (replace(one, name="other"), replace(one, bed=replace(one.bed, sod=one.bed.sod + 1e-6))):
        assert changed.run_print != one.run_print


def test_every_word_of_a_block_with_long_names_stays_in_its_cell() -> None:
    long = "A name that goes on and on past anything that a cell of a title block could hold " * 2
    drawn = Drafting(long, long, long, (Revision("B", "2026-05-04", long),))
    (page,) = numbered([stamped(site(name=long, drawing=drawn))])
    edges = [BORDER, *(BORDER + share * (page.width - 2 * BORDER) for share in (0.35, 0.52, 0.70, 0.90, 1.0))]
    for text in page.axes.texts:
        (across, up), kind = text.get_position(), text.get_fontproperties()
        wide = text_size(text.get_text(), Type(text.get_fontsize(), bold=kind.get_weight() == "bold"))[0]
        assert BORDER < up < FLOOR
        assert text.get_fontsize() >= LEAST
        if text.get_horizontalalignment() == "left" and up > BORDER + 8.0:
            cell = np.searchsorted(edges, across)
            assert across + wide <= edges[cell], text.get_text()


@pytest.mark.parametrize("signs", [40, 95, 120, 130, 160, 200])
def test_a_long_name_is_whole_or_says_where_it_is(signs: int, tmp_path: Path) -> None:
    name = ("The garden of the old bur oak at the bend of the lane that runs down to the alders " * 3)[:signs].strip()
    drawn = Drafting(name, name, name, (Revision("B", "2026-05-04", name),))
    pages = [
        stamped(site(name=name, path=Path("/a/site.toml"))),
        stamped(site(name=name, drawing=drawn, path=Path("/a/site.toml"))),
    ]
    for page in numbered(pages):
        assert not faults_of(save_book([page], tmp_path / "page.pdf"), BORDER)
        said = words_on(page)
        # Nothing is left out in silence: what is cut says where it stands whole.
        for start in ("The garden", "Contour", "site.toml, run", "on letter paper", f"{date.today():%Y-%m-%d}"):
            assert any(text.startswith(start) for text in said), start
        cut = [text for text in said if "..." in text]
        assert all(text.endswith("... see site.toml") for text in cut)
        assert bool(cut) == (signs > 160 or page is pages[1])
    assert (name in " ".join(words_on(pages[0]))) == (signs <= 160)


def test_what_is_cut_says_where_it_is_in_the_language_of_the_page() -> None:
    one = site(name=" ".join(["alders"] * 28), path=Path("/a/site.toml"))
    with in_language(one, Language("fr")) as retold:
        page = stamped(one)
    assert any(text.endswith("... voir site.toml") for text in words_on(page))
    assert not any("see" in text for text in retold.left)


def test_what_finds_no_room_ends_in_dots_and_nothing_is_lost_where_it_does() -> None:
    kind = Type(9.0)
    (line, smaller), *none = fitted("word " * 60, kind, 1, 120.0)
    assert line.endswith("...")
    assert not none
    assert fitted("word " * 60, kind, 1, 120.0, "see site.toml")[0][0].endswith("word ... see site.toml")
    assert text_size(line, smaller)[0] <= 120.0
    assert [line for line, _ in fitted("two words", kind, 1, 120.0)] == ["two words"]


def test_the_keys_of_the_block_are_read_and_a_wrong_one_is_named() -> None:
    fields = {
        "name": "Example bed",
        "units": "ft",
        "survey": {"shots": [[0, 0, 100], [20, 0, 100], [20, 12, 101], [0, 12, 101]]},
        "bed": {"outline": [[4, 3], [16, 3], [16, 9], [4, 9]]},
        "berm": {"max_slope": "4:1", "crest": [[10, 6, "12 in"]]},
    }
    revision = {"mark": "B", "date": "2026-05-04", "what": "bed moved"}
    read = build_site({**fields, "drawing": {"checked": "R. Example", "revision": [revision]}})
    assert read.drawing == Drafting(checked="R. Example", revision=(Revision("B", "2026-05-04", "bed moved"),))
    for wrong, said in (({"by": "x"}, "revision 1"), ({"date": "May"}, "is not a date")):
        with pytest.raises(InputError, match=said):
            build_site({**fields, "drawing": {"revision": [{**revision, **wrong}]}})


def test_pages_of_words_fill_the_larger_papers_without_a_rest() -> None:
    for units in ("ft", "m"):
        wide, high = page_of_words(units)
        for name in NAMED:
            if (name[0] == "A") == (units == "m") and turned(name) != (wide, high):
                across, down = (one / own for one, own in zip(turned(name), (wide, high), strict=True))
                # ISO papers are whole millimetres, so that halves miss by one.
                assert across == pytest.approx(round(across), abs=0.005), name
                assert down == pytest.approx(round(down), abs=0.005), name
    assert all(turned(name)[0] > turned(name)[1] for name in LYING)


def test_two_pages_of_words_share_a_sheet_and_its_block() -> None:
    size, sheet = page_of_words("ft"), turned("tabloid")
    with side_by_side(size, sheet) as sheets:
        for number in range(3):
            page = new_page(*size)
            page.text(50.0, 400.0, f"page {number}", Type(9.0))
            stamp(page, Stamp(site(), "its own title"))
    assert [len(one.figure.axes) for one in sheets] == [3, 2]  # the sheet's own, and one a page
    assert not words_on(sheets[0])  # no block of a page
    assert new_page(*size).figure not in [one.figure for one in sheets]


def test_a_pdf_has_its_words_as_text_a_title_and_a_language(tmp_path: Path) -> None:
    page = stamped(site(name="Example bed"))
    page.text(100.0, 400.0, "A–A′, −4 in, ≤ 3 %", Type(9.0))
    named = pypdf.PdfReader(save_book([page], tmp_path / "set.pdf", "Example bed: plan set"))
    assert named.metadata is not None
    assert named.metadata.title == "Example bed: plan set"
    book = pypdf.PdfReader(page.save(tmp_path / "plan.pdf"))
    assert "A–A′, −4 in, ≤ 3 %" in book.pages[0].extract_text()
    assert book.metadata is not None
    assert book.metadata.title == "Example bed: Contour plan"
    assert book.trailer["/Root"]["/Lang"] == "en"
    fonts = [font.get_object() for font in book.pages[0]["/Resources"]["/Font"].values()]
    assert fonts
    assert all(font["/Subtype"] != "/Type3" for font in fonts)
    one = site()
    with in_language(one, Language("fr")):
        french = pypdf.PdfReader(save_book([stamped(one)], tmp_path / "fr.pdf"))
    assert french.trailer["/Root"]["/Lang"] == "fr"
