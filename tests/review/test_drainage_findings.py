"""Water that the berm makes stand or turns is charged to it; what stood before is not."""

import math

import numpy as np
import pytest
import review_yards as yards
from shapely.geometry import Polygon, box

from terrain.limits import FALL, FOOT, INCH, NOISE, POND
from terrain.review.buildings import fall_away, worst_fall
from terrain.review.walls import walls_of
from terrain.site.model import Building

BED = box(2.0, 2.0, 18.0, 18.0)
HOUSE = Building("house", box(6.0, 14.0, 14.0, 18.0), 1.5)


def drained(existing, fill, *buildings, bed=BED, units="m"):
    ground = yards.make_ground(yards.make_grid(), existing)
    proposal = yards.make_proposal(ground, fill, bed)
    return yards.drained(yards.make_site(bed, units, building=buildings), ground, proposal)


def charged(found):
    """The findings that the work is charged with: what is said of the ground as it is left out."""
    return [f for f in found.findings if "as it is" not in f.text]


def south(x, y):
    """Ground that falls 5 % to the south."""
    return 0.05 * y


def horseshoe(x, y):
    """A ridge open uphill, to the north."""
    away = np.hypot(x - 10, y - 10)
    return np.where((away > 3) & (away < 5) & ((y < 10) | (np.abs(x - 10) > 3)), 0.4, 0.0)


def test_dome_on_a_slope_makes_no_pond():
    found = drained(south, yards.dome(10, 10, 4, 0.3))
    assert found.water.ponds == ()
    assert [f for f in found.findings if "stand" in f.text] == []


def test_horseshoe_open_uphill_makes_one_and_its_depth_and_place_are_told():
    found = drained(south, horseshoe)
    (pond,) = found.water.ponds
    # Lowest ground inside the ridge lies at y = 7 and the way out round the ends of its arms, at y = 14.
    assert pond.depth == pytest.approx(0.05 * 7, abs=1e-9)
    assert pond.at[1] == pytest.approx(7.0, abs=0.3)
    assert 0.5 < pond.volume < pond.area * pond.depth
    (told,) = [f for f in found.findings if "stand" in f.text]
    assert (told.level, told.topic, told.bound, told.at) == ("caution", "drainage", POND.value, pond.at)


def test_pond_of_a_ring_is_the_water_it_encloses():
    # A ring on level ground, inner radius 3 m, 0.2 m high: a pond pi 9 x 0.2 (common geometry).
    ring = drained(0.0, lambda x, y: np.where(np.abs(np.hypot(x - 10, y - 10) - 3.5) < 0.5, 0.2, 0.0))
    (pond,) = ring.water.ponds
    assert pond.depth == pytest.approx(0.2, abs=1e-12)
    assert pond.volume == pytest.approx(math.pi * 9 * 0.2, rel=0.03)


def test_hollow_that_was_there_before_is_not_charged():
    def hollow(x, y):
        return 0.05 * y - 0.5 * np.exp(-((x - 10) ** 2 + (y - 10) ** 2))

    assert drained(hollow, 0.0).water.ponds == ()
    assert drained(hollow, yards.dome(4, 4, 2, 0.3)).water.ponds == ()


def test_shallow_ponds_and_many_ponds_are_told_briefly():
    def rings(x, y, height):
        near = [np.abs(np.hypot(x - a, y - b) - 1.2) < 0.3 for a in (5, 10, 15) for b in (5, 10)]
        return np.where(np.any(near, axis=0), height, 0.0)

    assert drained(0.0, lambda x, y: rings(x, y, 0.015)).water.ponds == ()
    many = drained(0.0, lambda x, y: rings(x, y, 0.1))
    assert len(many.water.ponds) == 6
    told = [f for f in many.findings if "stand" in f.text]
    assert len(told) == 3
    assert told[2].text.startswith("4 smaller ponds")


def test_hollow_between_berm_and_house_shows():
    # Ground falls to the house's south wall; a straight berm south of it closes the gap at both ends.
    def existing(x, y):
        return 1.0 - 0.03 * np.minimum(y, 13.0)

    def wall(x, y):
        ends = (np.abs(x - 10) > 3.4) & (np.abs(x - 10) < 4.4) & (y > 11) & (y < 14.5)
        return np.where(((np.abs(y - 11) < 0.5) & (np.abs(x - 10) < 4.4)) | ends, 0.4, 0.0)

    assert drained(existing, wall, HOUSE).water.ponds
    free = drained(existing, 0.0, HOUSE)
    assert charged(free) == []


def test_water_turned_toward_a_house_is_told():
    # Ground falls to the south with the house in the south-east; a slanting ridge leads the west's water to it.
    house = Building("house", box(12.0, 2.0, 17.0, 6.0))

    def ridge(x, y):
        return np.where((np.abs(y - (13 - 0.5 * x)) < 0.5) & (x < 12), 0.5, 0.0)

    found = drained(lambda x, y: 0.02 * y, ridge, house)
    (told,) = [f for f in found.findings if "toward house" in f.text]
    assert told.level == "caution"
    assert told.value > told.bound + 10.0
    assert charged(drained(lambda x, y: 0.02 * y, 0.0, house)) == []


def test_water_sent_over_another_side_is_told_with_its_side():
    def ridge(x, y):
        return np.where(np.abs(y - (4 + 0.5 * x)) < 0.5, 0.5, 0.0)

    found = drained(lambda x, y: 0.02 * y, ridge, bed=box(0, 0, 20, 20))
    (told,) = [f for f in found.findings if "side" in f.text]
    assert "over the west side" in told.text
    assert told.value > told.bound


def test_level_ground_sends_no_water_anywhere_and_a_dome_on_it_turns_none():
    house = Building("house", box(14.0, 14.0, 19.0, 19.0), 0.5)
    assert charged(drained(0.0, yards.dome(8, 8, 4, 0.5), house)) == []
    rng = np.random.default_rng(3)
    found = drained(lambda x, y: 1e-9 * rng.normal(size=x.shape), yards.dome(8, 8, 4, 0.5), house)
    assert charged(found) == []
    # A bank across level ground parts nothing that a survey could have seen run either way.
    bank = drained(lambda x, y: 1e-9 * x, lambda x, y: np.where(np.abs(x - 12) < 1, 0.3, 0.0), bed=box(0, 0, 20, 20))
    assert charged(bank) == []


# The fall away from a building: IRC R401.3, 6 in within the first 10 ft.


def falls(existing, within=10 * FOOT):
    grid = yards.make_grid(cell=0.1)
    ground = yards.make_ground(grid, existing)
    walls = walls_of(box(8.0, 12.0, 12.0, 16.0))
    found = fall_away(grid, ground.elevation, walls, within, NOISE.value)
    return found[walls.outward[:, 1] < -0.5]  # the south wall


@pytest.mark.parametrize(
    ("inches", "share", "passes"), [(6.0, 0.05000, True), (5.0, 0.04167, False), (2.4, 0.02, False)]
)
def test_fall_over_ten_feet_is_the_plane_s(inches, share, passes):
    # 6 in in 10 ft is 5.000 %, 5 in 4.167 %, 2 % is 2.4 in: arithmetic.
    found = falls(lambda x, y: inches * INCH / (10 * FOOT) * y)
    assert found == pytest.approx(inches * INCH, abs=1e-9)
    assert found / (10 * FOOT) == pytest.approx(share, abs=5e-6)
    assert (found >= FALL.value - 1e-9).all() == passes


def test_six_inches_in_ten_feet_is_five_per_cent_and_not_six():
    # A web page calls it 6 %; a grade of 5.5 % tells a tool that follows it from one that does not.
    assert (falls(lambda x, y: 0.055 * y) > FALL.value).all()
    assert (falls(lambda x, y: 0.049 * y) < FALL.value).all()


def test_fall_ends_at_the_first_rise():
    # Falls 5 % for 1 m, rises 0.1 m, then drops far: what lies beyond the rise takes no water from the wall.
    def ground(x, y):
        away = 12.0 - y
        return np.where(away < 1, -0.05 * away, np.where(away < 2, 0.1, -1.0))

    assert falls(ground) == pytest.approx(0.05, abs=0.013)  # places 0.15 m apart, cells of 0.1 m
    assert falls(lambda x, y: 0.04 * (12 - y)) == pytest.approx(-0.04 * 10 * FOOT, abs=1e-9)


def test_outward_is_away_from_the_house_whichever_way_the_outline_runs():
    for ring in ([(0, 0), (4, 0), (4, 3), (0, 3)], [(0, 0), (0, 3), (4, 3), (4, 0)]):
        walls = walls_of(Polygon(ring))
        outside = walls.foot + 0.01 * walls.outward
        from shapely import contains_xy

        assert not contains_xy(Polygon(ring), outside).any()
        assert contains_xy(Polygon(ring), walls.foot - 0.01 * walls.outward).all()


def beside_house(height, existing=lambda x, y: 0.06 * y, bed=None):
    bed = box(4.0, 2.0, 16.0, 14.0) if bed is None else bed
    ground = yards.make_ground(yards.make_grid(), existing)
    proposal = yards.make_proposal(ground, yards.dome(10, 10, 3.5, height), bed)
    site = yards.make_site(bed, "ft", building=(HOUSE,))
    return worst_fall(HOUSE, ground, proposal), yards.drained(site, ground, proposal).findings


def test_only_fall_that_the_berm_takes_away_is_charged():
    assert beside_house(0.0)[0] is None
    # Too flat before, but the berm takes nothing: not its fault, and said as what it is.
    fall, (told,) = beside_house(0.0, existing=lambda x, y: 0.01 * y)
    assert fall is None
    assert told.level == "note"
    assert "as it is" in told.text
    fall, findings = beside_house(0.35)
    assert fall.before == pytest.approx(0.06 * 10 * FOOT, abs=1e-3)
    assert fall.after < FALL.value
    (told,) = [f for f in findings if "falls" in f.text]
    assert (told.level, told.bound) == ("stop", FALL.value)
    assert "within 10 ft of the wall" in told.text


def test_berm_that_turns_the_ground_toward_the_wall_is_a_stop():
    ridge = box(4.0, 2.0, 16.0, 14.0)
    ground = yards.make_ground(yards.make_grid(), lambda x, y: 0.06 * y)
    proposal = yards.make_proposal(ground, lambda x, y: 0.2 * np.clip(14.0 - y, 0.0, 2.0), ridge)
    site = yards.make_site(ridge, "ft", building=(HOUSE,))
    assert worst_fall(HOUSE, ground, proposal).after < 0.0
    told = [f for f in yards.drained(site, ground, proposal).findings if "no longer" in f.text]
    assert [f.level for f in told] == ["stop"]


def test_ground_that_rose_from_the_wall_already_is_said_so():
    fall, findings = beside_house(0.5, existing=lambda x, y: -0.02 * y)
    assert fall.before < 0.0
    assert [f.level for f in findings if "does not fall away" in f.text] == ["stop"]


@pytest.mark.parametrize(("floor", "level", "words"), [(0.30, "stop", "of its floor"), (2.0, "caution", "damp")])
def test_soil_against_a_wall_is_a_stop_where_it_nears_the_floor(floor, level, words):
    # IRC R404.1.6 and R317.1: 6 in below.
    house = Building("house", HOUSE.outline, floor)
    found = drained(0.0, 0.2, house, bed=box(2.0, 2.0, 18.0, 14.2))
    (told,) = [f for f in found.findings if "against" in f.text]
    assert told.level == level
    assert words in told.text


# Paving beside a building: 2 % (IRC R401.3), in place of the 5 % of soil.


def flat_side(fall, *, paved=False, part=1.0):
    """Ground that falls to the south; a mound takes some of it beside a house whose south side is paved in part."""
    from terrain.review.buildings import needed_fall, paved_ground
    from terrain.site.model import KeepClear

    patio = KeepClear("patio", box(5.0, 14.0 - part * 10 * FOOT, 15.0, 14.0), paved)
    site = yards.make_site(box(5, 2, 15, 14), "ft", building=(HOUSE,), keep_clear=(patio,))
    ground = yards.make_ground(yards.make_grid(cell=0.1), lambda x, y: (fall + 0.02) * y)
    proposal = yards.make_proposal(ground, lambda x, y: 0.02 * (14.0 - y), box(5, 2, 15, 14))
    needed = needed_fall(walls_of(HOUSE.outline), paved_ground(site))
    return needed, [f for f in charged(yards.drained(site, ground, proposal)) if "falls" in f.text]


@pytest.mark.parametrize(
    ("fall", "paved", "levels"),
    [(0.03, False, ["stop"]), (0.03, True, []), (0.019, True, ["stop"]), (0.051, False, [])],
)
def test_paving_needs_less_fall_than_soil(fall, paved, levels):
    _, told = flat_side(fall, paved=paved)
    assert [f.level for f in told] == levels
    for found in told:
        inches = found.bound / INCH
        assert inches == pytest.approx(2.4 if paved else 6.0, abs=1e-6)  # 10 ft at 2 % and at 5 %: arithmetic
        assert ("paving" in found.source) == paved


def test_stretch_that_is_paved_in_part_asks_for_each_over_its_part():
    needed, _ = flat_side(0.03, paved=True, part=0.5)
    south = walls_of(HOUSE.outline).outward[:, 1] < -0.5
    assert needed[south] / INCH == pytest.approx(0.5 * 2.4 + 0.5 * 6.0, abs=0.2)
    assert needed[~south] / INCH == pytest.approx(6.0, abs=0.4)


@pytest.mark.parametrize(("trunk", "words"), [(0.5, ", over the roots of oak."), (0.2, " m3. Open a way out")])
def test_a_pond_over_roots_names_the_tree(trunk, words):
    # Water stands deepest 3 m from the trunk; twelve diameters are 6 m and 2.4 m.
    from terrain.site.model import Tree

    ground = yards.make_ground(yards.make_grid(), south)
    proposal = yards.make_proposal(ground, horseshoe, BED)
    site = yards.make_site(BED, tree=(Tree("oak", (10.0, 4.0), trunk, 0.3, 1.0),))
    (told,) = [f for f in yards.drained(site, ground, proposal).findings if "water stand" in f.text]
    assert words in told.text


# The ground as it is: IRC R401.3 asks for 6 in of fall within the first 10 ft, 5 %; a survey tells half an inch (common
# practice, no published source).


@pytest.mark.parametrize(
    ("fall", "level"),
    [(-0.05, "caution"), (-0.005, "caution"), (-0.003, "note"), (0.0, "note"), (0.045, "note"), (0.051, None)],
)
@pytest.mark.parametrize("mound", [False, True])
def test_ground_that_falls_towards_a_house_by_nature_is_said(fall, level, mound):
    from terrain.review.buildings import existing_fall

    house = Building("house", box(0.5, 14.0, 19.5, 18.0), 1.5)  # only its south side has 10 ft of ground on the grid
    ground = yards.make_ground(yards.make_grid(), lambda x, y: fall * y)
    bed = box(8.0, 0.5, 12.0, 3.0)  # past the first 10 ft: the berm changes nothing there
    proposal = yards.make_proposal(ground, yards.dome(10, 1.7, 1.0, 0.2 if mound else 0.0), bed)
    site = yards.make_site(bed, "ft", building=(house,))
    told = [f for f in yards.drained(site, ground, proposal).findings if "as it is" in f.text]
    assert [f.level for f in told] == ([level] if level else [])
    for found in told:
        # A slope has the same fall over the same stretch from every place of a wall across it: arithmetic.
        assert found.value == pytest.approx(fall * 10 * FOOT, abs=2e-3)
        assert ("falls towards house" in found.text) == (level == "caution")
        assert existing_fall(house, ground, proposal) is not None
