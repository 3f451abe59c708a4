"""Cameras from photographs of known points: published resections, a garden worked exactly, and laws."""

from __future__ import annotations

import math

import numpy as np
import pytest
from examples_drawn import drawn
from hypothesis import given, settings, strategies as st

from terrain.numerics import PhotoCamera, resected
from terrain.numerics.camera import axes_of

NONE = np.zeros(2)
KNOWN = 1e-9  # spread of a focal length that is known

# Mikhail, Bethel, McGlone, Introduction to Modern Photogrammetry (Wiley 2001), worked data as a public notebook runs
# them: millimetres in the picture (y up), metres on the ground, focal length 152.222 mm.
MIKHAIL = np.array(
    [
        (56.515, -78.969, 913928.64, 575198.44, 189.64),
        (1.242, 1.134, 914270.77, 575432.35, 191.26),
        (95.576, 97.171, 914684.64, 575022.09, 186.72),
        (-70.988, 92.733, 914662.47, 575738.30, 191.94),
        (0.651, -30.068, 914137.97, 575435.45, 190.69),
    ]
)
# A resection exercise repeated in many textbooks of photogrammetry: focal length 153.24 mm. Answer from memory.
EXERCISE = np.array(
    [
        (-86.15, -68.99, 36589.41, 25273.32, 2195.17),
        (-53.40, 82.21, 37631.08, 31324.51, 728.69),
        (-14.78, -76.63, 39100.97, 24934.98, 2386.50),
        (10.46, 64.43, 40426.54, 30319.81, 757.31),
    ]
)
# Dewitt's public-domain space resection program, the textbook's first four points (Wolf and Dewitt): 152.916 mm; the
# place was worked by scipy's least squares from that program's start, not by this project.
DEWITT = np.array(
    [
        (86.421, -83.977, 1268.1022, 1455.0274, 22.606),
        (-100.916, 92.582, 732.1811, 545.3437, 22.299),
        (-98.322, -89.161, 1454.5532, 731.6659, 22.649),
        (78.812, 98.123, 545.2449, 1268.2324, 22.336),
    ]
)


def alike(marks: int, error: float) -> np.ndarray:
    """Errors of marks that are all pointed at alike, on places that nobody doubts."""
    return np.column_stack([np.full(marks, error), np.zeros(marks)])


@pytest.mark.parametrize(
    ("data", "focal", "at", "tolerance", "squares"),
    [
        (MIKHAIL, 152.222, (914260.42186, 575441.83555, 839.13044), 2e-3, 0.000751105),
        (EXERCISE, 153.24, (39795.45, 27476.46, 7572.69), 0.02, None),
        (DEWITT, 152.916, (1027.857, 1044.114, 648.197), 2e-3, None),
    ],
)
def test_published_resections(
    data: np.ndarray, focal: float, at: tuple[float, ...], tolerance: float, squares: float | None
) -> None:
    pixels = data[:, :2] * (1.0, -1.0)
    found = resected(data[:, 2:], pixels, alike(len(data), 0.01), NONE, (focal, KNOWN))
    assert found.camera.at == pytest.approx(np.array(at), abs=tolerance)
    if squares is not None:
        assert float(np.sum(found.misses**2)) == pytest.approx(squares, rel=2e-3)


def test_a_focal_length_that_flat_ground_seen_from_above_leaves_open_is_not_said_to_be_known() -> None:
    """The same data with the focal length free: 530 +- 180 mm where 152 is true, and a condition of thousands."""
    found = resected(MIKHAIL[:, 2:], MIKHAIL[:, :2] * (1.0, -1.0), alike(5, 0.0137), NONE, (152.222, math.inf))
    assert found.condition > 1000.0
    assert found.focal_deviation > 0.2


GARDEN = np.array(
    [
        (-3.00, -3.00, 0.05, 70.6, 2202.1),
        (2.60, -2.50, -0.02, 2951.2, 2103.1),
        (-1.20, 3.40, 0.22, 1482.8, 1688.5),
        (-1.20, 3.40, 1.12, 1477.1, 1461.6),
        (4.20, 0.80, 0.10, 3079.1, 1789.2),
        (4.60, 5.50, 0.18, 2772.5, 1620.8),
        (-5.80, 9.00, 0.45, 809.1, 1548.1),
        (-5.80, 9.00, 3.15, 792.2, 1077.1),
        (3.40, 10.20, 0.45, 2363.8, 1509.3),
        (3.40, 10.20, 3.15, 2360.5, 1075.3),
        (1.10, 1.50, 0.31, 2095.8, 1716.0),
        (1.10, 1.50, 1.91, 2089.9, 1238.5),
    ]
)
MIDDLE = np.array([2016.0, 1512.0])


def test_a_garden_photographed_by_a_phone_gives_back_its_camera() -> None:
    """Worked once by scipy and once by OpenCV's calibration of one view: 3028.66 px, k1 -0.0402, the same place."""
    found = resected(GARDEN[:, :3], GARDEN[:, 3:], alike(12, 0.1), MIDDLE, (2600.0, math.inf), free_bulge=True)
    camera = found.camera
    assert np.degrees(camera.turn) == pytest.approx([2.499, -3.500, 0.801], abs=2e-3)
    assert camera.at == pytest.approx(np.array([0.4002, -8.5996, 1.6200]), abs=5e-4)
    assert camera.focal == pytest.approx(3028.66, abs=0.05)
    assert camera.bulge == pytest.approx(-0.0402, abs=2e-4)
    crest = np.array([[0.0, 2.0, 1.0], [0.0, 2.0, 0.1], [0.0, 0.0, 0.1]])
    expected = [[1769.5, 1507.8], [1774.4, 1763.3], [1749.9, 1863.3]]
    assert camera.seen(crest)[0] == pytest.approx(np.array(expected), abs=0.15)
    straight = resected(GARDEN[:, :3], GARDEN[:, 3:], alike(12, 1.5), MIDDLE, (2600.0, math.inf))
    assert float(np.sqrt(np.mean(straight.misses**2))) == pytest.approx(2.24, abs=0.01)
    assert straight.camera.focal == pytest.approx(3032.5, abs=0.1)


def photographed(camera: PhotoCamera, places: np.ndarray, error: float, seed: int) -> np.ndarray:
    return camera.seen(places)[0] + np.random.default_rng(seed).normal(0.0, error, (len(places), 2))


@pytest.mark.parametrize(
    "stated",
    [pytest.param(0.7, marks=pytest.mark.slow), *(pytest.param(one, marks=pytest.mark.fuzz) for one in (1.5, 5.0))],
)
def test_the_stated_error_holds_the_place_of_the_mound_in_95_of_100_photographs(stated: float) -> None:
    """Marks wrong by 1.5 px, said to be wrong by less, as much, or more: the crest is as near as it is said to be."""
    rng, held, runs = np.random.default_rng(7), 0, 100
    crest = np.array([[0.0, 2.0, 1.0]])
    for seed in range(runs):
        turn = (math.radians(rng.uniform(-8, 8)), math.radians(rng.uniform(-8, 2)), math.radians(rng.uniform(-2, 2)))
        true = PhotoCamera(np.array([rng.uniform(-1, 1), -8.6, 1.6]), turn, 3000.0, MIDDLE)
        pixels = photographed(true, GARDEN[:, :3], 1.5, seed)
        found = resected(GARDEN[:, :3], pixels, alike(12, stated), MIDDLE, (2900.0, 0.05))
        off = found.camera.seen(crest)[0] - true.seen(crest)[0]
        held += int(np.hypot(*off[0]) <= found.within(crest, 0.95)[0])
    assert 89 <= held <= 100  # of a hundred, 95 % less three deviations (binomial)


@pytest.mark.parametrize("error", [0.0, 1.5])
def test_a_solver_from_outside_finds_the_same_camera(error: float) -> None:
    """PoseLib, pose alone, the focal length known and every mark alike: least squares of the same misses."""
    poselib = pytest.importorskip("poselib")
    true = PhotoCamera(np.array([0.4, -8.6, 1.62]), (math.radians(2.5), math.radians(-3.5), 0.014), 3000.0, MIDDLE)
    pixels = photographed(true, GARDEN[:, :3], error, 4)
    found = resected(GARDEN[:, :3], pixels, alike(12, 1.5), MIDDLE, (3000.0, KNOWN)).camera
    lens = {"model": "SIMPLE_PINHOLE", "width": 4032, "height": 3024, "params": [3000.0, *MIDDLE]}
    pose, _ = poselib.estimate_absolute_pose(
        pixels, GARDEN[:, :3], lens, {"max_reproj_error": 30.0}, {"loss_type": "TRIVIAL"}
    )
    at = -np.asarray(pose.R).T @ np.asarray(pose.t)
    assert found.at == pytest.approx(at, abs=2e-3)
    assert np.asarray(pose.R) == pytest.approx(np.array(found.axes), abs=2e-4)
    crest = np.array([[0.0, 2.0, 1.0]])
    theirs = np.asarray(pose.R) @ (crest[0] - at)
    assert found.seen(crest)[0][0] == pytest.approx(MIDDLE + 3000.0 * theirs[:2] / theirs[2], abs=0.3)


@settings(max_examples=drawn(8), deadline=None)
@given(turn=st.floats(0.0, 6.28), far=st.sampled_from([0.0, 3e5]), times=st.sampled_from([1.0, 3.0]))
def test_the_camera_goes_with_the_yard_when_it_is_turned_shifted_and_enlarged(
    turn: float, far: float, times: float
) -> None:
    spun = np.array([[math.cos(turn), -math.sin(turn), 0.0], [math.sin(turn), math.cos(turn), 0.0], [0.0, 0.0, 1.0]])
    places, shift = times * GARDEN[:, :3] @ spun.T, np.array([far, -far, 0.0])
    found = resected(places + shift, GARDEN[:, 3:], alike(12, 2.0), MIDDLE, (3000.0, 0.05))
    plain = resected(GARDEN[:, :3], GARDEN[:, 3:], alike(12, 2.0), MIDDLE, (3000.0, 0.05))
    assert found.camera.at - shift == pytest.approx(times * spun @ plain.camera.at, abs=2e-3)
    assert found.camera.focal == pytest.approx(plain.camera.focal, rel=1e-4)


def test_axes_are_square_and_look_the_way_they_are_told() -> None:
    axes = axes_of(math.radians(90.0), math.radians(-10.0), math.radians(3.0))
    assert axes @ axes.T == pytest.approx(np.eye(3), abs=1e-12)
    assert np.linalg.det(axes) == pytest.approx(1.0, abs=1e-12)
    assert axes[2] == pytest.approx(np.array([math.cos(math.radians(10)), 0.0, -math.sin(math.radians(10))]), abs=1e-12)
