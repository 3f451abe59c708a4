"""Both pages at every width from a phone to a wide desk: nothing runs into its neighbour, nothing hidden shows."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import ExitStack
from typing import Any

import pytest
from live_yards import DESK, browsing, copied_yard, ready, served

from terrain.flow import run_site
from terrain.site.read import read_site
from viewer.web.share import write_share

pytestmark = pytest.mark.slow
WIDTHS = (320, 390, 600, 768, 959, 961, 1024, 1100, 1280, 1440, 1920)


@pytest.fixture(scope="module", params=["share", "live"])
def page(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    yard = copied_yard(tmp_path_factory.mktemp("yard"))
    with ExitStack() as until_done:
        if request.param == "share":
            link = write_share(run_site(read_site(yard)), yard.with_name("berm.html")).as_uri()
        else:
            link = until_done.enter_context(served(yard)).guard.link
        opened = until_done.enter_context(browsing(DESK, flat=request.param == "live"))
        opened.goto(link)
        ready(opened)
        yield opened


@pytest.mark.parametrize("width", WIDTHS)
def test_no_part_runs_into_its_neighbour(page: Any, width: int) -> None:
    page.set_viewport_size({"width": width, "height": 900})
    page.evaluate("() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")
    told = page.evaluate(
        """() => {
          const sections = [...document.querySelectorAll('main section')];
          const wide = sections.filter((one) => one.scrollWidth > one.clientWidth);
          const parts = sections.map((one) => one.getBoundingClientRect());
          const right = (one) => one.getBoundingClientRect().right;
          const cells = [...document.querySelectorAll('td, th, .lines li, .findings li, .slider label')]
            .filter((one) => one.offsetParent)
            .filter((one) => right(one) > right(one.closest('section')) + 1);
          const over = parts.flatMap((a, k) => parts.slice(k + 1).filter((b) => Math.min(a.right, b.right)
            - Math.max(a.left, b.left) > 1 && Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top) > 1));
          return [wide.map((one) => one.className), cells.map((one) => one.textContent), over.length,
            document.documentElement.scrollWidth - innerWidth];
        }"""
    )
    assert told[:3] == [[], [], 0]
    assert told[3] <= 0


def test_what_is_hidden_does_not_show(page: Any) -> None:
    """Whatever a style says of its kind: each element of the page, hidden in turn."""
    shown = page.evaluate(
        """() => [...document.querySelectorAll('body *')].filter((one) => 'hidden' in one).filter((one) => {
          const was = one.hidden;
          one.hidden = true;
          const display = getComputedStyle(one).display;
          one.hidden = was;
          return display !== 'none';
        }).map((one) => one.outerHTML.slice(0, 80))"""
    )
    assert shown == []
