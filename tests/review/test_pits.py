"""Pits: the published table of laid-back sides, the volume of an over-dug pit, and room for backfill."""

from __future__ import annotations

import pytest
from review_yards import make_grid, make_ground, make_proposal, make_site
from shapely.geometry import box

from terrain.review.pits import LAID_BACK, laid_back, pit_duty, pit_findings
from terrain.site.model import Basin

FOOT, INCH, YARD3 = 0.3048, 0.0254, 0.764554857984
BED = box(2.0, 2.0, 18.0, 18.0)

# 29 CFR 1926 Subpart P, Appendix B, table B-1 at 8 ft: how far back, and the width at the top over a 3 ft floor.
TABLE_B1 = [("A", 6.0, 15.0), ("B", 8.0, 19.0), ("C", 12.0, 27.0)]


@pytest.mark.parametrize(("soil", "back", "top"), TABLE_B1)
def test_sides_lie_back_as_the_table_says(soil: str, back: float, top: float) -> None:
    assert laid_back(8.0 * FOOT, soil) == pytest.approx(back * FOOT, abs=1e-12)
    assert 3.0 * FOOT + 2.0 * laid_back(8.0 * FOOT, soil) == pytest.approx(top * FOOT, abs=1e-12)


def test_soil_that_nobody_has_classed_lies_back_as_the_weakest() -> None:
    # 29 CFR 1926.652(b)(1): 4 ft deep, 6.0 ft back on each side.
    assert laid_back(4.0 * FOOT) == pytest.approx(6.0 * FOOT, abs=1e-12)
    assert laid_back(1.0) == max(laid_back(1.0, soil) for soil in LAID_BACK)


def test_protection_begins_at_five_feet_and_says_how_far_back() -> None:
    # 29 CFR 1926.652(a)(1): 5.00 ft asks for protection, 4.99 ft for a competent person's look.
    duty = pit_duty(5.0 * FOOT, "ft")
    assert duty is not None
    assert "lies back 7 ft 6 in on every side" in duty[1]
    less = pit_duty(4.99 * FOOT, "ft")
    assert less is not None
    assert "lies back" not in less[1]


def told(clearance: float, units: str = "ft") -> list[str]:
    basin = Basin("bowl", 0.2, center=(10.0, 10.0), size=(1.0, 1.0), clearance=clearance)
    site = make_site(BED, units=units, basin=(basin,))
    proposal = make_proposal(make_ground(make_grid(cell=0.5)), 0.1, BED)
    return [finding.text for finding in pit_findings(site, proposal)]


def test_a_tight_basin_is_told_once_and_a_roomy_one_not_at_all() -> None:
    assert told(2.0 * INCH) == []
    (text,) = told(1.0 * INCH)
    assert text == (
        "bowl has 1 in of room round it. Dig 4 in to 6 in more on each side, and fill back in lifts of 4 in."
    )
    (text,) = told(0.03, "m")
    assert "Dig 10 cm to 15 cm more on each side, and fill back in lifts of 10 cm." in text
