"""The bicubic spline and the search for a root against the library that has both, and against closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, strategies as st
from scipy.interpolate import RectBivariateSpline
from scipy.optimize import brentq

from terrain.numerics import bicubic, root_between


@pytest.mark.parametrize(("wide", "high"), [(4, 4), (5, 4), (4, 9), (31, 17)])
def test_the_spline_is_fitpacks(wide: int, high: int) -> None:
    random = np.random.default_rng(wide * high)
    columns, rows = np.linspace(503.0, 517.5, wide), np.linspace(-2.0, 5.0, high)
    values = random.normal(size=(wide, high))
    ours, theirs = bicubic(columns, rows, values), RectBivariateSpline(columns, rows, values)
    across, up = np.linspace(503.0, 517.5, 40), np.linspace(-2.0, 5.0, 33)
    np.testing.assert_allclose(ours.on_grid(across, up), theirs(across, up), rtol=0.0, atol=1e-11)
    # Some of these lie past the lattice, where both read its edge.
    places = np.column_stack([random.uniform(500.0, 520.0, 300), random.uniform(-4.0, 7.0, 300)])
    np.testing.assert_allclose(ours.at(places), theirs.ev(*places.T), rtol=0.0, atol=1e-11)


def test_the_spline_is_any_cubic_itself() -> None:
    columns, rows = np.linspace(0.0, 3.0, 7), np.linspace(-1.0, 1.0, 5)
    x, y = np.meshgrid(columns, rows, indexing="ij")

    def cubic(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        return 2.0 - x**3 * y**3 + x * y**2 - 4.0 * x**2

    places = np.random.default_rng(3).uniform([0.0, -1.0], [3.0, 1.0], (50, 2))
    np.testing.assert_allclose(bicubic(columns, rows, cubic(x, y)).at(places), cubic(*places.T), rtol=0.0, atol=1e-12)


@given(st.floats(-8.0, 8.0), st.floats(0.01, 30.0))
def test_the_root_is_where_the_library_finds_it(at: float, steep: float) -> None:
    def over(x: float) -> float:
        return math.tanh(steep * (x - at)) + 0.1 * (x - at) ** 3

    assert root_between(over, -10.0, 12.0) == pytest.approx(at, abs=1e-9)
    assert root_between(over, -10.0, 12.0) == pytest.approx(brentq(over, -10.0, 12.0), abs=1e-9)
    assert root_between(lambda x: -over(x), -10.0, 12.0) == pytest.approx(at, abs=1e-9)


def test_a_root_at_an_end_is_found_and_one_that_is_not_there_refused() -> None:
    assert root_between(lambda x: x - 2.0, 2.0, 5.0) == pytest.approx(2.0, abs=1e-12)
    assert root_between(lambda x: x - 5.0, 2.0, 5.0) == pytest.approx(5.0, abs=1e-12)
    with pytest.raises(ValueError, match="no change of sign between 2 and 5"):
        root_between(lambda x: x, 2.0, 5.0)
