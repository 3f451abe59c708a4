"""Slopes: published conversions and limits; each source stands beside its check."""

import math

import pytest

from terrain.limits import CLEARANCE, FALL, FALL_WITHIN, FOOT, INCH, PAVED_SLOPE
from terrain.review.slopes import slope_class
from terrain.units import parse_slope, show_slope

STEEPEST = 10.0  # rise/run: the sides of a dig may be steeper than those of a mound

# Run:rise, per cent, degrees: arithmetic (100 / H, atan 1 / H).
TABLE = (
    ("0.5:1", 200.0, 63.435),
    ("0.75:1", 133.333, 53.130),
    ("1:1", 100.0, 45.000),
    ("1.25:1", 80.0, 38.660),
    ("1.5:1", 66.667, 33.690),
    ("2:1", 50.0, 26.565),
    ("2.5:1", 40.0, 21.801),
    ("3:1", 33.333, 18.435),
    ("4:1", 25.0, 14.036),
    ("5:1", 20.0, 11.310),
    ("10:1", 10.0, 5.711),
    ("12:1", 8.333, 4.764),
    ("20:1", 5.0, 2.862),
    ("48:1", 2.083, 1.193),
    ("50:1", 2.0, 1.146),
    ("100:1", 1.0, 0.573),
)


@pytest.mark.parametrize(("written", "percent", "degrees"), TABLE)
def test_run_to_rise_percent_and_degrees_are_one_slope(written, percent, degrees):
    slope = parse_slope(written, "test", STEEPEST)
    assert 100 * slope == pytest.approx(percent, abs=6e-4)
    assert math.degrees(math.atan(slope)) == pytest.approx(degrees, abs=6e-4)
    assert parse_slope(f"{percent} %", "test", STEEPEST) == pytest.approx(slope, abs=6e-6)
    assert parse_slope(f"{degrees} deg", "test", STEEPEST) == pytest.approx(slope, abs=5e-5)


def test_percent_is_not_degrees_and_run_is_not_rise():
    assert math.degrees(math.atan(parse_slope("25 %", "test"))) == pytest.approx(14.036, abs=6e-4)
    assert parse_slope("25 %", "test") != pytest.approx(math.tan(math.radians(25)), abs=0.1)
    # Swapped, 3:1 would stand at 71.565 degrees.
    assert math.degrees(math.atan(parse_slope("3:1", "test"))) == pytest.approx(18.435, abs=6e-4)
    # 33 % is 3.03:1, not 3:1; 15 degrees is 26.795 %.
    assert 1 / parse_slope("33 %", "test") == pytest.approx(3.0303, abs=1e-4)
    assert 100 * parse_slope("15 deg", "test") == pytest.approx(26.795, abs=6e-4)


@pytest.mark.parametrize(
    ("slope", "source"),
    [
        ("2:1", None),  # allowed as such
        ("50.1 %", "P100"),  # GSA P100 (2003) sec. 2.5: steeper than 2:1 not acceptable; IBC J107.6
        ("33.4 %", "P100"),  # GSA P100 (2003) sec. 2.5: steeper than 3:1 needs ground cover or an erosion product
        ("25.1 %", "Veterans Affairs"),  # VA site design manual sec. 12.7: mowed slopes at most 4:1
        ("20.1 %", "Veterans Affairs"),  # the same: berms and mounds at most 5:1
    ],
)
def test_steeper_than_a_published_limit_names_its_source(slope, source):
    found = slope_class(parse_slope(slope, "test"))
    assert found is not None
    assert found.limit.value < parse_slope(slope, "test") + 1e-9
    if source:
        assert source in found.limit.source


def test_each_published_limit_itself_is_within():
    limits = {"2:1": 1 / 3, "3:1": 1 / 4, "4:1": 1 / 5, "5:1": None}
    for written, next_over in limits.items():
        found = slope_class(parse_slope(written, "test"))
        assert (found.limit.value if found else None) == next_over


def test_three_to_one_is_beyond_a_riding_mower():
    # Minnesota Safety Council, quoted: 15 degrees; 3:1 is 18.4 degrees.
    assert "mower" in slope_class(parse_slope("3:1", "test")).text
    assert "mower" not in slope_class(parse_slope("4:1", "test")).text


def test_fall_beside_a_building_is_five_per_cent():
    # IRC R401.3: 6 in within 10 ft; a page that calls it 6 % is wrong.
    assert pytest.approx(6 * INCH, abs=1e-12) == FALL.value
    assert pytest.approx(10 * FOOT, abs=1e-12) == FALL_WITHIN.value
    assert pytest.approx(0.05, abs=1e-12) == FALL.value / FALL_WITHIN.value
    assert show_slope(FALL.value / FALL_WITHIN.value) == "20.0:1 (5 %)"


def test_one_in_forty_eight_over_ten_feet_is_two_and_a_half_inches():
    # IBC site grading, where climate or soil allows less than 1:20; paving falls 2 % (IRC R401.3): 2.4 in.
    assert parse_slope("48:1", "test") * 10 * FOOT / INCH == pytest.approx(2.5, abs=1e-9)
    assert PAVED_SLOPE.value * FALL_WITHIN.value / INCH == pytest.approx(2.4, abs=1e-9)


def test_degrees_that_a_rule_rounds_are_not_taken_for_its_slopes():
    # 29 CFR 1926 Subpart P, table B-1, writes 53, 34 and 63 degrees for 0.75:1, 1.5:1 and 0.5:1: rounded figures.
    for written, degrees in (("0.75:1", 53), ("1.5:1", 34), ("0.5:1", 63)):
        exact = parse_slope(written, "test", STEEPEST)
        assert round(math.degrees(math.atan(exact))) == degrees
        assert parse_slope(f"{degrees} deg", "test", STEEPEST) != pytest.approx(exact, abs=1e-3)


def test_two_and_a_half_feet_in_ten_is_not_fifteen_degrees():
    # Safety sheets on mowers round 15 degrees (2.68 ft in 10 ft) to 2.5 ft, which is 4:1.
    assert parse_slope("15 deg", "test") * 10.0 == pytest.approx(2.679, abs=1e-3)
    assert 1.0 / parse_slope("15 deg", "test") == pytest.approx(3.732, abs=1e-3)
    assert parse_slope("4:1", "test") * 10.0 == pytest.approx(2.5, abs=1e-12)


def test_clearance_below_the_floor_is_six_inches():
    # IRC R404.1.6 (foundation top over grade) and R317.1 (wood over ground): 6 in.
    assert pytest.approx(0.1524, abs=1e-12) == CLEARANCE.value
