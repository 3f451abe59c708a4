"""The mound in an owner's photograph on the page to send, on the client's page and on the live one."""

from __future__ import annotations

import base64
import io
import re
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from pypdf import PdfReader
from shipped import study_of
from synthetic import yard_photograph

from terrain.errors import InputError, OutputError
from terrain.flow import Study
from terrain.photograph import NO_SET_OUT, TRUE, fit_photo, mark_rows, read_marks
from terrain.survey import read_photograph
from viewer.pictures import PlacedPhoto
from viewer.pictures.client_page import draw_client
from viewer.web.live.photo_desk import PhotoDesk
from viewer.web.share import share_page

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "web"))
import live_yards
from live_yards import PHONE, browsing, copied_yard, ready, served

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def study() -> Study:
    return study_of("alder-bend", 0.15)


@pytest.fixture(scope="module")
def files(study: Study, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    return yard_photograph(study, tmp_path_factory.mktemp("photo"))


@pytest.fixture(scope="module")
def placed(study: Study, files: tuple[Path, Path]) -> PlacedPhoto:
    photograph = read_photograph(files[0], "yard.jpg")
    photograph = replace(photograph, pixels=np.ascontiguousarray(photograph.pixels[::2, ::2]))
    marks = read_marks(files[1], "marks.csv", study.site, study.ground)
    fit = fit_photo(study.site, study.ground, study.proposal, marks, photograph.size, photograph.film, "marks.csv")
    return PlacedPhoto(photograph, fit)


def pictures_in(page: str) -> list[tuple[bytes, np.ndarray]]:
    found = [base64.b64decode(code) for code in re.findall(r"data:image/jpeg;base64,([\w+/=]+)", page)]
    return [(one, np.asarray(Image.open(io.BytesIO(one)).convert("RGB"), dtype=float)) for one in found]


def browner(after: np.ndarray, before: np.ndarray) -> float:
    """Share of a picture that has turned from grass to soil: more red than green where it was not."""
    return float(np.mean((after[..., 0] > after[..., 1] + 8.0) & (before[..., 0] < before[..., 1])))


def test_the_page_to_send_holds_before_and_after_with_what_is_true(study: Study, placed: PlacedPhoto) -> None:
    page = share_page(study, placed)
    (first, before), (second, after) = pictures_in(page)
    assert before.shape == after.shape
    assert 0.01 < browner(after, before) < 0.2
    for raw in (first, second):
        assert not Image.open(io.BytesIO(raw)).getexif()
        assert b"2026:06:21" not in raw
        assert b"GPS" not in raw
    foot = after[-24:]
    assert foot.mean() > 190.0, "what it is stands in its own pixels: a pale strip"
    assert (foot.mean(axis=2) < 110.0).sum() > 60, "with dark letters on it"
    assert before[-24:].mean() < 170.0
    for words in (TRUE, NO_SET_OUT):
        assert words.replace("'", "&#x27;") in page
    assert 'class="photo"' not in share_page(study)


def test_the_client_sees_the_mound_in_the_photograph(study: Study, placed: PlacedPhoto, tmp_path: Path) -> None:
    page = PdfReader(draw_client(study, tmp_path / "client.pdf", placed)).pages[0]
    text = " ".join(page.extract_text().split())
    assert TRUE in text
    assert NO_SET_OUT in text
    assert "Seen from the" not in text
    before, after = (np.asarray(one.image.convert("RGB"), dtype=float) for one in page.images)
    assert 0.01 < browner(after, before) < 0.2


def test_marks_set_on_a_page_are_kept_and_what_makes_no_sense_changes_nothing(
    study: Study, files: tuple[Path, Path], tmp_path: Path
) -> None:
    desk = PhotoDesk(read_photograph(files[0], "yard.jpg"), tmp_path / "marks.csv", 26.0)
    site, ground = study.site, study.ground
    assert "no marks are set yet" in str(desk.shown(study)["trouble"])
    for row in mark_rows(files[1], "marks.csv"):
        desk.change({"point": row.point, "u": row.u, "v": row.v, "up": row.up}, site, ground)
    assert mark_rows(tmp_path / "marks.csv", "") == desk.rows == mark_rows(files[1], "")
    shown = desk.shown(study)
    assert len(shown["misses"]) == len(desk.rows)  # type: ignore[arg-type]
    ((_, after),) = pictures_in(str(shown["picture"]))
    assert browner(after, np.asarray(Image.open(files[0]).resize(after.shape[1::-1]), dtype=float)) > 0.005
    kept = desk.rows
    for asked, told in (
        ({"point": "nowhere", "u": 1, "v": 1, "up": ""}, "no point of the survey"),
        ({"point": "51", "u": 1e9, "v": 1, "up": ""}, "outside the picture"),
        ({"point": "51", "u": float("nan"), "v": 1, "up": ""}, "outside the picture"),
        ({"point": "51", "u": True, "v": 1, "up": ""}, "outside the picture"),
        ({"point": "51", "u": 1, "v": 1, "up": "high"}, "Height over the point"),
        ({"drop": 99}, "not there"),
        ("51", "no mark"),
    ):
        with pytest.raises(InputError, match=told):
            desk.change(asked, site, ground)
    assert desk.rows == kept == mark_rows(tmp_path / "marks.csv", "")
    desk.change({"point": kept[0].point, "u": 5.0, "v": 6.0, "up": kept[0].up}, site, ground)
    assert len(desk.rows) == len(kept), "a point that is marked again has moved"
    desk.change({"drop": len(kept) - 1}, site, ground)
    assert len(desk.rows) == len(kept) - 1
    desk.marks = tmp_path / "none" / "marks.csv"
    with pytest.raises(OutputError, match="the mark is not set"):
        desk.change({"drop": 0}, site, ground)


@pytest.fixture
def page(files: tuple[Path, Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Any]:
    photo = PhotoDesk(read_photograph(files[0], "yard.jpg"), tmp_path / "set.csv", 26.0)
    session = live_yards.Session
    monkeypatch.setattr(live_yards, "Session", lambda *given: session(*given, photo=photo))
    with served(copied_yard(tmp_path)) as running, browsing(PHONE, touch=True) as opened:
        opened.goto(running.guard.link)
        ready(opened)
        opened.wait_for_function("() => document.getElementById('photo-trouble').textContent")
        yield opened


def test_marks_are_set_by_touch_and_the_mound_follows_as_it_is_shaped(page: Any, files: tuple[Path, Path]) -> None:
    rows = mark_rows(files[1], "")
    for count, row in enumerate(rows[:4] + rows[6:], start=1):
        page.evaluate("document.getElementById('photo-picture').scrollIntoView({ block: 'end' }); scrollBy(0, 120)")
        page.select_option("#photo-point", row.point)
        page.fill("#photo-up", row.up)
        box = page.locator("#photo-picture").bounding_box()
        page.touchscreen.tap(box["x"] + row.u * box["width"] / 4032, box["y"] + row.v * box["width"] / 4032)
        # The finger is coarse; the enlarged piece is dragged until the cross lies on the point.
        page.evaluate("([u, v]) => { hummock.photo.spot = [u + 30, v]; hummock.photo.draw(); }", [row.u, row.v])
        page.locator("#loupe").evaluate("one => one.scrollIntoView({ block: 'center' })")
        loupe, fine = page.locator("#loupe").bounding_box(), page.evaluate("hummock.photo.fineness")
        x, y = loupe["x"] + loupe["width"] / 2.0, loupe["y"] + loupe["height"] / 2.0
        page.mouse.move(x, y)
        page.mouse.down()
        page.mouse.move(x + 30.0 / fine, y, steps=3)
        page.mouse.up()
        page.evaluate("document.getElementById('photo-set').click()")
        page.wait_for_function("count => document.querySelectorAll('#photo-list li').length === count", arg=count)
    page.wait_for_function("() => hummock.photo.after")
    assert page.inner_text("#photo-word") == "after"
    assert (
        page.evaluate(
            "Math.max(...[...document.querySelectorAll('#photo-list li')].map((one) => parseFloat("
            "one.textContent.split('misses by ')[1])))"
        )
        < 12.0
    )
    assert NO_SET_OUT in page.inner_text("#photo-worth")
    first = page.evaluate("hummock.photo.after")
    page.evaluate("""() => { const one = document.getElementById('height-1'); one.value = 150;
      for (const kind of ['input', 'change']) one.dispatchEvent(new Event(kind, { bubbles: true })); }""")
    page.wait_for_function("first => hummock.photo.after && hummock.photo.after !== first", arg=first)
    (_, before), (_, after) = pictures_in(first + " " + page.evaluate("hummock.photo.after"))
    changed = np.abs(after - before).max(axis=2)[:-60] > 12.0
    assert changed.sum() > 60, "the mound in it is higher, as far as its limits let it"
    page.locator("#photo-list button").first.click()
    page.wait_for_function("count => document.querySelectorAll('#photo-list li').length === count", arg=len(rows) - 3)
