"""The crew's squares on paper: no cross under a figure, every figure in its own square, at 14 points."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import pdfplumber
import pytest
from shipped import study_of

from terrain.field.crew.worked_day import crew_day
from terrain.field.setout.set_out import set_out
from terrain.flow import Study, run_site
from viewer.page.page import save_book
from viewer.sheets.crew_page import crew_pages

sys.path.append(str(Path(__file__).parents[1] / "laws"))
from odd_yards import odd_sites


def hold(study: Study, folder: Path) -> int:
    """The law on one yard; answers how many crosses are drawn."""
    stakes = set_out(study)
    pages = crew_pages(study, stakes, crew_day(study, stakes))
    if len(pages) < 2:
        return 0
    save_book(pages, folder / "crew.pdf")
    with pdfplumber.open(folder / "crew.pdf") as book:
        page = book.pages[1]
        figures = [word for word in page.extract_words(extra_attrs=["size"]) if word["text"].isdigit()]
        crosses = [line for line in page.lines if abs(line["x1"] - line["x0"] - 8.0) < 0.2 and line["height"] > 7.0]
        for cross in crosses:
            under = [word["text"] for word in figures if over(word, cross)]
            assert not under, (study.site.name, under)
        assert all(word["size"] >= 13.9 for word in figures), study.site.name
    return len(crosses) // 2


def over(word: dict[str, Any], cross: dict[str, Any]) -> bool:
    across = min(word["x1"], cross["x1"]) - max(word["x0"], cross["x0"])
    # The box of a figure goes down below its foot and up over its head by a fifth of its size.
    lean = 0.2 * word["size"]
    down = min(word["bottom"] - lean, cross["bottom"]) - max(word["top"] + lean, cross["top"])
    return across > 0.5 and down > 0.5


@pytest.mark.slow
@pytest.mark.parametrize("example", ["alder-bend", "larkspur-rise", "tansy-hollow"])
def test_no_cross_lies_under_a_figure_in_the_examples(root: Path, tmp_path: Path, example: str) -> None:
    assert hold(study_of(example, 0.25), tmp_path) >= 1


@pytest.mark.slow
def test_nor_on_odd_yards(tmp_path: Path) -> None:
    assert sum(hold(run_site(site), tmp_path) for _, site in odd_sites([2, 5, 8])) >= 3
