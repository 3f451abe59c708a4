"""Contours lie where the ground has their height, and their interval shows a mound in four to eight of them."""

from __future__ import annotations

from typing import Literal

import numpy as np
import pytest
import shapely
from hypothesis import given, strategies as st

from terrain.grid import Grid
from viewer.page import contours

FT = 0.3048
GRID = Grid(-3.0, -3.0, 0.05, 121, 121)


def cone(slope: float = 0.25) -> np.ndarray:
    x, y = np.meshgrid(GRID.x, GRID.y)
    return np.maximum(0.5 - slope * np.hypot(x, y), 0.0)


@pytest.mark.parametrize(
    ("low", "high", "units", "interval"),
    [
        (100.0 * FT, 100.0 * FT + 26 * 0.0254, "ft", 0.5 * FT),
        (100.0 * FT, 101.0 * FT, "ft", 0.25 * FT),
        (98.2 * FT, 103.9 * FT, "ft", 1.0 * FT),
        (31.6, 32.6, "m", 0.2),
        (31.6, 32.0, "m", 0.05),
    ],
)
def test_the_interval_is_a_usual_one(low: float, high: float, units: Literal["ft", "m"], interval: float) -> None:
    assert contours.contour_interval(low, high, units) == pytest.approx(interval, rel=1e-12)


@given(st.floats(-50, 500), st.floats(0.25, 3.0), st.sampled_from(["ft", "m"]))
def test_a_mound_shows_four_to_eight_contours(low: float, height: float, units: Literal["ft", "m"]) -> None:
    unit = FT if units == "ft" else 1.0
    usual = [unit * step for step in ((0.1, 0.25, 0.5, 1, 2, 5) if units == "ft" else (0.02, 0.05, 0.1, 0.2, 0.5, 1))]
    counts = {step: contours.levels_between(low, low + height, step).size for step in usual}
    chosen = counts[min(usual, key=lambda step: abs(step - contours.contour_interval(low, low + height, units)))]
    # Usual intervals lie up to 2.5 times apart, so a few heights fall between them: then one more or one less.
    assert 4 <= chosen <= 8 if any(4 <= count <= 8 for count in counts.values()) else 3 <= chosen <= 9


def test_levels_are_whole_multiples_strictly_inside() -> None:
    assert contours.levels_between(1.0, 2.0, 0.25) == pytest.approx([1.25, 1.5, 1.75], abs=1e-12)
    assert contours.levels_between(-0.3, 0.3, 0.25) == pytest.approx([-0.25, 0.0, 0.25], abs=1e-12)


@pytest.mark.parametrize(
    ("level", "interval", "units", "text"),
    [
        (101.5 * FT, 0.5 * FT, "ft", "101.5"),
        (101.25 * FT, 0.25 * FT, "ft", "101.25"),
        (101.0 * FT, 1.0 * FT, "ft", "101"),
        (32.2, 0.2, "m", "32.2"),
        (32.05, 0.05, "m", "32.05"),
        (-1e-9, 0.2, "m", "0.0"),
    ],
)
def test_levels_are_written_with_the_decimals_they_need(
    level: float, interval: float, units: Literal["ft", "m"], text: str
) -> None:
    assert contours.level_text(level, interval, units) == text


def test_the_contour_of_a_cone_is_a_circle() -> None:
    (line,) = contours.contour_lines(GRID, cone(), np.array([0.25]))
    radii = np.hypot(*shapely.get_coordinates(line).T)
    # Linear between nodes: off by at most cell^2 / (8 radius), here 0.3 mm.
    assert np.abs(radii - 1.0).max() < 5e-4


def test_the_area_between_two_levels_of_a_cone_is_a_ring() -> None:
    ring = contours.area_between(GRID, cone(), 0.125, 0.25)
    assert ring.area == pytest.approx(np.pi * (1.5**2 - 1.0**2), rel=2e-3)
    assert not ring.contains(shapely.Point(0, 0))


@given(st.floats(0.01, 3.0), st.sampled_from(["ft", "m"]))
def test_depth_steps_make_at_most_five_bands(deepest: float, units: Literal["ft", "m"]) -> None:
    assert int(np.ceil(deepest / contours.depth_step(deepest, units) - 1e-9)) <= 5
