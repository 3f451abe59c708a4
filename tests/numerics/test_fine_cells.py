"""Counts and sums by cells: nothing is lost, whatever the size that the cells end up with."""

from __future__ import annotations

import numpy as np
import pytest
from examples_drawn import drawn
from hypothesis import given, settings, strategies as st

from terrain.numerics import FineCells, Stored


def poured(points: np.ndarray, chunks: int) -> FineCells:
    cells = FineCells(np.floor(points[0]))
    for part in np.array_split(points, chunks):
        if len(part):
            cells.add(part)
    return cells


@settings(max_examples=drawn(10))  # a tenth of a second each: room for millions of cells is laid out
@given(
    seed=st.integers(0, 10_000),
    spread=st.sampled_from([1e-6, 0.3, 40.0, 3e3, 1e6]),
    far=st.sampled_from([0.0, 5e5]),
    chunks=st.integers(1, 9),
)
def test_cells_hold_what_sorting_the_points_into_them_gives(seed: int, spread: float, far: float, chunks: int) -> None:
    rng = np.random.default_rng(seed)
    points = rng.normal(0.0, 1.0, (400, 3)) * (spread, spread, 2.0) + (far, -far, 100.0)
    cells = poured(points, chunks)
    across, counts, sums = cells.occupied()
    places = points - cells.origin
    expected, kinds = np.unique(np.floor(places[:, :2] / cells.cell), axis=0, return_inverse=True)
    kinds = kinds.reshape(-1)
    order = np.lexsort(across.T[::-1])
    assert np.array_equal(across[order], expected)
    assert np.array_equal(counts[order], np.bincount(kinds))
    for got, of in ((sums[:, 0], 0), (sums[:, 1], 1), (sums[:, 2], 2)):
        assert np.allclose(got[order], np.bincount(kinds, places[:, of]), rtol=1e-12, atol=1e-6)
    assert np.allclose(cells.squares, (places[:, 2] ** 2).sum(), rtol=1e-12, atol=1e-6)


def test_numbers_of_a_file_are_summed_as_the_metres_that_they_stand_for() -> None:
    rng = np.random.default_rng(5)
    x, y, z = rng.integers(-(2**31), 2**31, (3, 3000), dtype=np.int64).astype(np.int32)
    stored = Stored((x, y, z), np.array([1e-3, 3.048e-4, 2e-6]), np.array([5e5, -4e6, 100.0]))
    points = np.array(
        [[1e-3 * a + 5e5, 3.048e-4 * b - 4e6, 2e-6 * c + 100.0] for a, b, c in zip(*map(list, (x, y, z)), strict=True)]
    )
    assert np.allclose(stored.points(), points, rtol=0.0, atol=1e-8)
    as_stored, as_metres = FineCells(np.floor(points[0])), FineCells(np.floor(points[0]))
    as_stored.pour(stored)
    as_metres.add(points)
    for one, other in zip(as_stored.occupied(), as_metres.occupied(), strict=True):
        assert np.allclose(one, other, rtol=1e-12, atol=1e-6)
    assert as_stored.squares == pytest.approx(as_metres.squares, rel=1e-12)


def test_cells_end_with_the_same_size_in_any_order() -> None:
    points = np.random.default_rng(4).uniform(0.0, 300.0, (5000, 3))
    by_east = points[np.argsort(points[:, 0])]
    assert poured(points, 1).cell == poured(by_east, 50).cell


@pytest.mark.parametrize("bad", [np.nan, np.inf, -1e300])
@pytest.mark.parametrize("axis", [0, 1, 2])
def test_a_point_without_a_place_is_refused(bad: float, axis: int) -> None:
    points = np.ones((3, 3))
    points[1, axis] = bad
    with pytest.raises(ValueError, match="no place that a number can hold"):
        FineCells(np.zeros(3)).add(points)
