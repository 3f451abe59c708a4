"""What the signs at the eye's scale measure, on forms whose answer is known, and what the verdict makes of them."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.ndimage import distance_transform_edt
from shapely.geometry import Polygon, box

from terrain.grid import Grid
from terrain.look import Look, natural_look
from terrain.look.bounds import BOUNDS
from terrain.look.rarity import QUANTILES, SHARES, rarity

GRID = Grid(-9.0, -6.5, 0.125, 145, 105)
X, Y = np.meshgrid(GRID.x, GRID.y)
BED = box(-9.0, -6.5, 9.0, 6.5)
LEVEL = np.zeros(GRID.shape)


def look(fill: np.ndarray, bed: Polygon = BED) -> Look:
    return natural_look(GRID, LEVEL, np.maximum(fill, 0.0), bed)


def bells(*each: tuple[float, float, float, float, float, float]) -> np.ndarray:
    """Bells of (x, y, width along, width across, turn, height), less 5 cm."""
    total = np.full(GRID.shape, -0.05)
    for cx, cy, a, b, turn, high in each:
        u = np.cos(turn) * (X - cx) + np.sin(turn) * (Y - cy)
        v = np.cos(turn) * (Y - cy) - np.sin(turn) * (X - cx)
        total += high * np.exp(-0.5 * ((u / a) ** 2 + (v / b) ** 2))
    return np.maximum(total, 0.0)


UNEQUAL = bells(
    (-2.6, 0.3, 1.5, 0.8, 0.4, 0.55),
    (0.4, -0.6, 1.1, 1.7, 0.2, 0.35),
    (2.6, 0.9, 1.3, 0.7, -0.5, 0.45),
    (-0.6, 1.5, 0.8, 0.6, 0.0, 0.2),
)


def off_centre(shift: float) -> np.ndarray:
    """A bell on a circle of 4 m, its top `shift` of the radius off the middle: straight ways from top to edge."""
    dx, dy = X - 4.0 * shift, Y
    way = np.arctan2(dy, dx)
    far = 4.0 * (-shift * np.cos(way) + np.sqrt(1.0 - (shift * np.sin(way)) ** 2))
    return 0.3 * (1.0 + np.cos(np.pi * np.minimum(np.hypot(dx, dy) / far, 1.0)))


@pytest.mark.parametrize("shift", [0.0, 0.12, 0.25])
def test_one_smooth_dome_is_a_heap_wherever_its_top_stands(shift: float) -> None:
    seen = look(off_centre(shift))
    assert seen["cone"].value > 0.99  # 1 but for the eye's smoothing: one profile from top to edge
    assert seen.verdict == "made"


def test_four_unequal_bells_read_natural() -> None:
    seen = look(UNEQUAL)
    assert seen.verdict == "natural", seen.words


def test_the_mirror_image_of_a_natural_half_is_called_by_its_line() -> None:
    seen = look(np.where(X < 0.0, UNEQUAL, UNEQUAL[:, ::-1]))
    assert seen["mirrored"].value > 0.98
    assert seen["mirrored"].at is not None
    assert abs(seen["mirrored"].at[0]) < 0.2  # the line is x = 0
    assert seen.verdict == "made"


def test_a_sausage_along_an_arc_has_one_section() -> None:
    far = np.abs(np.hypot(X, Y + 8.0) - 8.0)
    along = 8.0 * np.arctan2(X, Y + 8.0)
    gap = np.hypot(far, np.maximum(np.abs(along) - 4.0, 0.0))
    seen = look(0.3 * (1.0 + np.cos(np.pi * np.minimum(gap / 2.0, 1.0))))
    assert seen["same_section"].value > 0.97
    assert seen.verdict == "made"


def test_a_tilt_does_not_hide_one_section() -> None:
    gap = np.hypot(np.maximum(np.abs(X) - 2.5, 0.0), Y) / 2.5
    seen = look(0.53 * np.maximum(1.0 - gap**2, 0.0) * (1.0 + 0.06 * X))
    assert seen["same_section"].present
    assert seen.verdict == "made"


def test_bumps_of_one_size_at_one_distance_are_called_and_unlike_ones_are_not() -> None:
    equal = bells(*((3.0 * k, 0.3 * k * k, 0.9, 0.9, 0.0, 0.65) for k in (-1, 0, 1)))
    assert look(equal)["equal_bumps"].value > 0.9
    unlike = bells((-3.6, 0.0, 0.9, 0.9, 0.0, 0.65), (-0.5, 0.8, 0.8, 0.8, 0.0, 0.4), (3.4, 0.2, 0.9, 0.7, 0.0, 0.5))
    assert not look(unlike)["equal_bumps"].present


def test_even_ripples_are_called_and_the_smooth_loaf_has_none() -> None:
    gap = np.hypot(np.maximum(np.abs(X) - 3.0, 0.0), Y) / 2.2
    loaf = 0.5 * np.maximum(1.0 - gap**2, 0.0)
    assert look(loaf * (1.0 + 0.15 * np.sin(2.0 * np.pi * X / 1.5)))["ripples"].present
    assert not look(loaf)["ripples"].present


def test_contours_beside_a_wavy_edge_are_called() -> None:
    way = np.arctan2(Y, X)
    edge = 4.2 * (1.0 + 0.15 * np.cos(2.0 * way) + 0.1 * np.cos(3.0 * way + 1.0))
    inside = np.hypot(X, Y) < edge
    depth = np.minimum(GRID.cell * distance_transform_edt(inside) / 2.0, 1.0)
    seen = look(0.5 * depth * depth * (3.0 - 2.0 * depth))
    assert seen["follows_outline"].value > 0.97
    assert seen.verdict == "made"


@pytest.mark.parametrize(("degrees", "called"), [(20.0, True), (90.0, False)])
def test_one_corner_drawn_out_is_called_at_its_tip(degrees: float, called: bool) -> None:
    half = np.radians(degrees / 2.0)
    tip = (4.0 / np.sin(half), 0.0)
    ring = [(4.0 * np.cos(a), 4.0 * np.sin(a)) for a in np.linspace(np.pi / 2 - half, 1.5 * np.pi + half, 60)]
    spiked = look(UNEQUAL, Polygon([*ring, tip]))["spike"]
    assert spiked.present is called
    if called:
        assert spiked.at == pytest.approx(tip, abs=1e-6)


def test_one_sign_asks_to_look_and_two_call_it_made() -> None:
    gap = np.hypot(X / 1.7, Y) / 2.4
    tall = look(4.0 * UNEQUAL)  # too tall by far less than its far bound, and nothing else
    assert [sign.sign for sign in tall.present] == ["too_tall"]
    assert tall.verdict == "look here"
    assert tall.reads_natural
    assert "look at: too tall" in tall.words
    assert look(0.5 * np.maximum(1.0 - gap, 0.0)).verdict == "made"


def test_every_far_bound_lies_past_its_bound() -> None:
    assert all(bound.far > bound.most for bound in BOUNDS.values())


def test_rarity_is_a_share_of_real_hills_and_grows_with_the_mark() -> None:
    for name, row in QUANTILES.items():
        assert list(row) == sorted(row)
        assert rarity(name, row[-1] + 1e-3) == 1.0
        assert rarity(name, row[SHARES.index(0.97)]) >= 0.97
        assert rarity(name, -1.0) == 0.0


def test_a_sign_explains_itself_with_rarity_and_lengths_in_both_units() -> None:
    sign = look(off_centre(0.2))["cone"]
    assert "% of real hills" in sign.explained
    assert " ft (" in sign.suggestion
    assert " m)" in sign.suggestion
