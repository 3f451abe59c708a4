"""The line of a stream's bed under straight banks, where it can be written down."""

from __future__ import annotations

import numpy as np
import pytest

from terrain.shape.bed_line import Steps, even_bed, proposed_steps

STATIONS = np.linspace(0.0, 8.0, 161)
NONE = Steps(np.empty(0), np.empty(0))
INCH, FOOT = 0.0254, 0.3048


def test_without_drops_the_bed_of_an_even_face_runs_with_it() -> None:
    cap = 10.0 - 0.03 * STATIONS
    assert even_bed(STATIONS, cap, (), NONE, np.inf) == pytest.approx(cap, abs=1e-7)


def test_treads_beside_a_drop_touch_the_face_at_their_lower_ends() -> None:
    # A face of 10 % over 8 m with one drop of 0.36 m half-way. The lower tread touches the face at its end and falls by
    # the least, 1 %, from 9.24 m to 9.20; the upper runs with the face, or, held to 1 %, from 9.64 m to 9.60.
    cap, drop = 10.0 - 0.1 * STATIONS, Steps(np.array([4.0]), np.array([0.36]))
    for steepest, top in ((np.inf, 10.0), (0.01, 9.64)):
        bed = even_bed(STATIONS, cap, (), drop, steepest)
        assert (bed <= cap + 1e-9).all()
        at = np.interp([0.0, 4.0, 4.05, 8.0], STATIONS, bed)
        assert at == pytest.approx([top, 9.60, 9.2395, 9.20], abs=1e-6)


def test_a_pool_is_level_and_the_rest_falls_by_the_least() -> None:
    cap = np.full(len(STATIONS), 5.0)
    bed = even_bed(STATIONS, cap, ((2.0, 3.0),), NONE, np.inf)
    at = np.interp([0.0, 2.0, 3.0, 8.0], STATIONS, bed)
    assert at == pytest.approx([5.0, 4.98, 4.98, 4.93], abs=1e-7)


def test_drops_on_an_even_face_are_as_few_as_their_height_allows() -> None:
    # A face of 4:1 over a path of 16 ft, treads that fall 2 %, no drop over 8 in: six equal treads leave each of the
    # five drops 16 / 6 ft x 0.23, 7.36 in; four would take 16 / 5 ft x 0.23, 8.83 in. By hand.
    stations = np.linspace(0.0, 16.0 * FOOT, 241)
    steps = proposed_steps(stations, 4.0 * FOOT - 0.25 * stations, 8.0 * INCH, ())
    assert steps.heights == pytest.approx([7.36 * INCH] * 5, abs=0.05 * INCH)
    assert steps.stations == pytest.approx(16.0 * FOOT / 6.0 * np.arange(1, 6), abs=1e-9)
