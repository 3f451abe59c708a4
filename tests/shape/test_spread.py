"""Facets that are too steep are brought to their bound with the least change, and nothing else is touched."""

from __future__ import annotations

import numpy as np
import pytest
from examples_drawn import drawn
from hypothesis import given, settings, strategies as st
from scipy.optimize import minimize

from terrain.grid import Array
from terrain.numerics.facets import Facets, facets_over
from terrain.numerics.spread import UNDER, held_to_slope

SLOPE = 0.25
BOUND = SLOPE * (1.0 - UNDER)
ALL = np.ones(3, dtype=bool)
corners_of_a_facet = st.tuples(*[st.floats(-1.0, 1.0) for _ in range(6)]).map(lambda row: np.reshape(row, (3, 2)))


def one_facet(points: Array) -> Facets:
    return facets_over(points, np.array([[0, 1, 2]]))


def twice_area(points: Array) -> float:
    (ax, ay), (bx, by) = points[1] - points[0], points[2] - points[0]
    return float(abs(ax * by - ay * bx))


def held(facets: Facets, heights: Array, free: Array = ALL) -> Array:
    """With the ground far below, so that it holds nothing up."""
    ground = np.full(len(heights), -100.0)
    return held_to_slope(facets, facets.slopes(ground), ground, heights, free, SLOPE)


@settings(max_examples=drawn(25), deadline=None)
@given(corners_of_a_facet, st.tuples(*[st.floats(0.0, 1.0) for _ in range(3)]))
def test_one_facet_changes_as_little_as_can_be(points: Array, heights: tuple[float, ...]) -> None:
    """Against a general optimiser; the tolerance is its own."""
    if twice_area(points) < 0.2:
        return
    facets, before = one_facet(points), np.array(heights)
    after = held(facets, before)
    if facets.slopes(before)[0] <= SLOPE * (1.0 - 1e-4):
        assert np.array_equal(after, before)
        return
    assert BOUND * (1.0 - 2e-4) <= facets.slopes(after)[0] <= SLOPE
    room = {"type": "ineq", "fun": lambda z: BOUND**2 - facets.slopes(z)[0] ** 2}
    best = minimize(lambda z: ((z - before) ** 2).sum(), np.full(3, before.mean()), constraints=[room], tol=1e-12)
    assert np.abs(after - before) @ np.abs(after - before) <= best.fun * 1.01 + 1e-7
    assert after.sum() == pytest.approx(before.sum(), abs=1e-9), "the soil stays"


def test_corners_that_take_no_fill_stay_where_they_are() -> None:
    facets = one_facet(np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]]))
    after = held(facets, np.array([0.0, 1.0, 0.0]), np.array([False, True, False]))
    assert after == pytest.approx([0.0, BOUND, 0.0], rel=1e-4)


def test_a_sharp_tent_keeps_its_soil_and_its_neighbours() -> None:
    """A ridge one cell wide gives its soil to both sides; ground two cells away is not touched."""
    n = 12
    x, y = np.meshgrid(np.arange(n, dtype=float), np.arange(n, dtype=float))
    points = np.column_stack([x.ravel(), y.ravel()])
    quads = (np.arange(n - 1)[:, None] * n + np.arange(n - 1)).ravel()[:, None] + np.array([0, 1, n + 1, n])
    facets = facets_over(points, quads[:, [0, 1, 2, 0, 2, 3, 0, 1, 3, 1, 2, 3]].reshape(-1, 3))
    before = np.where(x == 5, 0.4, 0.0).ravel()
    after = held(facets, before, np.ones(n * n, dtype=bool))
    assert facets.slopes(after).max() <= SLOPE
    assert after.sum() == pytest.approx(before.sum(), rel=1e-6)
    rows = after.reshape(n, n)
    assert np.array_equal(rows[:, :3], np.zeros((n, 3)))
    assert rows.max() < 0.3


def test_ground_steeper_than_the_limit_is_the_bound_there() -> None:
    facets = one_facet(np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]]))
    ground = np.array([0.0, 0.6, 0.0])
    after = held_to_slope(facets, facets.slopes(ground), ground, ground + np.array([0.0, 0.3, 0.0]), ALL, SLOPE)
    assert facets.slopes(after)[0] <= 0.6 + 1e-6
    assert (after >= ground).all()
