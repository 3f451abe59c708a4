"""Prices: what stands under [prices], the bill worked by hand, and the same bill on every face."""

from __future__ import annotations

import csv
import io
from dataclasses import fields, replace
from pathlib import Path

import openpyxl
import pytest
from order_yards import a_site
from pypdf import PdfReader
from shapely.geometry import LineString
from test_order_by_hand import ordered, volumes
from test_workbook import worked

from terrain.errors import InputError
from terrain.files.order_plain import order_plain
from terrain.files.order_table import order_csv
from terrain.files.workbook.book import write_book
from terrain.flow import Study, run_site
from terrain.site.features import RetainedEdge
from terrain.site.model import Site
from terrain.site.prices import SHORT, Prices
from terrain.site.read import read_site
from terrain.soil.bill import prices_of
from terrain.soil.given import given_of
from terrain.soil.order import order_of, order_soil
from terrain.soil.stone import Course, Wall, walls
from terrain.soil.supply import Supply
from terrain.soil.words import cost_words, left_out_words, stone_words
from viewer.sheets.order_page import draw_order
from viewer.sheets.order_sheet import order_sheet

INCH, FOOT, POUND = 0.0254, 0.3048, 0.45359237
YARD3, TON = (3 * FOOT) ** 3, 2000.0 * POUND


@pytest.fixture(scope="module")
def alder() -> str:
    return (Path(__file__).resolve().parents[2] / "examples/alder-bend/site.toml").read_text(encoding="utf-8")


def read(folder: Path, text: str) -> Site:
    example = Path(__file__).resolve().parents[2] / "examples/alder-bend"
    for path in example.glob("*.csv"):
        (folder / path.name).write_bytes(path.read_bytes())
    (folder / "site.toml").write_text(text, encoding="utf-8")
    return read_site(folder / "site.toml")


def small_wall() -> Wall:
    """Ten stones of 0.3 m in one course of 3 m on 5 cm of crushed stone."""
    return Wall("edge", LineString([(0, 0), (3, 0)]), 0.2, 0.1, 0.05, 0.0, (Course(-0.1, 0.3, 3.0),))


# A price, what it is for in a site in feet, and that in SI units: cubic yard, ton of 2,000 lb, piece, share.
WRITTEN = {
    **dict.fromkeys(("soil", "mulch", "gravel", "disposal"), (42.0, 42.0 / YARD3)),
    "stone": (180.0, 180.0 / TON),
    **dict.fromkeys(("bag", "delivery", "labour", "machine"), (60.0, 60.0)),
    **dict.fromkeys(("sheet", "underlay"), (0.8, 0.8 / FOOT**2)),
    "least_load": ('"6 cu yd"', 6.0 * YARD3),
    "machine_pace": (15, 15.0 * YARD3),
    "machine_above": (300, 300),
    **dict.fromkeys(("markup", "tax"), ('"8 %"', 0.08)),
}


@pytest.mark.parametrize("key", WRITTEN)
def test_every_price_is_read_from_its_own_table(key: str, alder: str, tmp_path: Path) -> None:
    written, wanted = WRITTEN[key]
    text = "\n".join(line for line in alder.splitlines() if not line.startswith("price"))
    site = read(tmp_path, f"{text}\n[prices]\n{key} = {written}\n")
    assert getattr(prices_of(site), key) == pytest.approx(wanted, rel=1e-12)
    assert {name for name in WRITTEN if getattr(prices_of(site), name) != getattr(Prices(), name)} == {key}


def test_every_price_that_is_read_is_tried_here() -> None:
    assert set(WRITTEN) == {field.name for field in fields(Prices) if field.metadata.get("written", True)}


@pytest.mark.parametrize("key", SHORT)
def test_the_short_way_says_the_same_and_not_beside_it(key: str, alder: str, tmp_path: Path) -> None:
    text = "\n".join(line for line in alder.splitlines() if not line.startswith("price"))
    short = text.replace("[soil]", f"[soil]\n{SHORT[key]} = 7.5")
    long = f"{text}\n[prices]\n{key} = 7.5\n"
    assert prices_of(read(tmp_path, short)) == prices_of(read(tmp_path, long))
    with pytest.raises(InputError) as refused:
        read(tmp_path, f"{short}\n[prices]\n{key} = 7.5\n")
    words = f"[prices] {key}: {SHORT[key]} under [soil] says the same. Accepted: one of the two."
    assert words in str(refused.value)


REFUSED = {
    "gravle = 40": '[prices]: "gravle" is not a known key. Did you mean "gravel"? Known keys: soil, mulch, gravel,',
    'stone = "dear"': '[prices] stone: "dear" is not a price. Accepted: a number above 0, in your money per ton',
    "stone = 95000000": "[prices] stone: 95000000 is no price per ton of 2,000 lb. Accepted: up to 90,718,474.",
    'tax = "180 %"': '[prices] tax: "180 %" is 180 %, out of range.',
    "delivery = -1": "[prices] delivery: -1 is not a price.",
}


@pytest.mark.parametrize("line", REFUSED)
def test_a_price_that_makes_no_sense_is_refused_in_words(line: str, alder: str, tmp_path: Path) -> None:
    with pytest.raises(InputError) as refused:
        read(tmp_path, f"{alder}\n[prices]\n{line}\n")
    assert REFUSED[line] in str(refused.value)


def test_stones_and_their_bedding_by_hand() -> None:
    # 165 lb/ft3 (EM 1110-2-1601) is 2643.046 kg/m3; a ball of 0.3 m weighs 2643.046 x pi x 0.027 / 6 = 37.365 kg, ten
    # of them 373.65 kg, at 100 a tonne 37.365. Bedding 3 x 0.3 x 0.05 = 0.045 m3, sold by half m3: 0.5 x 60 = 30.
    # Markup 10 % of 67.365 = 6.7365; tax 20 % of 74.1017 = 14.8203; all 88.922.
    prices = Prices(stone=0.1, gravel=60.0, markup=0.10, tax=0.20)
    site = a_site()
    held, supply = volumes(site, 1.0), Supply(step=0.5)
    order = order_of(given_of(site, held), supply, prices, (small_wall(),))
    assert [(line.what, round(line.amount, 3)) for line in order.costs] == [
        ("stone", 37.365),
        ("crushed stone", 30.0),
        ("markup", 6.737),
        ("tax", 14.820),
    ]
    assert order.cost == pytest.approx(88.922, abs=1e-3)
    assert [cost_words(line, "m") for line in order.costs] == [
        "stone: 0.37 t at 100.00 = 37.37",
        "crushed stone: 0.5 m3 at 60.00 = 30.00",
        "markup: 10 % of 67.37 = 6.74",
        "tax: 20 % of 74.10 = 14.82",
    ]
    assert cost_words(order.costs[0], "ft") == "stone: 0.41 tons of 2,000 lb at 90.72 = 37.37"
    assert left_out_words(order) == "The sum leaves out what has no price: soil."


def test_a_markup_on_nothing_is_no_line() -> None:
    order = ordered(a_site(), volumes(a_site(), 1.0), prices=Prices(markup=0.1, tax=0.2))
    assert (order.costs, order.cost, left_out_words(order)) == ((), None, "")


@pytest.fixture(scope="module")
def priced() -> Study:
    """The shipped yard with two low stone edges and a price for all."""
    site = read_site(Path(__file__).resolve().parents[2] / "examples/alder-bend/site.toml")
    west, south, *_ = site.bed.outline.bounds
    edges = tuple(
        RetainedEdge(name, ((west + 2.0, south + y), (west + 7.0, south + y)), inches * INCH)
        for name, y, inches in (("low", 2.0, 5.0), ("high", 4.0, 20.0))
    )
    prices = Prices(
        mulch=38.0 / YARD3,
        gravel=40.0 / YARD3,
        stone=180.0 / TON,
        delivery=60.0,
        disposal=18.0 / YARD3,
        markup=0.12,
        tax=0.07,
    )
    return run_site(replace(site, retained_edge=edges, prices=prices), resolution=0.3)


def test_table_and_json_hold_the_one_bill(priced: Study) -> None:
    order = priced.order
    assert {"stone", "crushed stone", "markup", "tax"} <= {line.what for line in order.costs}
    mass = sum(wall.mass for wall in walls(priced.site))
    stone = next(line for line in order.costs if line.what == "stone")
    assert stone.amount == pytest.approx(180.0 * mass / TON, rel=1e-12)
    plain = order_plain(priced)
    costs = plain["costs"]
    assert isinstance(costs, list)
    assert sum(line["amount"] for line in costs) == pytest.approx(order.cost, rel=1e-12)
    for line in costs:
        assert line["quantity"] * line["rate"] == pytest.approx(line["amount"], rel=1e-12)
    rows = {(row["item"], row["figure"]): row for row in csv.DictReader(io.StringIO(order_csv(priced)))}
    assert float(rows["stone", "quantity"]["value"]) == pytest.approx(mass / TON, abs=1e-4)
    assert float(rows["stone", "price"]["value"]) == pytest.approx(180.0, abs=1e-4)
    assert float(rows["total", "amount"]["value"]) == pytest.approx(order.cost, abs=1e-4)


def test_the_sheet_has_the_whole_bill_and_every_wall(priced: Study, tmp_path: Path) -> None:
    page = PdfReader(draw_order(order_sheet(priced), tmp_path / "order.pdf")).pages[0]
    text = " ".join(page.extract_text().split())
    for line in priced.order.costs:
        what, _, amount = cost_words(line, "ft").rpartition(" = ")
        assert what in text
        assert amount in text
    for wall in walls(priced.site):
        assert stone_words(wall, "ft") in text


@pytest.mark.slow
def test_the_workbook_holds_the_same_bill_and_moves_with_a_price(priced: Study, tmp_path: Path) -> None:
    path = tmp_path / "order.xlsx"
    short = replace(priced)
    vars(short)["heights"] = priced.heights[:1]
    write_book(short, path)
    rows = {cell.value: cell.row for cell in openpyxl.load_workbook(path)["Order"]["A"]}
    total = ("Order", f"E{rows['total']}")
    assert worked(path, {}, total) == pytest.approx(priced.order.cost, rel=1e-9)
    assert worked(path, {}, ("Order", f"E{rows['crushed stone']}")) == pytest.approx(
        next(line.amount for line in priced.order.costs if line.what == "crushed stone"), rel=1e-9
    )
    dearer = replace(priced.site, prices=replace(priced.site.prices, gravel=80.0 / YARD3, stone=360.0 / TON))
    changes = {("Order", f"D{rows['gravel']}"): 80.0, ("Order", f"D{rows['stone']}"): 360.0}
    assert worked(path, changes, total) == pytest.approx(order_soil(dearer, priced.work).cost, rel=1e-9)


def test_the_whole_bill_by_hand() -> None:
    # 6.5 m3 in steps of 0.5, trucks of 4: 4 and 2.5. Paid for 3 at least: half a m3 more. Barrows of 0.1: 65 trips of
    # 6 min; above 50 a machine takes 15 x 0.1 = 1.5 m3 at 3 an hour. 6.5 x 40 = 260; two loads of 60; 0.5 x 40 = 20;
    # 50 x 0.1 h x 30 = 150; 0.5 h x 90 = 45. All 595; tax 10 % of it 59.5; markup 20 % of 654.5.
    site = a_site()
    supply = Supply(step=0.5, truck=4.0, barrow=0.1, trip=360.0, least_load=3.0)
    prices = Prices(
        soil=40.0,
        delivery=60.0,
        labour=30.0,
        machine=90.0,
        machine_above=50,
        machine_pace=3.0,
        markup=0.2,
        tax=0.1,
        shares=("tax", "markup"),
    )
    order = ordered(site, volumes(site, 6.4 * 0.9 / 1.25), supply=supply, prices=prices)
    assert [(line.what, pytest.approx(line.amount, rel=1e-9)) for line in order.costs] == [
        ("soil", 260.0),
        ("delivery", 120.0),
        ("short of the least load", 20.0),
        ("barrow hours", 150.0),
        ("machine hours", 45.0),
        ("tax", 59.5),
        ("markup", 130.9),
    ]
    assert order.cost == pytest.approx(785.4, rel=1e-9)


def test_shares_come_in_the_order_that_the_user_states(alder: str, tmp_path: Path) -> None:
    first = read(tmp_path, f'{alder}\n[prices]\ntax = "8 %"\nmarkup = "10 %"\n')
    assert first.prices.shares == ("tax", "markup")
    other = read(tmp_path, f'{alder}\n[prices]\nmarkup = "10 %"\ntax = "8 %"\n')
    assert other.prices.shares == ("markup", "tax")
    assert read(tmp_path, f"{alder}\n[prices]\nmulch = 3\n").prices.shares == ("markup", "tax")


def test_hours_without_a_time_are_left_out_and_said() -> None:
    site = a_site()
    order = ordered(site, volumes(site, 3.0), prices=Prices(soil=40.0, labour=30.0))
    assert left_out_words(order) == "The sum leaves out what has no price: barrow hours (state [soil] barrow and trip)."


@pytest.mark.slow
def test_the_workbook_follows_hours_least_load_and_the_order_of_shares(priced: Study, tmp_path: Path) -> None:
    site = priced.site
    prices = replace(
        site.prices,
        labour=30.0,
        machine=95.0,
        machine_above=100,
        machine_pace=9.0,
        least_load=7.0,
        shares=("tax", "markup"),
    )
    dear = replace(site, soil=replace(site.soil, trip=300.0), prices=prices)
    study = run_site(dear, resolution=0.3, ground=priced.ground)
    vars(study)["heights"] = study.heights[:1]
    path = tmp_path / "order.xlsx"
    write_book(study, path)
    rows = {cell.value: cell.row for cell in openpyxl.load_workbook(path)["Order"]["A"]}
    assert {"barrow hours", "machine hours", "short of the least load"} <= {line.what for line in study.order.costs}
    assert worked(path, {}, ("Order", f"E{rows['total']}")) == pytest.approx(study.order.cost, rel=1e-9)
