"""What `natural_look` answers: names, order, places, the empty mound, refused input."""

from __future__ import annotations

import numpy as np
import pytest
from shapely.geometry import Point

from terrain.errors import InputError
from terrain.grid import Grid
from terrain.look import Look, natural_look

NAMES = (
    "cone",
    "straight_faces",
    "sharp_toe",
    "flat_top",
    "sharp_peak",
    "too_tall",
    "same_all_round",
    "loaf",
    "parallel_contours",
    "stepped",
    "holds_water",
)
GRID = Grid(100.0, 200.0, 0.1, 101, 91)
BED = Point(105.0, 204.5).buffer(4.0)
LEVEL = np.full(GRID.shape, 12.0)


def cone(high: float = 1.0, radius: float = 3.5) -> np.ndarray:
    x, y = np.meshgrid(GRID.x, GRID.y)
    return high * np.maximum(1.0 - np.hypot(x - 105.0, y - 204.5) / radius, 0.0)


def look(fill: np.ndarray) -> Look:
    return natural_look(GRID, LEVEL, LEVEL + fill, BED)


def test_signs_come_in_the_fixed_order() -> None:
    assert tuple(sign.sign for sign in look(cone()).signs) == NAMES


def test_bare_ground_reads_natural_and_measures_nothing() -> None:
    bare = natural_look(GRID, LEVEL, LEVEL, BED)
    assert bare.reads_natural
    assert all(sign.value == 0.0 and not sign.present and sign.at is None for sign in bare.signs)


def test_cut_alone_is_no_mound() -> None:
    assert natural_look(GRID, LEVEL, LEVEL - cone(), BED) == natural_look(GRID, LEVEL, LEVEL, BED)


def test_a_cone_is_called_by_its_own_sign_at_its_top() -> None:
    seen = look(cone())
    assert not seen.reads_natural
    assert seen["cone"].value > 0.98
    assert np.hypot(*np.subtract(seen["sharp_peak"].at, (105.0, 204.5))) < 0.15  # metres, one and a half cells
    assert np.hypot(*np.subtract(seen["cone"].at, (105.0, 204.5))) < 0.15


def test_the_toe_is_marked_at_the_toe() -> None:
    at = look(cone())["sharp_toe"].at
    assert 3.0 < np.hypot(*np.subtract(at, (105.0, 204.5))) < 3.6  # the cone's foot is at 3.5 m


def test_height_over_width_is_what_it_says() -> None:
    # 1 m on a base of 7 m; the edge is taken at half a per cent of the height and the raster rounds: 2 %
    assert look(cone())["too_tall"].value == pytest.approx(1.0 / 7.0, rel=0.02)
    assert look(cone(high=2.2))["too_tall"].present


def test_every_sign_has_words() -> None:
    for sign in look(cone()).signs:
        assert sign.sentence.endswith(".")
        assert sign.suggestion.endswith(".")
        assert len(sign.sentence) < 100


def test_a_pile_outside_the_bed_is_not_judged() -> None:
    x, y = np.meshgrid(GRID.x, GRID.y)
    stray = 0.5 * (np.hypot(x - 100.6, y - 200.6) < 0.4)
    both, alone = look(cone() + stray), look(cone())  # the raster differs a little, as the piles ask for its step
    assert [s.value for s in both.signs] == pytest.approx([s.value for s in alone.signs], abs=0.05)


def test_arrays_that_do_not_fit_the_grid_are_refused() -> None:
    with pytest.raises(InputError, match=r"proposed grade: has shape \(3, 3\), the grid \(91, 101\)"):
        natural_look(GRID, LEVEL, np.zeros((3, 3)), BED)


def test_missing_elevations_are_refused() -> None:
    holed = LEVEL.copy()
    holed[4, 5] = np.nan
    with pytest.raises(InputError, match=r"existing grade: 1 of 9191 nodes hold no number"):
        natural_look(GRID, holed, LEVEL, BED)
