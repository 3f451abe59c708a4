"""What is said of slopes, and of wishes that the limits held back."""

import numpy as np
import pytest
import review_yards as yards
from hypothesis import given, strategies as st
from shapely.geometry import box

from terrain.review.slopes import SLOPE_CLASSES, area_steeper, facet_slopes, slope_class, wish_findings
from terrain.site.model import Berm, CrestPoint

BED = box(5.0, 5.0, 15.0, 15.0)


def said(max_slope=0.25, toe=None, soil=None, units="m", existing=0.0, **values):
    ground = yards.make_ground(yards.make_grid(cell=0.5), existing)
    proposal = yards.make_proposal(ground, yards.dome(10, 10, 4, 0.5), BED, **values)
    berm = Berm(max_slope, (CrestPoint(10.0, 10.0, 0.5),), soil=soil, toe=toe)
    return yards.asked(yards.OF_SLOPES, yards.make_site(BED, units, berm=berm), proposal=proposal)


def test_slope_within_the_limit_is_a_note_that_names_the_steepest_place():
    (found,) = said(steepest=0.19)
    assert (found.level, found.topic, found.value, found.bound) == ("note", "slopes", 0.19, 0.25)
    assert "5.3:1" in found.text
    # US Department of Veterans Affairs, site development design manual, sec. 12.7: berms that are mown up to 5:1.
    assert "It may be mown or planted" in found.text
    assert not [f.text for f in said(steepest=0.21) if "may be mown" in f.text]
    # The dome h (1 - r^2/R^2)^2 is steepest at r = R / sqrt(3) = 2.31 m.
    assert np.hypot(found.at[0] - 10, found.at[1] - 10) == pytest.approx(2.31, abs=0.4)


@pytest.mark.parametrize(("over", "level"), [(1e-7, "note"), (1e-5, "stop")])
def test_limit_holds_to_a_millionth(over, level):
    assert said(steepest=0.19 + over, max_slope=0.19)[0].level == level


def test_broken_limit_and_a_published_stop_are_both_told():
    levels = [(f.level, f.bound) for f in said(steepest=0.6)]
    assert levels == [("stop", 0.25), ("stop", 0.5)]
    assert [f.level for f in said(steepest=0.4, max_slope=0.5)] == ["caution"]
    assert [f.level for f in said(steepest=0.3, max_slope=0.25)] == ["stop"]


@pytest.mark.parametrize(
    ("slope", "level"),
    [(0.2, None), (0.21, "note"), (0.26, "note"), (1 / 3, "note"), (0.34, "caution"), (0.51, "stop")],
)
def test_published_classes_begin_above_their_bound(slope, level):
    found = slope_class(slope)
    assert (found.level if found else None) == level


@given(st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_steeper_ground_is_never_spoken_of_more_softly(one, other):
    rank = [1.0, *(c.limit.value for c in SLOPE_CLASSES)]
    flat, steep = sorted((one, other))
    found = [slope_class(s) for s in (flat, steep)]
    over = [f.limit.value if f else 0.0 for f in found]
    assert over[0] <= over[1]
    assert all(o in rank or o == 0.0 for o in over)


def test_ground_that_is_steep_already_is_a_caution_with_its_place():
    # A bank of 2:1 in the ground from x = 14 on, where no soil lies.
    found = said(existing=lambda x, y: 0.5 * np.maximum(x - 14.0, 0.0), existing_steepest=0.5)
    (steep,) = [f for f in found if "already" in f.text or "itself" in f.text]
    assert (steep.level, steep.value, steep.bound) == ("caution", 0.5, 0.25)
    assert steep.at[0] > 14.0
    assert "no steeper" in steep.text


def test_berm_that_makes_steep_ground_steeper_is_a_stop():
    found = said(existing=lambda x, y: 0.3 * x, existing_steepest=0.3)
    assert [f.level for f in found if "steeper still" in f.text] == ["stop"]


def test_unmet_wish_names_height_and_what_held_it():
    found = said(crest=(yards.short_crest(30 * 0.0254, 22 * 0.0254),), units="ft")
    (crest,) = [f for f in found if f.topic == "shape"]
    assert crest.text == (
        "The crest at x 3.28, y 6.56 is 22 in high where 30 in was wished. "
        "It is held by the slope limit from the bed outline."
    )
    assert (crest.level, crest.value, crest.bound) == ("note", pytest.approx(0.5588), pytest.approx(0.762))


def test_met_wishes_and_an_inch_are_not_worth_a_word():
    met = (yards.short_crest(0.5, 0.5), yards.short_crest(0.5, 0.48))
    assert [f for f in said(crest=met) if f.topic == "shape"] == []


def test_many_unmet_wishes_are_three_and_a_sum():
    crest = tuple(yards.short_crest(1.0, 1.0 - 0.1 * k) for k in range(1, 7))
    shape = [f for f in said(crest=crest) if f.topic == "shape"]
    assert len(shape) == 4
    assert [f.value for f in shape[:3]] == pytest.approx([0.4, 0.5, 0.6])
    assert "3 more crest points" in shape[3].text
    assert "30 cm" in shape[3].text


def test_heights_scaled_to_the_soil_on_hand_and_a_narrow_toe_are_told():
    found = said(toe=0.9, height_scale=0.8)
    texts = [f.text for f in found if f.topic == "shape"]
    assert any("80 %" in t for t in texts)
    assert any("0.60 m where 0.90 m" in t for t in texts)
    assert [f for f in said(toe=0.6) if f.topic == "shape"] == []
    (wider,) = (f for f in said(toe=0.0) if f.topic == "shape")
    assert "was asked. The grid of the ground draws none narrower." in wider.text


@pytest.mark.parametrize(
    ("left", "words"), [(2.0, "2.0 m3 loose of it is left over"), (-1.5, "1.5 m3 loose more is needed"), (0.05, "")]
)
def test_soil_on_hand_that_the_limits_do_not_take_is_told(left, words):
    found = [f for f in said(soil=10.0, soil_left=left) if f.topic == "shape"]
    assert [f.level for f in found] == (["caution"] if words else [])
    assert all(words in f.text and "10.0 m3 loose on hand" in f.text for f in found)


@given(st.floats(-0.5, 0.5), st.floats(-0.5, 0.5))
def test_facets_of_a_plane_have_its_slope(east, north):
    mesh = yards.plates((box(3, 4, 9, 8), 0.0), existing=lambda x, y: 100 + east * x + north * y)
    assert facet_slopes(mesh, mesh.existing) == pytest.approx(np.hypot(east, north), abs=1e-9)


def test_what_is_advised_for_soil_left_over_uses_it():
    """Built on level ground: the advised slope, and the advised larger bed, take about the soil that was left."""
    from dataclasses import replace

    from random_sites import ground_on, site_with
    from shapely import affinity

    from terrain.grid import Grid
    from terrain.shape.berm import shape_berm

    grid = Grid(0.0, 0.0, 0.1, 221, 221)
    ground = ground_on(grid, np.full(grid.shape, 10.0))
    bed = box(6.0, 7.0, 15.0, 14.0)

    def left(outline, slope):
        site = site_with(outline, [(10.5, 10.5, 0.5)], slope, toe=0.0)
        site = replace(site, berm=replace(site.berm, soil=30.0), bed=replace(site.bed, sod=0.0))
        return site, shape_berm(site, ground)

    site, proposal = left(bed, 0.2)
    (found,) = [f for f in wish_findings(site, proposal) if "on hand" in f.text]
    assert found.level == "caution"
    share = found.value / 30.0
    assert share > 0.15
    larger = float(found.text.split("about ")[1].split(" %")[0]) / 100.0
    run = float(found.text.split("sides of about ")[1].split(":")[0])
    wider = left(affinity.scale(bed, (1.0 + larger) ** 0.5, (1.0 + larger) ** 0.5), 0.2)[1]
    steeper = left(bed, 1.0 / run)[1]
    for changed in (wider, steeper):
        assert abs(changed.soil_left) < 0.06 * 30.0


def test_soil_missing_without_any_mound_says_what_to_strip_or_order():
    (found,) = [f for f in said(soil=10.0, soil_left=-2.0) if "on hand" in f.text]
    assert "2.0 m3 loose more is needed" in found.text
    assert "buy it" in found.text


def test_the_height_that_the_soil_makes_is_told():
    (found,) = [f for f in said(soil=10.0, height_scale=0.8) if "80 %" in f.text]
    assert "50 cm at the top" in found.text


@pytest.mark.parametrize(("over", "area"), [(0.29, 50.0), (0.31, 0.0)])
def test_the_area_that_is_steeper_is_that_of_the_plane(over, area):
    # A plane of 10 m by 5 m at 30 %, all of it new soil.
    mesh = yards.plates((box(0.0, 0.0, 10.0, 5.0), lambda x, y: 0.1 + 0.3 * x))
    assert area_steeper(mesh, over) == pytest.approx(area, abs=1e-9)
