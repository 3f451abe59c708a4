"""A saddle as asked for: the crest gives up the stated share between two high points, and deep ones part the mound."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from random_sites import ground_on, site_with
from shapely.geometry import Polygon

from terrain.errors import InputError
from terrain.grid import Grid
from terrain.shape.berm import shape_berm
from terrain.shape.form import ridge_line
from terrain.shape.proposal import Proposal
from terrain.site.model import Site
from terrain.units import parse_share

ANGLE = np.linspace(0, 2 * np.pi, 80, endpoint=False)
BED = Polygon(np.column_stack([10 + 8 * np.cos(ANGLE), 7 + 4 * np.sin(ANGLE)]))
GRID = Grid(0.0, 1.0, 0.1, 201, 121)
TOPS = [(5.5, 7.0, 0.6), (14.5, 7.0, 0.6)]


def site(saddle: float | None, **changes: object) -> Site:
    whole = site_with(BED, TOPS, 0.25, toe=0.8)
    return replace(whole, berm=replace(whole.berm, saddle=saddle, **changes))


def shaped(saddle: float | None) -> Proposal:
    return shape_berm(site(saddle), ground_on(GRID, np.full(GRID.shape, 30.0)))


def height(proposal: Proposal, east: float, north: float) -> float:
    return float(GRID.sample(proposal.fill, np.array([[east, north]]))[0])


def tops_at(proposal: Proposal, share: float) -> int:
    """Separate pieces of the mound above a share of its height."""
    from scipy import ndimage

    return int(ndimage.label(proposal.fill > share * proposal.fill.max())[1])


@pytest.mark.parametrize("saddle", [0.0, 0.3, 0.6, 0.85])
def test_the_crest_gives_up_the_stated_share(saddle: float) -> None:
    proposal = shaped(saddle)
    tops = [height(proposal, east, north) for east, north, _ in TOPS]
    assert tops == pytest.approx([0.6, 0.6], abs=0.01)
    # Easing fills a narrow saddle by a few hundredths of the height.
    assert height(proposal, 10.0, 7.0) == pytest.approx((1.0 - saddle) * 0.6, abs=0.05 * 0.6)


def test_a_deep_saddle_reads_as_two_mounds_and_a_level_one_as_one() -> None:
    assert tops_at(shaped(0.6), 0.5) == 2
    assert tops_at(shaped(0.0), 0.5) == 1
    assert tops_at(shaped(None), 0.5) == 1


def test_a_saddle_keeps_every_limit_and_is_continuous() -> None:
    proposal, next_one = shaped(0.6), shaped(0.602)
    assert proposal.steepest <= 0.25 + 1e-6
    assert np.abs(proposal.fill - next_one.fill).max() <= 0.002 * 0.6 * 1.5


def test_the_ridge_is_held_to_the_stated_share_at_any_distance() -> None:
    for apart in (0.5, 5.0, 50.0):
        ridge = ridge_line(np.array([[0.0, 0.0], [apart, 0.0]]), 2.0, 0.4)
        middle = int(np.argmin(np.abs(ridge.points[:, 0] - apart / 2.0)))
        assert ridge.weights[middle].sum() == pytest.approx(0.6, abs=1e-12)


def test_more_than_all_of_the_height_is_refused() -> None:
    with pytest.raises(InputError):
        parse_share("120 %", "[berm] saddle", whole=True)
