"""A yard as a workbook: written, printed, filled in by other programs, read by every command, refused at its cells."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import openpyxl
import pytest

from terrain.errors import InputError
from terrain.flow import run_site
from terrain.site import Site, read_site

pytestmark = pytest.mark.usefixtures("forked_readers")
FOOT = 0.3048


def new_yard(units: str, hummock: Callable, folder: Path) -> tuple:
    """The unit, the workbook as it comes, and the starter folder of the same unit."""
    ended = hummock("new", "--units", units, "--sheet", folder / "yard.xlsx")
    assert ended.returncode == 0, ended.stderr
    assert hummock("new", "--units", units, folder / "starter").returncode == 0
    return units, folder / "yard.xlsx", folder / "starter/site.toml"


@pytest.fixture(scope="module")
def feet(hummock: Callable, tmp_path_factory: pytest.TempPathFactory) -> tuple:
    return new_yard("ft", hummock, tmp_path_factory.mktemp("ft"))


@pytest.fixture(scope="module", params=["ft", "m"])
def made(request: pytest.FixtureRequest, hummock: Callable, tmp_path_factory: pytest.TempPathFactory) -> tuple:
    if request.param == "ft":
        return request.getfixturevalue("feet")
    return new_yard("m", hummock, tmp_path_factory.mktemp("m"))


def test_the_workbook_is_the_same_yard_as_the_starter_folder(made: tuple) -> None:
    _, book, folder = made
    mine, theirs = read_site(book), read_site(folder)
    np.testing.assert_allclose(mine.survey.shots, theirs.survey.shots, atol=1e-9)
    assert mine.survey.names == theirs.survey.names
    assert mine.survey.codes == theirs.survey.codes
    assert mine.bed.outline.equals_exact(theirs.bed.outline, 1e-9)
    for part in ("units", "name", "berm", "soil", "trees"):
        assert repr(getattr(mine, part)) == repr(getattr(theirs, part)), part
    assert (mine.bed.sod, mine.bed.mulch) == pytest.approx((theirs.bed.sod, theirs.bed.mulch), abs=1e-9)
    for one, other in zip(mine.tree, theirs.tree, strict=True):
        assert one.name == other.name
        assert (*one.at, one.trunk, one.flare, one.keep_off) == pytest.approx(
            (*other.at, other.trunk, other.flare, other.keep_off),
            abs=1e-5,  # figures of the form have four decimals
        )


def test_it_has_four_tabs_heads_with_units_lists_to_choose_from_and_a_form(made: tuple) -> None:
    units, path, _ = made
    book = openpyxl.load_workbook(path)
    assert book.sheetnames == ["Yard", "Shots", "Bed", "Trees"]
    assert [cell.value for cell in book["Shots"][4]] == [
        "point",
        f"x ({units})",
        f"y ({units})",
        f"elevation ({units})",
        "code",
    ]
    thin = "in" if units == "ft" else "cm"
    assert f"trunk ({thin})" in [cell.value for cell in book["Trees"][4]]
    lists = {
        str(check.sqref): check.formula1
        for check in book["Yard"].data_validations.dataValidation
        if check.type == "list"
    }
    assert '"ft,m"' in lists.values()
    assert any("loam" in words for words in lists.values())
    for sheet in book:
        assert sheet.page_setup.fitToHeight == 0  # one page wide, as many high as it takes
        assert sheet.sheet_properties.pageSetUpPr.fitToPage
    from pypdf import PdfReader

    pages = [page.extract_text() for page in PdfReader(path.with_name("yard-form.pdf")).pages]
    assert len(pages) == 4
    for sheet, text in zip(book, pages, strict=True):
        heads = (
            [cell.value for cell in sheet[4] if cell.value]
            if sheet.title != "Yard"
            else [row[0].value for row in sheet.iter_rows(min_row=4, max_col=1)]
        )
        assert heads
        for head in heads:
            assert " ".join(str(head).split()) in " ".join(text.split())


def edited(made: tuple, folder: Path, change: Callable[[Any], None]) -> Path:
    book = openpyxl.load_workbook(made[1])
    change(book)
    book.save(folder / "yard.xlsx")
    return folder / "yard.xlsx"


def put(tab: str, cell: str, value: object) -> Callable[[Any], None]:
    def change(book: Any) -> None:
        book[tab][cell] = value

    return change


def row_of(book: Any, label: str) -> int:
    return next(row[0].row for row in book["Yard"].iter_rows(max_col=1) if str(row[0].value or "").startswith(label))


def line(label: str, value: object) -> Callable[[Any], None]:
    def change(book: Any) -> None:
        book["Yard"][f"B{row_of(book, label)}"] = value

    return change


REFUSED: dict[str, tuple[Callable[[Any], None], str]] = {
    "a shot that is no figure": (put("Shots", "D14", "wet"), r'yard\.xlsx Shots D14: "wet" is not a length'),
    "a corner without its y": (put("Bed", "C6", None), r"yard\.xlsx Bed C6: the y is missing"),
    "a corner that is no figure": (put("Bed", "B7", "fence"), r'yard\.xlsx Bed B7: "fence" is not a length'),
    "a high point outside the bed": (put("Bed", "F5", 400), r"yard\.xlsx Bed F5: x 400\.00, .* lies outside the bed"),
    "no high point": (
        lambda book: [put("Bed", f"{column}{row}", None)(book) for column in "EFGH" for row in range(5, 9)],  # type: ignore[func-returns-value]
        r"yard\.xlsx Bed: there is no high point",
    ),
    "a trunk that is no figure": (put("Trees", "D5", "thick"), r'yard\.xlsx Trees D5: "thick" is not a length'),
    "a flare inside the trunk": (put("Trees", "F5", 0.01), r"yard\.xlsx Trees F5: the flare's radius"),
    "no trunk": (put("Trees", "D5", None), r"yard\.xlsx Trees B5 trunk: this is missing"),
    "a unit of no yard": (line("units", "yd"), r'yard\.xlsx Yard B5: "yd" is not a unit of a yard'),
    "a slope that is none": (line("steepest side", "steep"), r'yard\.xlsx Yard B7: "steep" is not a slope'),
    "a soil of no table": (line("soil", "moon dust"), r'yard\.xlsx Yard B\d+: "moon dust"'),
    "a price in words": (line("price", "dear"), r'yard\.xlsx Yard B\d+: "dear" is not a price'),
    "sod a yard thick": (line("sod", "3 ft"), r'yard\.xlsx Yard B\d+: .*"3 ft"'),
    "a line of no form": (put("Yard", "A6", "colour"), r'yard\.xlsx Yard B6: "colour" is no line of the form'),
    "no line for the units": (put("Yard", "A5", "colour"), r"yard\.xlsx Yard: the line units is missing"),
    "a formula without a result": (put("Bed", "B5", "=1+2"), r'yard\.xlsx Bed B5: the formula "=1\+2" has no result'),
    "no tab for the bed": (
        lambda book: book.remove(book["Bed"]),
        r"yard\.xlsx: the workbook has no tab Bed; its tabs are",
    ),
}


@pytest.mark.parametrize("case", REFUSED)
def test_what_is_wrong_is_told_at_its_cell(case: str, feet: tuple, tmp_path: Path) -> None:
    change, words = REFUSED[case]
    with pytest.raises(InputError, match=words):
        read_site(edited(feet, tmp_path, change))


def test_several_faults_are_told_at_once_each_at_its_cell(feet: tuple, tmp_path: Path) -> None:
    def change(book: Any) -> None:
        for tab, cell in (("Bed", "B5"), ("Bed", "C8"), ("Trees", "D5")):
            book[tab][cell] = "?"

    with pytest.raises(InputError) as fault:
        read_site(edited(feet, tmp_path, change))
    told = [re.sub(r"^.*yard", "yard", text) for text in str(fault.value).split("\n")]
    assert [text[: text.index(":")] for text in told] == ["yard.xlsx Bed B5", "yard.xlsx Bed C8", "yard.xlsx Trees D5"]


def read_with(change: Callable[[Any], None], feet: tuple, folder: Path) -> Site:
    return read_site(edited(feet, folder, change))


def test_figures_may_carry_their_own_unit_decimal_comma_or_the_look_of_a_percentage(
    feet: tuple, tmp_path: Path
) -> None:
    def change(book: Any) -> None:
        book["Trees"]["D5"] = "0,5 m"
        line("settlement", 0.08)(book)
        line("sod", "5 cm")(book)
        line("a truck holds", "6,5")(book)

    site = read_with(change, feet, tmp_path)
    assert site.tree[0].trunk == pytest.approx(0.5, abs=1e-12)
    assert site.soil.settlement == pytest.approx(0.08, abs=1e-12)
    assert site.bed.sod == pytest.approx(0.05, abs=1e-12)
    assert site.soil.truck == pytest.approx(6.5 * (0.764554857984 if feet[0] == "ft" else 1.0), rel=1e-9)


def test_a_slope_that_a_spreadsheet_made_a_time_of_day_is_a_slope_still(feet: tuple, tmp_path: Path) -> None:
    import datetime

    site = read_with(line("steepest side", datetime.time(4, 1)), feet, tmp_path)
    assert site.berm.max_slope == pytest.approx(0.25, abs=1e-12)


def test_rod_readings_and_columns_in_another_order_are_read(feet: tuple, tmp_path: Path) -> None:
    def change(book: Any) -> None:
        sheet = book["Shots"]
        rows = [row for row in sheet.iter_rows(min_row=5, max_col=5) if row[3].value is not None]
        sight = max(row[3].value for row in rows) + 1.5
        for row in rows:
            row[3].value = round(sight - row[3].value, 3)
        sheet["D4"] = f"rod ({feet[0]})"

    site, before = read_with(change, feet, tmp_path), read_site(feet[1])
    rises = site.survey.shots[:, 2] - site.survey.shots[0, 2]
    np.testing.assert_allclose(rises, before.survey.shots[:, 2] - before.survey.shots[0, 2], atol=0.001)


def test_a_yard_without_trees_needs_no_tab_for_them(feet: tuple, tmp_path: Path) -> None:
    assert read_with(lambda book: book.remove(book["Trees"]), feet, tmp_path).tree == ()


@pytest.mark.slow
def test_commands_take_it_where_they_take_a_site_file(feet: tuple, hummock: Callable, tmp_path: Path) -> None:
    ended = hummock("order", feet[1], "--json", "--out", tmp_path)
    mine = json.loads(ended.stdout)["order"]["expected_loose_m3"]
    # Four decimals of a foot in a head of the form: far under what the order is rounded to.
    assert mine == pytest.approx(run_site(read_site(feet[2])).order.expected, rel=1e-3)
    manifest = json.loads((tmp_path / "manifest.json").read_text(encoding="utf-8"))
    assert "yard.xlsx" in json.dumps(manifest)


@pytest.mark.parametrize(
    "words",
    [
        *(pytest.param(words, marks=pytest.mark.slow) for words in ("trees", "crew", "export --to csv")),
        *(pytest.param(words, marks=pytest.mark.fuzz) for words in ("ground", "shape", "setout", "view --no-window")),
    ],
)
def test_every_other_command_takes_it_too(words: str, feet: tuple, hummock: Callable, tmp_path: Path) -> None:
    command, *options = words.split()
    ended = hummock(command, feet[1], *options, "--out", tmp_path)
    assert ended.returncode in (0, 1), ended.stderr


def test_nothing_is_overwritten_and_the_ending_is_asked_for(hummock: Callable, tmp_path: Path) -> None:
    assert hummock("new", "--sheet", tmp_path / "yard.xlsx").returncode == 0
    again = hummock("new", "--sheet", tmp_path / "yard.xlsx")
    assert again.returncode == 2
    assert "already there, nothing was written" in again.stderr
    named = hummock("new", "--sheet", tmp_path / "yard.csv")
    assert named.returncode == 2
    assert "a workbook's name ends in .xlsx" in named.stderr
    for words in ((), (tmp_path / "f", "--sheet", tmp_path / "y.xlsx")):
        both = hummock("new", *words)
        assert both.returncode == 2
        assert "Give a folder, or --sheet FILE.xlsx." in both.stderr


@pytest.mark.slow
def test_a_suggestion_from_a_workbook_is_a_site_file_that_reads_its_shots_there(
    feet: tuple, hummock: Callable, tmp_path: Path
) -> None:
    ended = hummock("suggest", feet[1], "--out", tmp_path)
    assert ended.returncode in (0, 1), ended.stderr
    site = read_site(tmp_path / "suggest-1.toml")
    np.testing.assert_allclose(site.survey.shots, read_site(feet[1]).survey.shots, atol=1e-9)


def test_the_live_page_says_that_it_saves_no_workbook(feet: tuple, hummock: Callable) -> None:
    ended = hummock("view", feet[1], "--live")
    assert ended.returncode == 2
    assert "the live page saves into a site file, and this is a workbook" in ended.stderr
