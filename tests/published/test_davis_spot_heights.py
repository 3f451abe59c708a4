"""The 52 spot heights of Davis, Statistics and Data Analysis in Geology (Wiley 1973).

The heights are published; the figures that they are held against were worked out once with scipy 1.17 on the same
numbers (triangulation, thin plate, volume: exact to the digits given), and by refitting the Gaussian processes that
Diggle and Ribeiro, Model-based Geostatistics (Springer 2007), fit to them by maximum likelihood (their figures from
memory, the refit agrees with them to the digits they print).
"""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pytest
from scipy.spatial.distance import cdist

from terrain.ground.choose import fit_ground, heights_at
from terrain.ground.shots import LocalShots, local_shots
from terrain.numerics.covariance import correlation
from terrain.numerics.likelihood import restricted_deviance, whiten
from terrain.numerics.shot_facets import (
    fit_triangulation,
    hull_area,
    hull_corners,
    left_out_by_triangulation,
    triangulated,
)
from terrain.numerics.thin_plate import fit_thin_plate
from terrain.numerics.trend import plane_through, trend_terms

DATA = Path(__file__).resolve().parent.parent / "data"
SPOTS = np.array(json.loads((DATA / "topo.json").read_text())["xyz"], dtype=float)
UNIT = 50.0  # feet to one unit of x and y


@pytest.fixture(scope="module")
def shots() -> LocalShots:
    return local_shots(SPOTS, 0.0)


def rms(values: np.ndarray) -> float:
    return float(np.sqrt(np.mean(values**2)))


def test_survey_file_holds_the_published_numbers_in_feet() -> None:
    table = np.loadtxt(DATA / "topo.csv", delimiter=",", skiprows=1, usecols=(1, 2, 3))
    assert np.allclose(table, SPOTS * [UNIT, UNIT, 1.0], atol=1e-9)
    assert SPOTS[:, 2].sum() == 43008
    assert SPOTS[:, 2].std(ddof=1) == pytest.approx(61.997738, abs=5e-7)


def test_hull_has_the_twelve_corners(shots: LocalShots) -> None:
    assert sorted(hull_corners(shots.places) + 1) == [1, 2, 5, 12, 13, 21, 32, 41, 42, 44, 47, 50]
    area = hull_area(fit_triangulation(shots.places, shots.heights)) * shots.scale**2
    assert area * UNIT**2 == pytest.approx(89_975.0, rel=1e-9)


def test_least_squares_plane(shots: LocalShots) -> None:
    plane = plane_through(SPOTS[:, :2], SPOTS[:, 2])
    assert plane == pytest.approx([913.800018, -1.695042, -25.251717], abs=6e-7)
    rest = SPOTS[:, 2] - trend_terms(SPOTS[:, :2]) @ plane
    assert float(rest @ rest) == pytest.approx(67_185.720, abs=6e-4)


def test_triangulated_volume_above_690_ft_and_mean_height(shots: LocalShots) -> None:
    tin = fit_triangulation(shots.places, shots.heights)
    corners = shots.places[tin.mesh.simplices] * shots.scale * UNIT
    first, second = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    area = np.abs(first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0]) / 2.0
    height = (shots.heights + shots.base)[tin.mesh.simplices].mean(axis=1)
    volume = float(area @ (height - 690.0))
    assert volume == pytest.approx(12_737_625.0, rel=1e-9)
    assert volume / 27.0 == pytest.approx(471_763.889, abs=6e-4)
    assert float(area @ height / area.sum()) == pytest.approx(831.568491, abs=6e-7)
    assert np.count_nonzero(area > 1e-3) == 87


def test_value_at_three_three_by_each_method(shots: LocalShots) -> None:
    place = shots.local(np.array([[3.0, 3.0]]))
    tin = fit_triangulation(shots.places, shots.heights)
    assert triangulated(tin, place)[0] + shots.base == pytest.approx(823.702830, abs=6e-7)
    plate = heights_at(fit_ground(shots, "thin_plate"), place)[0]
    assert plate + shots.base == pytest.approx(816.475334, abs=6e-7)


def test_leave_one_out_of_triangulation(shots: LocalShots) -> None:
    residuals = left_out_by_triangulation(fit_triangulation(shots.places, shots.heights))
    inside = np.isfinite(residuals)
    assert inside.sum() == 40
    assert rms(residuals[inside]) == pytest.approx(23.572, abs=6e-4)
    assert np.abs(residuals[inside]).max() == pytest.approx(106.6, abs=0.06)


def test_leave_one_out_of_thin_plate(shots: LocalShots) -> None:
    inside = np.isfinite(left_out_by_triangulation(fit_triangulation(shots.places, shots.heights)))
    residuals = fit_thin_plate(shots.places, shots.heights).residuals
    assert rms(residuals) == pytest.approx(22.334, abs=6e-4)
    assert rms(residuals[inside]) == pytest.approx(18.358, abs=6e-4)
    assert np.abs(residuals[inside]).max() == pytest.approx(61.7, abs=0.06)


def log_likelihood(covariance: np.ndarray, terms: np.ndarray, heights: np.ndarray) -> float:
    """Full Gaussian log likelihood: the restricted deviance, which the choice goes by, less its term of the trend."""
    seen = whiten(covariance, terms, heights)
    of_trend = 2.0 * float(np.log(np.abs(np.diag(seen.triangle))).sum())
    return -0.5 * (len(heights) * math.log(2.0 * math.pi) + restricted_deviance(seen) - of_trend)


@pytest.mark.parametrize(
    ("trend", "sill", "reach", "nugget", "expected"),
    [("constant", 3510.1, 1.2, 48.2, -242.1), ("linear", 1693.1, 0.8, 34.9, -240.1)],
)
def test_likelihood_at_the_printed_estimates(
    trend: str, sill: float, reach: float, nugget: float, expected: float
) -> None:
    terms = trend_terms(SPOTS[:, :2])[:, : 1 if trend == "constant" else 3]
    covariance = sill * correlation(cdist(SPOTS[:, :2], SPOTS[:, :2]), 1.5, reach) + nugget * np.eye(52)
    assert log_likelihood(covariance, terms, SPOTS[:, 2]) == pytest.approx(expected, abs=0.05)


@pytest.mark.parametrize(
    ("terms_kept", "refit", "trend"),
    [
        (1, (3511.41, 1.1985, 48.07, -242.1016), [848.314]),
        (3, (1693.16, 0.8061, 34.88, -240.0805), [912.486, -4.990, -16.464]),
    ],
)
def test_refit_is_the_top_of_our_likelihood(
    terms_kept: int, refit: tuple[float, float, float, float], trend: list[float]
) -> None:
    terms = trend_terms(SPOTS[:, :2])[:, :terms_kept]
    apart = cdist(SPOTS[:, :2], SPOTS[:, :2])

    def matrix(sill: float, reach: float, nugget: float) -> np.ndarray:
        return sill * correlation(apart, 1.5, reach) + nugget * np.eye(52)

    sill, reach, nugget, top = refit
    assert log_likelihood(matrix(sill, reach, nugget), terms, SPOTS[:, 2]) == pytest.approx(top, abs=6e-5)
    # The printed digits move the trend by less than half a unit in their third decimal.
    assert whiten(matrix(sill, reach, nugget), terms, SPOTS[:, 2]).trend == pytest.approx(trend, abs=2e-3)
    for one in ((1.05, 1, 1), (0.95, 1, 1), (1, 1.05, 1), (1, 0.95, 1), (1, 1, 1.2), (1, 1, 0.8)):
        moved = matrix(sill * one[0], reach * one[1], nugget * one[2])
        assert log_likelihood(moved, terms, SPOTS[:, 2]) < top


def test_auto_keeps_the_least_leave_one_out_error(shots: LocalShots) -> None:
    ground = fit_ground(shots)
    assert ground.errors["triangulation"] == pytest.approx(23.572, abs=6e-4)
    assert ground.errors["thin_plate"] == pytest.approx(18.358, abs=6e-4)
    assert ground.errors["kriging"] < 18.8  # the best Gaussian process of the references measured 18.7
    assert ground.method == min(ground.errors, key=lambda name: ground.errors[name])


def test_interpolates_the_survey_within_its_stated_sureness(shots: LocalShots) -> None:
    process = fit_ground(shots, "kriging").process
    score = np.abs(process.residuals / process.expected)
    assert 0.88 <= np.mean(score < 1.96) <= 1.0  # 95 % stated, 52 shots
