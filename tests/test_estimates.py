"""Estimates are shown with two figures at most, in either system, with their range."""

from __future__ import annotations

import math
import re

import pytest
from hypothesis import given, strategies as st

from terrain.estimates import Figure, exactly, show_about, show_figure, two_figures


@pytest.mark.parametrize(
    ("number", "shown"),
    [
        (36.7, "37"),
        (0.819, "0.82"),
        (1388.0, "1,400"),
        (9.96, "10"),
        (0.0996, "0.10"),
        (99.6, "100"),
        (5.0, "5.0"),
        (0.0, "0"),
        (-2.34, "-2.3"),
        (math.inf, "inf"),
    ],
)
def test_two_figures_by_hand(number: float, shown: str) -> None:
    assert two_figures(number) == shown


@given(st.floats(1e-4, 1e7))
def test_what_is_needed_at_least_is_never_rounded_down(number: float) -> None:
    assert float(two_figures(number, up=True).replace(",", "")) >= number * (1.0 - 1e-6)


@given(st.floats(1e-4, 1e7))
def test_never_more_than_two_figures_and_never_far_off(number: float) -> None:
    shown = two_figures(number)
    digits = re.sub(r"[.,]", "", shown).lstrip("0")
    assert len(digits.rstrip("0")) <= 2
    assert float(shown.replace(",", "")) == pytest.approx(number, rel=0.05)


def test_a_figure_is_shown_in_either_system_with_its_range() -> None:
    gallon = 231.0 * 0.0254**3
    water = Figure(36.7 * gallon, 29.2 * gallon, 48.9 * gallon)
    assert show_figure(water, "water", "ft") == "37 gal (29 to 49)"
    assert show_figure(water, "water", "m") == "140 L (110 to 190)"
    assert show_figure(exactly(0.0208), "thin", "ft") == "0.82 in"
    assert show_about(0.0208, "thin", "m") == "2.1 cm"
    assert show_about(907.18474, "load", "ft") == "1.0 tons"
    both = water + exactly(gallon)
    assert (both.value, both.low, both.high) == pytest.approx((37.7 * gallon, 30.2 * gallon, 49.9 * gallon))
