"""What the drawings choose to show: the sections run through the top, within the yard; the view faces the house."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scenario import yard
from shapely import affinity
from shapely.geometry import Point, Polygon, box

from viewer.page.subject import (
    Subject,
    long_axis,
    needed_ground,
    section_lines,
    top_of_mound,
    tree_circles,
    yard_bounds,
)
from viewer.pictures.overview import view_direction

SITE, GROUND, PROPOSAL, WORK = yard("ft")


def test_both_sections_run_through_the_top_and_across_the_bed() -> None:
    top = Point(top_of_mound(PROPOSAL)[:2])
    for section in section_lines(SITE, PROPOSAL):
        assert section.line.distance(top) < 1e-9
        assert box(*yard_bounds(GROUND.grid)).buffer(1e-9).contains(section.line)
        assert not SITE.bed.outline.contains(Point(section.start))
        assert not SITE.bed.outline.contains(Point(section.end))


def test_the_sections_stand_square_and_the_first_is_along_the_bed() -> None:
    first, second = section_lines(SITE, PROPOSAL)
    one, other = (np.array(s.end) - np.array(s.start) for s in (first, second))
    assert abs(one @ other) < 1e-9 * first.length * second.length
    assert first.length > second.length


@pytest.mark.parametrize("turn", [0.0, 20.0, 75.0, 90.0, 140.0])
def test_the_long_axis_turns_with_the_bed(turn: float) -> None:
    outline = affinity.rotate(box(0, 0, 10, 4), turn)
    axis, length = long_axis(outline)
    assert length == pytest.approx(10.0, rel=1e-9)
    wanted = np.array([np.cos(np.radians(turn)), np.sin(np.radians(turn))])
    assert abs(axis @ wanted) == pytest.approx(1.0, rel=1e-9)


def test_where_there_is_no_mound_the_middle_of_the_bed_stands_for_its_top() -> None:
    flat = replace(PROPOSAL, fill=np.zeros(GROUND.grid.shape))
    east, north, height = top_of_mound(flat)
    assert height == 0.0
    assert flat.worked.contains(Point(east, north))


def test_the_plan_shows_the_bed_every_near_tree_and_nothing_outside_the_yard() -> None:
    shown = box(*needed_ground(SITE, GROUND.grid))
    assert shown.contains(SITE.bed.outline)
    assert all(shown.contains(circle.circle(circle.keep_off)) for circle in tree_circles(SITE))
    assert box(*yard_bounds(GROUND.grid)).buffer(1e-9).contains(shown)


def test_a_house_far_off_does_not_shrink_the_plan() -> None:
    far = replace(SITE.building[0], outline=affinity.translate(SITE.building[0].outline, 0.0, 200.0))
    alone = needed_ground(replace(SITE, building=()), GROUND.grid)
    assert needed_ground(replace(SITE, building=(far,)), GROUND.grid) == alone


@pytest.mark.parametrize(
    ("house", "toward"), [((28.0, 40.0), (0, 1)), ((28.0, -20.0), (0, -1))], ids=["house north", "house south"]
)
def test_the_eye_stands_away_from_the_house(house: tuple[float, float], toward: tuple[int, int]) -> None:
    outline: Polygon = Point(house[0] * 0.3048, house[1] * 0.3048).buffer(3.0)
    site = replace(SITE, building=(replace(SITE.building[0], outline=outline),))
    assert view_direction(Subject(site, GROUND, PROPOSAL, WORK)) @ np.array(toward) > 0.9


def test_without_a_house_the_eye_stands_to_the_south_west() -> None:
    view = view_direction(Subject(replace(SITE, building=()), GROUND, PROPOSAL, WORK))
    assert view @ np.array([1.0, 1.0]) > 0.0
