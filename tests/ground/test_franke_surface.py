"""Franke's function and his 33 points (NPS-53-79-003, 1979; nodes as in TOMS 792).

No table of his is quoted; the RMS figures were worked out with scipy 1.17 on the same points and a 33 by 33 grid.
"""

from __future__ import annotations

import numpy as np
import pytest

from terrain import interpolate
from terrain.ground.choose import fit_ground, heights_at
from terrain.ground.shots import local_shots

NODES = np.array(
    [[0.05, 0.45], [0, 0.5], [0, 1], [0, 0], [0.1, 0.15], [0.1, 0.75], [0.15, 0.3], [0.2, 0.1], [0.25, 0.2],
     [0.3, 0.35], [0.35, 0.85], [0.5, 0], [0.5, 1], [0.55, 0.95], [0.6, 0.25], [0.6, 0.65], [0.6, 0.85],
     [0.65, 0.7], [0.7, 0.2], [0.7, 0.65], [0.7, 0.9], [0.75, 0.1], [0.75, 0.35], [0.75, 0.85], [0.8, 0.4],
     [0.8, 0.65], [0.85, 0.25], [0.9, 0.35], [0.9, 0.8], [0.95, 0.9], [1, 0], [1, 0.5], [1, 1]]
)  # fmt: skip


def franke(places: np.ndarray) -> np.ndarray:
    x, y = 9.0 * places.T
    return np.asarray(
        0.75 * np.exp(-((x - 2) ** 2 + (y - 2) ** 2) / 4)
        + 0.75 * np.exp(-((x + 1) ** 2) / 49 - (y + 1) / 10)
        + 0.5 * np.exp(-((x - 7) ** 2 + (y - 3) ** 2) / 4)
        - 0.2 * np.exp(-((x - 4) ** 2) - (y - 7) ** 2)
    )


def square(count: int) -> np.ndarray:
    axis = np.linspace(0.0, 1.0, count)
    return np.stack(np.meshgrid(axis, axis), axis=-1).reshape(-1, 2)


def rms_of(method: str, places: np.ndarray) -> float:
    elevation = interpolate(np.column_stack([places, franke(places)]), square(33), method)[0]
    return float(np.sqrt(np.mean((elevation - franke(square(33))) ** 2)))


def test_function_has_its_known_values() -> None:
    places = np.array([[0, 0], [0.5, 0.5], [1, 1], [7 / 9, 1 / 3]])
    assert franke(places) == pytest.approx([0.76642059, 0.32576209, 0.03586959, 0.63730393], abs=6e-9)


def test_rms_of_thin_plate_on_franke_s_nodes() -> None:
    assert rms_of("thin_plate", NODES) == pytest.approx(0.04208, abs=6e-6)


def test_rms_of_triangulation_on_franke_s_nodes() -> None:
    # Some of the nodes lie four to a circle, where either diagonal is Delaunay: the last digit is left open.
    assert rms_of("triangulation", NODES) == pytest.approx(0.07007, abs=5e-5)


@pytest.mark.parametrize(("count", "expected"), [(6, 0.02118), (11, 0.00254)])
def test_thin_plate_on_regular_nodes(count: int, expected: float) -> None:
    assert rms_of("thin_plate", square(count)) == pytest.approx(expected, abs=6e-6)


@pytest.mark.parametrize(("count", "expected"), [(6, 0.04429), (11, 0.01345)])
def test_triangulation_on_regular_nodes_whatever_the_diagonals(count: int, expected: float) -> None:
    assert rms_of("triangulation", square(count)) == pytest.approx(expected, rel=0.10)


def test_kriging_beats_thin_plate_beats_triangulation() -> None:
    nodes = square(11) + 0.02 * np.sin(17.0 * square(11)[:, ::-1])
    kriging, plate, tin = (rms_of(method, nodes) for method in ("kriging", "thin_plate", "triangulation"))
    assert kriging < plate < tin


def test_choice_follows_the_errors() -> None:
    ground = fit_ground(local_shots(np.column_stack([NODES, franke(NODES)]), 0.0))
    assert ground.method == min(ground.errors, key=lambda name: ground.errors[name])
    assert set(ground.errors) == {"triangulation", "thin_plate", "kriging"}
    assert np.isfinite(heights_at(ground, ground.shots.places)).all()
