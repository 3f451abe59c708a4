"""Every face of the order says one thing: terminal, summary, order.json, table, workbook, PDF, sheets, share page.

Each face is read as a reader would read it, by its words and figures; nothing is asked of the code that wrote them.
"""

from __future__ import annotations

import contextlib
import csv
import io
import json
import re
from collections.abc import Iterator
from contextlib import redirect_stdout
from html import unescape
from pathlib import Path

import openpyxl
import pytest
from odd_yards import odd_sites
from pypdf import PdfReader

from cli.against_report import _parts as against_parts
from cli.order_files import summary_with_order
from cli.order_report import _parts
from cli.report import order_lines
from cli.terminal import on_terminal
from terrain.against import compared
from terrain.errors import InputError
from terrain.files.order_table import order_csv
from terrain.files.summary import as_json, summary_of
from terrain.files.workbook.book import write_book
from terrain.flow import Study, run_site
from terrain.soil.ledger_table import ledger_rows
from viewer.page.subject import Subject
from viewer.pictures.client_page import draw_client
from viewer.sheets.cutfill import totals
from viewer.sheets.order_page import draw_order
from viewer.sheets.order_sheet import order_sheet
from viewer.sheets.plan_words import facts
from viewer.web.share import share_page

CELL = 0.3  # metres
SIZE = {"ft": 0.764554857984, "m": 1.0}  # m3 in a cubic yard, exact, and in a cubic metre
GROUPS = [range(100 + 5 * k, 105 + 5 * k) for k in range(8)]  # 40 yards
QUANTITY = r"([\d,]+\.?\d*) (?:cu yd|m3) loose"


def studies(seeds: range) -> Iterator[tuple[int, Study]]:
    for yard, site in odd_sites(seeds):
        with contextlib.suppress(InputError):
            yield yard.seed, run_site(site, resolution=CELL)


def number(text: str) -> float:
    return float(text.replace(",", ""))


def bought(text: str) -> float:
    """What a text tells to buy, in its own unit: each kind of soil apart."""
    return sum(number(one) for one in re.findall(rf"{QUANTITY}\s+of\s+(?:fill|planting)\s+soil", text))


def trucks(text: str) -> int:
    """Trucks that a text tells for soil, without those that haul away."""
    kept = re.sub(r"leaves.*?(?=\n\s*top|\Z)", "", text, flags=re.DOTALL | re.IGNORECASE)
    return sum(int(one) for one in re.findall(r"(\d+) trucks? of", kept))


def expectations(text: str) -> list[float]:
    """Every soil that a text calls expected, in its own unit."""
    before = re.findall(rf"{QUANTITY}\s+expected", text)
    after = re.findall(rf"expected\s*:?\s+{QUANTITY}", text, re.IGNORECASE)
    return [number(one) for one in (*before, *after)]


def printed(parts: object) -> str:
    with redirect_stdout(io.StringIO()) as out, on_terminal() as console:
        console.width = 200
        for part in parts:  # type: ignore[attr-defined]
            console.print(part)
    return out.getvalue()


def plain_page(page: str) -> str:
    return unescape(re.sub(r"<[^>]*>", " ", page))


def check(study: Study, folder: Path) -> None:
    size = SIZE[study.site.units]
    summary = json.loads(as_json(summary_of(study, (0.0, 0.0, 0.0))))["order"]
    told = json.loads(as_json(summary_with_order(study)))["order"]
    assert {key: told[key] for key in summary} == summary
    quantity, hundredth = summary["quantity_loose_m3"] / size, 0.0101
    terminal = printed(_parts(study, ("order.pdf",), folder, False))
    short = "\n".join(str(text) for _, text in order_lines(study))
    pdf = _pdf(study, folder / "order.pdf")
    share = plain_page(share_page(study))
    headline, _, share = share.partition("to order;")
    assert "Soil to order" in share
    subject = Subject(study.site, study.ground, study.proposal, study.work)
    plan, sheet = (" ".join(f"{a}: {b}" for a, b in rows) for rows in (facts(subject), totals(subject)))
    for face in (terminal, short, headline, share, plan, sheet):
        assert bought(face) == pytest.approx(quantity, abs=hundredth * max(1, len(study.order.soils))), face[:400]
    assert _bought_in(pdf) == pytest.approx(quantity, abs=2 * hundredth)
    for face in (terminal, short, pdf):
        assert trucks(face) == (summary["trucks"] or 0), face[:600]
    for face in (terminal, pdf, share):
        for figure in expectations(face):
            assert figure == pytest.approx(summary["expected_loose_m3"] / size, abs=0.051, rel=1e-3)
    rows = csv.DictReader(io.StringIO(order_csv(study)))
    table = {(row["part"], row["item"], row["figure"]): row["value"] for row in rows}
    assert float(table["order", "soil", "to order"]) == pytest.approx(quantity, abs=1e-4)
    assert int(table.get(("loads", "soil in", "trucks"), 0)) == (summary["trucks"] or 0)
    if summary["cost"] is not None:
        assert float(table["cost", "total", "amount"]) == pytest.approx(summary["cost"], abs=1e-3)
        assert f"{summary['cost']:,.2f}" in terminal
        assert f"{summary['cost']:,.2f}" in pdf
        assert f"{summary['cost']:,.2f}" in share
    for line in summary["costs"]:
        assert float(table["cost", line["what"], "amount"]) == pytest.approx(line["amount"], abs=1e-3)
        for face in (terminal, pdf):
            assert f"{line['amount']:,.2f}" in face
    for row in ledger_rows(study.order.ledger, study.site.units):
        for face in (terminal, " ".join(pdf.split())):
            assert row[3] in face
            assert row[0].partition(" + ")[0] in " ".join(face.split())


def check_for_the_client(study: Study, folder: Path) -> None:
    """The page for the client, and this job set against itself: as wide letters break lines, words are joined."""
    size = SIZE[study.site.units]
    draw_client(study, folder / "client.pdf")
    page = " ".join(PdfReader(folder / "client.pdf").pages[0].extract_text().split())
    quantity = study.order.quantity / size
    soils = re.findall(rf"(?:fill|planting) soil {QUANTITY}", page)
    assert sum(map(number, soils)) == pytest.approx(quantity, abs=0.0101 * max(1, len(study.order.soils))), page[:600]
    if study.order.cost is not None:
        assert f"{study.order.cost:,.2f}" in page
    again = printed(against_parts(compared(study, study), study.site.units, "itself"))
    there, here = re.findall(r"soil to order\s+([\d.,]+) (?:cu yd|m3)\s+([\d.,]+) (?:cu yd|m3)", again)[0]
    assert number(there) == number(here) == pytest.approx(quantity, abs=0.0051)


def _pdf(study: Study, path: Path) -> str:
    draw_order(order_sheet(study), path)
    return PdfReader(path).pages[0].extract_text()


def _bought_in(pdf: str) -> float:
    """The large figures of the sheet: a line that is a quantity alone, over the line that names its soil."""
    return sum(number(one) for one in re.findall(rf"^{QUANTITY}\n(?:fill|planting) soil", pdf, re.MULTILINE))


def in_book(path: Path, names: dict[str, float], calculate: bool) -> dict[str, float]:
    """The named figures of a workbook: as they are stored, or as an independent library works them out."""
    book = openpyxl.load_workbook(path, data_only=True)
    places = {name: book.defined_names[name].attr_text.replace("$", "").split("!") for name in names}
    if not calculate:
        return {name: float(book[page][cell].value) for name, (page, cell) in places.items()}
    formulas = pytest.importorskip("formulas")
    answers = formulas.ExcelModel().loads(str(path)).finish().calculate()
    return {
        name: float(answers[f"'[{path.name}]{page.upper()}'!{cell}"].value[0, 0])
        for name, (page, cell) in places.items()
    }


def wanted(study: Study) -> dict[str, float]:
    order, size = study.order, SIZE[study.site.units]
    return {
        "Expected": order.expected / size,
        "Low": order.low / size,
        "High": order.high / size,
        "Soil_order": order.quantity / size,
        "Soil_trucks": order.haul.trucks or 0,
        "Soil_barrows": order.haul.barrows or 0,
        "Covered": order.covered,
        "Short_median": order.short_median / size,
        "Short_95": order.short_95 / size,
        "Leaves": order.leaves / size,
        "Cost": order.cost or 0.0,
    }


@pytest.mark.parametrize(
    "seeds",
    [pytest.param(yards, marks=pytest.mark.slow if k < 1 else pytest.mark.fuzz) for k, yards in enumerate(GROUPS)],
    ids=lambda seeds: f"from {seeds[0]}",
)
def test_every_face_tells_the_same_order(seeds: range, tmp_path: Path) -> None:
    done = 0
    for seed, study in studies(seeds):
        check(study, tmp_path)
        if not done:  # its pictures take a second
            check_for_the_client(study, tmp_path)
        book = tmp_path / f"{seed}.xlsx"
        write_book(study, book)
        assert in_book(book, wanted(study), calculate=False) == pytest.approx(wanted(study), rel=1e-9, abs=1e-9)
        done += 1
    assert done >= 2


@pytest.mark.parametrize(
    "seed",
    [
        pytest.param(101, marks=pytest.mark.slow),
        *(pytest.param(seed, marks=pytest.mark.fuzz) for seed in (108, 115, 122)),
    ],
)
def test_an_independent_reader_works_the_workbook_to_the_same_order(seed: int, tmp_path: Path) -> None:
    (_, study), *_ = studies(range(seed, seed + 4))
    vars(study)["heights"] = study.heights[:1]  # one row of the page of heights: what is compared stands on the others
    book = tmp_path / "order.xlsx"
    write_book(study, book)
    assert in_book(book, wanted(study), calculate=True) == pytest.approx(wanted(study), rel=1e-9, abs=1e-9)
