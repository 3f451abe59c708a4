"""Both pages under a thumb, in the dark, in high contrast, at twice the size and on paper, in one real browser."""

from __future__ import annotations

import io
from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest
from live_yards import PHONE, browsing, copied_yard, ready, served
from page_looks import CONTRASTS, TWICE, USELESS_ON_PAPER, shot
from PIL import Image
from pypdf import PdfReader

from viewer.page import palette
from viewer.web.share import write_share

pytestmark = pytest.mark.slow
PRINT_EDGE = 40  # pixels


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> Iterator[dict[str, Any]]:
    """The live page and the one to send, of one yard, each open in a tab of the same browser."""
    yard = copied_yard(tmp_path_factory.mktemp("yard"))
    with served(yard) as running, browsing(PHONE, touch=True) as live:
        share = live.context.new_page()
        share.goto(write_share(next(iter(running.session.studies.values())), yard.with_name("berm.html")).as_uri())
        ready(share)
        live.goto(running.guard.link)
        ready(live)
        live.wait_for_function("() => hummock.full === hummock.seq")
        yield {"live": live, "share": share}


@pytest.fixture(params=["live", "share"])
def page(pages: dict[str, Any], request: pytest.FixtureRequest) -> Iterator[Any]:
    one = pages[request.param]
    one.bring_to_front()
    yield one
    one.emulate_media(color_scheme="light", forced_colors="none", media="screen")
    one.set_viewport_size({"width": PHONE[0], "height": PHONE[1]})
    one.evaluate(
        "async () => { const d = globalThis.hummock.desk ?? await hummock; d.plan.showWhole(); scrollTo(0, 0); }"
    )


def middle(page: Any, part: str) -> tuple[float, float]:
    page.locator(part).scroll_into_view_if_needed()
    box = page.locator(part).bounding_box()
    return box["x"] + box["width"] / 2.0, box["y"] + box["height"] / 2.0


def drawn(page: Any, *ways: tuple[tuple[float, float], tuple[float, float]], steps: int = 8, lift: bool = True) -> Any:
    """Real fingers, each drawn from one place of the screen to another through the browser's own input."""
    line = page.context.new_cdp_session(page)

    def touch(kind: str, share: float) -> None:
        spots = [{"x": a[0] + share * (b[0] - a[0]), "y": a[1] + share * (b[1] - a[1])} for a, b in ways]
        line.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": [] if kind == "touchEnd" else spots})

    touch("touchStart", 0.0)
    for step in range(1, steps + 1):
        touch("touchMove", step / steps)
        page.evaluate("() => new Promise(requestAnimationFrame)")
    if lift:
        touch("touchEnd", 1.0)
    return lambda: touch("touchEnd", 1.0)


def picture_stays(page: Any) -> bool:
    """Whether the picture stays in sight while the page scrolls."""
    return bool(page.locator(".picture").evaluate("one => getComputedStyle(one).position === 'sticky'"))


TIMES = "async () => (globalThis.hummock.desk ?? await hummock).plan.pane.times"


@pytest.mark.parametrize("part", ["#relief", "#plan"])
def test_a_swipe_over_picture_or_plan_scrolls_the_page(page: Any, part: str) -> None:
    page.evaluate("part => document.querySelector(part).scrollIntoView({ block: 'center' })", part)
    (x, y), before = middle(page, part), page.evaluate("scrollY")
    drawn(page, ((x, y), (x + 3.0, y - 160.0)))
    assert page.evaluate("scrollY") > before + 80


def test_two_fingers_enlarge_the_plan_and_the_buttons_do_too(page: Any) -> None:
    x, y = middle(page, "#plan")
    before = shot(page, ".plan")
    drawn(page, ((x - 20.0, y), (x - 60.0, y - 30.0)), ((x + 20.0, y), (x + 60.0, y + 30.0)))
    assert page.evaluate(TIMES) > 1.6
    assert page.evaluate("visualViewport.scale") == 1.0, "the plan grows, not the page"
    assert np.abs(shot(page, ".plan") - before).mean() > 8.0
    page.locator("#sizes button[data-size=whole]").click()
    assert page.evaluate(TIMES) == 1.0
    page.locator("#sizes button[data-size=in]").click()
    assert page.evaluate(TIMES) == pytest.approx(1.6)


def test_the_five_steps_lie_under_the_thumb(pages: dict[str, Any]) -> None:
    page = pages["live"]
    page.bring_to_front()
    for width in (320, 390):
        page.set_viewport_size({"width": width, "height": 700})
        told = page.evaluate(
            """() => [...document.querySelectorAll('.deeds .button')].map((one) => {
              const { left, right, top, bottom } = one.getBoundingClientRect();
              const seen = document.elementFromPoint((left + right) / 2, (top + bottom) / 2);
              return [one.contains(seen), left, innerWidth - right, innerHeight - bottom, right - left, bottom - top,
                one.clientWidth - one.scrollWidth];
            })"""
        )
        assert len(told) == 5
        for seen, *edges, wide, high, spare in told:
            assert seen
            assert min(edges) >= 0.0
            assert min(wide, high) >= 43.9
            assert spare >= 0.0
    page.set_viewport_size({"width": PHONE[0], "height": PHONE[1]})


def test_points_that_a_thumb_takes_stand_apart_and_the_rest_come_when_enlarged(pages: dict[str, Any]) -> None:
    page = pages["live"]
    page.bring_to_front()
    spots = """() => { const { handles, desk: { plan } } = hummock;
      return handles.spots.filter((one) => plan.isOn(one.at))
      .map((one) => [...one.at, handles.tight.has(one), one.kind === 'corner' ? one.index : -1]); }"""
    first = page.evaluate(spots)
    free = np.array([spot[:2] for spot in first if not spot[2]])
    away = np.hypot(*(free[:, None] - free[None]).transpose(2, 0, 1)) + 1e9 * np.eye(len(free))
    assert len(free) > 5
    assert away.min() >= 44.0
    x, y, _, index = next(spot for spot in first if spot[2] and spot[3] >= 0)
    page.evaluate("([x, y]) => hummock.desk.plan.enlarge(8, [x, y])", [x, y])
    assert index in [spot[3] for spot in page.evaluate(spots) if not spot[2]]
    page.evaluate("hummock.desk.plan.showWhole()")


def test_a_section_under_the_finger_is_seen_beside_it_and_offered_true(page: Any) -> None:
    page.evaluate("document.querySelector('#tool input[value=section]').click()")
    page.evaluate("document.querySelector('#plan').scrollIntoView({ block: 'center' })")
    box = page.locator("#plan").bounding_box()
    start, end = ((box["x"] + u * box["width"], box["y"] + v * box["height"]) for u, v in ((0.3, 0.85), (0.7, 0.75)))
    lifted = drawn(page, (start, end), lift=False)
    aside = page.locator("#beside").bounding_box()
    assert aside["y"] + aside["height"] < box["y"] + 0.7 * box["height"], "the finger is lower"
    assert aside["y"] >= box["y"]
    assert page.locator("#beside path.proposed").count() == 1
    brown = np.array(palette.channels(palette.PROPOSED)) * 255.0
    assert (np.abs(shot(page, "#beside") - brown).max(axis=2) < 40.0).sum() > 60
    lifted()
    assert page.locator("#beside").is_hidden()
    page.evaluate("document.querySelector('#tool input[value=read]').click()")
    told, tall = page.inner_text("#section-words"), page.locator("#section").bounding_box()["height"]
    assert "Heights drawn" in told
    assert "heights ×" in page.locator("#section").text_content()
    page.evaluate("document.querySelector('#scale input[value=true]').click()")
    assert page.inner_text("#section-words").endswith("True scale.")
    assert "true scale" in page.locator("#section").text_content()
    assert page.locator("#section").bounding_box()["height"] < tall - 10.0
    page.evaluate("document.querySelector('#scale input[value=fit]').click()")


@pytest.mark.parametrize("size", [PHONE, TWICE], ids=["phone", "twice the size"])
def test_the_picture_folds_away_and_the_plan_is_seen_whole(page: Any, size: tuple[int, int]) -> None:
    page.set_viewport_size({"width": size[0], "height": size[1]})
    page.click("#fold")
    assert page.locator("#relief").is_hidden()
    page.evaluate("document.querySelector('.plan').scrollIntoView({ block: 'start' })")
    page.evaluate("scrollBy(0, -document.querySelector('.picture').offsetHeight - 4)" if picture_stays(page) else "0")
    told = page.evaluate(
        """() => {
          const rect = (part) => document.querySelector(part)?.getBoundingClientRect();
          const [plan, picture, deeds] = ['.plan', '.picture', '.deeds'].map(rect);
          const low = deeds ? deeds.top : innerHeight;
          return [plan.top - Math.max(picture.bottom, 0), low - plan.bottom, plan.width];
        }"""
    )
    assert told[0] >= -0.5
    assert told[1] >= -0.5
    assert told[2] > 200.0
    page.click("#fold")
    assert page.locator("#relief").is_visible()


def test_the_legend_stands_under_the_plan(page: Any) -> None:
    page.evaluate("document.querySelector('.plan').scrollIntoView({ block: 'start' })")
    plan, key = (page.locator(part).bounding_box() for part in (".plan", "#key"))
    assert 0.0 <= key["y"] - plan["y"] - plan["height"] < 420.0
    assert page.locator(".map #key").count() == 1


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_every_word_stands_out_from_its_ground(page: Any, scheme: str) -> None:
    """WCAG 2.2, success criterion 1.4.3 (level AA): 4.5 to 1."""
    page.emulate_media(color_scheme=scheme)
    told = page.evaluate(CONTRASTS)
    assert len(told) > 40
    assert [words for ratio, words in told if ratio < 4.5] == []
    title = shot(page, "h1")
    assert (title.mean() < 100.0) == (scheme == "dark")
    # The map keeps its own light paper.
    assert shot(page, ".plan").mean() > 140.0


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_in_forced_colours_swatches_and_tracks_are_still_there(pages: dict[str, Any], scheme: str) -> None:
    for name, page in pages.items():
        page.bring_to_front()
        page.emulate_media(color_scheme=scheme, forced_colors="active")
        for k, step in enumerate(palette.FILL_STEPS, start=1):
            patch = shot(page, f"#key .fill-{k}")
            ink = patch[patch.shape[0] // 2, patch.shape[1] // 2]
            assert np.abs(ink - 255.0 * np.array(palette.channels(step))).max() < 12.0, (name, k)
        for kind in ("proposed", "keep-off"):
            assert np.ptp(shot(page, f"#key .{kind}")) > 60.0, (name, kind)
        if name == "live":
            slope = shot(page, "#slope")
            track, ground = slope[slope.shape[0] // 2, 6], slope[2, 6]
            assert np.abs(track - ground).max() > 120.0
            thumb = np.abs(slope - ground).max(axis=2) > 60.0
            assert (thumb.sum(axis=0) > 18).any(), "the thumb stands up over its track"
        chosen = page.locator("#state input:checked + span")
        assert chosen.evaluate("one => getComputedStyle(one).backgroundColor") != page.evaluate(
            "getComputedStyle(document.body).backgroundColor"
        )
        page.emulate_media(color_scheme="light", forced_colors="none")


def test_paper_holds_nothing_that_only_a_finger_has_use_for(page: Any) -> None:
    page.emulate_media(media="print")
    assert page.evaluate(USELESS_ON_PAPER) == [[], [], []]


def test_a_measure_is_never_broken_over_two_lines(page: Any) -> None:
    """As the library holds it in one piece on sheets and terminals, at the narrowest width."""
    page.set_viewport_size({"width": 320, "height": 640})
    told = page.evaluate(
        """() => [...document.querySelectorAll('.findings .held, .lines .held')].filter((one) => one.offsetParent)
          .map((one) => [one.textContent, one.getClientRects().length])"""
    )
    assert "x 30.00," in [words for words, _ in told]
    assert "96.9 %," in [words for words, _ in told]
    assert [words for words, lines in told if lines > 1] == []


def test_a_printed_page_holds_the_picture(pages: dict[str, Any]) -> None:
    page = pages["share"]
    page.bring_to_front()
    page.evaluate("async () => (await hummock).stage.look('street')")
    seen = shot(page, "#relief")
    paper = PdfReader(io.BytesIO(page.pdf()))
    pictures = [np.asarray(one.image.convert("RGB"), dtype=float) for sheet in paper.pages for one in sheet.images]
    wide = [one for one in pictures if one.shape[1] >= seen.shape[1] and np.ptp(one.mean(axis=2)) > 80.0]
    assert wide, [one.shape for one in pictures]
    # Of all that is printed one is the picture as it stands on the screen, but for its words.
    high, across = seen.shape[:2]
    shrunk = [np.asarray(Image.fromarray(one.astype(np.uint8)).resize((across, high)), dtype=float) for one in wide]
    inner = slice(PRINT_EDGE, -PRINT_EDGE)
    off = [float(np.median(np.abs(one - seen)[inner, inner])) for one in shrunk]
    assert min(off) < 6.0, off
