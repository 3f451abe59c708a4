"""What a fit may be off by: against scipy's distributions where one error is known or told by the misses alone."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from terrain.numerics.two_errors import TwoErrors, two_errors


def mean_of(pixels: np.ndarray, stated: np.ndarray) -> tuple[np.ndarray, TwoErrors]:
    """The mean of places (n, 2) of the plane as a fit of two unknowns, each place with its errors of two kinds."""
    weight = 1.0 / np.sum(stated**2, axis=1)
    found = weight @ pixels / weight.sum()
    slopes = np.tile(np.eye(2), (len(pixels), 1))
    told = two_errors(slopes, (found - pixels).ravel(), np.repeat(stated, 2, axis=0), np.zeros(2 * len(pixels)))
    return found, told


@pytest.mark.parametrize(
    ("covariance", "radius"),
    [
        (np.diag([4.0, 4.0]), 2.0 * math.sqrt(stats.chi2.ppf(0.95, 2))),
        (np.diag([4.0, 0.0]), 2.0 * stats.norm.ppf(0.975)),
        (2.0 * np.ones((2, 2)), 2.0 * stats.norm.ppf(0.975)),
    ],
)
def test_a_circle_of_a_share_is_that_of_the_normal_distribution(covariance: np.ndarray, radius: float) -> None:
    sure = TwoErrors(np.ones(1), covariance[None])
    assert sure.reach(np.eye(2)[None], 0.95) == pytest.approx(np.array([radius]), rel=0.01)  # 24 directions are summed


def test_a_circle_of_unlike_deviations_holds_its_share_of_normal_places() -> None:
    sure = TwoErrors(np.ones(1), np.diag([9.0, 1.0])[None])
    places = np.random.default_rng(1).normal(0.0, (3.0, 1.0), (200_000, 2))
    inside = np.hypot(*places.T) <= sure.reach(np.eye(2)[None], 0.9)[0]
    assert np.mean(inside) == pytest.approx(0.9, abs=0.003)


@pytest.mark.parametrize("marks", [4, 8, 30])
def test_few_measurements_widen_the_range_as_the_textbook_has_it(marks: int) -> None:
    """The mean of places of one error, its size told by the misses alone: r^2 = 2 s^2 F(2, 2n - 2) / n."""
    rng, widths = np.random.default_rng(marks), []
    for _ in range(20):
        pixels = rng.normal(0.0, 1.7, (marks, 2))
        found, told = mean_of(pixels, np.column_stack([np.ones(marks), np.zeros(marks)]))
        free = 2 * marks - 2
        square = float(np.sum((pixels - found) ** 2)) / free
        textbook = math.sqrt(2.0 * square * stats.f.ppf(0.95, 2, free) / marks)
        widths.append(float(told.reach(np.eye(2)[None], 0.95)[0]) / textbook)
    assert np.mean(widths) == pytest.approx(1.0, abs=0.03)  # factors are tried by halves of an octave, up to eight


def test_each_of_two_kinds_is_sized_by_its_own_measurements() -> None:
    """A third of what is stated for one kind, twice for the other: the deviation of the mean comes out as it is."""
    rng, marks, ratios = np.random.default_rng(5), 60, []
    stated = np.column_stack([np.ones(marks), np.where(np.arange(marks) % 2, 6.0, 0.0)])
    true = np.hypot(stated[:, 0] / 3.0, 2.0 * stated[:, 1])
    weight = 1.0 / np.sum(stated**2, axis=1)
    really = math.sqrt(float(np.sum((weight * true) ** 2))) / float(weight.sum())
    for _ in range(20):
        _, told = mean_of(rng.normal(0.0, true[:, None], (marks, 2)), stated)
        ratios.append(math.sqrt(told.covariance[0, 0]) / really)
    assert np.mean(ratios) == pytest.approx(1.0, abs=0.06)  # the mean of twenty, each within a tenth or so
