"""Hollows fill and water runs as on surfaces whose answer is known, and as reference libraries have it."""

import math

import numpy as np
import pytest
from examples_drawn import drawn
from hypothesis import given, settings, strategies as st
from hypothesis.extra import numpy as arrays

from terrain.look.water import filled
from terrain.numerics.flooding import ends, flood, standing


def field(count: int, half: float):
    edge = np.linspace(-half, half, count)
    return (*np.meshgrid(edge, edge), 2 * half / (count - 1))


def test_cone_holds_no_water():
    x, y, _ = field(81, 4.0)
    assert standing(10.0 - 0.25 * np.hypot(x, y)).max() == 0.0


def test_bowl_holds_the_water_of_a_paraboloid():
    # A bowl of depth 0.5 m and rim radius 3 m in level ground: volume pi r^2 h / 2, geometry.
    x, y, cell = field(401, 4.0)
    bowl = np.minimum(0.5 * (np.hypot(x, y) / 3.0) ** 2 - 0.5, 0.0)
    water = standing(bowl)
    assert water.max() == pytest.approx(0.5, abs=1e-12)
    assert water.sum() * cell**2 == pytest.approx(math.pi * 9 * 0.5 / 2, rel=2e-3)


def test_pit_in_a_tilted_plane_fills_to_its_lower_rim():
    # A square pit 2 m wide and 0.6 m deep in a plane that falls 5 % to the east: the plane at the pit's lower rim
    # stands 0.05 x 2 lower than at its upper one, so that the pit's floor lies under 0.6 - 0.1 to 0.6 m of water.
    count, cell = 201, 0.05
    x, _ = np.meshgrid(np.arange(count) * cell, np.arange(count) * cell)
    ground = 10.0 - 0.05 * x
    pit = np.zeros_like(ground, dtype=bool)
    pit[80:121, 80:121] = True
    water = standing(np.where(pit, ground - 0.6, ground))
    # The way out is the first dry node past the rim, one cell down the plane.
    rim = 10.0 - 0.05 * 121 * cell
    assert (water[100, 80], water[100, 120]) == pytest.approx(
        (rim - (10 - 0.05 * 80 * cell - 0.6), rim - (10 - 0.05 * 120 * cell - 0.6)), abs=1e-12
    )
    assert water[~pit].max() == 0.0
    volume = (rim - (ground - 0.6))[pit].sum() * cell**2
    assert water.sum() * cell**2 == pytest.approx(volume, rel=1e-12)
    # 4 m2 of pit under 0.55 m of water on average, less the cell that the way out lies down the plane.
    assert volume == pytest.approx(2.05**2 * (0.6 - 0.05 * 2.05 / 2), rel=0.01)


def rough(seed: int, shape=(70, 110)):
    from scipy import ndimage

    rng = np.random.default_rng(seed)
    return ndimage.gaussian_filter(rng.normal(size=shape), 2.0) + 0.002 * np.arange(shape[1])


@pytest.mark.parametrize("seed", range(5))
def test_level_is_that_of_a_reference_library(seed):
    from skimage import morphology

    ground = rough(seed)
    start = np.full_like(ground, ground.max())
    start[[0, -1]], start[:, [0, -1]] = ground[[0, -1]], ground[:, [0, -1]]
    reference = morphology.reconstruction(start, ground, method="erosion", footprint=np.ones((3, 3)))
    level = flood(ground).level
    assert (level - ground).max() > 0.05
    assert level == pytest.approx(reference, abs=1e-12)


@pytest.mark.parametrize("seed", range(3))
def test_level_is_that_of_sweeping(seed):
    ground = rough(seed)
    assert flood(ground).level == pytest.approx(filled(ground), abs=1e-12)


surfaces = arrays.arrays(
    np.float64, st.tuples(st.integers(3, 9), st.integers(3, 9)), elements=st.integers(-4, 4).map(float)
)


@settings(max_examples=drawn(80))
@given(surfaces)
def test_water_is_level_runs_down_and_comes_to_the_edge(ground):
    water = flood(ground)
    level = water.level.ravel()
    assert (water.level >= ground).all()
    assert (water.level[[0, -1]] == ground[[0, -1]]).all()
    assert (level[water.onward] <= level).all()
    j, i = np.divmod(ends(water.onward), ground.shape[1])
    assert ((j == 0) | (j == ground.shape[0] - 1) | (i == 0) | (i == ground.shape[1] - 1)).all()
    again = flood(water.level).level
    assert (again == water.level).all()


@settings(max_examples=drawn(40))
@given(surfaces, st.floats(-5, 5))
def test_lifting_all_ground_lifts_all_water(ground, lift):
    assert flood(ground + lift).level == pytest.approx(flood(ground).level + lift, abs=1e-9)


def test_wall_holds_water_back_and_holds_none_itself():
    ground = np.tile(np.arange(20.0)[::-1] * 0.05, (15, 1))
    walls = np.zeros(ground.shape, dtype=bool)
    walls[2:13, 10] = True
    walls[2, 5:11] = walls[12, 5:11] = True
    free, held = standing(ground), standing(ground, walls)
    assert free.max() == 0.0
    # A yard open uphill only, 5 cells deep: water stands to the level of its mouth, 0.05 a cell.
    assert held.max() == pytest.approx(0.05 * 5, abs=1e-9)
    assert (held[walls] == 0.0).all()


def test_water_on_a_tilted_plane_runs_straight_down():
    ground = np.tile(np.arange(12.0)[::-1], (9, 1))
    out = ends(flood(ground).onward).reshape(ground.shape)
    j, i = np.divmod(out, 12)
    assert (i[1:-1, 1:] == 11).all()
    assert (j[1:-1, 1:-1] == np.arange(1, 8)[:, None]).all()
