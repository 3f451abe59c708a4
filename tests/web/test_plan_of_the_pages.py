"""The plan of both pages in a real browser: a picture from above lies right, the arrow says its north."""

from __future__ import annotations

import io
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from live_yards import PHONE, browsing, ready, served
from PIL import Image

from terrain.flow import run_site
from terrain.site.north import north_of
from terrain.site.read import read_site
from viewer.page.palette import PAPER, channels
from viewer.sheets.air import _PALE
from viewer.web.share import write_share

pytestmark = pytest.mark.slow
PLACES = [(3.4, 1.6), (16.2, 10.4), (3.4, 10.2)]  # metres, on lawn
TO_PIXEL = 20.0 * np.array([[np.cos(0.3), np.sin(0.3)], [np.sin(0.3), -np.cos(0.3)]])  # turned by 0.3, rows down
SHIFT = np.array([80.0, 300.0])
CORNERS = {"A": (0.0, 0.0), "B": (20.0, 0.0), "C": (0.0, 12.0), "D": (20.0, 12.0)}


def colour_at(places: np.ndarray) -> np.ndarray:
    """Red tells x, green tells y."""
    x, y = places[..., 0], places[..., 1]
    return np.clip(np.stack([40 + 9 * x, 40 + 14 * y, np.full_like(x, 90.0)], axis=-1), 0, 255)


@pytest.fixture(scope="module")
def yard(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("seen")
    v, u = np.mgrid[0:720, 0:720] + 0.5
    places = (np.stack([u, v], axis=-1) - SHIFT) @ np.linalg.inv(TO_PIXEL).T
    Image.fromarray(np.round(colour_at(places)).astype(np.uint8)).save(folder / "air.png")
    pixels = {name: TO_PIXEL @ np.array(at) + SHIFT for name, at in CORNERS.items()}
    rows = [f"{name},{u:.3f},{v:.3f}" for name, (u, v) in pixels.items()]
    (folder / "marks.csv").write_text("\n".join(["point,u,v", *rows]) + "\n", encoding="utf-8")
    shots = [[x, y, 50.0 + 0.01 * x] for x in range(0, 21, 4) for y in range(0, 13, 4)]
    text = f"""name = "invented yard"
units = "m"
[survey]
shots = {shots}
points = {{ A = [0, 0], B = [20, 0], C = [0, 12], D = [20, 12] }}
picture = {{ file = "air.png", marks = "marks.csv" }}
place = {{ point = "A", lat = 44.95, lon = -93.09, toward = "B", bearing = "110 deg" }}
[bed]
outline = [[5, 3], [15, 3], [15, 9], [5, 9]]
[berm]
max_slope = "4:1"
crest = [[8, 6, 0.3], [12, 6, 0.25]]
[grid]
cell = 0.1
"""
    (folder / "site.toml").write_text(text, encoding="utf-8")
    return folder / "site.toml"


def check(page: Any, yard: Path) -> None:
    desk = "(globalThis.hummock.desk ?? await hummock)"
    told = page.evaluate(
        f"""async (places) => {{
          const {{ plan, yard }} = {desk};
          await plan.seenFromAbove;
          plan.lean = true; plan.draw();
          const pen = plan.canvas.getContext('2d'), times = plan.canvas.width / plan.wide;
          return places.map(([x, y]) => plan.at([x - yard.origin[0], y - yard.origin[1]]))
            .map(([x, y]) => [...pen.getImageData(x * times, y * times, 1, 1).data.slice(0, 3)]);
        }}""",
        PLACES,
    )
    paper = np.array(channels(PAPER)) * 255.0
    pale = _PALE * paper + (1.0 - _PALE) * colour_at(np.array(PLACES))
    assert np.abs(np.array(told) - pale).max() < 6.0, (told, pale)
    north = north_of(read_site(yard))
    turned = page.locator("#under .north-arrow").get_attribute("transform")
    assert float(re.findall(r"rotate\((\S+)", turned)[0]) == pytest.approx(np.degrees(north.turn), abs=0.02)
    assert abs(np.degrees(north.turn)) > 5.0
    words = page.inner_text("#plan-falls")
    assert "Arrow: true north." in words
    assert "air.png: laid by 4 marks" in words
    shown = np.asarray(Image.open(io.BytesIO(page.locator(".plan").screenshot())).convert("RGB"), dtype=float)
    assert shown[:, -30:-10, 0].mean() > shown[:, 10:30, 0].mean() + 40.0, "redder to the east on the screen too"


def test_a_picture_from_above_lies_under_the_plan_of_the_page_to_send(yard: Path) -> None:
    with browsing(PHONE, touch=True) as page:
        page.goto(write_share(run_site(read_site(yard)), yard.with_name("berm.html")).as_uri())
        ready(page)
        check(page, yard)


def test_a_picture_from_above_lies_under_the_plan_of_the_live_page(yard: Path) -> None:
    with served(yard) as running, browsing(PHONE, touch=True) as page:
        page.goto(running.guard.link)
        ready(page)
        check(page, yard)
