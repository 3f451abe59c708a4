"""No drawing fails, whatever the yard: each is laid out on odd yards, without a warning, every mark on the paper.

A sheet of the plan set is drawn by the same call as the one alone; so the long run takes the set in place of those.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest
from every_drawing import DRAWINGS, drawn
from odd_yards import odd_yard

from terrain.errors import InputError
from terrain.flow import Study, run_site
from terrain.site.read import read_site
from viewer.page.page import Page
from viewer.web.share import share_page

pytestmark = pytest.mark.filterwarnings("error", "ignore::ResourceWarning")
DATA = Path(__file__).resolve().parents[1] / "data"
SLOW = pytest.mark.slow

# Seconds each, and made of the same parts as the others: on every fifth yard of the long run.
DEAR = {"view", "eye views", "ground", "contact sheet"}
IN_THE_SET = {"plan", "cut and fill", "order", "cautions", "set-out"}
OFTEN = [name for name in DRAWINGS if name not in DEAR | IN_THE_SET]
CHEAP = [name for name in DRAWINGS if name not in DEAR | {"plan set", "set-out", "hillshade"}]
YARDS, AT_ONCE, IN_CI = 200, 5, 5


@cache
def study_of(seed: int) -> Study | None:
    """The yard worked through; None where the tool says in words that nobody could build it."""
    try:
        return run_site(odd_yard(seed).site())
    except InputError:
        return None


def check_marks(page: Page, what: str) -> None:
    """Every line, area and letter of a page has its place, and that place is near the paper."""
    for mark in page.axes.collections:
        for path in mark.get_paths():
            assert np.isfinite(path.vertices).all(), what
            assert (np.abs(path.vertices) < 1e4).all(), what
    for text in page.axes.texts:
        assert np.isfinite(text.get_position()).all(), (what, text.get_text())
        assert "nan" not in text.get_text().split(), (what, text.get_text())


def check_drawings(study: Study, names: list[str], what: str) -> None:
    for name in names:
        pages = drawn(name, study)
        assert pages or name == "trees", (what, name)
        for page in pages:
            check_marks(page, f"{what}, {name}")


@pytest.mark.parametrize("seed", [*range(3), *(pytest.param(seed, marks=SLOW) for seed in range(3, 6))])
def test_six_odd_yards_are_drawn_each_on_some_of_the_sheets(seed: int) -> None:
    """Every cheap drawing once; the long run has all of them on every yard."""
    assert len(CHEAP) <= 2 * 6
    study = study_of(seed)
    if study is not None:
        check_drawings(study, [CHEAP[(2 * seed + k) % len(CHEAP)] for k in range(2)], f"yard {seed}")


def test_an_odd_yard_is_put_on_the_page_to_send() -> None:
    study = study_of(0)
    assert study is not None
    assert len(share_page(study)) > 1000


def test_the_bed_that_wraps_a_tree_has_its_tree_sheet() -> None:
    study = run_site(read_site(DATA / "wrapped_tree" / "site.toml"))
    check_drawings(study, ["trees"], "wrapped tree")


@SLOW
def test_the_bed_that_wraps_a_tree_has_every_drawing() -> None:
    check_drawings(run_site(read_site(DATA / "wrapped_tree" / "site.toml")), list(DRAWINGS), "wrapped tree")


@pytest.mark.parametrize(
    "seeds",
    [
        pytest.param(
            range(first, first + AT_ONCE), marks=SLOW if first < IN_CI else pytest.mark.fuzz, id=f"from {first}"
        )
        for first in range(0, YARDS, AT_ONCE)
    ],
)
def test_every_drawing_of_two_hundred_odd_yards(seeds: range) -> None:
    drawn_yards = 0
    for seed in seeds:
        study = study_of(seed)
        study_of.cache_clear()
        if study is None:
            continue
        names = [name for name in DRAWINGS if name not in IN_THE_SET] if seed % 5 == 0 else OFTEN
        check_drawings(study, names, f"yard {seed}")
        assert len(share_page(study)) > 1000
        drawn_yards += 1
    assert drawn_yards >= 3, "of five odd yards at most two cannot be built"
