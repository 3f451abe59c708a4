"""Bank, loose and placed: nothing is lost or won on any way round, and every conversion knows its direction."""

from __future__ import annotations

import pytest
from hypothesis import given, strategies as st

from terrain.errors import InputError
from terrain.site import soil_states as states
from terrain.site.model import Soil
from terrain.soil.haul import whole_loads

swells = st.floats(0.0, 0.8)
shrinks = st.floats(0.0, 0.4)
volumes = st.floats(1e-3, 1e4)


@given(volumes, swells, st.floats(0.0, 0.4))
def test_loose_is_most_and_placed_is_least(volume: float, swell: float, shrink: float) -> None:
    soil = Soil(swell=swell, shrink=shrink)
    assert states.bank_to_loose(volume, soil) >= volume
    assert states.placed_to_loose(volume, soil) >= states.placed_to_bank(volume, soil) >= volume


@given(volumes, volumes, swells, shrinks)
def test_conversions_add_up_load_by_load(first: float, second: float, swell: float, shrink: float) -> None:
    soil = Soil(swell=swell, shrink=shrink)
    together = states.placed_to_loose(first + second, soil)
    apart = states.placed_to_loose(first, soil) + states.placed_to_loose(second, soil)
    assert together == pytest.approx(apart, rel=1e-9)


def test_settlement_is_an_allowance_on_the_finished_height() -> None:
    # Earthwork reference, part 4 (computed): 24 in at 10 % is 26.4 in.
    assert 24.0 * states.day_one_factor(0.10) == pytest.approx(26.4, abs=1e-9)


def test_order_grows_with_the_settlement_allowance_alone() -> None:
    soil = Soil(swell=0.25, shrink=0.10)
    assert states.loose_to_order(9.0, soil, 0.0) == pytest.approx(12.5, rel=1e-12)
    assert states.loose_to_order(9.0, soil, 0.08) == pytest.approx(13.5, rel=1e-12)


@pytest.mark.parametrize(
    ("factors", "text"),
    [({"swell": -1.0}, "soil swell: -1 is out of range"), ({"shrink": 1.0}, "soil shrink: 1 is out of range")],
)
def test_factors_that_leave_no_soil_are_refused(factors: dict[str, float], text: str) -> None:
    with pytest.raises(InputError, match=text):
        Soil(**factors)


@given(st.one_of(st.just(0.0), st.floats(1e-6, 500.0)), st.floats(0.01, 20.0))
def test_whole_loads_carry_all_and_no_load_is_to_spare(volume: float, capacity: float) -> None:
    loads = whole_loads(volume, capacity)
    assert loads * capacity >= volume * (1.0 - 1e-11)
    assert loads == 0 or (loads - 1) * capacity < volume


@given(st.integers(0, 2000), st.floats(0.01, 20.0))
def test_exact_multiples_take_no_extra_load(loads: int, capacity: float) -> None:
    assert whole_loads(loads * capacity, capacity) == loads
    assert whole_loads(sum([capacity] * min(loads, 50)), capacity) == min(loads, 50)


def test_a_shovel_more_than_two_trucks_takes_a_third() -> None:
    assert whole_loads(2.0 * 7.6 + 0.001, 7.6) == 3
