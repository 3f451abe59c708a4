"""The live page shows where a sign of an unnatural shape stands: the mark on the plan, and the section through it."""

from __future__ import annotations

from pathlib import Path

import pytest
from live_yards import DESK, PHONE, browsing, copied_yard, ready, served

pytestmark = pytest.mark.slow


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_a_sign_that_is_touched_is_shown_on_the_plan_and_cut(tmp_path: Path, size: tuple[int, int]) -> None:
    with served(copied_yard(tmp_path)) as yard, browsing(size, touch=size == PHONE, flat=True) as page:
        page.goto(yard.guard.link)
        ready(page)
        page.wait_for_function("() => hummock.full === hummock.seq")
        line = page.locator("#look [data-cut]").first
        told = line.evaluate("line => ({...line.dataset})")
        section = page.inner_html("#section")
        line.get_by_role("button").click()
        mark, cut = page.evaluate("[hummock.desk.mark, hummock.desk.section]")
        assert (mark["x"], mark["y"]) == (float(told["x"]), float(told["y"]))
        ends = (cut["start"]["x"], cut["start"]["y"], cut["end"]["x"], cut["end"]["y"])
        assert ends == tuple(float(one) for one in told["cut"].split())
        # The section runs through the place, which is drawn on the plan where somebody sees it.
        away = (ends[2] - ends[0]) * (mark["y"] - ends[1]) - (ends[3] - ends[1]) * (mark["x"] - ends[0])
        assert abs(away) < 0.02 * ((ends[2] - ends[0]) ** 2 + (ends[3] - ends[1]) ** 2) ** 0.5  # 2 cm off the line
        page.wait_for_function("before => document.getElementById('section').innerHTML !== before", arg=section)
        x, y = page.evaluate("(({ x, y }) => hummock.desk.plan.at([x, y]))(hummock.desk.mark)")
        frame = page.locator("#plan").bounding_box()
        assert frame is not None
        assert 0.0 < x < frame["width"]
        assert 0.0 < y < frame["height"]
        assert 0.0 < frame["y"] + y < size[1]
