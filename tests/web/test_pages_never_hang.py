"""A section of no length, however it is drawn, leaves both pages awake: the section before it stays."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import ExitStack
from typing import Any

import pytest
from live_yards import DESK, PHONE, browsing, copied_yard, ready, served

from terrain.flow import run_site
from terrain.site.read import read_site
from viewer.web.share import write_share

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module", params=["share", "live"])
def page(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    yard = copied_yard(tmp_path_factory.mktemp("yard"))
    with ExitStack() as until_done:
        if request.param == "share":
            link = write_share(run_site(read_site(yard)), yard.with_name("berm.html")).as_uri()
        else:
            link = until_done.enter_context(served(yard)).guard.link
        opened = until_done.enter_context(browsing(PHONE if request.param == "live" else DESK, flat=True))
        opened.goto(link)
        ready(opened)
        opened.evaluate("async () => { const it = await hummock; window.desk = it.desk ?? it; }")
        yield opened


def awake(page: Any) -> None:
    """The page draws another frame within a few seconds."""
    page.wait_for_function(
        "() => new Promise((done) => requestAnimationFrame(() => done(true)))", timeout=8_000, polling=200
    )


HANDS: dict[str, list[tuple[float, float]]] = {
    "a tap": [(0.0, 0.0)],
    "within a pixel": [(0.0, 0.0), (0.4, 0.3)],
    "one pixel": [(0.0, 0.0), (1.0, 0.0)],
    "back to the start": [(0.0, 0.0), (40.0, 25.0), (0.0, 0.0)],
    "out of the plan and back": [(0.0, 0.0), (-3000.0, 40.0), (0.0, 0.0)],
}


@pytest.mark.parametrize("name", HANDS)
def test_a_section_drawn_with_no_length_changes_nothing(page: Any, name: str) -> None:
    page.check("#tool input[value='section']", force=True)
    page.evaluate("document.getElementById('plan').scrollIntoView({ block: 'center' })")
    box = page.locator("#plan").bounding_box()
    x, y = box["x"] + 0.5 * box["width"], box["y"] + 0.5 * box["height"]
    page.mouse.move(x, y)
    page.mouse.down()
    for dx, dy in HANDS[name]:
        page.mouse.move(x + dx, y + dy, steps=2)
    page.mouse.up()
    awake(page)
    told = page.inner_text("#section-words")
    assert told.startswith("Section ")
    assert "NaN" not in page.inner_html("#section")
    assert (
        page.evaluate(
            "Math.hypot(desk.section.end.x - desk.section.start.x, desk.section.end.y - desk.section.start.y)"
        )
        > 0.1
    )


def test_a_section_that_starts_and_ends_at_one_mark_changes_nothing(page: Any) -> None:
    page.focus("#plan")
    page.keyboard.press("ArrowLeft")
    before = page.inner_text("#section-words")
    page.keyboard.press("e")
    page.keyboard.press("s")
    page.keyboard.press("e")
    awake(page)
    assert "NaN" not in page.inner_html("#section")
    assert page.inner_text("#section-words").startswith("Section ")
    assert before


def test_no_section_however_short_or_odd_stops_the_page(page: Any) -> None:
    lengths = [0.0, 1e-300, 1e-9, 1e-3, 0.19, 0.2, 0.21, 1.0, 1e3, 1e9]
    for length in lengths:
        page.evaluate(
            """(length) => desk.setSection({ letter: 'C', start: { x: 1, y: 1 }, end: { x: 1 + length, y: 1 } })""",
            length,
        )
        awake(page)
        assert "NaN" not in page.inner_html("#section")
