"""A crest point is short or it is not: shape, review and the heights of the order give one answer."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from random_sites import ground_on, site_with
from shapely.geometry import box

from terrain.grid import Grid
from terrain.review.slopes import wish_findings
from terrain.shape.berm import shape_berm
from terrain.shape.layout import lay_out
from terrain.shape.wish import built_crest

GRID = Grid(0.0, 0.0, 0.2, 101, 81)
SITE = site_with(box(4.0, 3.0, 16.0, 13.0), [(10.0, 8.0, 0.5)], 0.25, [])
GROUND = ground_on(GRID, np.full(GRID.shape, 50.0))


@pytest.mark.parametrize("wished", [0.2, 0.5, 1.4])
@pytest.mark.parametrize(
    ("lacks", "short"),
    # An inch, which is what a crew can build to: common practice, no published source.
    [(0.0, False), (0.011, False), (0.016, False), (0.0253, False), (0.0255, True), (0.03, True)],
)
def test_one_bound_says_whether_a_crest_is_short(wished: float, lacks: float, short: bool) -> None:
    layout = lay_out(SITE, GROUND)
    built = built_crest((10.0, 8.0), wished, wished - lacks, GROUND, layout, 0.25)
    assert bool(built.held_by) is short
    proposal = replace(shape_berm(SITE, GROUND), crest=(built,))
    assert any("was wished" in finding.text for finding in wish_findings(SITE, proposal)) is short
