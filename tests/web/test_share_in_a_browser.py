"""The page to send, opened from a file in a real browser that has no network."""

from __future__ import annotations

import random
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from live_yards import DESK, PHONE, browsing, copied_yard, ready
from shapely.geometry import LineString, Point

from terrain.field.setout.level import level_shot
from terrain.field.setout.set_out import set_out
from terrain.flow import Study, run_site
from terrain.site.read import read_site
from terrain.units import show_length, show_slope
from viewer.web.share import write_share

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def study(tmp_path_factory: pytest.TempPathFactory) -> Study:
    return run_site(read_site(copied_yard(tmp_path_factory.mktemp("yard"))))


@pytest.fixture(scope="module")
def link(study: Study, tmp_path_factory: pytest.TempPathFactory) -> str:
    path = write_share(study, tmp_path_factory.mktemp("page") / "berm.html")
    assert path.stat().st_size < 3_000_000
    return path.as_uri()


@pytest.fixture(scope="module", params=[PHONE, DESK], ids=["phone", "desk"])
def page(request: pytest.FixtureRequest, link: str) -> Iterator[Any]:
    with browsing(request.param, touch=request.param == PHONE) as opened:
        asked: list[str] = []
        opened.on("request", lambda one: asked.append(one.url))
        opened.context.set_offline(True)
        opened.goto(link)
        ready(opened)
        assert asked == [link]
        yield opened


def test_the_page_fits_the_screen(page: Any) -> None:
    wide = page.evaluate("[document.documentElement.scrollWidth, innerWidth]")
    assert wide[0] <= wide[1]


def test_without_graphics_a_picture_that_is_turned_is_coarse_and_whole_again_at_rest(page: Any) -> None:
    """The browser of the tests draws by its processor: fewer pixels of fewer nodes while a hand moves it."""
    told = page.evaluate("""async () => {
      const { stage } = await hummock; await stage.painted(); stage.draw();
      const { relief, canvas } = stage, drawn = [], lay = relief.drawMesh.bind(relief);
      relief.drawMesh = (mesh) => { drawn.push(mesh); lay(mesh); };
      const frame = () => { stage.draw(); return { wide: canvas.width, rough: drawn.at(-1) === relief.rough }; };
      const whole = frame();
      stage.hurry();
      const moving = frame();
      delete relief.drawMesh;
      return { byHand: relief.byHand, whole, moving };
    }""")
    assert told["byHand"]
    assert not told["whole"]["rough"]
    assert told["moving"] == {"wide": pytest.approx(0.42 * told["whole"]["wide"], abs=1.0), "rough": True}
    page.wait_for_function("async wide => (await hummock).stage.canvas.width === wide", arg=told["whole"]["wide"])


def test_the_picture_shows_soil_and_before_shows_none(page: Any) -> None:
    """Mulch in the picture, as built and as it is: there red is over green, in grass under it."""
    soil = """async () => {
      const desk = await hummock; await desk.stage.painted(); desk.stage.draw();
      const { gl, canvas } = desk.stage.relief;
      const pixels = new Uint8Array(4 * canvas.width * canvas.height);
      gl.readPixels(0, 0, canvas.width, canvas.height, gl.RGBA, gl.UNSIGNED_BYTE, pixels);
      let brown = 0;
      for (let k = 0; k < pixels.length; k += 4) if (pixels[k] > 145 && pixels[k] > 1.15 * pixels[k + 1]) brown++;
      return brown / (canvas.width * canvas.height);
    }"""
    assert page.evaluate(soil) > 0.02
    page.check("#state input[value='0']", force=True)
    assert page.evaluate(soil) < 0.005
    page.check("#state input[value='1']", force=True)
    assert page.evaluate(soil) > 0.02


def test_heights_on_the_page_are_those_of_the_study(page: Any, study: Study) -> None:
    places = study.ground.grid.nodes[:: study.ground.grid.nodes.shape[0] // 300]
    told = page.evaluate(
        """async (places) => {
          const { field, yard } = await hummock;
          return places.map(([x, y]) => [x - yard.origin[0], y - yard.origin[1]])
            .map(([x, y]) => (field.holds(x, y)
              ? [field.existingAt(x, y) + yard.origin[2], field.changeAt(x, y)] : null));
        }""",
        places.tolist(),
    )
    existing = study.ground.grid.sample(study.ground.elevation, places)
    change = study.ground.grid.sample(study.proposal.elevation - study.ground.elevation, places)
    compared = 0
    for k, pair in enumerate(told):
        if pair is not None:
            compared += 1
            assert abs(pair[0] - existing[k]) < 1e-4
            assert abs(pair[1] - change[k]) < 1e-4
    assert compared > 100


def test_depth_is_read_under_the_finger(page: Any, study: Study) -> None:
    box = page.locator("#plan").bounding_box()
    page.locator("#plan").scroll_into_view_if_needed()
    box = page.locator("#plan").bounding_box()
    spot = page.evaluate(
        """async () => {
          const { plan, field } = await hummock;
          const top = field.top();
          return plan.at([top.x, top.y]);
        }"""
    )
    page.mouse.move(box["x"] + spot[0], box["y"] + spot[1])
    page.mouse.down()
    page.mouse.up()
    told = page.inner_text("#reading")
    depth = show_length(float(study.proposal.fill.max()), "ft")
    assert re.match(r"Fill .* in; finished \d+\.\d\d ft, ground \d+\.\d\d ft\.", told)
    assert told.startswith(f"Fill {depth.split()[0]}") or "Fill 23 3/4" in told


def test_the_crew_reads_day_one_its_stakes_and_its_benchmark(page: Any, study: Study) -> None:
    """The mound is built higher than it settles to: what a stake reads is what the set-out sheet prints."""
    page.check("#state input[value='2']", force=True)
    stakes = set_out(study)
    for stake in stakes.stakes[:: len(stakes.stakes) // 6]:
        x, y = stake.at
        page.evaluate(
            "async ([x, y]) => { const d = await hummock, [a, b] = d.yard.origin; d.setMark({ x: x - a, y: y - b }); }",
            [x, y],
        )
        told = page.inner_text("#reading")
        grade = show_length(stake.day_one, "ft", "elevation")
        assert re.match(rf"Stake S\d+ \(.*grade {re.escape(grade)}, ground \d+\.\d\d ft\.", told), told
    level = level_shot(study.site, study.proposal)
    assert level is not None
    assert f"{level.name} stands at {show_length(level.elevation, 'ft', 'elevation')}" in page.inner_text("#benchmark")
    assert page.locator("#plan .crew circle.stake").count() == len(stakes.stakes)
    top = page.evaluate("async () => (await hummock).shownField.top().depth")
    assert abs(top - study.work.day_one_factor * float(study.proposal.fill.max())) < 2e-4
    page.check("#state input[value='1']", force=True)
    assert page.locator("#plan .crew circle.stake").count() == 0
    assert page.locator("#benchmark").is_hidden()


def test_a_section_is_cut_by_a_drag(page: Any) -> None:
    page.check("#tool input[value='section']", force=True)
    page.locator("#plan").scroll_into_view_if_needed()
    box = page.locator("#plan").bounding_box()
    page.mouse.move(box["x"] + 0.3 * box["width"], box["y"] + 0.8 * box["height"])
    page.mouse.down()
    page.mouse.move(box["x"] + 0.6 * box["width"], box["y"] + 0.4 * box["height"], steps=4)
    page.mouse.up()
    words = page.inner_text("#section-words")
    assert words.startswith("Section C–C′, ")
    assert "deepest fill" in words
    assert page.locator("#section path.proposed").count() == 1
    page.check("#tool input[value='read']", force=True)


def test_keys_turn_the_picture_move_the_mark_and_cut_a_section(page: Any) -> None:
    page.focus("#relief")
    before = page.evaluate(
        "async () => { const { eye } = (await hummock).stage; return [eye.toward, eye.down, eye.distance]; }"
    )
    for key in ("ArrowLeft", "ArrowUp", "+"):
        page.keyboard.press(key)
    after = page.evaluate(
        "async () => { const { eye } = (await hummock).stage; return [eye.toward, eye.down, eye.distance]; }"
    )
    assert all(abs(a - b) > 1e-6 for a, b in zip(before, after, strict=True))
    page.keyboard.press("Home")
    page.focus("#plan")
    page.keyboard.press("ArrowLeft")
    first = page.inner_text("#reading")
    page.keyboard.press("s")
    for _ in range(3):
        page.keyboard.press("Shift+ArrowUp")
    page.keyboard.press("e")
    assert page.inner_text("#reading") != first
    assert page.inner_text("#section-words").startswith("Section C–C′")


def test_a_finger_turns_and_two_zoom(page: Any) -> None:
    state = "async () => { const { eye } = (await hummock).stage; return [eye.toward, eye.distance]; }"
    before = page.evaluate(state)
    page.evaluate(
        """async () => {
          const canvas = document.getElementById('relief');
          canvas.setPointerCapture = () => {};
          const send = (type, id, x, y) => canvas.dispatchEvent(new PointerEvent(type,
            { pointerId: id, pointerType: 'touch', clientX: x, clientY: y, bubbles: true }));
          send('pointerdown', 1, 100, 100); send('pointermove', 1, 160, 100); send('pointerup', 1, 160, 100);
          send('pointerdown', 1, 100, 100); send('pointerdown', 2, 200, 100); send('pointermove', 2, 300, 100);
          send('pointerup', 1, 100, 100); send('pointerup', 2, 300, 100);
        }"""
    )
    after = page.evaluate(state)
    assert abs(after[0] - before[0]) > 5.0
    assert after[1] < 0.7 * before[1]
    page.evaluate("async () => (await hummock).stage.look('street')")


def test_findings_and_order_are_all_there(page: Any, study: Study) -> None:
    text = page.inner_text("body")
    for finding in study.review.findings:
        assert " ".join(finding.text.split()) in " ".join(text.split())
    assert "cu yd loose" in page.inner_text("table tr.first")


def test_a_sign_that_is_touched_shows_its_place_and_the_section_through_it(page: Any, study: Study) -> None:
    """By its text, and by its button with the keyboard: the mark stands there, the section runs through it."""
    (sign, *_) = study.review.look.present
    shown = """async () => {
      const { mark, section, yard } = await hummock;
      const here = (place) => [place.x + yard.origin[0], place.y + yard.origin[1]];
      return [here(mark), here(section.start), here(section.end), document.querySelector('#plan .mark *') !== null];
    }"""

    def told() -> list:
        place, start, end, drawn = page.evaluate(shown)
        assert drawn
        assert place == pytest.approx(sign.at, abs=2e-3)
        assert LineString([start, end]).distance(Point(sign.at)) < 2e-3
        return page.inner_text("#section-words")

    elsewhere = """async () => {
      const desk = await hummock; desk.setMark({ x: 1, y: 1 }); desk.setSection(desk.yard.sections[1]);
    }"""
    page.evaluate(elsewhere)
    before = page.inner_text("#section-words")
    page.locator("li.shows").first.click(position={"x": 8, "y": 8})
    assert told() != before
    page.evaluate(elsewhere)
    page.locator("li.shows .where").first.focus()
    page.keyboard.press("Enter")
    told()


def test_every_control_can_be_touched_with_a_thumb(page: Any) -> None:
    """WCAG 2.2, success criterion 2.5.8 (level AA) asks for 24 by 24; a thumb in the field wants more."""
    sizes = page.evaluate(
        """() => [...document.querySelectorAll('.choice span')].filter((one) => one.offsetParent)
          .map((one) => one.getBoundingClientRect()).map(({ width, height }) => [width, height])"""
    )
    assert len(sizes) >= 9
    assert min(min(pair) for pair in sizes) >= 43.9


def test_units_read_on_the_page_as_in_the_library(page: Any) -> None:
    draw = random.Random(7)
    lengths = [draw.uniform(-3.0, 30.0) for _ in range(400)] + [k * 0.0254 / 8 for k in range(200)] + [0.0, -1e-9]
    slopes = [draw.uniform(0.0, 1.0) for _ in range(100)] + [0.25, 1 / 3, 0.0]
    told = page.evaluate(
        """async ([lengths, slopes]) => {
          const { units } = await hummock;
          return [['ft', 'm'].map((system) => ['depth', 'distance', 'elevation'].map(
            (kind) => lengths.map((length) => units.showLength(length, system, kind)))), slopes.map(units.showSlope)];
        }""",
        [lengths, slopes],
    )
    for s, system in enumerate(("ft", "m")):
        for k, kind in enumerate(("depth", "distance", "elevation")):
            assert told[0][s][k] == [show_length(v, system, kind) for v in lengths]  # type: ignore[arg-type]
    assert told[1] == [show_slope(v) for v in slopes]


def test_contours_of_the_page_lie_on_their_level(page: Any) -> None:
    rng = np.random.default_rng(3)
    values = rng.normal(size=(12, 15)).cumsum(axis=0).cumsum(axis=1)
    level = float(np.median(values)) + 1e-3
    lines = page.evaluate(
        "async ([values, nx, ny, level]) => (await hummock).contours.levelLines(values, nx, ny, level)",
        [values.ravel().tolist(), 15, 12, level],
    )
    crossed = int(
        (np.diff((values > level).astype(int), axis=1) != 0).sum()
        + (np.diff((values > level).astype(int), axis=0) != 0).sum()
    )
    spots = {tuple(np.round(spot, 9)) for line in lines for spot in line}
    assert len(spots) == crossed
    for i, j in spots:
        i0, j0 = int(min(i, 13)), int(min(j, 10))
        u, v = i - i0, j - j0
        here = (values[j0, i0] * (1 - u) + values[j0, i0 + 1] * u) * (1 - v) + (
            values[j0 + 1, i0] * (1 - u) + values[j0 + 1, i0 + 1] * u
        ) * v
        assert abs(here - level) < 1e-6
    for line in lines:
        inner = all(0 < i < 14 and 0 < j < 11 for i, j in line)
        assert not inner or line[0] == line[-1]


def test_without_3d_there_is_a_shaded_picture_from_above(link: str) -> None:
    with browsing(PHONE, flat=True) as opened:
        opened.goto(link)
        ready(opened)
        assert opened.is_visible("#no-relief")
        told = """async () => {
          const desk = await hummock; await desk.stage.painted();
          const canvas = document.getElementById('relief');
          const { data } = canvas.getContext('2d').getImageData(0, 0, canvas.width, canvas.height);
          let brown = 0;
          for (let k = 0; k < data.length; k += 4) {
            if (data[k + 3] && data[k] > 100 && data[k] > 2.2 * data[k + 2]) brown++;
          }
          return brown / (data.length / 4);
        }"""
        assert opened.evaluate(told) > 0.02


def test_without_scripts_the_figures_can_still_be_read(link: str) -> None:
    with browsing(PHONE) as opened:
        context = opened.context.browser.new_context(java_script_enabled=False)
        plain = context.new_page()
        plain.goto(link)
        assert "cu yd loose" in plain.inner_text("table")
        assert "scripts are off" in plain.inner_text("noscript")
        context.close()


def test_a_mail_copy_on_another_path_opens_the_same(link: str, tmp_path: Path) -> None:
    from urllib.parse import unquote, urlparse

    copy = tmp_path / "berm (1) für Anna.html"
    copy.write_bytes(Path(unquote(urlparse(link).path)).read_bytes())
    with browsing(PHONE) as opened:
        opened.goto(copy.as_uri())
        ready(opened)
        assert opened.title() == "Alder Bend, front bed"
