"""The three ways in which a yard is laid on the earth, each beside the answer of the library of coordinate systems."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pyproj
import pytest

from terrain.earth.laid import MapFix, laid_by_bearing, laid_by_points, named_system
from terrain.earth.located import SURVEY_FOOT, Located
from terrain.earth.proj import EARTH, between, code_of
from terrain.errors import InputError
from terrain.grid import Array
from terrain.site.north import North, north_of
from terrain.site.read import build_site
from terrain.units import Units

WGS84 = pyproj.Geod(ellps="WGS84")
CENTIMETRE = 0.01
YARD = np.random.default_rng(7).uniform(-150.0, 150.0, (60, 2))  # metres: far more than a yard
SYSTEMS = {  # a place inside each, in its own unit
    "EPSG:26915": (512_340.12, 4_512_345.67),  # UTM, metres
    "EPSG:2264": (1_500_000.0, 600_000.0),  # North Carolina, US survey feet
    "EPSG:2269": (7_640_000.0, 690_000.0),  # Oregon North, international feet
    "EPSG:25832": (565_000.0, 5_930_000.0),  # ETRS89 / UTM 32N
    "EPSG:27700": (450_000.0, 300_000.0),  # a national grid
    "EPSG:28355": (320_000.0, 5_800_000.0),  # south of the equator
}


def apart(lonlat: Array, other: Array) -> float:
    """Metres between two lists of places on the ellipsoid, at most."""
    return float(np.abs(WGS84.inv(*lonlat.T, *other.T)[2]).max())


def on_grid(code: str, places: Array) -> Array:
    """Longitude and latitude of coordinates of a system, as the library itself has them."""
    return np.column_stack(pyproj.Transformer.from_crs(code, 4326, always_xy=True).transform(*places.T))


@pytest.mark.parametrize(("code", "units"), [("EPSG:26915", "m"), ("2264", "ft"), ("EPSG:2269", "ft")])
def test_coordinates_of_a_registered_system_lie_where_the_library_has_them(code: str, units: Units) -> None:
    located = named_system(code, units, "crs")
    unit = 0.3048 if units == "ft" else 1.0
    numbers = np.array(SYSTEMS[f"EPSG:{code.removeprefix('EPSG:')}"]) + YARD / unit
    assert apart(located.to_earth(numbers * unit), on_grid(code, numbers)) < 1e-6


@pytest.mark.parametrize("lat", [44.95, 0.0, -33.0, 69.0])
@pytest.mark.parametrize("bearing", [0.0, 23.5, 170.0, -120.0])
@pytest.mark.parametrize("units", ["ft", "m"])
def test_a_point_and_a_bearing_lay_the_yard_where_the_geodesics_run(lat: float, bearing: float, units: Units) -> None:
    """Karney's geodesics of the library from the point, by azimuth and distance."""
    at = np.array([10.0, 20.0])
    located = laid_by_bearing(MapFix("A", (10.0, 20.0), (-93.09, lat)), math.radians(bearing), units)
    east, north = (YARD - at).T
    azimuths = np.degrees(np.arctan2(east, north)) + bearing
    lon, up, _ = WGS84.fwd(np.full(60, -93.09), np.full(60, lat), azimuths, np.hypot(east, north))
    assert apart(located.to_earth(YARD), np.column_stack([lon, up])) < 1e-5
    assert math.remainder(located.north_at((10.0, 20.0)) + math.radians(bearing), math.tau) == pytest.approx(
        0, abs=1e-8
    )


@pytest.mark.parametrize("code", SYSTEMS)
@pytest.mark.parametrize("count", [2, 5])
def test_points_known_on_the_map_lay_the_yard_where_the_library_has_them(code: str, count: int) -> None:
    system = pyproj.CRS(code)
    base = system.geodetic_crs.to_wkt()
    unit = system.axis_info[0].unit_conversion_factor
    turn = np.exp(1j * math.radians(23.5)) / unit
    numbers = complex(*SYSTEMS[code]) + turn * (YARD[:, 0] + 1j * YARD[:, 1])
    grid = np.column_stack([numbers.real, numbers.imag])
    geographic = between(code, base, grid)
    fixes = [MapFix(f"P{k}", tuple(YARD[k]), tuple(geographic[k])) for k in range(count)]
    located = laid_by_points(fixes, base, "m", "place")
    assert apart(located.to_earth(YARD), on_grid(code, grid)) < CENTIMETRE / 10.0
    assert "than the survey" in located.notes[0]


def test_two_points_of_the_worked_example() -> None:
    """By hand f = (B - A) / (b - a) = 0.304678 m/ft, turned 23.500 degrees: feet (0, 0), (80, 0) on a metric grid."""
    code = "EPSG:26915"
    base = pyproj.CRS(code).geodetic_crs.to_wkt()
    known = between(code, base, np.array([(512340.120, 4512345.670), (512362.473, 4512355.389)]))
    fixes = [MapFix("A", (0.0, 0.0), tuple(known[0])), MapFix("B", (80 * 0.3048, 0.0), tuple(known[1]))]
    located = laid_by_points(fixes, base, "ft", "place")
    there = between(EARTH, code, located.to_earth(np.array([[40.0, 50.0]]) * 0.3048))
    assert there[0] == pytest.approx([512345.222, 4512364.500], abs=0.002)


def test_a_third_point_tells_what_the_map_is_off() -> None:
    """One of four corners is 20 cm out: least squares leave it the farthest off, by about half of that."""
    plane = laid_by_bearing(MapFix("A", (0.0, 0.0), (-93.09, 44.95)), 0.3, "m")
    corners = np.array([(0.0, 0.0), (30.0, 0.0), (30.0, 20.0), (0.0, 20.0)])
    lonlat = plane.to_earth(corners + np.array([(0.0, 0.2), (0.0, 0.0), (0.0, 0.0), (0.0, 0.0)]))
    fixes = [MapFix(name, tuple(at), tuple(there)) for name, at, there in zip("ABCD", corners, lonlat, strict=True)]
    said = laid_by_points(fixes, EARTH, "m", "place").notes[0]
    assert "at A" in said
    assert 0.05 < float(said.partition("off by up to ")[2].partition(" m")[0]) < 0.15


def test_the_two_feet_are_never_taken_for_each_other() -> None:
    """85 FR 62698: 1200/3937 m. At 1,500,000 ft the wrong one is 3 ft off, 0.914 m."""
    survey, international = named_system("2264", "ft", "crs"), named_system("2269", "ft", "crs")
    assert (survey.in_survey_feet, international.in_survey_feet) == (True, False)
    assert "US survey feet, and so do x and y, number for number" in survey.notes[0]
    assert international.notes == ()
    as_international = np.array([(1_500_000.0 * 0.3048 / SURVEY_FOOT, 600_000.0)])
    off = apart(on_grid("EPSG:2264", np.array([(1_500_000.0, 600_000.0)])), on_grid("EPSG:2264", as_international))
    assert off == pytest.approx(0.914, abs=0.002)
    with pytest.raises(InputError, match=r"2264 counts in US survey feet, and the site in m.*Accepted: units = \"ft\""):
        named_system("2264", "m", "crs")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("somewhere", "is no number of a coordinate system"),
        ("EPSG:999999", "is not in the register"),
        ("EPSG:4326", r"\(WGS 84\) counts in degrees"),
        ("+proj=utm +zone=15", "is no number"),
        ("/etc/passwd", "is no number"),
    ],
)
def test_what_is_no_plane_system_is_refused(text: str, said: str) -> None:
    with pytest.raises(InputError, match=said):
        code_of(text, "[survey] crs")


def test_a_compound_system_gives_its_plan() -> None:
    assert code_of("6344+5703", "crs") == "EPSG:6344"
    assert named_system("EPSG:6344+5703", "m", "crs").system == "EPSG:6344"


YARD_FIELDS: dict[str, Any] = {
    "name": "invented yard",
    "units": "m",
    "bed": {"outline": [[2, 2], [8, 2], [8, 6], [2, 6]]},
    "berm": {"max_slope": "4:1", "crest": [[4, 4, 0.3], [6, 4, 0.2]]},
}
SHOTS = [[x, y, 50.0 + 0.01 * x] for x in range(0, 11, 2) for y in range(0, 9, 2)]


def site(**survey: object) -> Located:
    built = build_site({**YARD_FIELDS, "survey": {"shots": SHOTS, **survey}})
    assert built.survey.located is not None
    return built.survey.located


def test_a_site_says_where_it_is_by_points_of_its_survey() -> None:
    by_name = site(
        place={"point": "A", "lat": 44.95, "lon": -93.09, "toward": "B", "bearing": "12 deg"},
        points={"A": [0, 0], "B": [0, 10]},
    )
    by_shot = site(place={"point": "1", "lat": 44.95, "lon": -93.09, "toward": "5", "bearing": 12})  # (0, 0), (0, 8)
    by_place = site(place={"point": [0, 0], "lat": 44.95, "lon": -93.09, "bearing": 12})
    spots = np.array([[9.0, 3.0]])
    assert apart(by_name.to_earth(spots), by_place.to_earth(spots)) < 1e-6
    assert apart(by_shot.to_earth(spots), by_place.to_earth(spots)) < 1e-6


@pytest.mark.parametrize(
    ("survey", "said"),
    [
        ({"crs": "EPSG:26915"}, r"crs: x 5\.00, y 4\.00 lies .* off the ground that EPSG:26915"),
        ({"crs": "EPSG:2269"}, "counts in feet, and the site in m"),
        ({"crs": "EPSG:2193"}, "off the ground"),
        ({"place": {"point": [0, 0], "lat": 44.95, "lon": -93.09}}, "has no bearing"),
        ({"place": {"point": [0, 0], "lat": -93.09, "lon": 44.95, "bearing": 0}}, "Are lat and lon exchanged"),
        ({"place": {"point": "Q", "lat": 44.95, "lon": -93.09, "bearing": 0}}, '"Q" is no point of the survey'),
        ({"place": {"point": [0, 0], "lat": 44.95, "bearing": 0}}, "lacks lon"),
        ({"place": {"point": [0, 0], "at": 3, "lat": 44.95, "lon": 1, "bearing": 0}}, '"at" is no key of a place'),
        ({"place": {"point": [0, 0], "lat": "north", "lon": 1, "bearing": 0}}, 'lat = "north" is no number'),
        ({"place": {"point": [0, 0], "lat": 44.95, "lon": 1, "bearing": "north"}}, '"north" is no bearing'),
        ({"place": {"point": [0, 0], "east": 1, "north": 2}}, "one point with east and north"),
        (
            {"place": [{"point": [0, 0], "east": 1, "north": 2}, {"point": [9, 0], "east": 10, "north": 2}]},
            "which system",
        ),
        (
            {"crs": "EPSG:26915", "place": {"point": [0, 0], "lat": 44.95, "lon": -93.09, "bearing": 0}},
            "x and y are coordinates of EPSG:26915 already",
        ),
        (
            {
                "place": [
                    {"point": [0, 0], "lat": 44.95, "lon": -93.09},
                    {"point": [10, 0], "lat": 44.95, "lon": -93.08},
                ]
            },
            "times as far",
        ),
        (
            {"place": [{"point": [0, 0], "lat": 44.95, "lon": -93.09}, {"point": [0, 0], "lat": 44.95, "lon": -93.09}]},
            "stand on one place",
        ),
        ({"crs": True}, "true is no coordinate system"),
    ],
)
def test_a_place_that_cannot_be_is_refused_in_words(survey: dict[str, Any], said: str) -> None:
    with pytest.raises(InputError, match=said):
        site(**survey)


def test_web_mercator_is_no_measuring_grid() -> None:
    """EPSG:3857 at 45 N: 1 m is drawn 1.41 m long."""
    moved = [[x - 10_362_000.0, y + 5_615_000.0, z] for x, y, z in SHOTS]
    with pytest.raises(InputError, match=r"3857 .* is no measuring grid: there a length of 100 on the ground is 14\d"):
        build_site({**YARD_FIELDS, "survey": {"shots": moved, "crs": "EPSG:3857"}})


def test_ground_that_nobody_measured_lies_on_earth_too() -> None:
    built = build_site(
        {
            **YARD_FIELDS,
            "survey": {"surface": "flat", "place": {"point": [0, 0], "lat": 44.95, "lon": -93.09, "bearing": 0}},
        }
    )
    assert built.survey.located is not None
    assert built.survey.located.to_earth(np.zeros((1, 2)))[0] == pytest.approx([-93.09, 44.95], abs=1e-9)


def test_the_arrow_of_a_sheet_says_which_north_it_is() -> None:
    """Grid convergence by the library's own factors: Proj.get_factors, EPSG:26915 three degrees off its meridian."""
    bare = build_site({**YARD_FIELDS, "survey": {"shots": SHOTS}})
    assert north_of(bare) == North(0.0, "Arrow: north of the survey's own coordinates.")
    turned = {"point": [0, 0], "lat": 44.95, "lon": -93.09, "bearing": 12}
    own = north_of(build_site({**YARD_FIELDS, "survey": {"shots": SHOTS, "place": turned}}))
    assert (own.said, math.degrees(own.turn)) == ("Arrow: true north.", pytest.approx(-12.0, abs=1e-3))
    for east, side in ((736_000.0, "left"), (264_000.0, "right")):
        fields = {
            **YARD_FIELDS,
            "bed": {"outline": [[east + x, y + 4_980_000.0] for x, y in YARD_FIELDS["bed"]["outline"]]},
            "berm": {"max_slope": "4:1", "crest": [[east + x, y + 4_980_000.0, z] for x, y, z in ((4, 4, 0.3),)]},
            "survey": {"shots": [[east + x, y + 4_980_000.0, z] for x, y, z in SHOTS], "crs": "EPSG:26915"},
        }
        built = build_site(fields)
        lon, lat = pyproj.Transformer.from_crs(26915, 4269, always_xy=True).transform(east + 5, 4_980_004.0)
        convergence = pyproj.Proj("EPSG:26915").get_factors(lon, lat).meridian_convergence
        north = north_of(built)
        assert north.turn == 0.0
        assert f"{abs(convergence):.1f}° to its {side}" in north.said
        assert "EPSG:26915" in north.said
