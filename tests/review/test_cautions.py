"""Each caution comes where it applies, and only there."""

from dataclasses import replace

import pytest
import review_yards as yards
from shapely.geometry import box

from terrain.limits import FOOT, PERMIT_VOLUME
from terrain.review.pits import pit_duty
from terrain.review.trees import check_trees
from terrain.site.features import RetainedEdge
from terrain.site.model import Soil, Tree, Walk

BED = box(5.0, 5.0, 15.0, 15.0)
TREE = Tree("bur oak", (16.5, 10.0), 0.5, 0.5, 1.5)


def told(fill=0.0, tree=(), sod=0.0, units="m", mesh=None, **work):
    ground = yards.make_ground(yards.make_grid())
    proposal = yards.make_proposal(ground, fill, BED, mesh)
    site = yards.make_site(BED, units, sod=sod, tree=tree)
    answer = yards.make_work(**work)
    return yards.asked(yards.CAUTIONS, site, ground, proposal, answer, check_trees(site, proposal, answer))


def with_word(findings, word):
    return [f for f in findings if word in f.text]


def test_locating_lines_and_who_decides_are_always_there():
    found = told(placed=0.0)
    assert [f.level for f in found] == ["caution", "caution"]
    assert all(word in found[0].text for word in ("811", "old tanks", "slabs", "drain field"))
    assert "decide" in found[1].text


@pytest.mark.parametrize(
    ("feet", "expected", "words"),
    [
        # 29 CFR 1926.651(c)(2): a way out at 4 ft; 1926.652(a)(1): protection at 5.0 ft, below it a look.
        (4.99, "caution", "way out"),
        (5.00, "caution", "shored or laid back"),
        (4.00, "caution", "way out"),
        (3.99, "caution", "competent person look"),
        (20.0, "stop", "engineer"),
        (19.99, "caution", "shored or laid back"),
    ],
)
def test_pit_duties_begin_at_their_depths(feet, expected, words):
    level, text = pit_duty(feet * FOOT, "ft")
    assert level == expected
    assert words in text
    if feet < 20:
        assert "2 ft back" in text  # 1926.651(j)(2)


def test_shallow_hole_is_no_pit():
    assert pit_duty(0.9 * FOOT, "ft") is None
    assert pit_duty(0.0, "m") is None


def test_pit_of_the_design_is_found_with_its_place():
    mesh = yards.plates((box(5, 5, 10, 15), 0.3), (box(10, 5, 15, 15), lambda x, y: -0.05 * x))
    (found,) = with_word(told(mesh=mesh), "pit")
    assert found.value == pytest.approx(0.75)
    assert found.at[0] == 15.0


def test_roots_trucks_and_bare_slopes_only_where_there_are_any():
    quiet = told(yards.dome(10, 10, 4.5, 0.05), placed=0.0)
    for word in ("barrow runs", "overhead", "bare until", "Swell"):
        assert not with_word(quiet, word)
    loud = told(yards.dome(10, 10, 4.9, 0.6), tree=(TREE,), sod=0.05)
    for word in ("root protection zone of bur oak", "overhead", "bare until", "Swell"):
        assert len(with_word(loud, word)) == 1
    assert "strip the sod there by hand" in with_word(loud, "barrow runs")[0].text


def test_bare_slope_is_the_area_over_six_per_cent():
    # A roof of two planes, one at 10 % and one at 5 %, each 5 by 10 m in plan.
    mesh = yards.plates((box(5, 5, 10, 15), lambda x, y: 0.1 * (x - 4)), (box(10, 5, 15, 15), lambda x, y: 0.05 * x))
    (found,) = with_word(told(mesh=mesh), "bare until")
    assert found.value == pytest.approx(50.0, abs=1e-9)


def test_permit_is_asked_for_deep_or_large_fill():
    assert with_word(told(yards.dome(10, 10, 4, 0.5)), "permit")[0].level == "caution"
    assert with_word(told(yards.dome(10, 10, 4, 1.0)), "grading permit")[0].level == "caution"
    assert with_word(told(yards.dome(10, 10, 4, 0.5), placed=39.0), "grading permit")[0].level == "caution"
    assert pytest.approx(38.2, abs=0.05) == PERMIT_VOLUME.value  # 50 cu yd


def test_lengths_are_told_in_the_units_of_the_site():
    dig = yards.plates((box(5, 5, 10, 15), 0.3), (box(10, 5, 15, 15), -1.6))
    metric = " ".join(f.text for f in told(mesh=dig, tree=(TREE,)))
    feet = " ".join(f.text for f in told(mesh=dig, tree=(TREE,), units="ft"))
    assert "1.52 m deep" in metric
    assert "3.05 m from any overhead line" in metric
    assert "15 cm to 30 cm of wood chips" in metric
    assert "5 ft deep" in feet
    assert "10 ft from any overhead line" in feet
    assert " ft" not in metric
    assert " m " not in feet


def test_several_trees_are_read_out_as_a_list():
    trees = tuple(Tree(name, (16.5, 10.0), 0.5, 0.5, 1.0) for name in ("bur oak", "birch", "elm"))
    (found,) = with_word(told(yards.dome(10, 10, 4.9, 0.6), tree=trees), "barrow runs")
    assert "bur oak, birch and elm" in found.text


def test_lot_line_that_the_file_holds_is_not_asked_for():
    ground = yards.make_ground(yards.make_grid())
    proposal = yards.make_proposal(ground, yards.dome(10, 10, 4, 0.5), BED)
    words = {}
    for lot in (None, box(0.0, 0.0, 20.0, 20.0)):
        site = yards.make_site(BED, boundary=lot)
        (words[lot is None],) = with_word(
            yards.asked(yards.CAUTIONS, site, ground, proposal, yards.make_work()), "a permit"
        )
    assert "holds no lot line" in words[True].text
    assert "lot line" not in words[False].text


def test_an_acre_of_bed_asks_for_the_storm_water_permit():
    # 40 CFR 122.26(b)(15), as an EPA fact sheet quotes it: 1 acre of land disturbance or more.
    for side, said in ((63.5, 0), (63.7, 1)):  # metres; an acre is a square of 63.61 m
        bed = box(0.0, 0.0, side, side)
        ground = yards.make_ground(yards.make_grid())
        proposal = yards.make_proposal(ground, yards.dome(10, 10, 4, 0.5), bed)
        found = yards.asked(yards.CAUTIONS, yards.make_site(bed), ground, proposal, yards.make_work())
        assert len(with_word(found, "storm water")) == said


@pytest.mark.parametrize(("feet", "ground_slope", "said"), [(5.1, 0.21, 1), (4.9, 0.21, 0), (5.1, 0.19, 0)])
def test_deep_fill_on_steep_ground_is_benched(feet, ground_slope, said):
    # Portland OR 24.70.080.
    ground = yards.make_ground(yards.make_grid())
    proposal = yards.make_proposal(ground, yards.dome(10, 10, 4.5, feet * FOOT), BED, existing_steepest=ground_slope)
    found = yards.asked(yards.CAUTIONS, yards.make_site(BED), ground, proposal, yards.make_work())
    assert len(with_word(found, "benched")) == said


def reviewed(**values):
    """What the cautions say of a mound of soil that is ordered, on a site of the given parts."""
    ground = yards.make_ground(yards.make_grid())
    proposal = yards.make_proposal(ground, yards.dome(10, 10, 4.9, 0.6), BED)
    return yards.asked(yards.CAUTIONS, yards.make_site(BED, "ft", **values), ground, proposal, yards.make_work())


STONES = RetainedEdge("stones", ((6.0, 6.0), (14.0, 6.0)), 0.5)
LITTLE = RetainedEdge("kerb", ((6.0, 6.0), (14.0, 6.0)), 0.15)


@pytest.mark.parametrize(
    ("soil", "edges", "words"),
    [
        (
            Soil(),
            (),
            "before a truck tips: keep at least 10 ft",
        ),  # soil comes by truck, whether its size is stated or not
        (Soil(bag=0.03), (), None),
        (Soil(bag=0.03), (STONES,), "before a machine lifts:"),
        (Soil(bag=0.03), (LITTLE,), None),
        (Soil(truck=6.0), (STONES,), "before a truck tips or a machine lifts:"),
    ],
)
def test_whatever_reaches_up_keeps_off_lines_overhead(soil, edges, words):
    # 29 CFR 1926.600(a)(6), to 50 kV: 10 ft; seen as quoted, not at the agency.
    found = with_word(reviewed(soil=soil, retained_edge=edges), "overhead")
    assert len(found) == (words is not None)
    assert all(words in f.text and f.bound == pytest.approx(10 * FOOT, abs=1e-9) for f in found)


PATH = Walk("path", ((10.0, 3.0), (10.0, 17.0)), 1.0, paved=True)


@pytest.mark.parametrize(
    ("parts", "said"),
    [
        ({}, 0),
        ({"retained_edge": (LITTLE,)}, 1),
        ({"walk": (PATH, replace(PATH, name="other"))}, 1),
        ({"walk": (PATH,), "retained_edge": (STONES, LITTLE)}, 1),
        ({"walk": (replace(PATH, paved=False),)}, 0),
        ({"walk": (replace(PATH, line=((1.0, 3.0), (1.0, 17.0))),)}, 0),
    ],
)
def test_the_dust_of_cutting_is_told_once_and_only_where_something_is_cut(parts, said):
    assert len(with_word(reviewed(**parts), "dust")) == said
