"""Stations along a bent line, and triangulations cut along lines: exact where a closed form says what they are."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from terrain.numerics.frame import StationFrame
from terrain.numerics.prisms import triangle_areas
from terrain.numerics.refining import refined

BENT = StationFrame(np.array([[0.0, 0.0], [3.0, 0.0], [4.0, 2.0], [4.5, 5.0]]))


@pytest.mark.parametrize("away", [-0.5, -0.2, 0.0, 0.2, 0.5])
def test_a_place_beside_a_station_has_that_station(away: float) -> None:
    stations = np.linspace(0.0, BENT.length, 83)
    beside = BENT.beside(stations, np.full(len(stations), away))
    assert BENT.stations(beside) == pytest.approx(stations, abs=1e-12)


def test_a_line_across_a_corner_halves_its_angle() -> None:
    left, right = BENT.beside(np.array([3.0, 3.0]), np.array([0.4, -0.4]))
    way = (left - right) / np.hypot(*(left - right))
    legs = np.array([1.0, 0.0]), np.array([1.0, 2.0]) / np.sqrt(5.0)
    assert abs(way @ legs[0]) == pytest.approx(abs(way @ legs[1]), abs=1e-12)


def test_a_cut_mesh_keeps_ground_and_heights_and_has_the_lines_as_edges() -> None:
    nx, ny, cell = 40, 30, 0.1
    x, y = np.meshgrid(np.arange(nx) * cell + 5000.0, np.arange(ny) * cell + 7000.0)
    points = np.column_stack([x.ravel(), y.ravel()])
    row, column = (one.ravel() for one in np.mgrid[0 : ny - 1, 0 : nx - 1])
    sw = row * nx + column
    triangles = np.vstack([np.column_stack([sw, sw + 1, sw + nx + 1]), np.column_stack([sw, sw + nx + 1, sw + nx])])
    pool = shapely.Point(5002.03, 7001.52).buffer(0.07)  # smaller than a triangle holds a corner of
    bed = shapely.LineString([(5000.53, 7000.71), (5001.9, 7001.5), (5003.31, 7001.87)]).buffer(0.23)
    cut = refined(points, triangles, [bed.exterior, pool.exterior])
    assert cut.points[: len(points)] == pytest.approx(points, abs=0.0)
    areas = triangle_areas(cut.points, cut.triangles)
    assert areas.min() > 0.0
    assert areas.sum() == pytest.approx((nx - 1) * (ny - 1) * cell**2, rel=1e-9)
    sides = np.sort(np.vstack([cut.triangles[:, [k, (k + 1) % 3]] for k in range(3)]), axis=1)
    once = np.unique(sides, axis=0, return_counts=True)[1]
    assert once.max() == 2
    assert (once == 1).sum() == 2 * (nx - 1 + ny - 1)
    # A plane stays a plane; and each line is a chain of sides: what lies in the bed adds up to the bed's own area.
    plane = cut.carried(points @ np.array([0.3, -0.7]))
    assert plane == pytest.approx(cut.points @ np.array([0.3, -0.7]), abs=1e-8)
    middle = cut.points[cut.triangles].mean(axis=1)
    for shape in (bed, pool):
        inside = shapely.contains_xy(shape, middle[:, 0], middle[:, 1])
        assert areas[inside].sum() == pytest.approx(shape.area, rel=1e-4)
