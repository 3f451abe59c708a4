"""Signs do not depend on units, place, direction, datum, scale or cell."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

import numpy as np
import pytest
from examples_drawn import drawn
from hypothesis import given, settings, strategies as st
from labelled_shapes import ANEW, Shape, in_yard, kinds, labelled
from scipy.ndimage import gaussian_filter

from terrain.look import Look, natural_look

KINDS = kinds()
ONE_OF_EACH = [(kind, 10 + i) for i, kind in enumerate(KINDS)]
FEW = ONE_OF_EACH[::4]
ONE = 8
INCH = 0.0254
LEAST_KEPT = 0.95  # share of verdicts that spade marks, cell, turn and scale may not change: the project's own


def look(shape: Shape, datum: float = 0.0, **how: object) -> Look:
    yard = in_yard(shape, **how)
    return natural_look(yard.grid, yard.existing + datum, yard.proposed + datum, yard.outline)


@cache
def plain(shape: Shape) -> Look:
    return look(shape)


def values(seen: Look) -> list[float]:
    return [sign.value for sign in seen.signs]


@pytest.mark.parametrize(("kind", "seed"), FEW)
def test_feet_read_as_metres_change_nothing(kind: str, seed: int) -> None:
    shape = labelled(kind, seed)
    # a node whose fill stands on a threshold may fall to either side by rounding: one node in thousands
    assert values(look(shape, unit=0.3048)) == pytest.approx(values(look(shape)), abs=1e-3)


@pytest.mark.parametrize(("kind", "seed"), FEW)
def test_a_shift_moves_the_places_and_changes_no_value(kind: str, seed: int) -> None:
    shape = labelled(kind, seed)
    here, there = look(shape), look(shape, shift=(1e6, 1e6))
    assert values(here) == pytest.approx(values(there), abs=1e-6)  # at 1,000 km a place is known to 1e-10 m
    for a, b in zip(here.signs, there.signs, strict=True):
        if a.at is not None and b.at is not None:
            assert np.subtract(b.at, a.at) == pytest.approx((1e6, 1e6), abs=1e-6)


@pytest.mark.parametrize(("kind", "seed"), FEW)
def test_a_higher_datum_changes_nothing(kind: str, seed: int) -> None:
    shape = labelled(kind, seed)
    assert values(look(shape, datum=2000.0)) == pytest.approx(values(look(shape)), abs=1e-3)


@settings(max_examples=drawn(15), deadline=None)
@given(st.sampled_from(ONE_OF_EACH), st.floats(0.0, 2.0 * np.pi))
def test_a_turned_shape_is_called_the_same(which: tuple[str, int], turn: float) -> None:
    shape = labelled(*which)
    assert look(shape, turn=turn).reads_natural == look(shape).reads_natural


def rough(length: float) -> Callable[[Shape], Look]:
    """The look under spade marks all over: 1 in of roughness (twice its deviation), of that length in metres."""

    def seen(shape: Shape) -> Look:
        yard = in_yard(shape)
        white = np.random.default_rng(shape.seed).normal(size=yard.grid.shape)
        marks = gaussian_filter(white, 0.5 * length / yard.grid.cell, mode="wrap")
        marks *= 0.5 * INCH / marks.std()
        rough = np.where(yard.proposed > yard.existing, yard.proposed + marks, yard.proposed)
        return natural_look(yard.grid, yard.existing, rough, yard.outline)

    return seen


def lifted(factor: float) -> Callable[[Shape], Look]:
    def seen(shape: Shape) -> Look:
        yard = in_yard(shape)
        high = yard.existing + factor * (yard.proposed - yard.existing)
        return natural_look(yard.grid, yard.existing, high, yard.outline)

    return seen


@cache
def one_of(kind: str) -> Shape:
    return labelled(kind, ONE)


CHANGES: dict[str, Callable[[Shape], Look]] = {
    "roughness 0.1 m": rough(0.1),
    "roughness 0.3 m": rough(0.3),
    "roughness 0.8 m": rough(0.8),
    "cell 0.05 m": lambda shape: look(shape, cell_factor=0.05 / shape.cell),
    "cell 0.3 m": lambda shape: look(shape, cell_factor=0.30 / shape.cell),
    "turned": lambda shape: look(shape, turn=1.0 + shape.seed),
    "three times as large": lambda shape: look(shape, unit=3.0),
    "half as high": lifted(0.5),
    "twice as high": lifted(2.0),
}
# One of each kind, the hardest: what a spade leaves at the scale of a foot, wide cells, a turn, a lower mound.
HOW_OFTEN = dict.fromkeys(("roughness 0.3 m", "cell 0.3 m", "turned", "half as high"), pytest.mark.slow)


@pytest.mark.parametrize("change", [pytest.param(one, marks=HOW_OFTEN.get(one, pytest.mark.fuzz)) for one in CHANGES])
def test_no_change_of_scale_or_spade_marks_turns_the_verdict(change: str) -> None:
    """One of every kind: 95 of 100 verdicts stand."""
    shapes = [one_of(kind) for kind in KINDS]
    kept = [plain(shape).reads_natural == CHANGES[change](shape).reads_natural for shape in shapes]
    assert np.mean(kept) >= LEAST_KEPT, [shape.kind for shape, same in zip(shapes, kept, strict=True) if not same]


@pytest.mark.parametrize(
    "change",
    [pytest.param(one, marks=HOW_OFTEN.get(one, pytest.mark.fuzz)) for one in CHANGES if one.startswith("roughness")],
)
def test_spade_marks_turn_no_verdict_on_the_second_set_either(change: str) -> None:
    """Four of every kind, by generators that set no bound: 95 of 100 verdicts stand."""
    shapes = [labelled(kind, seed) for kind in kinds(*ANEW) for seed in range(2, 6)]
    kept = [plain(shape).reads_natural == CHANGES[change](shape).reads_natural for shape in shapes]
    turned = [(shape.kind, shape.seed) for shape, same in zip(shapes, kept, strict=True) if not same]
    assert np.mean(kept) >= LEAST_KEPT, turned


@settings(max_examples=drawn(10), deadline=None)
@given(st.floats(0.2, 5.0))
def test_height_alone_changes_only_the_height_over_the_width(factor: float) -> None:
    yard = in_yard(labelled("least_bent", 4))
    flat = np.full(yard.grid.shape, 7.0)  # level ground: on a slope, water does depend on height
    fill = yard.proposed - yard.existing
    low = natural_look(yard.grid, flat, flat + fill, yard.outline)
    high = natural_look(yard.grid, flat, flat + factor * fill, yard.outline)
    for a, b in zip(low.signs, high.signs, strict=True):
        assert b.value == pytest.approx(a.value * (factor if a.sign == "too_tall" else 1.0), abs=1e-3)
