"""The mesh is a partition of the yard in which outline and keep-off circles are edges."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, strategies as st
from scipy.spatial import Delaunay
from shapely.geometry import Polygon, box

from terrain.grid import Grid
from terrain.numerics import constrained
from terrain.numerics.clearance import fill_clearance
from terrain.numerics.constrained import with_edges
from terrain.numerics.edge_lines import disc_polygon, edge_points, linework
from terrain.numerics.triangulation import triangulate
from terrain.shape.worked import Hold, worked_ground


def areas(points: np.ndarray, triangles: np.ndarray) -> np.ndarray:
    a, b, c = (points[triangles[:, k]] for k in range(3))
    return 0.5 * ((b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0])


def kidney() -> Polygon:
    angle = np.linspace(0, 2 * np.pi, 60, endpoint=False)
    radius = 1 + 0.25 * np.cos(2 * angle) + 0.12 * np.sin(3 * angle)
    return Polygon(np.column_stack([10 + 6 * radius * np.cos(angle), 8 + 4 * radius * np.sin(angle)]))


@pytest.mark.slow
@given(
    east=st.floats(4, 16), north=st.floats(3, 13), radius=st.floats(0.4, 3.0), cell=st.sampled_from([0.1, 0.17, 0.25])
)
def test_triangles_tile_the_yard_and_the_worked_ground(east: float, north: float, radius: float, cell: float) -> None:
    outline = kidney()
    grid = Grid(0.013, -0.021, cell, int(20 / cell), int(16 / cell))
    hold = Hold("tree", disc_polygon((east, north), radius, cell), ((east, north), radius))
    worked = worked_ground(outline, (hold,))
    clearance = fill_clearance(grid, outline, [((east, north), radius)], [])
    lines = linework(edge_points(worked, cell), [], cell)
    mesh = triangulate(grid, clearance, np.abs(clearance), worked, lines)
    area = areas(mesh.points, mesh.triangles)
    assert area.min() > 0.0
    assert area.sum() == pytest.approx((grid.nx - 1) * (grid.ny - 1) * cell**2, rel=1e-12)
    assert area[mesh.inside].sum() == pytest.approx(worked.area, rel=1e-4)
    sides = np.sort(
        np.vstack([mesh.triangles[:, [0, 1]], mesh.triangles[:, [1, 2]], mesh.triangles[:, [2, 0]]]), axis=1
    )
    _, shared = np.unique(sides, axis=0, return_counts=True)
    assert shared.max() == 2  # no side is shared by three triangles: a proper surface


def test_disc_polygon_encloses_the_disc_and_touches_its_circle() -> None:
    polygon = disc_polygon((3.0, 4.0), 1.5, 0.1)
    reach = np.hypot(*(shapely.get_coordinates(polygon) - [3.0, 4.0]).T)
    assert reach.min() == pytest.approx(1.5, abs=1e-12)
    assert (np.isclose(reach, 1.5, atol=1e-12)).sum() >= len(reach) // 2
    assert polygon.exterior.distance(shapely.Point(3, 4)) == pytest.approx(1.5, abs=1e-12)
    assert polygon.area == pytest.approx(np.pi * 1.5**2, rel=2e-3)


def test_clearance_is_the_distance_to_the_nearest_edge() -> None:
    outline = kidney().difference(box(9, 8, 10, 9))
    grid = Grid(0.0, 0.0, 0.4, 50, 40)
    clear = box(13, 6, 14, 12)
    clearance = fill_clearance(grid, outline, [((7.0, 8.0), 1.2)], [clear])
    worked = outline.difference(shapely.Point(7, 8).buffer(1.2, 512)).difference(clear)
    points = shapely.points(grid.nodes)
    distance = np.where(shapely.contains(worked, points), shapely.distance(worked.boundary, points), -1.0).reshape(
        grid.shape
    )
    inside = distance > 0.01
    assert np.abs(clearance - distance)[inside].max() < 1e-4  # the reference's circle is a polygon of 2,048 sides
    assert (clearance[distance < 0] <= 1e-4).all()


def test_constrained_triangulation_recovers_missing_edges() -> None:
    points = np.vstack(
        [[[0.0, 0.0], [10.0, 0.0]], np.random.default_rng(3).uniform(0, 10, (60, 2)) * [1, 0.9] + [0, 0.5]]
    )
    points = np.vstack([points, points[2:] * [1, -1]])
    triangles = Delaunay(points).simplices.astype(np.int64)
    got = with_edges(points, triangles, np.array([[0, 1]]))
    sides = {tuple(sorted((int(t[k - 1]), int(t[k])))) for t in got for k in range(3)}
    assert (0, 1) in sides
    assert np.abs(areas(points, got)).sum() == pytest.approx(np.abs(areas(points, triangles)).sum(), rel=1e-12)


@pytest.mark.parametrize("seed", range(8))
def test_edges_are_recovered_among_the_triangles_near_them_as_among_all(
    seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    chance = np.random.default_rng(seed)
    ends = np.array([(x, y + chance.uniform(-0.3, 0.3)) for y in (2.0, 3.0, 7.0) for x in (1.0, 4.0, 9.0)])
    edges = np.array([[0, 1], [1, 2], [3, 5], [6, 8]])
    points = np.vstack([ends, chance.uniform(0, 10, (400, 2)), np.round(chance.uniform(0, 10, (300, 2)), 1)])
    points = points[np.sort(np.unique(points, axis=0, return_index=True)[1])]
    triangles = Delaunay(points).simplices.astype(np.int64)
    near = with_edges(points, triangles, edges)
    assert (near == triangles).all(axis=1).mean() > 0.5  # most are left as they are
    monkeypatch.setattr(constrained, "_near", lambda _points, every, _edges: np.arange(len(every)))
    assert np.array_equal(near, with_edges(points, triangles, edges))


def test_wanted_edges_that_cross_are_refused() -> None:
    points = np.array([[0, 0], [2, 0], [2, 2], [0, 2]], dtype=float)
    triangles = np.array([[0, 1, 2], [0, 2, 3]])
    recovered = with_edges(points, triangles, np.array([[1, 3]]))
    assert {frozenset(map(int, t)) for t in recovered} == {frozenset({0, 1, 3}), frozenset({1, 2, 3})}


def test_rings_never_gain_ground_where_near_points_are_dropped() -> None:
    corner = Polygon([(0, 0), (4, 0), (4, 3), (0.0005, 3), (0, 2.9996)])
    ring = Polygon(edge_points(corner, 0.5)[0])
    assert corner.buffer(1e-12).covers(ring)
    assert corner.area - ring.area < 0.002
