"""The labelled shapes are called as they are labelled; bounds were set on even seeds, these are the odd ones."""

from __future__ import annotations

from pathlib import Path

import pytest
from labelled_shapes import SEEDS, kinds
from look_confusion import REPORT, SET, as_markdown, row, table


def test_there_are_forty_shapes_of_each_kind_and_the_halves_do_not_meet() -> None:
    assert len(SEEDS) >= 40
    assert not set(SET) & set(REPORT)
    assert len(kinds(natural=False)) == 11
    assert len(kinds(natural=True)) >= 5


@pytest.mark.slow
def test_unnatural_shapes_are_called_with_the_right_sign() -> None:
    rows = table(natural=False)
    assert sum(r.named for r in rows) >= 0.95 * sum(r.shapes for r in rows), as_markdown()
    for r in rows:  # no kind may hide behind the others
        assert r.named >= 0.85 * r.shapes, as_markdown()


@pytest.mark.slow
def test_natural_shapes_are_left_alone() -> None:
    rows = table(natural=True)
    assert sum(r.called for r in rows) <= 0.05 * sum(r.shapes for r in rows), as_markdown()


def test_the_volcano_scaled_to_a_garden_is_called() -> None:
    volcano = row("volcano", REPORT)
    assert volcano.named == volcano.shapes


def written(root: Path) -> str:
    """The table as it stands in the developers' page."""
    page = (root / "DEVELOPERS.md").read_text(encoding="utf-8")
    _, _, rest = page.partition("<!-- confusion table: from here -->\n")
    table_there, end, _ = rest.partition("\n<!-- confusion table: to here -->")
    assert end
    return table_there


@pytest.mark.slow
def test_the_table_in_the_developers_page_is_the_one_worked_out_here(root: Path) -> None:
    assert written(root) == as_markdown()


def test_the_table_in_the_developers_page_has_every_kind_and_keeps_the_bounds(root: Path) -> None:
    """Quick: what stands there, without working it out."""
    rows = [[cell.strip(" *") for cell in line.split("|")[1:-1]] for line in written(root).splitlines()[2:]]
    told = {
        (label, kind): (int(shapes), int(called), right)
        for label, kind, shapes, called, right, _ in rows
        if kind != "kind"
    }
    assert {kind for label, kind in told if label == "unnatural"} == {*kinds(natural=False), "all"}
    assert {kind for label, kind in told if label == "natural"} == {*kinds(natural=True), "all"}
    shapes, _, right = told["unnatural", "all"]
    assert int(right) >= 0.95 * shapes
    shapes, called, _ = told["natural", "all"]
    assert called <= 0.05 * shapes
