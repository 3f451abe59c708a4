"""What the survey leaves in doubt is told, and no more than it."""

import pytest
import review_yards as yards
from shapely.geometry import Point, box

from terrain.review.ground import ground_findings

BED = box(5.0, 5.0, 15.0, 15.0)


def told(**ground):
    return ground_findings(yards.make_site(BED), yards.make_ground(yards.make_grid(), **ground))


def test_bed_inside_the_survey_and_shots_that_agree_are_no_finding():
    assert told() == ()


def test_share_of_the_bed_outside_the_hull_is_exact_and_has_its_place():
    (found,) = told(hull=box(0.0, 0.0, 20.0, 12.0))
    assert (found.level, found.topic) == ("caution", "ground")
    assert found.value == pytest.approx(0.3, abs=1e-12)
    assert "30.0 m2 of the bed, 30 %" in found.text
    assert box(5.0, 12.0, 15.0, 15.0).contains(Point(found.at))


def test_a_sliver_outside_still_counts_but_rounding_does_not():
    assert "less than 1 %" in told(hull=box(0.0, 0.0, 20.0, 14.99))[0].text
    assert told(hull=box(5.0, 5.0, 15.0, 15.0 - 1e-7)) == ()


def test_doubtful_shots_are_told_worst_first_and_the_many_in_one():
    shots = tuple(yards.doubtful(str(k), 0.1 * k) for k in range(1, 6))
    found = told(doubtful=shots)
    assert [f.text.split()[1] for f in found[:3]] == ["5", "4", "3"]
    assert found[3].text == "2 more shots are off from their neighbours by up to 20 cm: 2, 1."
    assert all(f.level == "caution" for f in found)
    assert found[0].at == (3.0, 4.0)


def test_notes_of_the_ground_model_are_passed_on():
    (found,) = told(notes=("The ground was modelled on 9 shots.",))
    assert (found.level, found.text) == ("note", "The ground was modelled on 9 shots.")
