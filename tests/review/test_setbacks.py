"""The lot line: setbacks by published figures, distances exact on the mesh, and no soil on other land."""

import pytest
import review_yards as yards
from shapely.geometry import box

from terrain.limits import FOOT
from terrain.numerics.disc import fill_facets
from terrain.review.setbacks import cut_setback, nearest_to_line, setback_findings, toe_setback
from terrain.site.model import Berm, CrestPoint

LOT = box(0.0, 0.0, 20.0, 20.0)


@pytest.mark.parametrize(
    ("height", "top_of_cut", "toe_of_fill"),
    # Topeka KS 17.05.190 (b) and (c), all in feet.
    [
        (3, 2, 2),
        (5, 2, 2.5),
        (8, 2, 4),
        (10, 2, 5),
        (12, 2.4, 6),
        (20, 4, 10),
        (30, 6, 15),
        (40, 8, 20),
        (50, 10, 20),
        (60, 10, 20),
    ],
)
def test_setbacks_of_the_table(height, top_of_cut, toe_of_fill):
    assert cut_setback(height * FOOT) / FOOT == pytest.approx(top_of_cut, abs=1e-9)
    assert toe_setback(height * FOOT) / FOOT == pytest.approx(toe_of_fill, abs=1e-9)


def told(plate, depth, lot=LOT):
    site = yards.make_site(plate, "ft", boundary=lot, berm=Berm(0.25, (CrestPoint(10.0, 10.0, 0.5),)))
    ground = yards.make_ground(yards.make_grid(cell=1.0))
    return setback_findings(site, yards.make_proposal(ground, 0.0, plate, yards.plates((plate, depth))))


@pytest.mark.parametrize(("feet", "near"), [(1.5, True), (2.001, False), (1.999, True)])
def test_low_mound_keeps_two_feet(feet, near):
    found = told(box(5.0, 5.0, 20.0 - feet * FOOT, 15.0), 0.5)
    assert [(f.level, f.topic) for f in found] == ([("caution", "safety")] if near else [])
    if near:
        assert found[0].value == pytest.approx(feet * FOOT, abs=1e-9)
        assert found[0].bound == pytest.approx(2 * FOOT, abs=1e-12)
        assert found[0].at[0] == pytest.approx(20.0, abs=1e-9)
        assert "local code decides" in found[0].text


def test_higher_mound_keeps_half_its_height():
    (found,) = told(box(5.0, 5.0, 19.0, 15.0), 8 * FOOT)
    assert (found.value, found.bound) == (pytest.approx(1.0), pytest.approx(4 * FOOT))


def test_digging_keeps_its_own_setback():
    (found,) = told(box(5.0, 5.0, 19.5, 15.0), -0.4)
    assert found.text.startswith("The edge of the digging comes within 1 ft 7 1/2 in of the lot line")
    assert found.bound == pytest.approx(2 * FOOT)


def test_soil_past_the_lot_line_is_a_stop_with_its_farthest_place():
    (found,) = told(box(5.0, 5.0, 21.0, 15.0), 0.5)
    assert (found.level, found.value) == ("stop", pytest.approx(1.0, abs=1e-12))
    assert found.at[0] == pytest.approx(21.0)
    assert "past the lot line" in found.text


def test_without_a_lot_line_or_soil_nothing_is_said():
    assert told(box(5.0, 5.0, 19.9, 15.0), 0.5, lot=None) == ()
    assert told(box(5.0, 5.0, 19.9, 15.0), 0.0005) == ()


def test_nearest_is_found_where_no_corner_lies_near():
    # The lot's own corner points into the long side of a plate.
    lot = box(0, 0, 20, 20).difference(box(9.0, -1.0, 11.0, 4.0))
    away, at = nearest_to_line(lot, fill_facets(yards.plates((box(2.0, 5.0, 18.0, 8.0), 0.5))))
    assert away == pytest.approx(1.0, abs=1e-12)
    assert at[1] == pytest.approx(4.0, abs=1e-12)


@pytest.mark.parametrize(("past", "level"), [(0.001, "stop"), (-0.001, "caution")])
def test_a_millimetre_past_the_lot_line_is_on_other_land(past, level):
    (found,) = told(box(5.0, 5.0, 20.0 + past, 15.0), 0.5)
    assert found.level == level
