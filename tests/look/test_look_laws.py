"""Signs do not depend on units, place, direction, datum, scale or cell."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings, strategies as st
from labelled_shapes import SEEDS, Shape, in_yard, kinds, labelled
from look_confusion import look_at

from terrain.look import Look, natural_look

KINDS = (*kinds(natural=False), *kinds(natural=True))
ONE_OF_EACH = [(kind, 10 + i) for i, kind in enumerate(KINDS)]


def look(shape: Shape, datum: float = 0.0, **how: object) -> Look:
    yard = in_yard(shape, **how)
    return natural_look(yard.grid, yard.existing + datum, yard.proposed + datum, yard.outline)


def values(seen: Look) -> list[float]:
    return [sign.value for sign in seen.signs]


@pytest.mark.parametrize(("kind", "seed"), ONE_OF_EACH)
def test_feet_read_as_metres_change_nothing(kind: str, seed: int) -> None:
    shape = labelled(kind, seed)
    # a node whose fill stands on a threshold may fall to either side by rounding: one node in thousands
    assert values(look(shape, unit=0.3048)) == pytest.approx(values(look(shape)), abs=1e-3)


@pytest.mark.parametrize(("kind", "seed"), ONE_OF_EACH)
def test_a_shift_moves_the_places_and_changes_no_value(kind: str, seed: int) -> None:
    shape = labelled(kind, seed)
    here, there = look(shape), look(shape, shift=(1e6, 1e6))
    assert values(here) == values(there)
    for a, b in zip(here.signs, there.signs, strict=True):
        if a.at is not None and b.at is not None:
            assert np.subtract(b.at, a.at) == pytest.approx((1e6, 1e6), abs=1e-6)


@pytest.mark.parametrize(("kind", "seed"), ONE_OF_EACH)
def test_a_higher_datum_changes_nothing(kind: str, seed: int) -> None:
    shape = labelled(kind, seed)
    assert values(look(shape, datum=2000.0)) == pytest.approx(values(look(shape)), abs=1e-3)


@settings(max_examples=30, deadline=None)
@given(st.sampled_from(ONE_OF_EACH), st.floats(0.0, 2.0 * np.pi))
def test_a_turned_shape_is_called_the_same(which: tuple[str, int], turn: float) -> None:
    shape = labelled(*which)
    assert look(shape, turn=turn).reads_natural == look(shape).reads_natural


@pytest.mark.slow
@pytest.mark.parametrize("kind", KINDS)
def test_no_turn_changes_a_verdict(kind: str) -> None:
    rng = np.random.default_rng(KINDS.index(kind))
    for seed in SEEDS:
        shape, turn = labelled(kind, seed), float(rng.uniform(0.0, 2.0 * np.pi))
        assert look(shape, turn=turn).reads_natural == look(shape).reads_natural, (kind, seed, turn)


@pytest.mark.slow
@pytest.mark.parametrize("kind", KINDS)
def test_half_and_double_cells_change_no_verdict(kind: str) -> None:
    for seed in SEEDS:
        verdicts = {factor: look_at(kind, seed, factor)[1].reads_natural for factor in (0.5, 1.0, 2.0)}
        assert len(set(verdicts.values())) == 1, (kind, seed, verdicts)


@settings(max_examples=25, deadline=None)
@given(st.floats(0.2, 5.0))
def test_height_alone_changes_only_the_height_over_the_width(factor: float) -> None:
    yard = in_yard(labelled("least_bent", 4))
    flat = np.full(yard.grid.shape, 7.0)  # level ground: on a slope, water does depend on height
    fill = yard.proposed - yard.existing
    low = natural_look(yard.grid, flat, flat + fill, yard.outline)
    high = natural_look(yard.grid, flat, flat + factor * fill, yard.outline)
    for a, b in zip(low.signs, high.signs, strict=True):
        assert b.value == pytest.approx(a.value * (factor if a.sign == "too_tall" else 1.0), abs=1e-3)
