"""Water of a stated amount comes to rest as on surfaces whose answer is known, and as a plain second way has it."""

import math

import numpy as np
import pytest
from pouring import pour
from scipy import ndimage
from skimage.morphology import reconstruction

from terrain.numerics.spilling import gathered, spill


def rough(seed: int, shape=(36, 44), fall: float = 0.004):
    rng = np.random.default_rng(seed)
    return ndimage.gaussian_filter(rng.normal(size=shape), 2.0) + fall * np.arange(shape[1])


def walls_in(ground, seed):
    return ndimage.binary_dilation(np.random.default_rng(seed).uniform(size=ground.shape) < 0.004, iterations=2)


@pytest.mark.parametrize("seed", range(20))
@pytest.mark.parametrize("rain", [0.003, 0.03, 0.3])
def test_no_water_is_lost_or_made(seed, rain):
    ground = rough(seed)
    walls = walls_in(ground, seed) if seed % 2 else None
    water = spill(ground, np.full(ground.shape, rain), 0.5, walls)
    fell = 0.25 * rain * (ground.size - (0 if walls is None else walls.sum()))
    assert 0.25 * water.depth.sum() + water.left.sum() == pytest.approx(fell, rel=1e-12)


@pytest.mark.parametrize("seed", range(20))
def test_more_than_enough_fills_every_hollow_as_a_library_of_pictures_does(seed):
    # Filling by morphological reconstruction: Soille, Morphological Image Analysis; scikit-image.
    ground = rough(seed, (60, 80))
    seeds = np.full_like(ground, ground.max())
    seeds[0], seeds[-1], seeds[:, 0], seeds[:, -1] = ground[0], ground[-1], ground[:, 0], ground[:, -1]
    full = reconstruction(seeds, ground, method="erosion", footprint=np.ones((3, 3))) - ground
    assert spill(ground, np.full(ground.shape, 50.0), 0.3).depth == pytest.approx(full, abs=1e-9)


@pytest.mark.parametrize("seed", range(16))
@pytest.mark.parametrize("share", [0.1, 0.6])
def test_water_that_moves_step_by_step_comes_to_rest_likewise(seed, share):
    ground = rough(seed)
    rain = share * spill(ground, np.full(ground.shape, 50.0), 1.0).depth.sum() / ground.size
    runs = np.full(ground.shape, rain)
    water = spill(ground, runs, 1.0)
    depth, left = pour(ground, runs)
    fell = rain * ground.size
    assert depth.sum() + left == pytest.approx(fell, rel=1e-9)
    assert water.depth.sum() == pytest.approx(depth.sum(), abs=0.05 * fell)
    assert np.abs(water.depth - depth).sum() < 0.05 * fell


def bowl(count=81, cell=0.1, depth=0.5, radius=2.0):
    edge = (np.arange(count) - count // 2) * cell
    x, y = np.meshgrid(edge, edge)
    return np.minimum(depth * (np.hypot(x, y) / radius) ** 2 - depth, 0.0), cell


def test_a_bowl_half_full_stands_as_high_as_a_paraboloid_does():
    # Volume under a level h over the floor of z = d (r / R)^2: pi R^2 h^2 / (2 d), geometry.
    ground, cell = bowl()
    inside = ground < 0.0
    volume = math.pi * 4.0 * 0.25**2 / (2 * 0.5)
    water = spill(ground, np.where(inside, volume / (inside.sum() * cell**2), 0.0), cell)
    assert water.depth.max() == pytest.approx(0.25, rel=0.01)
    assert water.left.sum() == 0.0
    assert len(water.spills.volume) == 0


def test_what_a_bowl_cannot_hold_runs_over_its_rim_and_on():
    # Two pits in a slope to the south, one above the other: the upper one's overflow fills the lower one.
    ground = np.repeat(0.05 * np.arange(30.0)[:, None], 11, axis=1)
    ground[18:22, 4:7] -= 0.6
    ground[8:12, 2:9] -= 0.6
    runs = np.zeros_like(ground)
    runs[20, 5] = 12.0
    water = spill(ground, runs, 1.0)
    upper, lower = water.depth[15:25].sum(), water.depth[5:15].sum()
    full = spill(ground, np.full(ground.shape, 9.0), 1.0).depth
    assert upper == pytest.approx(full[15:25].sum(), rel=1e-9)
    assert lower == pytest.approx(min(12.0 - upper, full[5:15].sum()), rel=1e-9)
    assert water.spills.volume[0] == pytest.approx(12.0 - upper, rel=1e-9)
    j, i = divmod(int(water.spills.to[0]), 11)
    assert j in (16, 17)  # the rim, or the first node past it
    assert 2 <= i <= 8
    assert water.through[16].sum() == pytest.approx(12.0 - upper, rel=1e-9)


def test_two_hollows_that_are_full_are_one():
    ground = np.ones((9, 13))
    ground[2:7, 2:5] = 0.0
    ground[2:7, 7:10] = 0.2
    ground[2:7, 5:7] = 0.5
    ground[0], ground[-1], ground[:, 0], ground[:, -1] = 2.0, 2.0, 2.0, 2.0
    runs = np.zeros_like(ground)
    runs[4, 3] = 15 * 0.5 + 15 * 0.3 + 4.0
    # 15 nodes fill to 0.5, then the other 15 from 0.2 to 0.5, then 40 nodes together.
    water = spill(ground, runs, 1.0)
    assert (ground + water.depth)[4, 2:10] == pytest.approx(0.5 + 4.0 / 40.0, abs=1e-12)


def test_a_yard_that_walls_close_in_keeps_all_its_water():
    walls = np.zeros((9, 9), dtype=bool)
    walls[2:7, 2:7] = True
    walls[3:6, 3:6] = False
    ground = np.zeros((9, 9))
    water = spill(ground, np.where(walls, 7.0, 0.1), 1.0, walls)
    assert water.depth[3:6, 3:6] == pytest.approx(0.1, abs=1e-12)
    assert water.left.sum() == pytest.approx(0.1 * (81 - 25), rel=1e-12)


def test_what_comes_to_a_place_is_the_sum_of_all_above_it():
    onward = np.array([1, 2, 2, 2, 3])
    assert gathered(onward, np.array([1.0, 2.0, 4.0, 8.0, 16.0])).tolist() == [1.0, 3.0, 31.0, 24.0, 16.0]
