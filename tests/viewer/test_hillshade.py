"""The hillshade: light by the law of the cosine, and drawings that are vectors with the same content every time."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, strategies as st
from scenario import yard

from viewer.page.subject import Subject
from viewer.pictures.hillshade import SUN_FROM, SUN_HIGH, hillshade_page, mound_interval, shade


def subject() -> Subject:
    return Subject(*yard("m"))


def plane(east: float, north: float) -> np.ndarray:
    x, y = np.meshgrid(np.arange(6) * 0.5, np.arange(5) * 0.5)
    return 3.0 + east * x + north * y


@given(east=st.floats(-0.5, 0.5), north=st.floats(-0.5, 0.5))
def test_a_plane_is_lit_by_the_cosine_of_its_angle_to_the_light(east: float, north: float) -> None:
    turn, high = np.radians([SUN_FROM, SUN_HIGH])
    light = np.array([np.sin(turn) * np.cos(high), np.cos(turn) * np.cos(high), np.sin(high)])
    normal = np.array([-east, -north, 1.0]) / np.sqrt(east**2 + north**2 + 1.0)
    assert shade(plane(east, north), 0.5, 1.0) == pytest.approx(max(0.0, float(normal @ light)), abs=1e-9)


def test_level_ground_is_as_bright_as_the_light_is_high() -> None:
    # Lambert: the cosine of the angle between upright and a light 35 degrees over the horizon is sin 35 = 0.5736.
    assert shade(plane(0.0, 0.0), 0.5) == pytest.approx(0.57358, abs=1e-5)


def test_the_side_toward_the_light_is_brighter() -> None:
    facing_northwest, facing_southeast = plane(0.1, -0.1), plane(-0.1, 0.1)
    assert shade(facing_northwest, 0.5).min() > 0.8 > 0.3 > shade(facing_southeast, 0.5).max()


def test_equal_pages_are_equal_files(tmp_path: Path) -> None:
    first, second = (hillshade_page(subject()).save(tmp_path / f"{k}.svg").read_bytes() for k in (1, 2))
    assert first == second


def test_the_interval_follows_the_mound() -> None:
    drawn = subject()
    on_mound = drawn.proposal.elevation[drawn.proposal.fill > 0.0]
    assert 4 <= np.ptp(on_mound) / mound_interval(drawn.proposal, "m") <= 9
