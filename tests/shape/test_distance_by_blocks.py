"""The distance from every edge, sifted block by block, is that to every edge in turn; and facets as numpy has them."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from examples_drawn import drawn
from hypothesis import given, settings, strategies as st
from shapely.geometry import Point, Polygon

from terrain.grid import Grid
from terrain.numerics.clearance import polygon_clearance
from terrain.numerics.facets import facets_over, slope_form


def wavy(corners: int, middle: tuple[float, float], seed: int) -> Polygon:
    random = np.random.default_rng(seed)
    angle = np.linspace(0.0, 2.0 * np.pi, corners, endpoint=False)
    radius = 4.0 + np.cos(3.0 * angle) + random.uniform(-0.4, 0.4, corners)
    return Polygon(np.column_stack([middle[0] + radius * np.cos(angle), middle[1] + radius * np.sin(angle)]))


def by_library(grid: Grid, polygon: Polygon) -> np.ndarray:
    """Signed distances by shapely, node by node."""
    nodes = shapely.points(grid.nodes)
    away = shapely.distance(polygon.boundary, nodes)
    return np.where(shapely.contains(polygon, nodes), away, -away).reshape(grid.shape)


@settings(deadline=None, max_examples=drawn(25))
@given(
    st.integers(3, 90),
    st.integers(0, 1000),
    st.tuples(st.integers(2, 45), st.integers(2, 70)),
    st.sampled_from([0.05, 0.31, 2.0]),
    st.sampled_from([0.0, 4.8e6]),
)
def test_every_node_has_the_distance_of_the_library(
    corners: int, seed: int, size: tuple[int, int], cell: float, off: float
) -> None:
    grid = Grid(off - 5.0, off - 4.0, cell, *size)
    polygon = wavy(corners, (off, off), seed)
    if not polygon.is_valid:
        return
    # Far from the origin the library's own sums end at a billionth of a metre.
    expected, close = by_library(grid, polygon), 1e-12 if not off else 1e-8
    assert polygon_clearance(grid, polygon) == pytest.approx(expected, abs=close)
    # Where nobody asks how far, no more than the distance is said, and no less than what was asked for.
    near = polygon_clearance(grid, polygon, 0.7)
    asked = np.abs(expected) < 0.7
    assert near[asked] == pytest.approx(expected[asked], abs=close)
    assert np.array_equal(near > 0.0, polygon_clearance(grid, polygon) > 0.0)
    assert (np.abs(near[~asked]) <= np.abs(expected[~asked]) + close).all()
    assert (np.abs(near[~asked]) >= 0.7 - close).all()


def test_rings_and_parts_count_as_edges() -> None:
    ring = Point(0.0, 0.0).buffer(4.0).difference(Point(0.5, 0.0).buffer(1.5)).union(Point(9.0, 0.0).buffer(1.0))
    grid = Grid(-6.0, -5.0, 0.17, 100, 60)
    assert polygon_clearance(grid, ring) == pytest.approx(by_library(grid, ring), abs=1e-12)


def test_facets_have_the_slopes_of_their_planes_and_each_corner_its_facets() -> None:
    random = np.random.default_rng(4)
    points = random.uniform(0.0, 9.0, (40, 2))
    corners = np.array([random.permutation(40)[:3] for _ in range(70)])
    plane = points @ np.array([0.3, -0.4]) + 2.0
    facets = facets_over(points, corners)
    assert facets.slopes(plane) == pytest.approx(0.5, abs=1e-7)
    p, q = points[corners[:, 1]] - points[corners[:, 0]], points[corners[:, 2]] - points[corners[:, 0]]
    square = (p[:, 0] * q[:, 1] - p[:, 1] * q[:, 0]) ** 2
    told = np.column_stack([(q * q).sum(1), -(p * q).sum(1), (p * p).sum(1)]) / square[:, None]
    assert slope_form(points, corners) == pytest.approx(told, rel=1e-12)
    for vertex in range(40):
        mine = facets.of[facets.first[vertex] : facets.first[vertex + 1]]
        assert mine.tolist() == np.flatnonzero((corners == vertex).any(axis=1)).tolist()
