"""Measures and places in running text are held together, and nothing else is."""

from __future__ import annotations

import pytest

from terrain.in_one_piece import in_one_piece


@pytest.mark.parametrize(
    ("text", "held"),
    [
        ("order 10.0 cu yd of it", "order 10.0_cu_yd of it"),
        ("2 ft 4 1/2 in over", "2_ft_4_1/2_in over"),
        ("to 96.9 %, rarer than 96 % of hills", "to 96.9_%, rarer than 96_% of hills"),
        ("the wall near x 30.00, y -46.50; it", "the wall near x_30.00, y_-46.50; it"),
        ("box 4 holds 3 trees, and 5 inches", "box 4 holds 3 trees, and 5 inches"),
    ],
)
def test_no_line_may_break_within_a_measure_or_a_place(text: str, held: str) -> None:
    assert in_one_piece(text, "_") == held
