"""Areas of root zones and the shares that a straight edge or a round mound takes of them, against worked tables.

The areas are those that the tool sums: an exact polygon inside a disc of the radius that the named rule gives.
"""

from __future__ import annotations

import math

import pytest
from shapely.geometry import Point, box

from terrain.limits import FOOT, INCH
from terrain.numerics.disc import polygon_area_in_disc
from terrain.review.trees import holding_radius
from terrain.site.root_zones import anchorage_radius, root_zone_radius, structural_root_zone

HERE = (0.0, 0.0)
EVERYWHERE = box(-100.0, -100.0, 100.0, 100.0)


def area(radius: float) -> float:
    """Area of the disc as the tool sums it, m2."""
    return polygon_area_in_disc(EVERYWHERE, HERE, radius)


# Trunk in cm; m2 by BS 5837:2012 Annex D and AS 4970-2009 cl. 3.2, a tenth of the latter (cl. 3.3.2), the structural
# root zone of cl. 3.3.5 and its share of the radius. Computed from those rules; tolerance 0.05 m2.
METRIC = [
    (10, 4.5, 12.6, 1.26, 7.07, 0.750),
    (15, 10.2, 12.6, 1.26, 7.07, 0.750),
    (30, 40.7, 40.7, 4.07, 12.51, 0.554),
    (32, 46.3, 46.3, 4.63, 13.21, 0.534),
    (45, 91.6, 91.6, 9.16, 17.59, 0.438),
    (60, 162.9, 162.9, 16.29, 22.40, 0.371),
    (75, 254.5, 254.5, 25.45, 27.02, 0.326),
    (90, 366.4, 366.4, 36.64, 31.49, 0.293),
    (100, 452.4, 452.4, 45.24, 34.41, 0.276),
    (125, 706.9, 706.9, 70.69, 41.50, 0.242),
    (150, 706.9, 706.9, 70.69, 48.37, 0.262),
]


@pytest.mark.parametrize(("cm", "bs", "as_zone", "tenth", "structural", "ratio"), METRIC)
def test_metric_zones_have_the_areas_of_the_table(
    cm: int, bs: float, as_zone: float, tenth: float, structural: float, ratio: float
) -> None:
    trunk = cm / 100.0
    by_as = root_zone_radius("AS 4970-2009", trunk)
    assert area(root_zone_radius("BS 5837:2012", trunk)) == pytest.approx(bs, abs=0.051)
    assert area(by_as) == pytest.approx(as_zone, abs=0.051)
    assert 0.10 * area(by_as) == pytest.approx(tenth, abs=0.0051)
    assert area(structural_root_zone(trunk)) == pytest.approx(structural, abs=0.0051)
    assert structural_root_zone(trunk) / by_as == pytest.approx(ratio, abs=6e-4)


# Trunk in inches; sq ft at 1.0, 1.25 and 1.5 ft per inch (Vancouver WA 20.170.100; NC State Extension fig. 3; City of
# Edina MN); metres of the protection zone and metres and feet of the structural zone by AS 4970-2009. Arithmetic.
INCHES = [
    (6, 113, 177, 254, 2.00, 1.502, 4.93),
    (12, 452, 707, 1018, 3.66, 2.009, 6.59),
    (18, 1018, 1590, 2290, 5.49, 2.382, 7.82),
    (24, 1810, 2827, 4072, 7.32, 2.688, 8.82),
    (36, 4072, 6362, 9161, 10.97, 3.187, 10.46),
]


@pytest.mark.parametrize(("inches", "one", "one_quarter", "one_half", "as_zone", "structural", "in_feet"), INCHES)
def test_zones_by_the_inch_have_the_areas_of_the_table(
    inches: int, one: int, one_quarter: int, one_half: int, as_zone: float, structural: float, in_feet: float
) -> None:
    trunk = inches * INCH
    for rule, square_feet in (("1 ft per inch", one), ("1.25 ft per inch", one_quarter), ("1.5 ft per inch", one_half)):
        assert area(root_zone_radius(rule, trunk)) / FOOT**2 == pytest.approx(square_feet, abs=0.51)
    assert root_zone_radius("AS 4970-2009", trunk) == pytest.approx(as_zone, abs=0.0051)
    assert structural_root_zone(trunk) == pytest.approx(structural, abs=6e-4)
    assert structural_root_zone(trunk) / FOOT == pytest.approx(in_feet, abs=0.0051)


# Trunk in inches; feet of three diameters: Smiley, Root pruning and stability of young willow oak.
@pytest.mark.parametrize(("inches", "feet"), [(6, 1.5), (12, 3.0), (18, 4.5), (24, 6.0), (36, 9.0)])
def test_no_trench_comes_within_three_diameters(inches: int, feet: float) -> None:
    assert anchorage_radius(inches * INCH) / FOOT == pytest.approx(feet, abs=1e-9)
    # The roots that hold the tree up: these, or the structural root zone where that is wider.
    assert holding_radius(inches * INCH) == max(anchorage_radius(inches * INCH), structural_root_zone(inches * INCH))


# A straight edge at a distance from the stem, in radii of the zone; per cent cut off, to four figures. Geometry.
EDGE = [(0.0, 50.0), (0.25, 34.2519), (0.5, 19.5501), (0.6, 14.2378), (0.75, 7.2147), (0.8, 5.2044), (0.9, 1.8693)]


@pytest.mark.parametrize(("apart", "per_cent"), EDGE)
@pytest.mark.parametrize("radius", [1.0, 7.2, 15.0])
def test_a_straight_edge_cuts_off_the_share_of_the_table(radius: float, apart: float, per_cent: float) -> None:
    beyond = box(apart * radius, -100.0, 100.0, 100.0)
    assert 100.0 * polygon_area_in_disc(beyond, HERE, radius) / area(radius) == pytest.approx(per_cent, abs=6e-5)


# Zone, mound and the distance of their centres in metres; per cent of the zone. Geometry.
LENS = [(7.2, 4.0, 10.0, 2.386), (7.2, 4.0, 9.0, 5.799), (3.6, 3.0, 5.0, 11.525), (1.0, 1.0, 1.0, 39.100)]


@pytest.mark.parametrize(("zone", "mound", "apart", "per_cent"), LENS)
def test_a_round_mound_takes_the_share_of_the_table(zone: float, mound: float, apart: float, per_cent: float) -> None:
    over = Point(apart, 0.0).buffer(mound, quad_segs=2000)
    assert 100.0 * polygon_area_in_disc(over, HERE, zone) / area(zone) == pytest.approx(per_cent, abs=1e-3)


def test_a_published_ratio_and_not_its_square_root_is_the_share_of_area() -> None:
    # A structural zone of 0.371 of the radius is 0.138 of the area: a slip between the two would show.
    trunk = 0.60
    by_area = area(structural_root_zone(trunk)) / area(root_zone_radius("AS 4970-2009", trunk))
    assert by_area == pytest.approx(0.371**2, abs=1e-3)
    assert math.sqrt(by_area) == pytest.approx(0.371, abs=6e-4)
