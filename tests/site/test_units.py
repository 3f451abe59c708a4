"""What people write becomes SI, and SI is shown as they read it."""

from __future__ import annotations

import math

import pint
import pytest
from hypothesis import given, strategies as st

from terrain.errors import InputError
from terrain.spellings import LENGTHS, SI, TIMES, TON, VOLUMES, WEIGHTS
from terrain.units import (
    parse_length,
    parse_share,
    parse_slope,
    parse_volume,
    show_area,
    show_length,
    show_place,
    show_slope,
    show_volume,
    unit_length,
    unit_volume,
    written_units,
)

INCH = 0.0254  # metres, exact by the international yard of 1959
CUBIC_YARD = 0.764554857984  # m3, exact: (36 x 0.0254)^3
EXACT = 1e-14  # relative: a few roundings of a double


def test_every_unit_is_what_an_independent_table_of_units_has() -> None:
    written = {unit for table in (LENGTHS, VOLUMES, WEIGHTS, TON, TIMES) for unit in table.values()}
    assert written <= SI.keys()
    independent = pint.UnitRegistry()
    for unit, factor in SI.items():
        assert factor == pytest.approx(independent.Quantity(1.0, unit).to_base_units().magnitude, rel=EXACT), unit


@pytest.mark.parametrize(
    ("written", "metres"),
    [
        (31.5, 31.5 * 12 * INCH),
        (12, 144 * INCH),
        ("31.5", 31.5 * 12 * INCH),
        ("-3 ft", -36 * INCH),
        (-3, -36 * INCH),
        ("18 in", 18 * INCH),
        ("18in", 18 * INCH),
        ("18 inches", 18 * INCH),
        ("1/2 in", 0.5 * INCH),
        ("4 1/2 in", 4.5 * INCH),
        ("4-1/2 in", 4.5 * INCH),
        ("4½ in", 4.5 * INCH),
        ("2 ft 4 1/2 in", 28.5 * INCH),
        ("2 ft, 4 in", 28 * INCH),
        ("2 feet 4 inches", 28 * INCH),
        ("2' 4 1/2\"", 28.5 * INCH),
        ("2'-4 1/2\"", 28.5 * INCH),
        ("2'4\"", 28 * INCH),
        ("2′ 4″", 28 * INCH),
        ("1 yd", 36 * INCH),
        ("0.45 m", 0.45),
        ("45 cm", 0.45),
        ("450 mm", 0.45),
        (" 0.45  M ", 0.45),
        ("1e1 m", 10.0),
    ],
)
def test_a_length_is_read_as_written(written: float | str, metres: float) -> None:
    assert parse_length(written, "ft", "here") == pytest.approx(metres, rel=EXACT)


def test_a_bare_number_is_in_the_units_of_the_site() -> None:
    assert parse_length(2, "m", "here") == 2.0
    assert parse_length(2, "ft", "here") == pytest.approx(24 * INCH, rel=EXACT)
    assert parse_volume(2, "m", "here") == 2.0
    assert parse_volume(2, "ft", "here") == pytest.approx(2 * CUBIC_YARD, rel=EXACT)
    assert (unit_length("m"), unit_volume("m")) == (1.0, 1.0)
    assert unit_length("ft") == pytest.approx(12 * INCH, rel=EXACT)
    assert unit_volume("ft") == pytest.approx(CUBIC_YARD, rel=EXACT)


@pytest.mark.parametrize(
    "written",
    [
        *("", "abc", "26 inn", "3 yd3", "3 m3", "3 ft 4", "4 in 2 ft", "5 ft 5 ft", "1.2.3 ft", "--3 ft", "-+3 ft"),
        *("1/0 in", "1,200 ft", "nan", "inf", "1e999", "ft", "3 4 ft", "0x10", "1_000"),
        *(math.nan, math.inf, True, None, [1.0], {"ft": 1}),
    ],
)
def test_what_is_no_length_is_refused(written: object) -> None:
    with pytest.raises(InputError, match=r"^shots\.csv row 7: .* is not a length\. Accepted: a number in ft"):
        parse_length(written, "ft", "shots.csv row 7")  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("written", "m3"),
    [
        ("4 cu yd", 4 * CUBIC_YARD),
        ("10 yd3", 10 * CUBIC_YARD),
        ("10 yd^3", 10 * CUBIC_YARD),
        ("10 yd³", 10 * CUBIC_YARD),
        ("1 1/2 cubic yards", 1.5 * CUBIC_YARD),
        ("27 cu ft", CUBIC_YARD),
        ("3 cubic feet", CUBIC_YARD / 9),
        ("0.5 m3", 0.5),
        ("0.5 cu m", 0.5),
        ("80 L", 0.08),
        ("80 litres", 0.08),
    ],
)
def test_a_volume_is_read_as_written(written: str, m3: float) -> None:
    assert parse_volume(written, "ft", "here") == pytest.approx(m3, rel=EXACT)


@pytest.mark.parametrize("written", ["4 yd", "4 ft", "many", "", "4 cu", "nan", True])
def test_what_is_no_volume_is_refused(written: str) -> None:
    with pytest.raises(InputError, match=r'is not a volume\. Accepted: a number in m3, or .*"80 L"'):
        parse_volume(written, "m", "here")


@pytest.mark.parametrize(
    ("written", "rise_run"),
    [
        ("4:1", 0.25),
        ("4 : 1", 0.25),
        ("2.5:1", 0.4),
        ("8:2", 0.25),
        ("1:1", 1.0),
        ("25 %", 0.25),
        ("25%", 0.25),
        ("33.3 %", 0.333),
        ("45 deg", 1.0),
        ("14°", math.tan(math.radians(14))),
        (0.25, 0.25),
        ("0.25", 0.25),
    ],
)
def test_a_slope_is_run_to_rise_or_percent_or_degrees(written: float | str, rise_run: float) -> None:
    assert parse_slope(written, "here") == pytest.approx(rise_run, rel=EXACT)


@pytest.mark.parametrize("written", [0, 0.0, "0", "0 %", "4:0", "0 deg", -0.25, "-4:1", "-14 deg"])
def test_a_slope_that_is_not_above_zero_is_refused(written: float | str) -> None:
    with pytest.raises(InputError, match="leaves no room to rise; it must be above 0"):
        parse_slope(written, "here")


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("1:4", "a slope of 400 %"),
        (25, "2500 %"),
        (4, "400 %"),
        ("60 deg", "173 %"),
        ("0:1", "upright"),
        ("90 deg", ""),
    ],
)
def test_a_slope_written_the_wrong_way_round_is_refused_with_the_right_way(written: float | str, said: str) -> None:
    with pytest.raises(InputError, match=f"{said}.* A slope is run:rise: 4 across for 1 up is written 4:1"):
        parse_slope(written, "here")


@pytest.mark.parametrize("written", ["", "steep", "4:", ":1", "4:1:1", "a:b", "0:0", "nan %", True, math.nan, None])
def test_what_is_no_slope_is_refused(written: float | str) -> None:
    with pytest.raises(InputError, match="is not a slope"):
        parse_slope(written, "here")


@pytest.mark.parametrize(("written", "share"), [("8 %", 0.08), ("8%", 0.08), (0.08, 0.08), ("0.08", 0.08), (0, 0.0)])
def test_a_share_is_a_percentage_or_a_fraction(written: float | str, share: float) -> None:
    assert parse_share(written, "here") == pytest.approx(share, rel=EXACT)


@pytest.mark.parametrize(
    ("written", "match"),
    [(8, "8 is 800 %, out of range"), ("100 %", "out of range"), (-0.1, "out of range"), ("a lot", "is not a share")],
)
def test_what_is_no_share_is_refused(written: float | str, match: str) -> None:
    with pytest.raises(InputError, match=match):
        parse_share(written, "here")


@pytest.mark.parametrize(
    ("text", "units"),
    [
        ("101.25 ft", "ft"),
        ("-3 in", "ft"),
        ("2' 4 1/2\"", "ft"),
        ("0.4 m", "m"),
        ("40cm", "m"),
        ("40", None),
        ("x", None),
    ],
)
def test_a_written_length_tells_its_system(text: str, units: str | None) -> None:
    assert written_units(text) == units


@pytest.mark.parametrize(
    ("metres", "kind", "feet", "metric"),
    [
        (0.5588, "depth", "22 in", "56 cm"),
        (0.565, "depth", "22 1/4 in", "56.5 cm"),
        (0.0, "depth", "0 in", "0 cm"),
        (-0.0001, "depth", "0 in", "0 cm"),
        (-0.1, "depth", "-4 in", "-10 cm"),
        (0.0127, "depth", "1/2 in", "1.5 cm"),
        (9.6012, "distance", "31 ft 6 in", "9.60 m"),
        (9.614, "distance", "31 ft 6 1/2 in", "9.61 m"),
        (3.048, "distance", "10 ft", "3.05 m"),
        (3.0478, "distance", "10 ft", "3.05 m"),
        (0.0, "distance", "0 ft", "0.00 m"),
        (-0.4572, "distance", "-1 ft 6 in", "-0.46 m"),
        (30.861, "elevation", "101.25 ft", "30.861 m"),
    ],
)
def test_a_length_is_shown_as_a_crew_reads_it(metres: float, kind: str, feet: str, metric: str) -> None:
    assert show_length(metres, "ft", kind) == feet  # type: ignore[arg-type]
    assert show_length(metres, "m", kind) == metric  # type: ignore[arg-type]


def test_volumes_areas_slopes_and_places_are_shown_in_the_units_of_the_site() -> None:
    assert show_volume(14 * CUBIC_YARD, "ft", "loose") == "14.0 cu yd loose"
    assert show_volume(10.72, "m") == "10.7 m3"
    assert show_area(61.2, "ft") == "659 sq ft"
    assert show_area(61.2, "m") == "61.2 m2"
    assert show_slope(0.25) == "4.0:1 (25 %)"
    assert show_slope(0.249) == "4.0:1 (24.9 %)"
    assert show_slope(0.0) == "level"
    assert show_place(31 * 12 * INCH, 22.5 * 12 * INCH, "ft") == "x 31.00, y 22.50"


def test_a_little_soil_never_reads_as_none() -> None:
    assert show_volume(0.01, "ft") == "0.4 cu ft"
    assert show_volume(0.01, "m") == "10.0 L"
    assert show_volume(0.0, "m") == "0.0 m3"


lengths = st.floats(-500.0, 500.0)
units = st.sampled_from(["ft", "m"])


@given(metres=lengths, units=units, kind=st.sampled_from(["depth", "distance", "elevation"]))
def test_a_length_that_is_shown_reads_back_within_half_of_its_last_mark(metres: float, units: str, kind: str) -> None:
    mark = {
        ("depth", "ft"): INCH / 4,
        ("distance", "ft"): INCH / 2,
        ("elevation", "ft"): 0.12 * INCH,
        ("depth", "m"): 0.005,
        ("distance", "m"): 0.01,
        ("elevation", "m"): 0.001,
    }[kind, units]
    shown = show_length(metres, units, kind)  # type: ignore[arg-type]
    back = parse_length(shown, "m" if units == "ft" else "ft", "here")  # the text carries its own unit
    assert abs(back - metres) <= mark / 2 + 1e-9


@given(m3=st.floats(0.0, 1000.0), units=units)
def test_a_volume_that_is_shown_reads_back_within_half_of_its_last_mark(m3: float, units: str) -> None:
    back = parse_volume(show_volume(m3, units), "m", "here")  # type: ignore[arg-type]
    assert abs(back - m3) <= 0.05 * unit_volume(units) + 1e-9  # type: ignore[arg-type]


@given(inches=st.integers(0, 5000), parts=st.sampled_from([2, 4, 8]), rest=st.integers(0, 7))
def test_feet_and_inches_add_up(inches: int, parts: int, rest: int) -> None:
    feet, whole = divmod(inches, 12)
    part = rest % parts
    written = f"{feet} ft {whole} {part}/{parts} in"
    assert parse_length(written, "m", "here") == pytest.approx((inches + part / parts) * INCH, rel=1e-12, abs=1e-12)


@given(slope=st.floats(0.01, 0.999))
def test_run_to_rise_percent_and_degrees_name_the_same_slope(slope: float) -> None:
    written = [f"{1 / slope!r}:1", f"{100 * slope!r} %", f"{math.degrees(math.atan(slope))!r} deg"]
    for text in written:
        assert parse_slope(text, "here") == pytest.approx(slope, rel=1e-12)
