"""The curve of height against soil where it is hard to draw: one height only, tops far over the limits."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from every_drawing import drawn

from terrain.flow import run_site
from terrain.site.model import CrestPoint
from terrain.site.read import read_site
from viewer.sheets.order_curve import BAR, _band

ROOT = Path(__file__).resolve().parents[2]
INCH = 0.0254


@pytest.mark.filterwarnings("error", "ignore::ResourceWarning")
def test_heights_far_over_the_limit_leave_one_height_and_are_drawn() -> None:
    site = read_site(ROOT / "examples" / "alder-bend" / "site.toml")
    tall = tuple(
        CrestPoint(point.x, point.y, high * INCH) for point, high in zip(site.berm.crest, (60, 72, 60), strict=True)
    )
    study = run_site(replace(site, berm=replace(site.berm, crest=tall)))
    assert max(crest.built for crest in study.proposal.crest) < 50 * INCH, "the limits hold it"
    page, _ = drawn("order", study)
    assert "this order" in [text.get_text() for text in page.axes.texts]


def test_one_height_is_an_upright_bar_and_two_are_a_band() -> None:
    bar = _band(np.array([[40.0, 10.0]]), np.array([[40.0, 30.0]]))
    assert bar.bounds == pytest.approx((40.0 - BAR / 2, 10.0, 40.0 + BAR / 2, 30.0))
    band = _band(np.array([[0.0, 10.0], [50.0, 20.0]]), np.array([[0.0, 14.0], [50.0, 30.0]]))
    assert band.area == pytest.approx(50.0 * (4.0 + 10.0) / 2.0)
