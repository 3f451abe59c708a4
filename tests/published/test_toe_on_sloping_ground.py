"""Published toe tables, read off the built surface: a strip of bed across a slope, both faces held by the limit."""

from __future__ import annotations

import numpy as np
import pytest
from random_sites import ground_on, site_with
from shapely.geometry import box

from terrain.grid import Grid
from terrain.shape.berm import shape_berm
from terrain.shape.prepared import LIMIT_SLACK

# Ohio State University Extension Bulletin 813, p. 17, Table 4: 3:1 mound side, downslope width factor by ground percent
# (earthwork reference S1, confirmed, all recomputed equal).
OHIO_3_TO_1_DOWN = dict(
    zip(
        range(1, 16),
        [1.03, 1.06, 1.10, 1.14, 1.18, 1.22, 1.27, 1.32, 1.37, 1.43, 1.49, 1.56, 1.64, 1.72, 1.82],
        strict=True,
    )
)
# Mound worksheet in a City of Orono (Minnesota) record, p. 8: run per unit of height (earthwork reference S2,
# confirmed; two of its figures are rounded down where the exact value is 4.545).
ORONO = [
    # ground %, 4:1 down, 5:1 down, 4:1 up, 5:1 up
    (0, 4.00, 5.00, 4.00, 5.00),
    (1, 4.17, 5.26, 3.85, 4.76),
    (2, 4.35, 5.56, 3.70, 4.54),
    (3, 4.54, 5.88, 3.57, 4.35),
    (4, 4.76, 6.25, 3.45, None),
    (5, 5.0, None, 3.33, None),
]


def built_runs(run: float, grade: float) -> tuple[float, float]:
    """Downhill and uphill distance from ridge to toe per unit of ridge height over the ground, off the built surface.

    The ground falls to the south. The bed is a strip 20 m deep; where its ridge comes to stand, and how high, is the
    shaping's own answer: no toe formula goes in.
    """
    depth, cell = 20.0, 0.1
    grid = Grid(-15.3, -1.27, cell, 306, int((depth + 2.6) / cell))
    ground = ground_on(grid, np.repeat(grade * grid.y[:, None], grid.nx, axis=1))
    # The limit surface stands LIMIT_SLACK under the limit, so the limit is set for faces of exactly 1:run.
    slope = 1.0 / run / (1.0 - LIMIT_SLACK)
    site = site_with(box(-15, 0, 15, depth), [(x, depth / 2, 5.0) for x in (-8.0, 0.0, 8.0)], slope, toe=0.0)
    proposal = shape_berm(site, ground)
    fill = proposal.fill[:, grid.nx // 2]
    top = int(np.argmax(fill))
    south = (grid.y > 1.0) & (grid.y < grid.y[top] - 1.0)
    north = (grid.y > grid.y[top] + 1.0) & (grid.y < depth - 1.0)
    rise, start = np.polyfit(grid.y[south], fill[south], 1)
    fall, end = np.polyfit(grid.y[north], fill[north], 1)
    ridge = (end - start) / (rise - fall)
    height = start + rise * ridge
    # Each toe is where the face, run on, meets the ground. The eased foot, three cells wide, lies half on either side.
    south_toe, north_toe = -start / rise, -end / fall
    assert -cell <= south_toe <= 2.0 * cell
    assert -cell <= depth - north_toe <= 2.0 * cell
    assert np.abs(np.diff(proposal.elevation[:, grid.nx // 2][south])) / cell == pytest.approx(1.0 / run, rel=1e-3)
    return (ridge - south_toe) / height, (north_toe - ridge) / height


@pytest.mark.parametrize("percent", sorted(OHIO_3_TO_1_DOWN))
def test_ohio_factor_for_three_to_one_sides(percent: int) -> None:
    downhill, _ = built_runs(3.0, percent / 100.0)
    # Printed to two decimals; 0.005 of rounding and 0.003 for the grid.
    assert downhill / 3.0 == pytest.approx(OHIO_3_TO_1_DOWN[percent], abs=0.008)


@pytest.mark.parametrize("row", ORONO, ids=lambda row: f"{row[0]} percent")
def test_orono_multipliers_for_four_and_five_to_one_sides(row: tuple[float, ...]) -> None:
    percent, down_4, down_5, up_4, up_5 = row
    for run, down, up in ((4.0, down_4, up_4), (5.0, down_5, up_5)):
        downhill, uphill = built_runs(run, percent / 100.0)
        if down is not None:
            assert downhill == pytest.approx(down, abs=0.01)  # the tolerance that the reference gives
        if up is not None:
            assert uphill == pytest.approx(up, abs=0.01)
