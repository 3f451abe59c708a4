"""What `natural_look` answers: names, order, places, the empty mound, refused input."""

from __future__ import annotations

import re
from typing import Literal

import numpy as np
import pytest
from examples_drawn import drawn
from hypothesis import given, settings, strategies as st
from hypothesis.extra.numpy import arrays
from shapely.geometry import Point, box

from terrain.errors import InputError
from terrain.grid import Grid
from terrain.look import Look, natural_look
from terrain.look.mound import read_mound
from terrain.look.words import SENTENCES, SUGGESTIONS, far_words

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
    "same_section",
    "equal_bumps",
    "follows_outline",
    "mirrored",
    "ripples",
    "spike",
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


ODD_PILES = {
    "one node": np.s_[40:41, 50:51],
    "two nodes": np.s_[40:41, 50:52],
    "a line": np.s_[40:41, 10:90],
    "a corner": np.s_[0:2, 0:2],
    "a border": np.s_[0:1, :],
    "everywhere": np.s_[:, :],
}


@pytest.mark.parametrize("name", ODD_PILES)
def test_odd_piles_give_numbers(name: str) -> None:
    fill = np.zeros(GRID.shape)
    fill[ODD_PILES[name]] = 0.4
    seen = natural_look(GRID, LEVEL, LEVEL + fill, BED)
    assert all(np.isfinite(sign.value) and sign.value >= 0.0 for sign in seen.signs)


@settings(max_examples=drawn(60), deadline=None)
@given(
    arrays(float, st.tuples(st.integers(2, 12), st.integers(2, 12)), elements=st.floats(-2.0, 2.0)),
    st.floats(0.01, 3.0),
)
def test_any_ground_gives_numbers(change: np.ndarray, cell: float) -> None:
    grid = Grid(0.0, 0.0, cell, change.shape[1], change.shape[0])
    seen = natural_look(grid, np.zeros(grid.shape), change, box(0.0, 0.0, 10.0, 10.0))
    assert all(np.isfinite(sign.value) and sign.value >= 0.0 for sign in seen.signs)


def test_two_small_piles_far_apart_cost_no_great_raster() -> None:
    grid = Grid(0.0, 0.0, 0.1, 1001, 1001)
    x, y = np.meshgrid(grid.x, grid.y)
    fill = np.maximum(0.4 - np.hypot(x - 2.0, y - 2.0), 0.0) + np.maximum(0.4 - np.hypot(x - 98.0, y - 98.0), 0.0)
    mound = read_mound(grid, np.zeros(grid.shape), fill, box(0.0, 0.0, 100.0, 100.0))
    assert mound is not None
    assert mound.fill.size < 130_000


OWN = {"ft": re.compile(r"\d+ (?:ft|in)\b"), "m": re.compile(r"\d+(?:\.\d)? (?:m|cm)\b")}
LENGTH = re.compile(r"\d+(?:\.\d+)? ?(?:ft|in|m|cm|mm|inch|foot|feet)\b")


@pytest.mark.parametrize("units", ["ft", "m"])
def test_every_length_in_what_a_sign_says_is_in_the_unit_of_the_yard(units: Literal["ft", "m"]) -> None:
    """All signs, on mounds from 2 in high and 4 ft wide to 6 ft high and 60 ft wide."""
    lengths = 0
    for name in NAMES:
        for high, wide in ((0.05, 1.2), (0.3, 3.0), (0.6, 5.0), (1.8, 18.0)):
            said = SUGGESTIONS[name](high, wide, far_words(units)) + SENTENCES[name](0.37)
            found = LENGTH.findall(said)
            assert all(OWN[units].fullmatch(one) for one in found), said
            assert " foot" not in said
            lengths += len(found)
    assert lengths > 60


def test_a_metric_yard_is_told_in_metres_alone_and_a_yard_in_feet_in_feet() -> None:
    """The real call, and figures by hand: a cone 7 m wide shall be drawn out by 0.6 of it, 4.2 m or 13.8 ft."""
    told = {
        units: natural_look(GRID, LEVEL, LEVEL + cone(), BED, units)["cone"].suggestion for units in ("ft", "m", None)
    }
    assert "4.2 m along" in told["m"]
    assert "14 ft along" in told["ft"]
    assert "14 ft (4.2 m) along" in told[None]
