"""The workbook: its formulas give what the tool gives, also after an estimator changes a price or a factor."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from terrain.files.workbook.book import write_book
from terrain.flow import Study, run_site
from terrain.site.model import Site
from terrain.site.read import read_site
from terrain.soil.what_if import WhatIf
from terrain.tables import guarded

CUBIC_YARD = 0.764554857984


def alder(root: Path, **soil: float) -> Site:
    site = read_site(root / "examples/alder-bend/site.toml")
    return replace(site, soil=replace(site.soil, **soil))


def cell_beside(path: Path, page: str, label: str) -> str:
    """Address of the figure to the right of a label."""
    sheet = openpyxl.load_workbook(path)[page]
    (row,) = [cell.row for cell in sheet["A"] if cell.value == label]
    return f"B{row}"


def worked(path: Path, changes: dict[tuple[str, str], float], wanted: tuple[str, str]) -> float:
    """One figure of the workbook, worked by an independent library after some cells were changed."""
    answers = answers_of(path, tuple(changes.items()))
    return float(answers[f"'[changed.xlsx]{wanted[0].upper()}'!{wanted[1]}"].value[0, 0])


@cache
def answers_of(path: Path, changes: tuple[tuple[tuple[str, str], float], ...]) -> dict[str, Any]:
    """Every figure of the workbook after those changes: it takes the library seconds."""
    formulas = pytest.importorskip("formulas")
    book = openpyxl.load_workbook(path)
    for (page, cell), value in changes:
        book[page][cell] = value
    changed = path.with_name("changed.xlsx")
    book.save(changed)
    return formulas.ExcelModel().loads(str(changed)).finish().calculate()


@pytest.fixture(scope="module")
def written(root_of_tests: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Study]:
    done = run_site(alder(root_of_tests), WhatIf())
    vars(done)["heights"] = done.heights[:1]  # one row of the page of heights: what is compared stands on the others
    path = tmp_path_factory.mktemp("book") / "order.xlsx"
    write_book(done, path)
    return path, done


@pytest.fixture(scope="module")
def root_of_tests() -> Path:
    return Path(__file__).resolve().parents[2]


def test_formulas_hold_functions_of_the_first_standard_alone(written: tuple[Path, Study]) -> None:
    # Newer ones go by other names in a file: ISO/IEC 29500-1, 18.17.7, lists the first.
    cells = [
        cell for page in openpyxl.load_workbook(written[0]) for row in page for cell in row if cell.data_type == "f"
    ]
    used = {name for cell in cells for name in re.findall(r"([A-Z][A-Z0-9.]*)\(", cell.value)}
    assert {"NORMSINV", "SUM"} & used
    assert used <= openpyxl.utils.FORMULAE, used - openpyxl.utils.FORMULAE


@pytest.mark.slow
def test_a_changed_factor_moves_the_order_as_the_tool_itself_says(
    written: tuple[Path, Study], root_of_tests: Path
) -> None:
    path, as_is = written
    expected_cell = ("Order", "B8")  # all soil, expected, loose
    assert worked(path, {}, expected_cell) == pytest.approx(as_is.order.expected / CUBIC_YARD, rel=1e-6)
    # Clay, FM 5-434 Table 1-1: 1 bank = 1.43 loose; loam, the middle of 10 to 35 % (Peurifoy, Table 4-1): 1.225.
    clay = run_site(alder(root_of_tests, swell=0.43), WhatIf())
    swollen = worked(path, {("Soil", cell_beside(path, "Soil", "Swell of loam")): 0.43}, expected_cell)
    assert swollen == pytest.approx(clay.order.expected / CUBIC_YARD, rel=1e-6)
    assert swollen == pytest.approx(worked(path, {}, expected_cell) * 1.43 / 1.225, rel=1e-6)


@pytest.mark.slow
def test_a_changed_price_moves_the_cost(written: tuple[Path, Study]) -> None:
    path, done = written
    rows = {cell.value: cell.row for cell in openpyxl.load_workbook(path)["Order"]["A"]}
    price, total = f"D{rows['soil']}", ("Order", f"E{rows['total']}")
    assert worked(path, {}, total) == pytest.approx(done.order.cost, rel=1e-9)
    assert worked(path, {("Order", price): 84.0}, total) == pytest.approx(2 * done.order.cost, rel=1e-9)


@pytest.mark.parametrize("name", ["=1+1", "+cmd", "-2", "@SUM(A1)", "\t=A1", "  =A1", "|x"])
def test_text_from_people_never_runs_as_a_formula(name: str) -> None:
    assert guarded(name).startswith("'")


def test_plain_text_stays_as_it_is() -> None:
    assert guarded("Alder Bend, front bed") == "Alder Bend, front bed"


def test_a_site_named_like_a_formula_is_written_as_text(root_of_tests: Path, tmp_path: Path) -> None:
    site = replace(alder(root_of_tests), name='=HYPERLINK("x")')
    path = tmp_path / "order.xlsx"
    write_book(run_site(site, WhatIf()), path)
    cell = openpyxl.load_workbook(path)["Order"]["A1"]
    assert cell.data_type == "s"
    assert not str(cell.value).startswith("=")


@pytest.mark.slow
def test_a_surer_order_is_never_smaller(root_of_tests: Path) -> None:
    orders = [run_site(alder(root_of_tests, chance=chance), WhatIf()).order for chance in (0.5, 0.8, 0.95)]
    needed = [order.needed for order in orders]
    assert needed == sorted(needed)
    assert needed[0] < needed[2]
    for order in orders:
        assert order.quantity >= order.needed - 1e-9  # rounding never orders less than needed


def test_soil_on_hand_in_a_what_if_is_what_the_mound_takes(root_of_tests: Path) -> None:
    asked = 20.0 * CUBIC_YARD
    done = run_site(alder(root_of_tests), WhatIf(soil=asked))
    assert done.order.expected == pytest.approx(asked, rel=0.005)
