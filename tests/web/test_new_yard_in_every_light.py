"""The page of a new yard in the dark, in forced colours, at twice the size, at phone size and on paper."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest
from live_yards import PHONE, browsing, running
from page_looks import CONTRASTS, TWICE, USELESS_ON_PAPER, shot
from test_new_yard_in_a_browser import Hands, new_room

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def opened(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """A yard with a bed, one shot, a height, and a slope that is refused."""
    with running(new_room(tmp_path_factory.mktemp("room") / "yard")) as guard, browsing(PHONE, flat=True) as page:
        hands = Hands(page, guard.link)
        hands.type("#bed-size", "24 by 10", "Enter")
        hands.go_by_keys_to_a_shot()
        page.keyboard.type("4.32")
        page.keyboard.press("Enter")
        page.wait_for_function("() => document.querySelectorAll('#rows-shots li').length === 1")
        hands.type("#top", "15", "Tab")
        hands.rest()
        hands.type("#slope", "steep", "Tab")
        page.wait_for_function("() => document.getElementById('said-slope').className.includes('trouble')")
        yield page


@pytest.fixture
def page(opened: Any) -> Iterator[Any]:
    yield opened
    opened.emulate_media(color_scheme="light", forced_colors="none", media="screen")
    opened.set_viewport_size({"width": PHONE[0], "height": PHONE[1]})


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_every_word_stands_out_from_its_ground_those_typed_too(page: Any, scheme: str) -> None:
    """WCAG 2.2, success criterion 1.4.3 (level AA): 4.5 to 1."""
    page.emulate_media(color_scheme=scheme)
    told = page.evaluate(CONTRASTS)
    assert {"24 by 10", "15", "steep"} <= {words for _, words in told}
    assert [words for ratio, words in told if ratio < 4.5] == []
    assert (shot(page, "h1").mean() < 100.0) == (scheme == "dark")


@pytest.mark.parametrize(("scheme", "forced"), [("dark", "none"), ("dark", "active"), ("light", "active")])
def test_the_plan_keeps_its_own_light_paper(page: Any, scheme: str, forced: str) -> None:
    page.locator("#plan").scroll_into_view_if_needed()
    light = shot(page, ".sheet svg")
    page.emulate_media(color_scheme=scheme, forced_colors=forced)
    other = shot(page, ".sheet svg")
    inner = slice(6, -6)  # the rounded corners of its frame show the page
    assert np.abs(other - light)[inner, inner].mean() < 1.0
    assert np.ptp(light[inner, inner]) > 150.0


@pytest.mark.parametrize("width", [320, 390, TWICE[0], 1280])
def test_no_word_on_a_button_is_cut_and_nothing_runs_off_aside(page: Any, width: int) -> None:
    page.set_viewport_size({"width": width, "height": TWICE[1]})
    told = page.evaluate(
        """() => [document.documentElement.scrollWidth - innerWidth,
          [...document.querySelectorAll('button, .choice span')]
          .filter((one) => one.offsetParent && one.scrollWidth > one.clientWidth + 1).map((one) => one.textContent)]"""
    )
    assert told[0] <= 0
    assert told[1] == []


def test_enlarged_the_plan_is_seen_whole(page: Any) -> None:
    page.set_viewport_size({"width": TWICE[0], "height": TWICE[1]})
    page.locator(".sheet").scroll_into_view_if_needed()
    top, foot, deeds = page.evaluate(
        """() => { const { top, bottom } = document.querySelector('.sheet').getBoundingClientRect();
          return [top, bottom, document.querySelector('.deeds').getBoundingClientRect().top]; }"""
    )
    assert 0.0 <= top < foot <= deeds


def test_paper_holds_nothing_that_only_a_finger_has_use_for(page: Any) -> None:
    page.emulate_media(media="print")
    assert page.evaluate(USELESS_ON_PAPER) == [[], [], []]
