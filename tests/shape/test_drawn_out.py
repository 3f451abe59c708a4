"""One high point is drawn out along the bed unless asked not to, inside the same limits."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from random_sites import ground_on, site_with
from shapely.geometry import Point, Polygon, box
from test_limits_hold_on_random_yards import check_holds, check_slopes

from terrain.grid import Grid
from terrain.ground.model import Ground
from terrain.look.look import look_of
from terrain.review.look_findings import one_point_words
from terrain.shape.berm import shape_berm
from terrain.site.model import Site

HIGH, CELL = 0.45, 0.12
LONG = box(0.0, 0.0, 14.0, 5.0)
LEGS = Polygon([(0, 0), (12, 0), (12, 4), (4, 4), (4, 11), (0, 11)])


def yard(outline: Polygon, place: tuple[float, float], drawn: bool = True) -> tuple[Site, Ground]:
    site = site_with(outline, [(*place, HIGH)], 0.25, [], toe=0.3)
    west, south, east, north = outline.bounds
    nx, ny = (int((size + 2.0) / CELL) + 2 for size in (east - west, north - south))
    grid = Grid(west - 1.0, south - 1.0, CELL, nx, ny)
    return replace(site, berm=replace(site.berm, drawn_out=drawn)), ground_on(grid, np.full(grid.shape, 50.0))


@pytest.mark.parametrize(
    ("outline", "place"),
    [pytest.param(LONG, (5.0, 2.5), id="long", marks=pytest.mark.slow), pytest.param(LEGS, (2.0, 3.0), id="legs")],
)
def test_the_crest_runs_along_the_bed_and_the_top_stays(outline: Polygon, place: tuple[float, float]) -> None:
    fills = []
    for drawn in (True, False):
        site, ground = yard(outline, place, drawn)
        proposal = shape_berm(site, ground)
        assert proposal.drawn_out == drawn
        assert proposal.crest[0].built == pytest.approx(HIGH, abs=0.02)
        assert proposal.fill.max() <= HIGH + 0.03
        check_slopes(site, ground, proposal)
        check_holds(site, proposal)
        fills.append(proposal.fill)
    # the ground that stands over a third of the top's height: half as much again, drawn out
    assert (fills[0] > HIGH / 3).sum() >= 1.5 * (fills[1] > HIGH / 3).sum()


@pytest.mark.slow
def test_a_long_bed_with_one_high_point_reads_natural_drawn_out_and_made_as_a_bell() -> None:
    looks = [look_of(*both, shape_berm(*both)) for both in (yard(LONG, (5.0, 2.5), drawn) for drawn in (True, False))]
    assert [look.reads_natural for look in looks] == [True, False], [look.words for look in looks]


def test_a_round_bed_leaves_one_high_point_a_bell_and_says_so() -> None:
    disc = Point(0.0, 0.0).buffer(4.0)
    drawn, bell = (shape_berm(*yard(disc, (0.5, 0.0), drawn)) for drawn in (True, False))
    assert not drawn.drawn_out
    assert np.array_equal(drawn.fill, bell.fill)
    assert "makes a bell. Add a lower one" in one_point_words(drawn)


def test_the_page_says_that_it_is_drawn_out_and_how_to_have_a_bell() -> None:
    assert "drawn_out = false under [berm]" in one_point_words(shape_berm(*yard(LONG, (5.0, 2.5))))


def test_heights_scale_one_and_the_same_form() -> None:
    """Below the limits half the height is half the fill everywhere, tails and all, but for the mended facets."""
    site, ground = yard(LONG, (5.0, 2.5))
    low = replace(site, berm=replace(site.berm, crest=(replace(site.berm.crest[0], height=0.1),)))
    lower = replace(site, berm=replace(site.berm, crest=(replace(site.berm.crest[0], height=0.05),)))
    one, half = (shape_berm(each, ground).fill for each in (low, lower))
    assert half == pytest.approx(0.5 * one, abs=1e-3)
