"""Two tapes from two known points: the exact places of known triangles, and those where the tapes do not meet."""

from __future__ import annotations

import pytest

from terrain.survey.tapes import gap, side_of, two_tapes

NEAR = 1e-12  # the triangles have whole or short decimal sides

# Exact geometry, not published: x = (rA^2 - rB^2 + D^2) / 2D along AB, y = the root of rA^2 - x^2 off it.
SOLVED = [
    ((0, 0), (50, 0), 30, 40, (18, 24), (18, -24)),
    ((0, 0), (25, 0), 20, 15, (16, 12), (16, -12)),
    ((100, 100), (124, 107), 20, 15, (112, 116), (118.72, 92.96)),
]


@pytest.mark.parametrize(("a", "b", "from_a", "from_b", "left", "right"), SOLVED)
def test_two_tapes_meet_left_and_right_of_the_line(
    a: tuple[float, float],
    b: tuple[float, float],
    from_a: float,
    from_b: float,
    left: tuple[float, float],
    right: tuple[float, float],
) -> None:
    found = two_tapes(a, b, from_a, from_b)
    assert found is not None
    assert found[0] == pytest.approx(left, abs=1e2 * NEAR)
    assert found[1] == pytest.approx(right, abs=1e2 * NEAR)
    assert side_of(a, b, found[0]) > 0.0 > side_of(a, b, found[1])


@pytest.mark.parametrize(
    ("from_a", "from_b", "fails_by"),
    [(20.0, 29.0, 1.0), (80.0, 29.0, 1.0), (10.0, 61.0, 1.0), (0.1, 0.1, 49.8)],
)
def test_tapes_that_do_not_meet_have_no_place_and_a_gap(from_a: float, from_b: float, fails_by: float) -> None:
    assert two_tapes((0.0, 0.0), (50.0, 0.0), from_a, from_b) is None
    assert gap((0.0, 0.0), (50.0, 0.0), from_a, from_b) == pytest.approx(fails_by, abs=NEAR)


def test_tapes_that_just_reach_meet_on_the_line() -> None:
    found = two_tapes((0.0, 0.0), (50.0, 0.0), 20.0, 30.0)
    assert found is not None
    assert found[0] == pytest.approx((20.0, 0.0), abs=NEAR)
    assert found[1] == pytest.approx((20.0, 0.0), abs=NEAR)


def test_two_tapes_from_one_point_have_no_place() -> None:
    assert two_tapes((3.0, 4.0), (3.0, 4.0), 5.0, 5.0) is None
