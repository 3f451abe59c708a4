"""Walks: slopes along and across on planes whose answer is known, and only what the work makes steeper."""

import math

import pytest
import review_yards as yards
from shapely.geometry import box

from terrain.review.walks import walk_findings, walk_slopes
from terrain.site.model import Walk

BED = box(5.0, 5.0, 15.0, 15.0)


def stages(fill, existing=0.0):
    ground = yards.make_ground(yards.make_grid(cell=0.1), existing)
    return ground, yards.make_proposal(ground, fill, BED)


def told(walk, fill, existing=0.0):
    ground, proposal = stages(fill, existing)
    return walk_findings(yards.make_site(BED, walk=(walk,)), ground, proposal)


def straight(turn=0.0, width=1.0, paved=False):
    """A walk through the middle of the bed at an angle to the east."""
    away = 3.0 * math.cos(turn), 3.0 * math.sin(turn)
    return Walk("cut through", ((10 - away[0], 10 - away[1]), (10 + away[0], 10 + away[1])), width, paved)


@pytest.mark.parametrize("turn", [0.0, 0.4, math.pi / 4, math.pi / 2, 2.5])
def test_a_plane_of_ten_per_cent_is_split_between_along_and_across(turn):
    # A plane that rises g to the east rises g cos along a walk at an angle, and g sin across it.
    ground, proposal = stages(lambda x, y: 0.1 * (x - 4.0))
    found = walk_slopes(straight(turn), ground, proposal)
    assert found.along == pytest.approx(abs(0.1 * math.cos(turn)) if abs(math.cos(turn)) > 0.05 else 0.0, abs=1e-6)
    assert found.across == pytest.approx(abs(0.1 * math.sin(turn)) if abs(math.sin(turn)) > 0.05 else 0.0, abs=1e-6)


@pytest.mark.parametrize(
    ("slope", "turn", "levels"),
    [
        # GSA P100 (2003) sec. 2.5: 5 % along, 2 % across.
        (0.049, 0.0, []),
        (0.051, 0.0, ["caution"]),
        (0.019, math.pi / 2, []),
        (0.0205, math.pi / 2, ["caution"]),  # passes 1:48 (2.083 %) of the ADA Standards and fails 2 %
    ],
)
def test_walk_bounds_on_either_side(slope, turn, levels):
    found = told(straight(turn), lambda x, y: slope * (x - 4.0))
    assert [f.level for f in found] == levels


def test_text_names_the_steepest_place_and_what_would_do():
    (found,) = told(straight(), lambda x, y: 0.2 * (x - 9.0).clip(0.0, 2.0))
    assert (found.value, found.bound) == (pytest.approx(0.2, abs=1e-3), 0.05)
    assert 9.0 < found.at[0] < 11.0
    assert "20 % along" in found.text
    assert "Steps or another line" in found.text
    (leaning,) = told(straight(math.pi / 2), lambda x, y: 0.06 * (x - 4.0))
    assert (leaning.value, leaning.bound) == (pytest.approx(0.06, abs=1e-6), 0.02)


def test_ground_that_was_steep_before_is_not_charged_to_the_work():
    slope = lambda x, y: 0.15 * x  # noqa: E731
    assert told(straight(), 0.3, slope) == ()
    assert told(straight(), 0.0, slope) == ()
    # The mound eases the slope here.
    assert told(straight(), lambda x, y: 2.0 - 0.1 * x, slope) == ()


def test_a_walk_beside_the_mound_is_left_alone():
    walk = Walk("by the fence", ((1.0, 1.0), (1.0, 19.0)), 1.0)
    assert told(walk, yards.dome(10, 10, 4, 0.8)) == ()


def test_paving_under_the_mound_is_told_with_how_much_its_level_changes():
    (found,) = told(straight(paved=True), yards.dome(10, 10, 4, 0.8))
    assert "paved" in found.text
    assert found.value == pytest.approx(0.8, abs=0.01)


def test_only_the_worst_few_of_many_walks_are_told():
    ground, proposal = stages(yards.dome(10, 10, 4.5, 1.0))
    walks = tuple(Walk(f"walk {k}", ((6.0, 7.0 + k), (14.0, 7.0 + k)), 0.8) for k in range(6))
    found = walk_findings(yards.make_site(BED, walk=walks), ground, proposal)
    assert len(found) == 3
    past = [f.value / f.bound for f in found]
    assert past == sorted(past, reverse=True)


@pytest.mark.parametrize(("high", "levels"), [(0.0125, []), (0.0130, ["caution"])])
def test_a_change_of_half_an_inch_is_noise_and_a_little_more_is_not(high, levels):
    # Half an inch is 12.7 mm; over half a metre it tilts a walk by 2.5 % across, where 2 % is the most.
    walk = Walk("over it", ((10.0, 6.0), (10.0, 14.0)), 0.5)
    found = told(walk, lambda x, y: high * ((x - 9.7) / 0.5).clip(0.0, 1.0) * (x < 12.0))
    assert [f.level for f in found] == levels
