"""A small last load is told with what would save its truck, and the mound that is told of does save it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from shipped import study_of

from terrain.flow import Study, run_site
from terrain.soil.words import trim_words


@pytest.fixture(scope="module")
def study(root: Path) -> Study:
    return study_of("alder-bend", 0.15)


def with_truck(study: Study, truck: float) -> Study:
    """The same yard, its soil brought by another truck: the mound is as it was."""
    site = replace(study.site, soil=replace(study.site.soil, truck=truck))
    return run_site(site, resolution=0.15, ground=study.ground, earlier=study)


@pytest.mark.parametrize(("last", "told"), [(0.03, True), (0.48, True), (0.52, False), (1.0, False)])
def test_a_last_truck_less_than_half_full_is_saved_by_a_lower_mound(study: Study, last: float, told: bool) -> None:
    # Two loads and a share of a third; a tenth of the height is about a tenth of the soil.
    quantity = study.order.quantity
    truck = quantity / (2.0 + last)
    done = with_truck(study, truck)
    assert done.order.haul.trucks == 3
    trim = done.trim
    # A tenth off the top saves about 6 % of the soil, so of a third load only a small one.
    if not told or last > 0.2:
        assert trim is None
        assert trim_words(trim, done.order, "ft") == ""
        return
    assert trim is not None
    assert 0.0 < trim.lower <= 0.11 * study.heights[0].height * 2.0
    assert trim.row.order.haul.trucks == 2
    assert trim.row.order.quantity <= 2.0 * truck + 1e-9
    assert "saves that truck" in trim_words(trim, done.order, "ft")


def test_one_truck_is_never_trimmed_away(study: Study) -> None:
    assert with_truck(study, 1.5 * study.order.quantity).trim is None
