"""However long the names of a yard are, no word of its pictures and of its sheets runs out or lies on another.

Pictures, which come as PNG, are saved as PDF and read back like the sheets.
"""

from __future__ import annotations

import tomllib
from dataclasses import replace
from pathlib import Path

import pytest
from every_drawing import drawn
from paper_words import faults_of
from shipped import ROOT

from terrain.field.setout.set_out import set_out
from terrain.flow import Study, run_site
from terrain.language import Language, Tongue
from terrain.limits import NAME_LONGEST
from terrain.site.read import build_site
from viewer.page.page import save_book
from viewer.page.sheet import BORDER
from viewer.page.subject import subject_of
from viewer.pictures.overview import Overview
from viewer.pictures.picture import _lettered
from viewer.sheets.cautions_page import draw_review
from viewer.sheets.setout_page import draw_set_out
from viewer.sheets.sheet_language import in_language

SHIPPED_IN = ROOT / "examples"
LONG = "the old bur oak at the bend of the lane that runs down to the alders and on past the shed to the well, "
PICTURES = ("skyline", "signs", "slope", "hillshade", "view", "contact sheet", "eye views")
EDGE = 5.0  # points of a picture that hold no word


def long_named(yard: str, signs: int) -> Study:
    """A shipped yard in which everything with a name has one of so many signs."""
    folder = SHIPPED_IN / yard
    told = tomllib.loads((folder / "site.toml").read_text(encoding="utf-8"))
    name = (LONG * 3)[: signs - 3].strip()
    told["name"] = name
    for key in ("tree", "building", "view_from", "thing"):
        told[key] = [{**one, "name": f"{name} {key[0]}{number}"} for number, one in enumerate(told.get(key, []))]
    site = build_site({key: value for key, value in told.items() if value != []}, folder)
    return run_site(replace(site, path=folder / "site.toml"), resolution=0.3)


def held(study: Study, names: tuple[str, ...], folder: Path) -> None:
    found = []
    for name in names:
        found += faults_of(save_book(drawn(name, study), folder / f"{name}.pdf"), EDGE)
    assert not found


@pytest.mark.parametrize("yard", ["alder-bend", "tansy-hollow"])
def test_skyline_and_signs_read_clean_with_the_longest_names(yard: str, tmp_path: Path) -> None:
    held(long_named(yard, int(NAME_LONGEST.value)), PICTURES[:4], tmp_path)


@pytest.mark.slow
@pytest.mark.parametrize("signs", [20, 80, 120, int(NAME_LONGEST.value)])
@pytest.mark.parametrize("yard", ["alder-bend", "larkspur-rise", "tansy-hollow"])
def test_every_picture_reads_clean_with_names_of_any_length(yard: str, signs: int, tmp_path: Path) -> None:
    study = long_named(yard, signs)
    held(study, PICTURES, tmp_path)
    large = _lettered(Overview(subject_of(study)), after=True)
    assert not faults_of(large.save(tmp_path / "view3d.pdf"), EDGE)


@pytest.mark.slow
@pytest.mark.parametrize(("yard", "signs", "tongue"), [("alder-bend", 150, "en"), ("tansy-hollow", 130, "es")])
def test_set_out_and_review_read_clean_with_long_names(yard: str, signs: int, tongue: Tongue, tmp_path: Path) -> None:
    """Where tapes start, what stands there, the heads of the tables."""
    study = long_named(yard, signs)
    with in_language(study.site, Language(tongue)):
        files = [draw_set_out(study, set_out(study), tmp_path / "setout.pdf"), draw_review(study, tmp_path)]
    assert not [fault for path in files for fault in faults_of(path, BORDER)]
