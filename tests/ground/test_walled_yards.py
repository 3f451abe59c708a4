"""A yard with a wall: busts are named all the same, and the range is that of the ground and not of the wall's step."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest
from real_ground import Random, spread_out

from terrain.ground.choose import FittedGround, elevation_and_deviation, fit_ground, heights_at
from terrain.ground.creased_doubts import _Facets, _neighbours, _on_banks
from terrain.ground.creases import with_breaklines
from terrain.ground.doubtful import find_doubtful
from terrain.ground.leave_one_out import LeftOutShot
from terrain.ground.model_averaging import likely_ground, mean_deviation_over
from terrain.ground.shots import local_shots
from terrain.numerics.shot_facets import fit_triangulation

FOOT = 0.3048
HALF_90 = 1.645
WIDE, DEEP = 60.0, 40.0  # feet


@dataclass(frozen=True)
class Walled:
    """An invented yard, feet: a fall, three waves and a step of some height up the yard, straight across all of it."""

    at: float
    step: float
    fall: np.ndarray
    waves: np.ndarray
    heights: np.ndarray

    def ground(self, places: np.ndarray) -> np.ndarray:
        smooth = 100.0 + places @ self.fall + np.sin(places @ self.waves.T + self.heights * 20.0) @ self.heights
        return smooth + self.step * np.clip((places[:, 1] - self.at) / 0.3, 0.0, 1.0)

    def lines(self) -> list[np.ndarray]:
        """Top and foot of the wall, metres."""
        along = np.linspace(0.0, WIDE, 6)
        both = [np.column_stack([along, np.full(6, self.at + off)]) for off in (0.3, 0.0)]
        return [np.column_stack([line, self.ground(line)]) * FOOT for line in both]

    def shots(self, random: Random, count: int = 50) -> np.ndarray:
        """Shots off the wall, with 0.02 ft of error each, metres."""
        places = spread_out(count, random, WIDE, DEEP)
        places = places[(places[:, 1] < self.at - 0.4) | (places[:, 1] > self.at + 0.7)]
        return np.column_stack([places, self.ground(places) + random.normal(0.0, 0.02, len(places))]) * FOOT


def walled(random: Random, step: float) -> Walled:
    bearing = random.normal(0.0, 1.0, (3, 2))
    waves = bearing / np.linalg.norm(bearing, axis=1)[:, None] * 2.0 * np.pi / random.uniform(40.0, 90.0, (3, 1))
    return Walled(random.uniform(24.0, 32.0), step, random.normal(0.0, 0.03, 2), waves, random.uniform(0.1, 0.35, 3))


def fitted_to(yard: Walled, shots: np.ndarray) -> FittedGround:
    return fit_ground(with_breaklines(local_shots(shots, 0.02 * FOOT), yard.lines()))


def bed_of(random: Random) -> np.ndarray:
    """Places in a bed of 18 by 12 ft below the wall, feet."""
    middle = random.uniform([14.0, 8.0], [46.0, 18.0])
    lattice = np.stack(np.meshgrid(np.linspace(-9.0, 9.0, 25), np.linspace(-6.0, 6.0, 17)), axis=-1).reshape(-1, 2)
    return lattice[(lattice[:, 0] / 9.0) ** 2 + (lattice[:, 1] / 6.0) ** 2 < 1.0] + middle


def busted(yard: Walled, shots: np.ndarray, random: Random) -> tuple[int, np.ndarray]:
    """One shot below the wall, well inside the survey, misread by 0.8 ft; its row."""
    east, north = shots[:, 0] / FOOT, shots[:, 1] / FOOT
    row = int(random.choice(np.flatnonzero((np.abs(east - 30.0) < 24.0) & (north > 6.0) & (north < yard.at - 4.0))))
    wrong = shots.copy()
    wrong[row, 2] -= 0.8 * FOOT
    return row, wrong


def test_a_bust_beside_a_wall_is_named_and_nothing_else() -> None:
    random = np.random.default_rng(3)
    yard = walled(random, 2.5)
    shots = yard.shots(random)
    good = fitted_to(yard, shots)
    assert find_doubtful(good.shots, good.likely) == ()
    row, wrong = busted(yard, shots, random)
    bad = fitted_to(yard, wrong)
    (miss,) = find_doubtful(bad.shots, bad.likely)
    assert miss.row == row
    assert miss.residual == pytest.approx(-0.8 * FOOT, abs=0.15 * FOOT)


def test_the_range_does_not_take_the_step_for_relief() -> None:
    random = np.random.default_rng(4)
    yard = walled(random, 2.5)
    fitted = fitted_to(yard, yard.shots(random))
    places = bed_of(random)
    bed = fitted.shots.local(places * FOOT)
    mean = float(heights_at(fitted, bed).mean())
    stated = mean_deviation_over(fitted.likely, bed, mean)
    smooth = likely_ground(fitted.shots)
    assert not fitted.likely.know_heights
    assert stated < 0.3 * mean_deviation_over(smooth, bed, mean)
    assert abs(mean + fitted.shots.base - yard.ground(places).mean() * FOOT) < 3.0 * stated


def test_a_line_without_a_step_leaves_the_processes_as_they_are() -> None:
    random = np.random.default_rng(5)
    yard = walled(random, 0.0)
    fitted = fitted_to(yard, yard.shots(random))
    assert fitted.method == "triangulation"
    assert fitted.likely.know_heights


def test_the_ground_follows_the_wall_and_is_as_sure_as_its_points() -> None:
    random = np.random.default_rng(6)
    yard = walled(random, 2.5)
    fitted = fitted_to(yard, yard.shots(random))
    on_foot = np.column_stack([np.linspace(5.0, 55.0, 60), np.full(60, yard.at)]) * FOOT
    amid = np.column_stack([np.linspace(5.0, 55.0, 60), np.full(60, yard.at / 2.0)]) * FOOT
    height, by_wall = elevation_and_deviation(fitted, on_foot)
    foot = yard.lines()[1]
    assert height == pytest.approx(np.interp(on_foot[:, 0], foot[:, 0], foot[:, 2]), abs=1e-3)
    # On the line itself, also between the points that carry it: their own error, and the bend over 12 ft of the waves.
    assert by_wall.min() > 0.7 * 0.02 * FOOT
    assert by_wall.max() < 0.15 * FOOT
    assert 0.0 < elevation_and_deviation(fitted, amid)[1].mean() < 0.3 * FOOT


@pytest.mark.parametrize(
    "step",
    [pytest.param(0.4, marks=pytest.mark.slow), *(pytest.param(step, marks=pytest.mark.fuzz) for step in (0.0, 2.0))],
)
def test_range_covers_and_busts_are_found_on_forty_walled_yards(step: float) -> None:
    scores, found, false = [], 0, 0
    for seed in range(40):
        random = np.random.default_rng([78, seed])
        yard = walled(random, step)
        shots, places = yard.shots(random), bed_of(random)
        fitted = fitted_to(yard, shots)
        bed = fitted.shots.local(places * FOOT)
        mean = float(heights_at(fitted, bed).mean())
        miss = mean + fitted.shots.base - yard.ground(places).mean() * FOOT
        scores.append(abs(miss) / mean_deviation_over(fitted.likely, bed, mean))
        false += bool(find_doubtful(fitted.shots, fitted.likely))
        row, wrong = busted(yard, shots, random)
        bad = fitted_to(yard, wrong)
        found += row in {miss.row for miss in find_doubtful(bad.shots, bad.likely)}
    assert np.mean(np.array(scores) < HALF_90) >= 0.84  # 90 % stated
    assert found >= 34
    assert false <= 3


def test_a_shot_beside_one_that_stands_out_to_the_other_side_is_on_a_bank() -> None:
    """An unshot bank: its top stands above, its foot below; a bust stands out alone."""
    places = np.stack(np.meshgrid(np.arange(6.0), np.arange(5.0)), axis=-1).reshape(-1, 2)
    across = np.hypot(*(places - [2.4, 2.2]).T)
    lifted = np.where(places[:, 0] < 3.0, 1.0, 0.0) * (across < 2.0)
    tin = fit_triangulation(places + 0.01 * np.sin(7.0 * places[:, ::-1]), lifted)
    beside = _neighbours(tin, len(places))
    top, foot, far = 14, 15, 0  # at (2, 2), (3, 2) and (0, 0)
    assert foot in beside[top]
    assert far not in beside[top]
    quiet = _Facets(tin, np.zeros(len(places)), 1.0)
    misses = [LeftOutShot(top, 0.9, 0.1), LeftOutShot(foot, -0.8, 0.1), LeftOutShot(far, 0.7, 0.1)]
    assert _on_banks(misses, quiet, beside) == {top, foot}
    assert _on_banks(misses[::2], quiet, beside) == set()
    kept = np.zeros(len(places))
    kept[foot] = -4.0  # not set aside, but as far out
    assert _on_banks(misses[:1], _Facets(tin, kept, 1.0), beside) == {top}
