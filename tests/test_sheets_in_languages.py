"""Set-out, trees and cautions in Spanish and French: no English left, blanks and plans alike, nothing over the edge."""

from __future__ import annotations

import ast
import contextlib
import re
import sys
from collections import Counter
from pathlib import Path
from typing import Any

import pytest
from babel.messages.pofile import read_po
from shipped import study_of

from terrain.errors import InputError
from terrain.field.crew.worked_day import crew_day
from terrain.field.setout.model import SetOut
from terrain.field.setout.set_out import set_out
from terrain.flow import Study, run_site
from terrain.language import CATALOGUES, TONGUES, Language
from terrain.languages.renew import compiled
from terrain.languages.retold import Retold
from viewer.page.page import save_book
from viewer.page.sheet import BORDER
from viewer.page.subject import Subject
from viewer.sheets.cautions_page import caution_pages
from viewer.sheets.crew_page import crew_pages
from viewer.sheets.setout_page import set_out_pages
from viewer.sheets.sheet_language import in_language
from viewer.sheets.tree_page import tree_pages

sys.path.append(str(Path(__file__).parent / "viewer"))
from odd_yards import odd_sites, odd_yard
from paper_words import faults_of

FOREIGN = [tongue for tongue in TONGUES if tongue != "en"]


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
def studies() -> list[Study]:
    return [study_of(name, 0.25) for name in ("alder-bend", "larkspur-rise", "tansy-hollow")]


def pages_of(study: Study, stakes: SetOut) -> list[Any]:
    subject = Subject(study.site, study.ground, study.proposal, study.work)
    trees = [page for check in study.review.trees for page in tree_pages(subject, check, study.review.findings)]
    return [*set_out_pages(study, stakes), *trees, *caution_pages(study)]


def published(study: Study) -> str:
    """Everything that the findings of a yard rest on: what is published keeps its title."""
    return "\n".join(finding.source for finding in study.review.findings)


def hold(study: Study, tongue: Any, folder: Path) -> None:
    """No English on the sheets of a yard; no word over their border, cut, on another one or on a hatch."""
    sources, stakes = published(study), set_out(study)
    with in_language(study.site, Language(tongue)) as retold:
        sheets = save_book(pages_of(study, stakes), folder / f"sheets-{tongue}.pdf")
    left = [text for text in retold.left if text.removeprefix("source: ").strip(" .") not in sources]
    assert not left, f"{study.site.name}, {tongue}:\n" + "\n".join(sorted(left))
    pages = crew_pages(study, stakes, crew_day(study, stakes), Language(tongue))
    crew = save_book(pages, folder / f"crew-{tongue}.pdf")
    assert not [*faults_of(sheets, BORDER), *faults_of(crew, BORDER)], study.site.name


@pytest.mark.slow
@pytest.mark.parametrize("tongue", FOREIGN)
def test_no_english_is_left_and_nothing_runs_over(studies: list[Study], tongue: Any, tmp_path: Path) -> None:
    oak, rise, hollow = studies
    for study in ({"es": oak, "fr": rise}[tongue], hollow):  # feet and metres, and a stream in each
        hold(study, tongue, tmp_path)


@pytest.mark.parametrize(
    "seed", [pytest.param(seed, marks=pytest.mark.slow if seed == 4 else pytest.mark.fuzz) for seed in range(44)]
)
def test_nor_on_odd_yards(seed: int, tmp_path: Path) -> None:
    try:
        study = run_site(odd_yard(seed).site())
    except InputError as refused:
        pytest.skip(str(refused))
    for tongue in FOREIGN:
        hold(study, tongue, tmp_path)


@pytest.mark.fuzz
def test_forty_of_these_yards_are_worked() -> None:
    worked = 0
    for _, site in odd_sites(range(44)):
        with contextlib.suppress(InputError):
            run_site(site)
            worked += 1
    assert worked >= 40


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
