"""On a breakline the stated range covers held-out points of curved kerbs: their error, and the bend between them."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from terrain.grid import Array
from terrain.ground.choose import elevation_and_deviation, fit_ground
from terrain.ground.creases import with_breaklines
from terrain.ground.shots import local_shots

HALF_90 = 1.645
Kerb = Callable[[Array], Array]


def kerb(random: np.random.Generator) -> tuple[Kerb, Array]:
    """An invented kerb: an arc in plan, a fall and four waves in profile; and the places of its points, metres."""
    spacing, radius, count = random.uniform(1.0, 4.0), random.uniform(8.0, 20.0), int(random.integers(8, 16))
    length = random.uniform(3.0, 7.0, 4) * spacing
    high = random.normal(0.0, 1.0, 4) * (length / length.mean()) ** 2 * random.uniform(0.002, 0.02)
    phase, fall = random.uniform(0.0, 2.0 * np.pi, 4), random.normal(0.0, 0.02)

    def at(along: Array) -> Array:
        waves = np.sin(2.0 * np.pi * along[:, None] / length + phase) @ high
        turn = along / radius
        return np.column_stack([radius * np.cos(turn), radius * np.sin(turn), 30.0 + fall * along + waves])

    shifts = np.concatenate([[0.0], random.uniform(-0.25, 0.25, count - 2) * spacing, [0.0]])
    return at, spacing * np.arange(count) + shifts


def covered(seed: int, accuracy: float) -> float:
    """Share of 40 places of one kerb whose stated 90 % range holds the truth."""
    random = np.random.default_rng([19, seed])
    at, stations = kerb(random)
    line = at(stations)
    line[:, 2] += random.normal(0.0, accuracy, len(line))
    # Shots about the kerb, on a lawn that it runs through.
    spots = at(random.uniform(stations[0], stations[-1], 40))
    spots[:, :2] += random.uniform(0.5, 4.0, (40, 1)) * random.choice([-1.0, 1.0], (40, 1)) * spots[:, :2] / 15.0
    spots[:, 2] += random.normal(0.0, 0.02, 40)
    ground = fit_ground(with_breaklines(local_shots(spots, accuracy), [line]))
    truth = at(random.uniform(stations[0], stations[-1], 40))
    height, deviation = elevation_and_deviation(ground, truth[:, :2])
    return float(np.mean(np.abs(height - truth[:, 2]) <= HALF_90 * deviation))


@pytest.mark.parametrize("accuracy", [0.002, *(pytest.param(other, marks=pytest.mark.fuzz) for other in (0.0, 0.006))])
def test_nine_in_ten_held_out_points_of_kerbs_lie_in_the_stated_range(accuracy: float) -> None:
    shares = [covered(seed, accuracy) for seed in range(24)]
    assert 0.84 <= np.mean(shares) <= 0.96


@pytest.mark.parametrize("accuracy", [0.002, 0.006, 0.02])
def test_a_point_of_a_line_is_no_surer_than_the_survey(accuracy: float) -> None:
    along = np.linspace(0.0, 12.0, 7)
    line = np.column_stack([along, np.full(7, 6.0), 30.0 + 0.02 * along])
    random = np.random.default_rng(4)
    spots = random.uniform([0.0, 0.0], [12.0, 12.0], (40, 2))
    shots = np.column_stack([spots, 30.0 + 0.02 * spots[:, 0] + random.normal(0.0, 0.01, 40)])
    ground = fit_ground(with_breaklines(local_shots(shots, accuracy), [line]))
    on = elevation_and_deviation(ground, line[1:-1, :2])[1]
    between = elevation_and_deviation(ground, line[1:-1, :2] + [1.0, 0.0])[1]
    # Two ends of one error, half of each: the error over the root of two.
    assert on == pytest.approx(accuracy, rel=1e-6)
    assert between == pytest.approx(accuracy / np.sqrt(2.0), rel=1e-6)


def test_a_bend_is_told_by_the_points_of_the_line() -> None:
    # A parabola of bend 0.01 /m with points 2 m apart: half-way it stands 0.01 * 1 * 1 / 2 = 5 mm off the chord.
    along = np.arange(0.0, 41.0, 2.0)
    line = np.column_stack([along, np.full(len(along), 6.0), 30.0 + 0.005 * along**2])
    spots = np.random.default_rng(5).uniform([0.0, 0.0], [40.0, 12.0], (40, 2))
    shots = np.column_stack([spots, 30.0 + 0.005 * spots[:, 0] ** 2])
    ground = fit_ground(with_breaklines(local_shots(shots, 0.0), [line]))
    deviation = elevation_and_deviation(ground, np.array([[11.0, 6.0], [25.0, 6.0]]))[1]
    # Student's t with 19 degrees of freedom over the normal: 1.729 / 1.645 (tables of both).
    assert deviation == pytest.approx(0.005 * 1.729 / 1.645, rel=1e-3)
