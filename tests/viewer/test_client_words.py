"""Words come first on the page for the client: pictures give way, and what is built goes over to pages of its own."""

from __future__ import annotations

from dataclasses import replace
from itertools import product
from pathlib import Path

import pytest
from paper_words import faults_of
from pypdf import PdfReader
from shipped import study_of

from terrain.soil.heights import top_height
from terrain.soil.offer import Offer, offer_of
from viewer.page import new_page, save_book
from viewer.page.sheet import BORDER
from viewer.pictures import client_page
from viewer.pictures.client_page import draw_client, picture_frames
from viewer.pictures.client_words import ClientWords, columns_of

LONG = "the old bur oak at the bend of the lane that runs down to the alders, the one with the swing on its low branch"
WIDTH = 560.0


@pytest.fixture(scope="module")
def offer() -> Offer:
    study = study_of("alder-bend", 0.3)
    return offer_of(study.site, study.work, study.order, top_height(study.proposal))


def with_things(offer: Offer, count: int, name: str) -> Offer:
    more = tuple((f"{name} {k}", "no soil within 12 ft of its trunk") for k in range(1, count + 1))
    return replace(offer, built=(*offer.built, *more))


@pytest.mark.parametrize("over", [True, False])
def test_two_pictures_stay_in_their_room_keep_their_form_and_stand_apart(over: bool) -> None:
    for share, high in product((0.2, 0.3, 0.34, 0.6, 1.4), (90.0, 160.0, 240.0, 480.0)):
        first, second = picture_frames(share, (26.0, 700.0, WIDTH, high), over)
        for left, low, right, top in (first, second):
            assert left >= 26.0 - 1e-9
            assert right <= 26.0 + WIDTH + 1e-9
            assert top <= 700.0
            assert low >= 700.0 - high - 1e-9
            assert (top - low) / (right - left) == pytest.approx(share, abs=1e-9)
        assert first[2] < second[0] or first[1] > second[3]


@pytest.mark.parametrize("share", [0.2, 0.3, 0.45, 0.6, 0.75, 1.4])
@pytest.mark.parametrize("high", [95.0, 160.0, 240.0, 320.0, 480.0])
def test_pictures_stand_over_each_other_where_they_are_larger_so(share: float, high: float) -> None:
    room = (26.0, 700.0, WIDTH, high)
    (first, second), (left, right) = (picture_frames(share, room, over) for over in (True, False))
    wide, beside = first[2] - first[0], left[2] - left[0]
    assert wide >= beside
    assert (first[1] > second[3]) == (wide > beside)
    assert left[3] == right[3]


def test_low_pictures_take_the_whole_width_one_over_the_other_where_they_find_room_so() -> None:
    first, second = picture_frames(0.2, (26.0, 700.0, WIDTH, 240.0), True)
    assert first[1] > second[3]
    assert second[2] - second[0] == pytest.approx(WIDTH, abs=1e-9)


@pytest.mark.parametrize("name", ["birch", LONG])
@pytest.mark.parametrize("price", [(), (("work and materials", "1.00"), ("tax, 7 %", "1.00"), ("to pay", "2.00"))])
def test_words_take_the_height_that_they_say(
    offer: Offer, price: tuple[tuple[str, str], ...], name: str, tmp_path: Path
) -> None:
    words = ClientWords(replace(with_things(offer, 9, name), price=price), WIDTH)
    page, told = new_page(612.0, 1600.0), words.told_in(1500.0)
    assert told == len(words.offer.built)
    words.draw(page, 1550.0, told)
    assert not faults_of(save_book([page], tmp_path / "words.pdf"), BORDER)
    lowest = min(text.get_position()[1] for text in page.axes.texts)
    assert 1550.0 - words.height(told) <= lowest < 1550.0 - words.height(told) + 8.0


def test_as_many_rows_stand_beside_the_price_as_the_room_takes(offer: Offer) -> None:
    words = ClientWords(with_things(offer, 40, LONG), WIDTH)
    least = words.height(0)
    for room in (least, least + 50.0, least + 400.0):
        told = words.told_in(room)
        assert words.height(told) <= room < words.height(told + 1)


def test_what_goes_over_keeps_every_row_and_no_column_is_too_high(offer: Offer) -> None:
    rows = with_things(offer, 70, LONG).built
    blocks = columns_of(rows, 273.0, 600.0)
    assert [row for block in blocks for row in block.rows] == list(rows)
    assert all(block.height(273.0) <= 600.0 for block in blocks)
    assert columns_of((), 273.0, 600.0) == []


@pytest.mark.slow
@pytest.mark.parametrize(("count", "name", "pages"), [(7, "birch", 2), (40, "birch", 3), (11, LONG, 3), (70, LONG, 5)])
def test_any_number_of_things_reads_clean(
    offer: Offer, count: int, name: str, pages: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    many = replace(with_things(offer, count, name), price=())
    monkeypatch.setattr(client_page, "offer_of", lambda *given: many)
    path = draw_client(study_of("alder-bend", 0.3), tmp_path / "client.pdf")
    assert not faults_of(path, BORDER)
    read = PdfReader(path).pages
    assert len(read) == pages
    text = " ".join(" ".join(page.extract_text() for page in read).split())
    assert all(f"{name} {k} " in text for k in range(1, count + 1))
    assert "to be agreed" in text
    assert ("cautions on page 2 is part" if pages == 2 else f"up to {pages} are part") in text
