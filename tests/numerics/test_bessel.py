"""The covariance's Bessel function beside scipy's, and its closed values."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.special import k1

from terrain.numerics.bessel import times_first_bessel


def test_it_is_scipys_to_the_last_digits_from_a_speck_to_far_away() -> None:
    a = np.concatenate(
        [np.geomspace(1e-150, 1e-3, 400), np.linspace(1e-3, 4.0, 20_001), np.linspace(4.0, 800.0, 5_001)]
    )
    assert np.abs(times_first_bessel(a) - a * k1(a)).max() < 2e-15
    assert times_first_bessel(np.array([0.0, 1e-300])).tolist() == [1.0, 1.0]


def test_a_value_of_the_handbook() -> None:
    # K1(1) = 0.60190 72302, Abramowitz and Stegun (1964), table 9.8 (e^x K1(x) = 1.63615 3486 at x = 1; from memory).
    assert times_first_bessel(np.array([[1.0]]))[0, 0] == pytest.approx(1.636153486 / np.e, abs=1e-9)


def test_it_falls_all_the_way_and_has_no_step_where_the_forms_meet() -> None:
    values = times_first_bessel(np.linspace(1.9, 2.1, 2_001))
    assert (np.diff(values) < 0.0).all()
    assert np.abs(np.diff(values, 2)).max() < 1e-7
