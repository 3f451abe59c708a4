"""Slope areas and terrace tops: what is counted is the new soil, and half of a top decides."""

from __future__ import annotations

import numpy as np
import pytest
import review_yards as yards
from shapely.geometry import box

from terrain.review.slopes import area_steeper, level_top_findings, top_slopes
from terrain.site.model import Berm, CrestPoint, Terrace

BED = box(2.0, 2.0, 18.0, 18.0)
TOP = box(8.0, 8.0, 12.0, 12.0)


def test_area_steeper_than_a_slope_is_that_of_the_facets_that_are() -> None:
    # A plate of 6 x 4 m that falls 1:4 beside one of 6 x 4 m that falls 1:8, on level ground.
    mesh = yards.plates(
        (box(0.0, 0.0, 6.0, 4.0), lambda x, y: 2.0 + 0.25 * x),
        (box(0.0, 10.0, 6.0, 14.0), lambda x, y: 2.0 + 0.125 * x),
    )
    assert area_steeper(mesh, 0.2) == pytest.approx(24.0, abs=1e-9)
    assert area_steeper(mesh, 0.1) == pytest.approx(48.0, abs=1e-9)
    # The slope itself is within.
    assert area_steeper(mesh, 0.25) == 0.0


def test_steep_ground_without_new_soil_is_not_counted() -> None:
    mesh = yards.plates((box(0.0, 0.0, 6.0, 4.0), 0.0), existing=lambda x, y: 0.5 * x)
    assert area_steeper(mesh, 0.2) == 0.0


def tops(fill) -> dict[str, float]:
    terrace = Terrace("seat", TOP, height=1.0)
    site = yards.make_site(BED, terrace=(terrace,))
    proposal = yards.make_proposal(yards.make_ground(yards.make_grid(cell=0.25)), fill, BED)
    return dict(top_slopes(site, proposal))


@pytest.mark.parametrize("fall", [0.0, 0.005, 0.015, 0.1])
def test_the_slope_of_a_top_is_that_of_its_plane(fall: float) -> None:
    assert tops(lambda x, y: 1.0 + fall * (x - 10.0))["seat"] == pytest.approx(fall, abs=1e-9)


def test_half_of_a_top_decides_and_not_its_edge() -> None:
    # Three quarters of the top level, one quarter steep: the middle of the areas is level.
    assert tops(lambda x, y: 1.0 + 0.3 * np.maximum(x - 11.0, 0.0))["seat"] == pytest.approx(0.0, abs=1e-9)
    assert tops(lambda x, y: 1.0 + 0.3 * np.maximum(x - 9.0, 0.0))["seat"] == pytest.approx(0.3, abs=1e-9)


def test_a_terrace_without_soil_has_no_top() -> None:
    assert tops(0.0) == {}


def said(fall: float, names: tuple[str, ...] = ("seat",)) -> list[str]:
    terraces = tuple(Terrace(name, TOP, height=1.0) for name in names)
    site = yards.make_site(BED, terrace=terraces, berm=Berm(0.5, (CrestPoint(10.0, 10.0, 1.0),)))
    proposal = yards.make_proposal(
        yards.make_ground(yards.make_grid(cell=0.25)), lambda x, y: 1.0 + fall * (x - 10.0), BED
    )
    return [found.text for found in level_top_findings(site, proposal) if "as good as level" in found.text]


def test_a_top_that_falls_less_than_one_per_cent_is_told_once_for_all() -> None:
    # GSA Facilities Standards P100 (2003) sec. 2.5: turf falls at least 1 %.
    assert said(0.0101) == []
    (text,) = said(0.0099)
    assert text == "The top of seat is as good as level, and rain stands on it. Rake it to fall 1 % to 2 %."
    (text,) = said(0.0, ("seat", "step"))
    assert "The top of seat and step are as good as level" in text
