"""Feet and metres are said to look mixed where only another unit brings a thing to the survey, and nowhere else."""

from __future__ import annotations

import pytest

from terrain.errors import InputError
from terrain.site.read import build_site


def refusal(crest: list[float]) -> str:
    shots = [[0.0, 0.0, 100.0], [50.0, 0.0, 100.2], [50.0, 40.0, 100.9], [0.0, 40.0, 100.7]]
    tables = {
        "name": "invented yard",
        "units": "ft",
        "survey": {"shots": shots},
        "bed": {"outline": [[2, 2], [20, 2], [20, 12], [2, 12]]},
        "berm": {"max_slope": "4:1", "crest": [[*crest, "14 in"]]},
    }
    with pytest.raises(InputError) as caught:
        build_site(tables)
    return str(caught.value)


@pytest.mark.parametrize("crest", [[30, 20], [48, 33], [21, 6], [0.8, 0.9]])
def test_a_high_point_dragged_off_the_bed_is_no_slip_of_units(crest: list[float]) -> None:
    """Near the origin of a survey any place, times 0.3048, lies in some bed."""
    said = refusal(crest)
    assert "lies outside the bed" in said
    assert "mixed" not in said


@pytest.mark.parametrize("crest", [[60, 22], [55, 30]])
def test_a_high_point_off_the_survey_that_metres_would_bring_into_the_bed_is_one(crest: list[float]) -> None:
    assert "times 0.3048 lie among the shots, so feet and metres look mixed" in refusal(crest)
