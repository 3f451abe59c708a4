"""The labelled shapes are called as they are labelled; bounds were set on even seeds, these are the odd ones."""

from __future__ import annotations

from pathlib import Path

import pytest
from labelled_shapes import ANEW, LABELS, SEEDS, kinds
from look_confusion import ANEW_SEEDS, REPORT, SET, as_markdown, row, table
from real_hills import real_hills, table as table_of_hills

from terrain.look.rarity import HILLS, QUANTILES


def test_there_are_forty_shapes_of_each_kind_and_the_halves_do_not_meet() -> None:
    assert len(SEEDS) >= 40
    assert not set(SET) & set(REPORT)
    assert len(kinds("perfect")) >= 11
    assert len(kinds("broken")) >= 12
    assert len(kinds("natural")) >= 8


@pytest.mark.slow
def test_perfect_solids_are_all_called_with_the_right_sign() -> None:
    for r in table("perfect"):
        assert r.called == r.shapes, as_markdown()
        assert r.named >= 0.95 * r.shapes, as_markdown()


@pytest.mark.slow
def test_made_shapes_with_broken_symmetry_are_called_with_the_right_sign() -> None:
    """The shares are the project's own: nine in ten of all, three in four of each kind, so that none hides."""
    rows = table("broken")
    assert sum(r.called for r in rows) >= 0.9 * sum(r.shapes for r in rows), as_markdown()
    assert sum(r.named for r in rows) >= 0.9 * sum(r.called for r in rows), as_markdown()
    for r in rows:
        assert r.called >= 0.75 * r.shapes, as_markdown()


@pytest.mark.slow
def test_natural_shapes_are_left_alone() -> None:
    rows = table("natural")
    assert sum(r.called for r in rows) <= 0.05 * sum(r.shapes for r in rows), as_markdown()
    for r in rows:
        assert r.called <= 0.15 * r.shapes, as_markdown()


def test_a_few_of_every_kind_are_called_as_they_are_labelled() -> None:
    """Quick: a shape of each kind of the set that reports."""
    for label, least, most in (("perfect", 1.0, 1.0), ("broken", 0.85, 1.0), ("natural", 0.0, 0.12)):
        rows = table(label, seeds=REPORT[:1])
        assert least <= sum(r.called for r in rows) / sum(r.shapes for r in rows) <= most, rows


def test_the_volcano_scaled_to_a_garden_is_called() -> None:
    volcano = row("volcano", REPORT[:6])
    assert volcano.named == volcano.shapes


def written(root: Path, name: str = "confusion table") -> str:
    """A table as it stands in the developers' page."""
    page = (root / "DEVELOPERS.md").read_text(encoding="utf-8")
    _, _, rest = page.partition(f"<!-- {name}: from here -->\n")
    table_there, end, _ = rest.partition(f"\n<!-- {name}: to here -->")
    assert end
    return table_there


@pytest.mark.slow
def test_the_table_in_the_developers_page_is_the_one_worked_out_here(root: Path) -> None:
    assert written(root) == as_markdown()


def counts(markdown: str) -> dict[tuple[str, str], tuple[int, int, str]]:
    """Shapes, called and right sign of every row, by label and kind."""
    rows = [[cell.strip(" *") for cell in line.split("|")[1:-1]] for line in markdown.splitlines()[2:]]
    return {
        (label, kind): (int(shapes), int(called), right)
        for label, kind, shapes, called, right, _ in rows
        if kind != "kind"
    }


def test_the_table_of_the_second_set_has_every_kind_and_keeps_the_bounds(root: Path) -> None:
    """Quick: nine in ten of the made and three in four of each kind, 95 of 100 of the natural and 85 of each kind."""
    told = counts(written(root, "second table"))
    for label in ANEW:
        assert {kind for other, kind in told if other == label} == {*kinds(label), "all"}
    for (label, kind), (shapes, called, right) in told.items():
        if label == "made anew":
            assert called >= (0.9 if kind == "all" else 0.75) * shapes
            assert kind != "all" or int(right) >= 0.9 * called
        else:
            assert shapes - called >= (0.95 if kind == "all" else 0.85) * shapes


@pytest.mark.slow
def test_a_share_of_the_second_set_is_called_as_it_is_labelled() -> None:
    """Four of each kind: few enough that a kind may lose one more than its share."""
    made, natural = (table(label, seeds=range(4)) for label in ANEW)
    assert sum(r.called for r in made) >= 0.9 * sum(r.shapes for r in made), made
    assert sum(r.named for r in made) >= 0.9 * sum(r.called for r in made), made
    assert sum(r.called for r in natural) <= 0.08 * sum(r.shapes for r in natural), natural


@pytest.mark.fuzz
def test_the_second_table_in_the_developers_page_is_the_one_worked_out_here(root: Path) -> None:
    assert written(root, "second table") == as_markdown(ANEW_SEEDS, ANEW)


def test_the_table_in_the_developers_page_has_every_kind_and_keeps_the_bounds(root: Path) -> None:
    """Quick: what stands there, without working it out."""
    told = counts(written(root))
    for label in LABELS:
        assert {kind for other, kind in told if other == label} == {*kinds(label), "all"}
    shapes, called, right = told["broken", "all"]
    assert called >= 0.9 * shapes
    assert int(right) >= 0.9 * called
    shapes, called, _ = told["perfect", "all"]
    assert called == shapes
    shapes, called, _ = told["natural", "all"]
    assert called <= 0.05 * shapes


@pytest.mark.fuzz
def test_the_table_of_real_hills_is_the_one_worked_out_here() -> None:
    assert sum(1 for _ in real_hills()) == HILLS
    assert table_of_hills() == dict(QUANTILES)
