"""The page of a tree: the zone whole at a round scale, every circle named, room for the arborist's own words."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
import shapely
from scenario import yard
from shapely.geometry import Point

from terrain.findings import Finding
from terrain.review.model import RootsMet, TreeCheck
from terrain.review.tree_words import OWN_WORDS
from terrain.review.trees import check_trees
from viewer.page import marks
from viewer.page.lettering import SMALL, Type, wrap
from viewer.page.page import Page, save_book
from viewer.page.subject import Subject
from viewer.sheets.tree_map import circles_of, depth_edges, depth_lines, reaches, tree_map_labels
from viewer.sheets.tree_page import notes_with_room, tree_page, tree_pages
from viewer.sheets.tree_sheet import tree_sheet

SITE, GROUND, PROPOSAL, WORK = yard("ft")
SUBJECT = Subject(SITE, GROUND, PROPOSAL, WORK)


@pytest.fixture(scope="module")
def check() -> TreeCheck:
    return check_trees(SITE, PROPOSAL, WORK)[0]


@pytest.fixture(scope="module")
def page(check: TreeCheck) -> Page:
    return tree_page(SUBJECT, check, [Finding("caution", "trees", "bur oak: soil lies on its roots.")])


def texts(page: Page) -> list[str]:
    return [text.get_text() for text in page.axes.texts]


@pytest.mark.parametrize("units", ["ft", "m"])
@pytest.mark.parametrize("radius", [1.2, 3.3, 7.2, 9.1, 15.0, 22.0])
def test_the_zone_stands_whole_on_the_sheet(units: str, radius: float, check: TreeCheck) -> None:
    sheet = tree_sheet(replace(check, root_zone=radius), units).sheet  # type: ignore[arg-type]
    circle = sheet.shape(Point(check.at).buffer(radius))
    assert sheet.room.contains(circle)
    # And fills at least a third of the square, whatever its size.
    assert circle.bounds[2] - circle.bounds[0] > (sheet.frame[2] - sheet.frame[0]) / 3.0


def test_words_tables_and_remarks_do_not_overlap(check: TreeCheck) -> None:
    for units in ("ft", "m"):
        laid = tree_sheet(check, units)
        areas = [shapely.box(*room) for room in (laid.sheet.frame, laid.beside, *laid.tables, laid.told, laid.remarks)]
        paper = shapely.box(0, 0, laid.sheet.width, laid.sheet.height)
        for k, one in enumerate(areas):
            assert paper.contains(one)
            assert all(one.intersection(other).area < 1e-9 for other in areas[k + 1 :])


def test_the_page_has_room_for_the_arborists_own_words(page: Page) -> None:
    said = texts(page)
    for words in ("Remarks of the arborist", "Name", "Signature", "Date", OWN_WORDS):
        assert words in said
    assert "bur oak: soil lies on its roots." in said
    for words in ("safe", "compliant", "survive"):
        assert not any(words in text.lower() for text in said)


def test_every_circle_is_named_on_the_map_with_its_radius(check: TreeCheck) -> None:
    sheet = tree_sheet(check, "ft").sheet
    placed = [item.label.text for item in tree_map_labels(sheet, SUBJECT, check, depth_lines(sheet, SUBJECT))]
    for circle in circles_of(check):
        assert any(text.startswith(circle.name) for text in placed), circle.name
    assert {"flare", "keep-off", "3 x diameter", "structural roots", "root protection zone"} == {
        c.name for c in circles_of(check)
    }
    crown = circles_of(replace(check, dripline=6.0))
    assert "drip line" in {circle.name for circle in crown}


def test_no_text_lies_on_another(check: TreeCheck) -> None:
    sheet = tree_sheet(check, "ft").sheet
    placed = tree_map_labels(sheet, SUBJECT, check, depth_lines(sheet, SUBJECT))
    for k, one in enumerate(placed):
        assert all(not one.box.intersects(other.box) for other in placed[k + 1 :])


def test_the_nearest_soil_is_drawn_as_far_as_it_is(check: TreeCheck) -> None:
    ((text, line),) = reaches(check)
    assert line.length == pytest.approx(check.nearest_fill, rel=1e-9)
    assert text == f"soil {check.nearest_fill_in_diameters:.1f} x diameter"


def test_tints_are_the_bands_of_the_table() -> None:
    assert [low for low, _ in depth_edges("m")] == pytest.approx([0.0, 0.1, 0.2, 0.3], abs=1e-12)
    assert [low for low, _ in depth_edges("ft")] == pytest.approx([k * 4 * 0.0254 for k in range(4)], abs=1e-12)


def test_a_book_holds_a_page_for_each_tree(check: TreeCheck, tmp_path: Path) -> None:
    path = save_book((tree_page(SUBJECT, check, []) for _ in range(2)), tmp_path / "trees.pdf")
    assert path.read_bytes().count(b"/Type /Page ") == 2


def many(count: int) -> list[Finding]:
    words = "bur oak: soil lies on its roots, and whoever reads this has to decide what becomes of the tree, number"
    return [Finding("caution", "trees", f"{words} {k}.") for k in range(count)]


@pytest.mark.parametrize(("count", "pages"), [(0, 1), (8, 1), (16, 2)])
def test_no_finding_is_lost_for_want_of_room(count: int, pages: int, check: TreeCheck) -> None:
    book = list(tree_pages(SUBJECT, check, many(count)))
    assert len(book) == pages
    said = " ".join(" ".join(texts(page)) for page in book)
    assert all(f"number {k}." in said for k in range(count))
    assert "more in trees.json" not in said
    assert ("more on the next page" in said) == (pages == 2)
    assert all("Remarks of the arborist" in texts(page) for page in book)


@pytest.mark.parametrize("room", [17.0, 30.0, 38.0, 45.0, 57.0, 60.0])
def test_as_many_notes_are_told_as_stand_whole_with_a_line_for_the_rest(room: float) -> None:
    notes = [("!", found.text) for found in many(6)]
    here = notes_with_room(notes, 400.0, room)
    lines = [len(wrap(text, Type(SMALL), 400.0 - marks.MARK_ROOM)) for _, text in notes]
    assert sum(lines[:here]) + 1 <= max(1.0, (room - 17.0) / 10.0)
    assert here == len(notes) or sum(lines[: here + 1]) + 1 > (room - 17.0) / 10.0


def test_every_row_of_the_tables_is_on_the_page_however_many_digs_meet_the_roots(check: TreeCheck) -> None:
    digs = tuple(RootsMet(f"channel {k}", 4.0 + k, 0.3) for k in range(6))
    said = texts(tree_page(SUBJECT, replace(check, digs=digs, changed_in_dripline=2.0), []))
    assert all(any(text.startswith(f"channel {k},") for text in said) for k in range(6))
    assert "under the crown" in said
