"""A published table of coordinates taped from two points: right triangles of whole numbers."""

from __future__ import annotations

import math

import numpy as np
import pytest
from shapely.geometry import Polygon

from terrain.field.setout.model import Known
from terrain.field.setout.pairs import choose_pairs
from terrain.survey.tapes import two_tapes

# Whole-number right triangles of Plimpton 322 (O. Neugebauer and A. Sachs, Mathematical Cuneiform Texts, 1945,
# p. 38-41; values from memory, each checked below by its own squares): short side, diagonal. The long side is theirs.
TRIANGLES = [(119, 169, 120), (3367, 4825, 3456), (65, 97, 72), (319, 481, 360), (45, 75, 60), (161, 289, 240)]


@pytest.mark.parametrize(("short", "diagonal", "long"), TRIANGLES)
def test_a_stake_square_off_one_end_is_taped_by_the_side_and_the_diagonal(short: int, diagonal: int, long: int) -> None:
    assert short**2 + long**2 == diagonal**2
    size = 20.0 / diagonal  # to metres that a tape reaches
    a, b, at = (0.0, 0.0), (long * size, 0.0), (0.0, short * size)
    (tapes,) = choose_pairs([Known("A", a), Known("B", b)], np.array([at]), Polygon())
    assert tapes.from_start == pytest.approx(short * size, rel=1e-12)
    assert tapes.from_end == pytest.approx(diagonal * size, rel=1e-12)
    found = two_tapes(a, b, tapes.from_start, tapes.from_end)
    assert found is not None
    assert math.dist(found[0], at) < 1e-9
