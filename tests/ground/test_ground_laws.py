"""Laws that hold for every method on any survey."""

from __future__ import annotations

import numpy as np
import pytest
from examples_drawn import drawn
from hypothesis import example, given, settings, strategies as st
from real_ground import smooth_garden, spread_out

from terrain import interpolate

METHODS = ("triangulation", "thin_plate", "kriging")
FIGURES = {"seed": st.integers(0, 10_000), "count": st.integers(8, 60)}

methods = pytest.mark.parametrize("method", METHODS)


def survey(seed: int, count: int) -> tuple[np.ndarray, np.ndarray]:
    """Shots (count, 3) of a garden and 50 targets in and around it."""
    random = np.random.default_rng(seed)
    shots = smooth_garden(spread_out(count, random), random, 0.02)
    return shots, random.uniform(-5.0, 1.0, (50, 2)) + random.uniform(0.0, 1.0, (50, 2)) * [65, 45]


@methods
@given(**FIGURES, slope=st.tuples(*[st.floats(-0.5, 0.5)] * 2))
@settings(max_examples=drawn(5))
def test_a_plane_comes_back_exactly(method: str, seed: int, count: int, slope: tuple[float, float]) -> None:
    shots, targets = survey(seed, count)
    plane = 100.0 + shots[:, :2] @ slope
    elevation = interpolate(np.column_stack([shots[:, :2], plane]), targets, method)[0]
    assert elevation == pytest.approx(100.0 + targets @ slope, abs=1e-6)


@methods
@given(**FIGURES)
@settings(max_examples=drawn(5))
def test_exact_shots_are_passed_through(method: str, seed: int, count: int) -> None:
    shots, _ = survey(seed, count)
    elevation, deviation = interpolate(shots, shots[:, :2], method)
    assert elevation == pytest.approx(shots[:, 2], abs=1e-6)
    # The jitter that keeps the factor sound is 1e-10 of the sill: 1e-5 of its root.
    assert deviation.max() < 1e-3


@methods
@given(**FIGURES, shift=st.tuples(*[st.floats(-1e6, 1e6)] * 3))
@settings(max_examples=drawn(5))
def test_shift_changes_nothing(method: str, seed: int, count: int, shift: tuple[float, float, float]) -> None:
    shots, targets = survey(seed, count)
    here = interpolate(shots, targets, method, accuracy=0.02)
    there = interpolate(shots + shift, targets + shift[:2], method, accuracy=0.02)
    # A coordinate of a million keeps ten decimals; the search for the covariance magnifies the last ones.
    assert there[0] - shift[2] == pytest.approx(here[0], abs=1e-5)
    assert there[1] == pytest.approx(here[1], abs=1e-5)


@methods
@given(**FIGURES, angle=st.floats(0.0, 6.3))
@settings(max_examples=drawn(5))
def test_turning_the_survey_turns_the_surface(method: str, seed: int, count: int, angle: float) -> None:
    shots, targets = survey(seed, count)
    turn = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
    turned = np.column_stack([shots[:, :2] @ turn, shots[:, 2]])
    here = interpolate(shots, targets, method, accuracy=0.02)
    there = interpolate(turned, targets @ turn, method, accuracy=0.02)
    assert there[0] == pytest.approx(here[0], abs=1e-5)
    assert there[1] == pytest.approx(here[1], abs=1e-5)


@methods
@given(**FIGURES, factor=st.floats(0.01, 100.0))
@settings(max_examples=drawn(5))
def test_feet_and_metres_give_one_surface(method: str, seed: int, count: int, factor: float) -> None:
    shots, targets = survey(seed, count)
    here = interpolate(shots, targets, method, accuracy=0.02)
    there = interpolate(shots * factor, targets * factor, method, accuracy=0.02 * factor)
    assert there[0] == pytest.approx(here[0] * factor, rel=1e-6)
    assert there[1] == pytest.approx(here[1] * factor, rel=1e-3)


@methods
@given(**FIGURES)
@example(seed=100, count=45)  # a ridge so flat that the last digits chose between lengths of 1.9 and 3.0
@settings(max_examples=drawn(5))
def test_order_of_the_shots_does_not_matter(method: str, seed: int, count: int) -> None:
    shots, targets = survey(seed, count)
    mixed = np.random.default_rng(seed + 1).permutation(shots)
    here = interpolate(shots, targets, method, accuracy=0.02)
    there = interpolate(mixed, targets, method, accuracy=0.02)
    assert there[0] == pytest.approx(here[0], abs=1e-5)
    assert there[1] == pytest.approx(here[1], abs=1e-5)


@given(seed=st.integers(0, 10_000))
@settings(max_examples=drawn(5))
def test_many_targets_get_what_few_get(seed: int) -> None:
    shots, _ = survey(seed, 40)
    axes = np.linspace(-2.0, 62.0, 130), np.linspace(-2.0, 42.0, 120)
    nodes = np.stack(np.meshgrid(*axes), axis=-1).reshape(-1, 2)
    some = np.random.default_rng(seed).permutation(len(nodes))[:500]
    for method in METHODS:
        many = interpolate(shots, nodes, method)
        few = interpolate(shots, nodes[some], method)
        relief = np.ptp(shots[:, 2])
        assert many[0][some] == pytest.approx(few[0], abs=1e-3 * relief)
        assert many[1][some] == pytest.approx(few[1], abs=5e-3 * relief)
