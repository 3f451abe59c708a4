"""Which nodes of a grid lie in some ground: those that the library says of every node, one by one."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, strategies as st
from shapely.geometry import MultiPolygon, Polygon, box

from terrain.grid import Grid

GRID = Grid(100.0, -50.0, 0.25, 21, 17)
SPOT = st.tuples(st.integers(-4, 24), st.integers(-4, 20))


@given(st.lists(SPOT, min_size=3, max_size=3, unique=True), st.tuples(SPOT, SPOT))
def test_nodes_inside_are_what_the_library_says_of_each(corners: list[tuple[int, int]], ends: tuple) -> None:
    # Corners on nodes and between them: an edge runs through nodes, which are then not inside.
    triangle = Polygon([(100.0 + 0.125 * i, -50.0 + 0.25 * j) for i, j in corners])
    (a, b), (c, d) = ends
    area = triangle.symmetric_difference(box(100.0 + 0.25 * a, -50.0 + 0.25 * b, 100.0 + 0.25 * c, -50.0 + 0.25 * d))
    assert GRID.inside(area).tolist() == shapely.contains_xy(area, GRID.nodes).tolist()


@pytest.mark.parametrize("area", [Polygon(), MultiPolygon(), box(0.0, 0.0, 1.0, 1.0)], ids=["none", "no parts", "far"])
def test_no_node_lies_in_no_ground(area: Polygon) -> None:
    assert not np.any(GRID.inside(area))
