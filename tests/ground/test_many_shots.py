"""Many thousand shots: kriging by neighbourhoods is kriging by all, exact at every shot, and as good as its rivals."""

from __future__ import annotations

import numpy as np
import pytest
from real_ground import sample_terrain, terrain_crop
from scipy.interpolate import RBFInterpolator
from scipy.spatial import Delaunay

from terrain import interpolate
from terrain.ground.choose import fit_ground
from terrain.ground.creases import with_breaklines
from terrain.ground.neighbourhoods import ManyShots, kriged_nearby
from terrain.ground.shots import DENSEST, LocalShots, every_shot, local_shots
from terrain.numerics.covariance import Covariance
from terrain.numerics.kriging import krige_with, kriged

SMOOTH = Covariance(smoothness=1.5, correlation_length=0.1, sill=900.0)


def terrain_shots(count: int, seed: int) -> np.ndarray:
    random = np.random.default_rng([61, count, seed])
    every = terrain_crop(random, 100, 160)
    return every[random.permutation(len(every))[:count]]


@pytest.fixture(scope="module")
def shots() -> LocalShots:
    return local_shots(terrain_shots(900, 0), 0.0)


def many_of(shots: LocalShots, trend: np.ndarray) -> ManyShots:
    return ManyShots(shots.places, shots.heights, shots.error, trend, SMOOTH)


def test_neighbours_give_what_all_shots_give(shots: LocalShots) -> None:
    whole = krige_with(shots.places, shots.heights, shots.error, SMOOTH)
    targets = np.random.default_rng(1).uniform(-0.9, 0.9, (300, 2))
    height, deviation = kriged(whole, targets)
    near, variance = kriged_nearby(many_of(shots, whole.seen.trend), targets)
    # The shots that a patch leaves out move the height by a small share of what it is unsure by.
    share = np.abs(near - height) / deviation
    assert np.sqrt(np.mean(share**2)) < 0.02
    assert share.max() < 0.15
    assert np.sqrt(variance) == pytest.approx(deviation, rel=0.002)


def test_neighbours_are_exact_at_every_shot_and_sure_of_it(shots: LocalShots) -> None:
    height, variance = kriged_nearby(many_of(shots, np.zeros(3)), shots.places)
    assert np.abs(height - shots.heights).max() < 1e-6  # metres, on 300 m of relief
    assert np.abs(variance).max() < 1e-6 * SMOOTH.sill


def test_no_step_where_patches_meet(shots: LocalShots) -> None:
    along = np.column_stack([np.linspace(-0.9, 0.9, 20_001), np.full(20_001, 0.123)])
    height = kriged_nearby(many_of(shots, np.zeros(3)), along)[0]
    steps = np.abs(np.diff(height))
    # Smooth ground: neighbouring steps, 9e-5 of the frame apart, differ by far less than they are long.
    assert np.abs(np.diff(steps)).max() < 0.05 * steps.max()


def test_a_plane_comes_back_far_from_every_shot(shots: LocalShots) -> None:
    plane = np.array([2.0, -3.0, 5.0])
    flat = ManyShots(shots.places, plane[0] + shots.places @ plane[1:], np.full(len(shots.places), 0.01), plane, SMOOTH)
    targets = np.array([[0.0, 0.0], [3.0, -2.0], [-9.0, 9.0]])
    assert kriged_nearby(flat, targets)[0] == pytest.approx(plane[0] + targets @ plane[1:], abs=1e-9)


def test_every_shot_keeps_the_shots_and_the_points_of_breaklines() -> None:
    table = terrain_shots(2400, 1)
    ends = [[*table[:, :2].min(axis=0), 400.0], [*table[:, :2].max(axis=0), 420.0]]
    shots = with_breaklines(local_shots(table, 0.02), [np.array(ends)])
    places, heights, error = every_shot(shots)
    lines = len(shots.places) - shots.free
    off = len(places) - lines
    assert 2300 < off < 2400  # the few that stand on the line give way to it
    assert (error[:off] == 0.02).all()
    assert not error[off:].any()
    assert {tuple(place) for place in places[:off]} <= {tuple(place) for place in shots.all_places}
    assert heights[off:] == pytest.approx(shots.heights[shots.free :], abs=0.0)


@pytest.mark.slow
def test_five_thousand_shots_are_exact_and_miss_no_more_than_a_plate_by_neighbours() -> None:
    random = np.random.default_rng(5)
    terrain = sample_terrain()
    north, east = np.mgrid[: terrain.shape[0], : terrain.shape[1]]
    every = np.column_stack([east.ravel() * 74.5, north.ravel() * 92.5, terrain.ravel()])
    every = every[random.permutation(len(every))]
    shots, others = every[:5000], every[5000:8000]
    others = others[Delaunay(shots[:, :2]).find_simplex(others[:, :2]) >= 0]
    height, deviation = interpolate(shots, others[:, :2])
    off = height - others[:, 2]
    centre, size = shots[:, :2].mean(axis=0), 1e4
    plate = RBFInterpolator((shots[:, :2] - centre) / size, shots[:, 2], neighbors=50)
    rival = plate((others[:, :2] - centre) / size) - others[:, 2]
    # 3,000 errors scatter by 1 %.
    assert np.sqrt(np.mean(off**2)) <= 1.02 * np.sqrt(np.mean(rival**2))
    assert 0.86 <= np.mean(np.abs(off) < 1.645 * deviation) <= 0.94  # 90 % stated
    assert interpolate(shots, shots[:500, :2])[0] == pytest.approx(shots[:500, 2], abs=1e-4)


@pytest.mark.slow
@pytest.mark.parametrize("method", ["triangulation", "kriging"])
def test_many_shots_with_a_breakline_keep_it_and_the_shots(method: str) -> None:
    start, end = np.array([20.0, 15.0]), np.array([80.0, 50.0])
    left = np.array([-35.0, 60.0]) / np.hypot(35.0, 60.0)

    def ridge(places: np.ndarray) -> np.ndarray:
        return np.column_stack([places, 100.0 - 0.2 * np.abs((places - start) @ left) + 0.02 * places[:, 0]])

    shots = ridge(np.random.default_rng(6).uniform([0.0, 0.0], [100.0, 70.0], (2500, 2)))
    along = ridge(start + np.linspace(0.0, 1.0, 40)[:, None] * (end - start))
    height = interpolate(shots, along[:, :2], method, breaklines=[along[[0, -1]]])[0]
    # Kriging rests on the points that carry the line, and rounds the crease between them.
    assert height == pytest.approx(along[:, 2], abs=1e-6 if method == "triangulation" else 0.02)
    kept = shots[:200]
    # Of a shot that all but stands on the line, the jitter takes less than a tenth of a millimetre.
    assert interpolate(shots, kept[:, :2], method, breaklines=[along[[0, -1]]])[0] == pytest.approx(
        kept[:, 2], abs=3e-4
    )


@pytest.mark.slow
def test_more_shots_than_the_surface_goes_through_are_averaged() -> None:
    random = np.random.default_rng(3)
    places = random.uniform(0.0, 100.0, (DENSEST + 30_000, 2))
    shots = np.column_stack([places, 50.0 + np.sin(places[:, 0] / 9.0)])
    fitted = fit_ground(local_shots(shots, 0.0))
    assert fitted.many is not None
    assert DENSEST / 2 < len(fitted.many.places) <= DENSEST
    targets = random.uniform(5.0, 95.0, (400, 2))
    assert interpolate(shots, targets)[0] == pytest.approx(50.0 + np.sin(targets[:, 0] / 9.0), abs=0.02)
