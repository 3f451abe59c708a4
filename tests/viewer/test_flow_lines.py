"""Water is drawn down the true fall of the ground, whichever way that points."""

from __future__ import annotations

import numpy as np
import pytest
from examples_drawn import drawn
from hypothesis import given, settings, strategies as st

from terrain.grid import Grid
from viewer.sheets.flow_lines import flow_lines

GRID = Grid(0.0, 0.0, 0.25, 81, 81)
DRY = np.zeros(GRID.shape)


@given(st.floats(0.0, 360.0), st.floats(0.005, 0.5))
@settings(max_examples=drawn(25), deadline=None)
def test_on_a_plane_it_runs_straight_down_in_any_direction(heading: float, slope: float) -> None:
    way = np.array([np.sin(np.radians(heading)), np.cos(np.radians(heading))])
    east, north = np.meshgrid(GRID.x, GRID.y)
    (line,) = flow_lines(GRID, -slope * (way[0] * east + way[1] * north), np.array([[10.0, 10.0]]), 4.0, DRY)
    run = line[-1] - line[0]
    assert np.hypot(*run) == pytest.approx(4.0, abs=0.15)
    assert run @ way / np.hypot(*run) > 1.0 - 1e-9


def test_on_a_cone_it_runs_out_from_the_top_and_into_a_bowl_it_ends_at_its_foot() -> None:
    east, north = np.meshgrid(GRID.x - 10.0, GRID.y - 10.0)
    distance = np.hypot(east, north)
    turns = np.radians(np.arange(0.0, 360.0, 23.0))
    starts = 10.0 + 3.0 * np.column_stack([np.cos(turns), np.sin(turns)])
    for line in flow_lines(GRID, -0.2 * distance, starts, 5.0, DRY):
        first, last = line[0] - 10.0, line[-1] - 10.0
        cosine = first @ last / np.hypot(*first) / np.hypot(*last)
        assert cosine > np.cos(np.radians(0.6))  # linear between nodes a quarter of a metre apart
        assert np.hypot(*last) == pytest.approx(8.0, abs=0.2)
    for line in flow_lines(GRID, 0.2 * distance, starts, 9.0, DRY):
        assert np.hypot(*(line[-1] - 10.0)) < 2.0 * GRID.cell


def test_it_ends_where_water_stands_and_stays_where_the_ground_is_level() -> None:
    east, _ = np.meshgrid(GRID.x, GRID.y)
    pond = np.where(east > 12.0, 1.0, 0.0)
    (line,) = flow_lines(GRID, -0.1 * east, np.array([[10.0, 10.0]]), 9.0, pond)
    assert line[-1, 0] == pytest.approx(12.0, abs=2.0 * GRID.cell)
    (level,) = flow_lines(GRID, np.zeros(GRID.shape), np.array([[10.0, 10.0]]), 9.0, DRY)
    assert len(level) == 1
