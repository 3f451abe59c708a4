"""How near the ground comes to held-out heights, beside every reference library in the same run (`-m benchmark -s`).

Surveys are the 52 spot heights of Davis (1973), each left out in turn; random nodes of the open terrain grid that
matplotlib carries (a crop of 100 by 100, as in the references); and Franke's function. A gap that is smaller than twice
the standard error of the paired differences between seeds is a tie.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
from ground_references import REFERENCES, Array, Reference
from scipy.spatial import Delaunay
from sizes import Size

from terrain import interpolate
from terrain.ground.choose import fit_ground
from terrain.ground.shots import local_shots

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "ground"))
from real_ground import DATA, SAMPLE_CELL, sample_terrain
from test_franke_surface import franke

pytestmark = pytest.mark.benchmark
OURS = "hummock, auto"
TARGETS = 2000
FEW = 3  # surveys at a small size


@dataclass(frozen=True)
class Survey:
    """Shots (n, 3) and held-out heights (m, 3) inside their hull."""

    shots: Array
    held_out: Array


def inside(shots: Array, others: Array) -> Array:
    """The others that lie inside the hull of the shots."""
    return others[Delaunay(shots[:, :2]).find_simplex(others[:, :2]) >= 0]


def terrain_surveys(count: int, seeds: int) -> Iterator[Survey]:
    crop = sample_terrain()[100:200, 100:200]
    north, east = np.mgrid[0:100, 0:100]
    every = np.column_stack([east.ravel() * SAMPLE_CELL[0], north.ravel() * SAMPLE_CELL[1], crop.ravel()])
    for seed in range(seeds):
        rows = np.random.default_rng([3, count, seed]).permutation(len(every))
        shots = every[rows[:count]]
        yield Survey(shots, inside(shots, every[rows[count : count + TARGETS]]))


def franke_surveys(count: int, seeds: int) -> Iterator[Survey]:
    for seed in range(seeds):
        places = np.random.default_rng([12, seed]).uniform(0.0, 1.0, (count + TARGETS, 2))
        every = np.column_stack([places, franke(places)])
        yield Survey(every[:count], inside(every[:count], every[count:]))


def spot_heights() -> Array:
    return np.loadtxt(DATA / "topo.csv", delimiter=",", skiprows=1, usecols=(1, 2, 3))


def left_out_surveys() -> Iterator[Survey]:
    """The 52 spot heights with each that stays inside the hull of the others left out in turn."""
    spots = spot_heights()
    for row in range(len(spots)):
        shots = np.delete(spots, row, axis=0)
        held_out = inside(shots, spots[row : row + 1])
        if len(held_out):
            yield Survey(shots, held_out)


def ours(shots: Array, targets: Array) -> Array:
    return interpolate(shots, targets)[0]


def errors(surveys: list[Survey], method: Reference) -> Array:
    """RMS error (s,) of each survey's held-out heights."""
    missed = [method(one.shots, one.held_out[:, :2]) - one.held_out[:, 2] for one in surveys]
    return np.array([float(np.sqrt(np.mean(rest**2))) for rest in missed])


def available() -> dict[str, Reference]:
    """The references whose library is installed."""
    found = {}
    square = np.array([[0, 0, 1.0], [1, 0, 2.0], [0, 1, 1.5], [1, 1, 1.0], [0.4, 0.6, 1.2], [0.7, 0.2, 1.1]] * 2)
    square[6:, :2] += 0.37
    for name, reference in REFERENCES.items():
        try:
            reference(square, np.array([[0.5, 0.5]]))
        except pytest.skip.Exception:
            print(f"\n{name}: not installed, left out")
            continue
        found[name] = reference
    return found


def told(title: str, unit: str, rows: dict[str, Array], mean: Callable[[Array], float]) -> None:
    print(f"\n{title}, {unit}")
    for name, each in sorted(rows.items(), key=lambda row: mean(row[1])):
        print(f"  {name:32s} {mean(each):10.4g}")


def no_worse(title: str, unit: str, surveys: list[Survey]) -> None:
    """Print the table and hold ours against the best of the references, ties by the seeds' own scatter."""
    rows = {name: errors(surveys, reference) for name, reference in available().items()}
    rows[OURS] = errors(surveys, ours)
    told(title, unit, rows, lambda each: float(each.mean()))
    best = min((name for name in rows if name != OURS), key=lambda name: rows[name].mean())
    apart = rows[OURS] - rows[best]
    tie = 2.0 * float(apart.std(ddof=1)) / np.sqrt(len(apart))
    print(f"  ours less {best}: {apart.mean():+.4g}, tie within {tie:.4g}")
    assert apart.mean() <= tie


@pytest.mark.parametrize(("count", "seeds"), [(50, 12), (200, 8)])
def test_held_out_terrain(count: int, seeds: int, size: Size) -> None:
    seeds = size.of(seeds, FEW)
    no_worse(f"open terrain, {count} shots, {seeds} surveys", "m", list(terrain_surveys(count, seeds)))


def test_held_out_franke(size: Size) -> None:
    seeds = size.of(12, FEW)
    no_worse(f"Franke's function, 100 shots, {seeds} surveys", "of 1", list(franke_surveys(100, seeds)))


def test_left_out_spot_heights() -> None:
    """One shot a survey: the RMS runs over the shots, and the chosen method's own left-out error stands beside it."""
    surveys = list(left_out_surveys())
    assert len(surveys) == 40

    def rms(each: Array) -> float:
        return float(np.sqrt(np.mean(each**2)))

    rows = {name: errors(surveys, reference) for name, reference in available().items()}
    rows[OURS] = errors(surveys, ours)
    told("52 spot heights, each of 40 left out", "ft", rows, rms)
    fitted = fit_ground(local_shots(spot_heights(), 0.0))
    print(f"  leave-one-out as stated: {dict(fitted.errors)}, chosen {fitted.method}")
    best = min((name for name in rows if name != OURS), key=lambda name: rms(rows[name]))
    squares = rows[OURS] ** 2 - rows[best] ** 2
    tie = 2.0 * float(squares.std(ddof=1)) / np.sqrt(len(squares))
    print(f"  ours less {best}: {rms(rows[OURS]) - rms(rows[best]):+.4g} ft")
    assert squares.mean() <= tie
    # Fitted anew without each shot, ours is within 2 % of the best, where forty errors scatter by 11 %; as the choice
    # itself works it out, with one covariance for all, it is no worse.
    assert rms(rows[OURS]) <= 1.02 * rms(rows[best])
    assert fitted.errors[fitted.method] <= rms(rows[best])
