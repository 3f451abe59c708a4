"""The page for the client: price and cautions whole, nothing of the estimator's margins, room for two signatures."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from matplotlib.colors import to_hex
from pypdf import PdfReader

from terrain.flow import Study, run_site
from terrain.site.prices import Prices
from terrain.site.read import read_site
from terrain.soil.heights import top_height
from terrain.soil.offer import listed, offer_of
from viewer.page import KEEP_OFF, new_page, subject_of
from viewer.pictures.client_page import client_pages, draw_client
from viewer.sheets import draw_plain_plan, plain_sheet

YARD3 = 0.9144**3
ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def priced() -> Study:
    site = read_site(ROOT / "examples/alder-bend/site.toml")
    prices = Prices(delivery=60.0, disposal=18.0 / YARD3, markup=0.15, tax=0.07)
    return run_site(replace(site, prices=prices), resolution=0.3)


def amount(text: str) -> float:
    return float(text.replace(",", ""))


def test_the_price_holds_the_markup_and_tells_the_tax(priced: Study) -> None:
    offer = offer_of(priced.site, priced.work, priced.order, top_height(priced.proposal))
    rows = dict(offer.price)
    net = sum(line.amount for line in priced.order.costs if line.what not in ("markup", "tax"))
    assert amount(rows["work and materials"]) == pytest.approx(1.15 * net, abs=0.006)
    assert amount(rows["tax, 7 %"]) == pytest.approx(0.07 * 1.15 * net, abs=0.006)
    assert amount(rows["to pay"]) == pytest.approx(priced.order.cost, abs=0.006)
    assert offer.holds == ("soil", "delivery", "disposal")
    assert offer.leaves_out[0] == "mulch"
    assert dict(offer.built)["mulch"].endswith("not in the price")


def test_a_tax_under_the_markup_is_not_told_apart(priced: Study) -> None:
    prices = replace(priced.site.prices, shares=("tax", "markup"))
    study = run_site(replace(priced.site, prices=prices), resolution=0.3, ground=priced.ground, earlier=priced)
    offer = offer_of(study.site, study.work, study.order, top_height(study.proposal))
    assert [what for what, _ in offer.price] == ["to pay"]


def test_without_prices_the_price_is_open() -> None:
    site = read_site(ROOT / "examples/alder-bend/site.toml")
    study = run_site(replace(site, soil=replace(site.soil, price=None)), resolution=0.5)
    offer = offer_of(study.site, study.work, study.order, top_height(study.proposal))
    assert (offer.price, offer.holds) == ((), ())


@pytest.mark.parametrize(
    ("words", "told"), [((), ""), (("a",), "a"), (("a", "b"), "a and b"), (("a", "b", "c"), "a, b and c")]
)
def test_a_list_reads_as_a_sentence(words: tuple[str, ...], told: str) -> None:
    assert listed(words) == told


@pytest.mark.slow
def test_the_page_has_all_that_a_client_signs_for_and_no_margin(priced: Study, tmp_path: Path) -> None:
    pages = PdfReader(draw_client(priced, tmp_path / "client.pdf")).pages
    text = " ".join(" ".join(page.extract_text() for page in pages).split())
    assert len(pages) == 2
    assert f"{priced.order.cost:,.2f}" in text
    for finding in priced.review.findings:
        assert (finding.text in text) == (finding.level != "note")
    for word in ("before", "after", "for the client: name, date", "for the contractor: name, date", "Not included"):
        assert word in text
    for word in ("markup", "chance", "90 %", "nine cases", "you will be short"):
        assert word not in text


@pytest.mark.slow
def test_each_caution_of_a_place_stands_by_its_number_on_the_plan(priced: Study) -> None:
    """The place is the finding's own, which the pages show too."""
    _, page = client_pages(priced)
    told = [one for one in priced.review.findings if one.level != "note"]
    placed = {str(number) for number, one in enumerate(told, start=1) if one.at is not None}
    assert any(one.topic == "look" and one.at is not None for one in told), "a sign among them"
    assert {text.get_text() for text in page.axes.texts if text.get_color() == KEEP_OFF} == placed
    sheet = plain_sheet(subject_of(priced), (page.width, page.height), (26.0, 400.0, page.width - 26.0, 740.0))
    alone = new_page(page.width, page.height)
    at = (priced.site.bed.outline.centroid.x, priced.site.bed.outline.centroid.y)
    draw_plain_plan(alone, sheet, subject_of(priced), [("7", at)])
    red = [
        one for one in alone.axes.collections if one.get_facecolor().size and to_hex(one.get_facecolor()[0]) == KEEP_OFF
    ]
    middles = [np.mean(path.get_extents().get_points(), axis=0) for one in red for path in one.get_paths()]
    assert min(np.hypot(*(middle - sheet.points(np.array([at]))[0])) for middle in middles) < 0.1  # points
