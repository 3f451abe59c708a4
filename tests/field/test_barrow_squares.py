"""Barrows by squares: they sum to the order, lift by lift, on any yard, and lie where the soil lies."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, strategies as st
from odd_yards import odd_sites
from shipped import study_of

from terrain.errors import InputError
from terrain.field.crew.barrow_squares import (
    LIFT,
    SIDES,
    USUAL_BARROW,
    BarrowSquares,
    SquaresFrame,
    share_out,
    squares_of,
)
from terrain.flow import Study, run_site
from terrain.limits import FOOT

ACROSS = SquaresFrame((0.0, 0.0), (1.0, 0.0))


@given(
    st.integers(0, 5000),
    st.lists(st.one_of(st.just(0.0), st.floats(1e-6, 1e3)), min_size=1, max_size=60),
)
def test_whole_barrows_sum_exactly_and_stay_within_one_of_their_part(barrows: int, parts: list[float]) -> None:
    shared = share_out(barrows, np.array(parts))
    whole = sum(parts)
    assert shared.sum() == (barrows if whole > 0.0 else 0)
    if whole > 0.0:
        assert np.abs(shared - barrows * np.array(parts) / whole).max() < 1.0 + 1e-9
        assert not shared[np.array(parts) == 0.0].any()


def test_a_grid_of_node_depths_shares_its_barrows() -> None:
    # Worked by hand, four-point grid method: nodes 4 ft apart, inches deep, 1.15 loose for one settled, 3 cu ft.
    nodes = np.array([[0, 2, 3, 0], [3, 9, 10, 2], [2, 8, 7, 0], [0, 3, 2, 0]]) / 12.0
    depth = (nodes[:-1, :-1] + nodes[:-1, 1:] + nodes[1:, :-1] + nodes[1:, 1:]) / 4.0
    exact = 16.0 * depth * 1.15 / 3.0
    assert exact == pytest.approx(np.array([[1.79, 3.07, 1.92], [2.81, 4.34, 2.43], [1.66, 2.56, 1.15]]), abs=0.006)
    assert exact.sum() == pytest.approx(21.72, abs=0.005)
    assert share_out(22, exact.ravel()).sum() == 22


def check(study: Study) -> BarrowSquares:
    squares, order = squares_of(study, ACROSS), study.order
    assert squares.bought == sum(-(-item.quantity // squares.barrow) for item in order.soils)
    if order.supply.barrow is not None:
        assert squares.bought == (order.haul.barrows or 0)
    own = [line for line in order.ledger if line.goes in ("mound", "planting", "topsoil") and line.comes != "bought"]
    for goes in (("mound",), ("planting", "topsoil")):
        loose = sum(line.loose for line in own if line.goes in goes)
        assert loose <= squares.barrow * squares.of_the_yard + 1e-9
    for lift in squares.lifts:
        assert lift.total == sum(map(sum, lift.barrows)) > 0
        assert lift.depth <= LIFT + 1e-9
        assert len(lift.barrows) == squares.rows
        assert all(len(row) == squares.columns for row in lift.barrows)
    return squares


@pytest.fixture(scope="module")
def odd() -> list[Study]:
    return [study for _, study in odd_studies(range(5))]


def odd_studies(seeds: range) -> list[tuple[int, Study]]:
    worked = []
    for yard, site in odd_sites(seeds):
        try:
            worked.append((yard.seed, run_site(site, resolution=0.3)))
        except InputError:
            continue
    return worked


@pytest.mark.slow
def test_squares_sum_to_the_order_on_odd_yards(odd: list[Study]) -> None:
    assert len(odd) > 1
    assert sum(bool(check(study).lifts) for study in odd) > 1


@pytest.mark.fuzz
def test_squares_sum_to_the_order_on_many_odd_yards() -> None:
    for _, study in odd_studies(range(3, 103)):
        check(study)


@pytest.fixture(scope="module")
def bend(root: Path) -> Study:
    return study_of("alder-bend", 0.15)


def test_the_squares_hold_the_soil_that_lies_in_them(bend: Study) -> None:
    squares = squares_of(bend, ACROSS)
    assert squares.side in SIDES["ft"]
    counts = np.sum([lift.barrows for lift in squares.lifts], axis=0)
    grid, depth = bend.proposal.grid, np.where(bend.proposal.bed, 1.08 * bend.proposal.fill + 2.0 * FOOT / 12.0, 0.0)
    # The same sum by plain loops over the nodes of one square after another.
    exact = np.zeros_like(counts, dtype=float)
    for (east, north), deep in zip(grid.nodes, depth.ravel(), strict=True):
        if deep > 0.0:
            row = int((north - squares.offset) // squares.side)
            exact[row, int((east - squares.station) // squares.side)] += deep
    exact *= squares.bought / exact.sum()
    assert np.abs(counts - exact).max() < 1.0 + 1e-9


def test_squares_turn_with_the_baseline(bend: Study) -> None:
    # Along a baseline to the west, station and offset run the other way: the same counts, turned by half a round.
    east = squares_of(bend, ACROSS)
    far = 4.0 * FOOT * 50
    west = squares_of(bend, SquaresFrame((far, far), (-1.0, 0.0)))
    for one, other in zip(east.lifts, west.lifts, strict=True):
        assert one.barrows == tuple(row[::-1] for row in other.barrows[::-1])


def test_a_long_bed_gets_squares_that_one_sheet_shows(bend: Study) -> None:
    small = squares_of(bend, ACROSS)
    grid = replace(bend.proposal.grid, cell=bend.proposal.grid.cell * 5.0)
    long = replace(bend, proposal=replace(bend.proposal, grid=grid, made_for=""))
    squares = squares_of(long, ACROSS)
    assert squares.side > small.side
    assert squares.columns <= 18
    assert squares.rows <= 14
    assert squares.bought == small.bought


def test_lifts_squares_and_barrows_are_the_usual_ones() -> None:
    # Common practice, no published source: lifts of 6 to 8 in, barrows of 3 cu ft or 80 L, squares of 4 ft or 1 m.
    assert pytest.approx(8 * 0.0254) == LIFT
    assert pytest.approx({"ft": 3 * 0.3048**3, "m": 0.08}) == USUAL_BARROW
    assert (SIDES["ft"][0], SIDES["m"][0]) == (pytest.approx(4 * 0.3048), 1.0)
