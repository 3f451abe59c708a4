"""Where water leaves: over the lot line where one is known, on the side that the line faces."""

import dataclasses

import numpy as np
import pytest
import review_yards as yards
from shapely import contains_xy
from shapely.geometry import Polygon, box

from terrain.numerics.flooding import flood
from terrain.review.exits import exits

BED = box(2.0, 2.0, 18.0, 18.0)


def leaving(existing, lot=None, size=20.0, cell=0.25):
    ground = yards.make_ground(yards.make_grid(size, cell), existing)
    onward = flood(ground.elevation).onward
    return {one.side: one for one in exits(ground.grid, onward, onward, lot)}, ground.grid


@pytest.mark.parametrize(("fall", "side"), [((0, 1), "south"), ((0, -1), "north"), ((1, 0), "west"), ((-1, 0), "east")])
def test_tilted_plane_sends_all_its_water_over_its_low_side(fall, side):
    found, grid = leaving(lambda x, y: 0.03 * (fall[0] * x + fall[1] * y))
    assert max(found.values(), key=lambda one: one.after).side == side
    # Nodes of the other sides give their water over their own edge.
    assert found[side].after == pytest.approx((grid.nx - 2) * (grid.ny - 1) * grid.cell**2, rel=1e-3)
    assert found[side].before == found[side].after
    assert not found[side].over_lot_line


def test_roof_parts_the_water_between_two_sides():
    found, _ = leaving(lambda x, y: -0.05 * np.abs(x - 10.0))
    assert found["east"].after == pytest.approx(found["west"].after, rel=0.03)


def test_only_the_lot_counts_and_water_leaves_over_its_line():
    lot = box(4.0, 6.0, 16.0, 14.0)
    found, grid = leaving(lambda x, y: 0.03 * y, lot)
    inside = contains_xy(lot, grid.nodes).sum()
    assert set(found) == {"south"}
    assert found["south"].over_lot_line
    assert found["south"].after == pytest.approx(inside * grid.cell**2, rel=1e-12)
    assert 5.5 < found["south"].at[1] < 6.01


def test_side_is_the_way_the_lot_line_faces():
    # A diamond: the ground falls south-west by west, out over the edge that faces west and south; tilt decides.
    lot = Polygon([(10, 2), (18, 10), (10, 18), (2, 10)])
    steep_west, _ = leaving(lambda x, y: 0.05 * x + 0.0301 * y, lot)
    assert max(steep_west.values(), key=lambda one: one.after).side in ("west", "south")
    turned = Polygon([(4, 5), (16, 4), (17, 15), (5, 16)])
    found, _ = leaving(lambda x, y: 0.05 * x, turned)
    assert max(found.values(), key=lambda one: one.after).side == "west"


def test_survey_that_ends_inside_the_lot_is_told_apart():
    found, _ = leaving(lambda x, y: 0.03 * y, box(-50.0, -50.0, 70.0, 70.0))
    assert not found["south"].over_lot_line


def ridge(x, y):
    return np.where(np.abs(y - (4 + 0.5 * x)) < 0.5, 0.5, 0.0)


def test_water_turned_over_a_neighbours_line_is_charged_and_named():
    bed = box(0.0, 0.0, 20.0, 20.0)
    ground = yards.make_ground(yards.make_grid(), lambda x, y: 0.02 * y)
    proposal = yards.make_proposal(ground, ridge, bed)
    site = dataclasses.replace(yards.make_site(bed), boundary=box(1.0, 1.0, 19.0, 19.0))
    found = yards.drained(site, ground, proposal)
    (told,) = [f for f in found.findings if "lot line" in f.text]
    assert (told.level, told.topic) == ("caution", "drainage")
    assert "on the west side" in told.text
    assert told.value > told.bound
    assert told.at[0] == pytest.approx(1.0, abs=0.3)
    still = yards.drained(site, ground, yards.make_proposal(ground, 0.0, bed))
    assert still.findings == ()


def test_way_of_the_water_runs_downhill_to_the_edge():
    ground = yards.make_ground(yards.make_grid(), lambda x, y: 0.02 * y)
    water = yards.drained(
        yards.make_site(BED), ground, yards.make_proposal(ground, yards.dome(10, 10, 4, 0.3), BED)
    ).water
    way = water.way((10.0, 16.0))
    assert way[0] == pytest.approx((10.0, 16.0))
    assert way[-1, 1] == 0.0
    assert np.hypot(*np.diff(way, axis=0).T).max() <= 0.25 * 1.4143


def test_water_that_comes_to_the_shore_of_a_long_pond_goes_on_across_it():
    # A trough 10 m long whose end is closed: its water stands level over many cells and leaves over its lowest rim.
    def trough(x, y):
        return np.where((np.abs(x - 10.0) < 0.6) & (y > 4.0), -0.3, 0.0)

    ground = yards.make_ground(yards.make_grid(), lambda x, y: 0.05 * y)
    water = yards.drained(
        yards.make_site(BED), ground, yards.make_proposal(ground, trough, box(0.0, 0.0, 20.0, 20.0))
    ).water
    assert sum(one.after for one in water.exits) == pytest.approx(sum(one.before for one in water.exits), rel=0.03)
