"""The live page in a real browser: from opening it to a changed berm, a saved file and a plan set."""

from __future__ import annotations

import json
import os
import re
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from live_yards import DESK, PHONE, ROOT, Served, browsing, copied_yard, ready, served

from terrain.site.read import read_site
from viewer.web.live.draft import draft_path
from viewer.web.live.way import Way
from viewer.web.live.wish import wish_of_site

pytestmark = pytest.mark.slow


@pytest.fixture
def yard(tmp_path: Path) -> Iterator[Served]:
    with served(copied_yard(tmp_path)) as running:
        yield running


def opened(page: Any, link: str) -> None:
    """Open the page and wait for the whole study of the site as it is."""
    page.goto(link)
    ready(page)
    settled(page)


def settled(page: Any) -> None:
    """Wait until the whole study of the newest wish is on the page."""
    page.wait_for_function("() => hummock.full === hummock.seq")


def spot_of(page: Any, handle: str, number: int) -> tuple[float, float]:
    """Where a point of the plan stands on the screen."""
    page.evaluate("document.getElementById('plan').scrollIntoView({ block: 'end' })")
    x, y = page.evaluate(
        """([handle, number]) => {
          const { e, f } = document.querySelectorAll(handle)[number].transform.baseVal[0].matrix;
          const frame = document.getElementById('plan').getBoundingClientRect();
          return [frame.x + e, frame.y + f];
        }""",
        [handle, number],
    )
    return x, y


def dragged(page: Any, handle: str, number: int, by: tuple[float, float]) -> None:
    """Drag a point of the plan by pixels, and wait for the whole study."""
    x, y = spot_of(page, handle, number)
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + by[0], y + by[1], steps=6)
    page.mouse.up()
    settled(page)


LISTEN = """() => {
  window.heard = [];
  const news = document.getElementById("news");
  new MutationObserver(() => window.heard.push(news.textContent)).observe(news, { childList: true });
}"""


def heard(page: Any, words: str, timeout: float = 60_000) -> None:
    """Wait until the page has said something that begins so since LISTEN; it takes its words back after a while."""
    from playwright.sync_api import TimeoutError as TooLate

    try:
        page.wait_for_function(
            "words => window.heard.some((said) => said.startsWith(words))", arg=words, timeout=timeout
        )
    except TooLate:
        pytest.fail(f"not heard: {words}; the page said {page.evaluate('window.heard')}")


def top_height(page: Any) -> float:
    return float(page.evaluate("hummock.desk.field.top().depth"))


def soil(page: Any, row: str = "Expected") -> str:
    """A line of the order: the soil expected moves with every shape, what is bought only in whole measures."""
    return str(page.locator("#order tr", has_text=row).first.locator("td").inner_text())


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_a_high_point_is_dragged_and_everything_follows(yard: Served, size: tuple[int, int]) -> None:
    with browsing(size, touch=size == PHONE, flat=size == DESK) as page:
        asked: list[str] = []
        page.on("request", lambda one: asked.append(one.url))
        opened(page, yard.guard.link)
        assert page.url == f"http://{yard.guard.hosts[0]}/"
        assert page.evaluate("[document.cookie, history.length]") == ["", 2]
        wide = page.evaluate("[document.documentElement.scrollWidth, innerWidth]")
        assert wide[0] <= wide[1]
        before = {part: page.inner_html(part) for part in ("#order", ".lines", "g.lines", "#section")}
        contours, soil_before = before["g.lines"], soil(page)
        dragged(page, ".handle.crest", 1, (22.0, 14.0))
        assert page.inner_html("g.lines") != contours
        assert page.inner_html("#section") != before["#section"]
        assert soil(page) != soil_before
        assert page.is_enabled("#save")
        assert all(
            url.startswith((f"http://{host}", f"ws://{host}")) for url in asked for host in [yard.guard.hosts[0]]
        )
        crest = yard.session.history.now.crest[1]
        saved = yard.session.saved.crest[1]
        assert (crest.x, crest.y) != (saved.x, saved.y)
        assert abs(crest.x / 0.3048 * 20 - round(crest.x / 0.3048 * 20)) < 1e-6  # to 0.05 ft, as a tape shows
        page.click("#undo")
        page.wait_for_function("() => document.documentElement.dataset.unsaved === 'no'")
        settled(page)
        assert soil(page) == soil_before


def test_the_file_that_leads_to_the_page_opens_it_without_the_key_in_sight(yard: Served) -> None:
    way = Way(yard.guard.link)
    with browsing(flat=True) as page:
        page.goto(way.path.as_uri())
        ready(page)
        assert page.url == f"http://{yard.guard.hosts[0]}/"
        page.reload()
        ready(page)
    way.close()


def test_a_corner_brings_its_neighbours_or_moves_alone(yard: Served) -> None:
    with browsing(flat=True) as page:
        opened(page, yard.guard.link)
        outline = "hummock.wish.outline[0].map(([x, y]) => [x, y])"
        start = page.evaluate(outline)
        dragged(page, ".handle.corner", 10, (0.0, 12.0))
        together = page.evaluate(outline)
        page.check("#bend input[value=alone]", force=True)
        dragged(page, ".handle.corner", 10, (0.0, -12.0))
        alone = page.evaluate(outline)
        assert sum(a != b for a, b in zip(start, together, strict=True)) > 3
        assert sum(a != b for a, b in zip(together, alone, strict=True)) == 1


def test_sliders_change_height_slope_toe_side_and_soil(yard: Served) -> None:
    with browsing(PHONE, touch=True, flat=True) as page:
        opened(page, yard.guard.link)

        def slide(name: str, value: float) -> None:
            page.evaluate(
                """([name, value]) => {
                  const slider = document.getElementById(name);
                  slider.value = value;
                  slider.dispatchEvent(new Event('input', { bubbles: true }));
                  slider.dispatchEvent(new Event('change', { bubbles: true }));
                }""",
                [name, value],
            )
            settled(page)

        high = top_height(page)
        slide("height-1", 64)
        assert yard.session.history.now.crest[1].height == pytest.approx(16 * 0.0254, abs=1e-9)
        assert top_height(page) < high - 0.05
        slide("slope", 6)
        assert yard.session.history.now.max_slope == pytest.approx(1 / 6, abs=1e-9)
        assert "6.0:1" in page.inner_text("output[for=slope]")
        slide("toe", 12)
        assert yard.session.history.now.toe == pytest.approx(0.3048, abs=1e-9)
        page.check("#toe-chosen")
        settled(page)
        assert yard.session.history.now.toe is None
        page.select_option("#side", "east")
        settled(page)
        assert yard.session.history.now.gentle_side == "east"
        page.check("#soil-used")
        settled(page)
        assert yard.session.history.now.soil is not None
        slide("soil", 20)
        assert soil(page, "On hand").startswith("10.0 cu yd")
        assert len(yard.session.history.past) == 7


def test_the_keyboard_alone_shapes_and_saves(yard: Served) -> None:
    with browsing(flat=True) as page:
        opened(page, yard.guard.link)
        page.focus("#plan")
        page.keyboard.press("Tab")
        kind = page.evaluate("document.activeElement.getAttribute('aria-label')")
        assert kind.startswith("Corner 1 of the bed")
        page.keyboard.press("PageDown")
        assert page.evaluate("document.activeElement.getAttribute('aria-label')").startswith("Corner 2")
        page.keyboard.press("Tab")
        assert page.evaluate("document.activeElement.getAttribute('aria-label')").startswith("High point 1, 13 in")
        page.keyboard.press("+")
        page.keyboard.press("ArrowRight")
        page.keyboard.press("Shift+ArrowUp")
        settled(page)
        point, before = yard.session.history.now.crest[0], yard.session.saved.crest[0]
        assert point.height == pytest.approx(13.5 * 0.0254, abs=1e-9)
        assert point.x - before.x == pytest.approx(0.25 * 0.3048, abs=1e-6)
        assert point.y - before.y == pytest.approx(1.0 * 0.3048, abs=1e-6)
        page.evaluate(LISTEN)
        page.keyboard.press("Control+s")
        heard(page, "Saved")
        assert read_site(yard.session.path).berm.crest[0].height == pytest.approx(13.5 * 0.0254, abs=1e-6)
        page.keyboard.press("Control+z")
        settled(page)
        assert len(yard.session.history.future) == 1


def test_points_and_corners_are_added_and_taken_away(yard: Served) -> None:
    with browsing(flat=True) as page:
        opened(page, yard.guard.link)
        box = page.locator("#plan").bounding_box()
        page.mouse.click(box["x"] + 0.42 * box["width"], box["y"] + 0.62 * box["height"])
        page.click("#add-point")
        settled(page)
        assert len(yard.session.history.now.crest) == 4
        page.click("#remove-point")
        settled(page)
        assert len(yard.session.history.now.crest) == 3
        corners = len(yard.session.history.now.outline.exterior.coords)
        page.click("#add-corner")
        settled(page)
        assert len(yard.session.history.now.outline.exterior.coords) == corners + 1
        page.click("#remove-corner")
        settled(page)
        assert len(yard.session.history.now.outline.exterior.coords) == corners


PARTS = """() => ({
  wish: JSON.stringify(hummock.wish), good: JSON.stringify(hummock.good),
  points: [...document.querySelectorAll('.handle')].map((one) =>
    [one.getAttribute('transform'), one.getAttribute('aria-label'), one.textContent]),
  bed: document.querySelector('g.bed').innerHTML,
  sliders: [...document.querySelectorAll('input[type=range]')].map((one) => [one.id, one.value]),
  words: [...document.querySelectorAll('output')].map((one) => one.textContent),
  order: document.getElementById('order').innerHTML, limits: document.getElementById('limits').innerHTML,
  headline: document.getElementById('headline').textContent, top: hummock.desk.field.top().depth,
})"""


def sent(page: Any, yard: Served) -> Any:
    """The wish on the page, read as the command would read it."""
    return yard.session.read(page.evaluate("hummock.wish"))


def test_a_refused_drag_goes_back_everywhere_and_undo_goes_one_step(yard: Served) -> None:
    with browsing(flat=True) as page:
        opened(page, yard.guard.link)
        dragged(page, ".handle.crest", 1, (12.0, 6.0))
        taken, before = yard.session.history, page.evaluate(PARTS)
        for handle, number, by in ((".handle.crest", 2, (900.0, 900.0)), (".handle.corner", 10, (-140.0, -190.0))):
            page.check("#bend input[value=alone]", force=True)
            page.evaluate(LISTEN)
            dragged(page, handle, number, by)
            page.wait_for_function("() => window.heard.some((said) => said.length)")
            page.wait_for_function("() => JSON.stringify(hummock.wish) === JSON.stringify(hummock.good)")
            settled(page)
            assert page.evaluate(PARTS) == before
            assert yard.session.history == taken
            assert sent(page, yard) == taken.now
            assert "trouble" in page.get_attribute("#news", "class")
        dragged(page, ".handle.crest", 1, (-4.0, 4.0))
        assert page.inner_text("#news") == ""
        assert yard.session.history.past == (*taken.past, taken.now)
        page.click("#undo")
        page.wait_for_function("(wish) => JSON.stringify(hummock.wish) === wish", arg=before["wish"])
        settled(page)
        assert page.evaluate(PARTS) == before
        page.evaluate(LISTEN)
        page.click("#save")
        heard(page, "Saved")
        page.wait_for_function("() => document.documentElement.dataset.unsaved === 'no'")
        settled(page)
        assert wish_of_site(read_site(yard.session.path)) == yard.session.history.now == sent(page, yard)


def test_before_kept_and_now_are_told_apart(yard: Served) -> None:
    with browsing(flat=True) as page:
        opened(page, yard.guard.link)
        assert page.is_disabled("#state input[value='2']")
        assert not page.is_visible("#to-kept")
        page.click("#keep")
        page.wait_for_function("() => !document.querySelector(\"#state input[value='2']\").disabled")
        kept, order, words = page.evaluate("hummock.desk.shownField.top().depth"), soil(page), outputs(page)
        headline = page.inner_text("#headline")
        page.focus("#height-1")
        for _ in range(12):
            page.keyboard.press("ArrowLeft")
        settled(page)
        now, order_now = page.evaluate("hummock.desk.shownField.top().depth"), soil(page)
        assert order_now != order
        page.check("#state input[value='2']", force=True)
        assert page.evaluate("hummock.desk.shownField.top().depth") == pytest.approx(kept, abs=1e-6)
        assert (soil(page), outputs(page)) == (order, words)
        assert page.inner_text("#headline") == headline
        assert "kept version's" in page.inner_text("#kept-words")
        assert not page.is_visible(".handle.crest")
        assert page.is_disabled("#save")
        page.check("#state input[value='0']", force=True)
        assert page.evaluate("[hummock.desk.stage.after, hummock.desk.plan.after]") == [0, 0]
        page.check("#state input[value='1']", force=True)
        assert page.evaluate("hummock.desk.shownField.top().depth") == pytest.approx(now, abs=1e-6)
        assert soil(page) == order_now
        assert now < kept - 0.02
        assert page.inner_text("#kept-words").startswith("Kept version: ")
        assert page.locator("#section path.kept").count() == 1
        page.check("#state input[value='2']", force=True)
        page.click("#to-kept")
        settled(page)
        assert page.is_checked("#state input[value='1']")
        assert yard.session.history.now == yard.session.saved


def outputs(page: Any) -> list[str]:
    """What the sliders say."""
    return [str(text) for text in page.locator("output").all_inner_texts()]


def test_a_closed_page_loses_nothing_and_a_second_one_waits(yard: Served) -> None:
    with browsing(flat=True) as page:
        opened(page, yard.guard.link)
        dragged(page, ".handle.crest", 0, (10.0, 0.0))
        wished = yard.session.history.now
        second = page.context.new_page()
        second.goto(yard.guard.link)
        second.wait_for_selector("html[data-busy=yes]", state="attached")
        assert "another window" in second.inner_text("#busy-words")
        page.close()
        second.click("#again")
        ready(second)
        settled(second)
        assert yard.session.history.now == wished
        assert second.is_enabled("#undo")
        assert json.loads(draft_path(yard.session.path).read_text())["now"]["crest"][0][0] == wished.crest[0].x


def test_everything_that_takes_the_focus_has_a_name_and_shows_it(yard: Served) -> None:
    with browsing(flat=True) as page:
        opened(page, yard.guard.link)
        nameless = page.evaluate(
            """() => [...document.querySelectorAll('button, input, select, [tabindex="0"]')].filter((one) => {
              const label = one.getAttribute('aria-label') || one.textContent.trim()
                || [...(one.labels ?? [])].map((each) => each.textContent.trim()).join('');
              return !label;
            }).map((one) => one.outerHTML)"""
        )
        assert nameless == []
        page.focus("#keep")
        page.keyboard.press("Tab")
        outline = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
        assert outline == "solid"
        small = page.evaluate(
            """() => [...document.querySelectorAll('.button, .choice span, select, input[type=range]')]
              .filter((one) => one.offsetParent).map((one) => [one.id, one.getBoundingClientRect().height])
              .filter(([, height]) => height < 39.9)"""
        )
        assert small == []


def test_the_real_command_from_link_to_plan_set(tmp_path: Path) -> None:
    path = copied_yard(tmp_path)
    words = [sys.executable, "-m", "cli.main", "view", str(path), "--live", "--no-browser"]
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONUNBUFFERED": "1"}
    command = subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=environment)
    try:
        assert command.stdout is not None
        link = command.stdout.readline().strip()
        assert re.fullmatch(r"http://127\.0\.0\.1:\d+/\?key=[\w-]{43,}", link)
        with browsing(flat=True) as page:
            opened(page, link)
            page.evaluate(LISTEN)
            dragged(page, ".handle.crest", 1, (14.0, 8.0))
            page.click("#save")
            heard(page, "Saved")
            page.click("#plan-set")
            heard(page, "Plan set written", 120_000)
            told, bought = soil(page), soil(page, "Soil to order")
    finally:
        command.send_signal(signal.SIGINT)
        _, complaints = command.communicate(timeout=30)
    assert (command.returncode, complaints) == (0, "")
    for name in ("plan.pdf", "plan.png", "sections.png", "summary.json", "proposed.stl"):
        assert (tmp_path / "out" / name).is_file()
    summary = json.loads((tmp_path / "out" / "summary.json").read_text())
    crest = read_site(path).berm.crest[1]
    assert summary["berm"]["crest"][1]["at"] == pytest.approx([crest.x, crest.y], abs=1e-4)
    order = {name: summary["order"][f"{name}_loose_m3"] / 0.764554857984 for name in ("expected", "quantity")}
    assert float(told.split()[0]) == pytest.approx(order["expected"], abs=0.06)
    assert float(bought.split()[0]) == pytest.approx(order["quantity"], abs=0.06)
    assert not draft_path(path).exists()
