"""Set-out, trees and cautions in Spanish and French: no English left, blanks and plans alike, nothing over the edge."""

from __future__ import annotations

import ast
import re
from collections import Counter
from pathlib import Path
from typing import Any

import pdfplumber
import pytest
from babel.messages.pofile import read_po

from terrain.field.setout.set_out import set_out
from terrain.flow import Study, run_site
from terrain.language import CATALOGUES, TONGUES, Language
from terrain.languages.renew import compiled
from terrain.languages.retold import Retold
from terrain.site.read import read_site
from viewer.page.page import save_book
from viewer.page.subject import Subject
from viewer.sheets.cautions_page import caution_pages
from viewer.sheets.setout_page import set_out_pages
from viewer.sheets.sheet_language import in_language
from viewer.sheets.tree_page import tree_pages

FOREIGN = [tongue for tongue in TONGUES if tongue != "en"]
# What is published keeps its title; a source behind a place or alone is told by its own words.
TITLES = re.compile(
    r"source: |^(?:[A-Z][\w.]* )?(?:Extension|Department|Delaware|Maryland|Missouri)|https?:|www\.|, VI"
)


def messages(tongue: str) -> dict[str, str]:
    with (CATALOGUES / tongue / "LC_MESSAGES" / "sheets.po").open("rb") as file:
        return {str(message.id): str(message.string) for message in read_po(file, locale=tongue) if message.id}


@pytest.mark.parametrize("tongue", FOREIGN)
def test_every_message_is_translated_with_its_blanks(tongue: str) -> None:
    found = messages(tongue)
    assert set(found) == set(messages("es"))
    for text, told in found.items():
        assert told, text
        assert Counter(re.findall(r"\{\w+\}", told)) == Counter(re.findall(r"\{\w+\}", text)), text
    path = CATALOGUES / tongue / "LC_MESSAGES" / "sheets.po"
    assert path.with_suffix(".mo").read_bytes() == compiled(path)


def test_an_instance_is_said_by_its_message_and_names_stay() -> None:
    spanish = Retold(Language("es"), frozenset({"bur oak", "crest"}))
    assert spanish.told("Fence bur oak at 10 ft from the middle of its trunk: no stake stands inside.") == (
        "Cerque bur oak a 10 ft del centro de su tronco: adentro no hay estacas."
    )
    assert spanish.told("fill 3 1/2 in") == "rellenar 3 1/2 in"
    assert spanish.told("crest") == "crest"  # a tree of that name
    french = Retold(Language("fr"))
    assert french.told("crest") == "crête"
    assert french.told("less than 1 %, 2 1/2 in deep") == "moins de 1 %, 2 1/2 po de profond"
    assert french.told("101.85 ft") == "101,85 pi"
    assert french.told("Xyzzy is no message here.") == "Xyzzy is no message here."
    assert french.left == {"Xyzzy is no message here."}
    assert Retold(Language()).told("crest") == "crest"


@pytest.fixture(scope="module")
def studies(root: Path) -> list[Study]:
    return [
        run_site(read_site(root / f"examples/{name}/site.toml"), resolution=0.25)
        for name in ("alder-bend", "larkspur-rise")
    ]


def pages_of(study: Study) -> list[Any]:
    subject = Subject(study.site, study.ground, study.proposal, study.work)
    trees = [page for check in study.review.trees for page in tree_pages(subject, check, study.review.findings)]
    return [*set_out_pages(study, set_out(study)), *trees, *caution_pages(study)]


def crossed(words: list[dict[str, Any]]) -> int:
    """Pairs of words that lie on one another."""

    def meets(a: dict[str, Any], b: dict[str, Any]) -> bool:
        across = min(a["x1"], b["x1"]) - max(a["x0"], b["x0"])
        down = min(a["bottom"], b["bottom"]) - max(a["top"], b["top"]) - 0.3 * min(a["size"], b["size"])
        return across > 1.0 and down > 1.0

    return sum(meets(a, b) for k, a in enumerate(words) for b in words[k + 1 :])


@pytest.mark.slow
@pytest.mark.parametrize("tongue", FOREIGN)
def test_no_english_is_left_and_nothing_runs_over(studies: list[Study], tongue: Any, tmp_path: Path) -> None:
    for study in studies:
        with in_language(study.site, Language(tongue)) as retold:
            save_book(pages_of(study), tmp_path / "sheets.pdf")
        left = [text for text in retold.left if not TITLES.search(text)]
        assert not left, "\n".join(sorted(left))
        with pdfplumber.open(tmp_path / "sheets.pdf") as book:
            for page in book.pages:
                words = page.extract_words(extra_attrs=["size", "upright"], x_tolerance=1.5)
                assert all(word["x0"] >= 0.0 and word["x1"] <= page.width for word in words)
                # Under the drawings, whose own labels lie on hatches and turn with their lines.
                level = [word for word in words if word["upright"] and word["top"] > 0.44 * page.height]
                assert crossed(level) == 0, [word["text"] for word in level][:6]


def test_every_message_has_its_words_in_the_code(root: Path) -> None:
    """What nobody says any more goes out of the catalogues: the longest piece of each stands in some text of ours."""
    said = []
    for package in ("terrain", "viewer"):
        for path in (root / package).rglob("*.py"):
            nodes = ast.walk(ast.parse(path.read_text(encoding="utf-8")))
            said += [node.value for node in nodes if isinstance(node, ast.Constant) and isinstance(node.value, str)]
    whole = "\n".join(said)
    months = {"January", "February", "March", "April", "May", "June", "July", "August", "September", "October"}
    kept = months | {"November", "December", "ft", "m"}
    gone = []
    for text in messages("es"):
        pieces = [word for piece in re.split(r"\{\w+\}", text) for word in re.findall(r"[A-Za-z]{4,}", piece)]
        if text not in kept and pieces and max(pieces, key=len) not in whole:
            gone.append(text)
    assert not gone
