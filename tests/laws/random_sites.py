"""Seeded random yards for the laws: outlines convex, concave and with holes; ground tilted, curved and rough."""

from __future__ import annotations

import numpy as np
from shapely.geometry import Point, Polygon

from terrain.grid import Array, Grid
from terrain.ground.model import Ground, GroundCheck
from terrain.site.model import Bed, Berm, CrestPoint, KeepClear, Site, Tree
from terrain.site.survey import Survey


def ground_on(grid: Grid, elevation: Array) -> Ground:
    """A ground value around given elevations, as if surveyed without error."""
    hull = Polygon([(grid.x[0], grid.y[0]), (grid.x[-1], grid.y[0]), (grid.x[-1], grid.y[-1]), (grid.x[0], grid.y[-1])])
    everywhere = np.ones(grid.shape, dtype=bool)
    return Ground(grid, elevation, np.zeros(grid.shape), everywhere, hull, GroundCheck("given", {}, 0.0, 4))


def site_with(
    outline: Polygon,
    crest: list[tuple[float, float, float]],
    max_slope: float,
    trees: list[Tree] | None = None,
    clear: list[Polygon] | None = None,
    toe: float | None = None,
) -> Site:
    """A site value for shaping on a given ground."""
    return Site(
        name="random yard",
        units="m",
        survey=Survey(np.array([(0, 0, 0), (20, 0, 0), (0, 20, 0)], dtype=float), ("1", "2", "3"), ("", "", "")),
        bed=Bed(outline, 0.05, 0.07),
        berm=Berm(max_slope, tuple(CrestPoint(*point) for point in crest), toe=toe),
        tree=tuple(trees or ()),
        keep_clear=tuple(KeepClear(f"walk {n}", area) for n, area in enumerate(clear or ())),
    )


def random_outline(rng: np.random.Generator) -> Polygon:
    """A closed outline about (10, 10): smooth and lobed, or angular, one in four with a hole."""
    corners = int(rng.choice([5, 9, 40, 80]))
    angle = np.sort(rng.uniform(0, 2 * np.pi, corners)) if corners < 10 else np.linspace(0, 2 * np.pi, corners, False)
    radius = (
        1
        + 0.35 * rng.uniform() * np.cos(2 * angle + rng.uniform(0, 6))
        + 0.25 * rng.uniform() * np.cos(3 * angle + rng.uniform(0, 6))
    )
    long, short = rng.uniform(4, 8), rng.uniform(2.5, 5)
    outline = Polygon(np.column_stack([10 + long * radius * np.cos(angle), 10 + short * radius * np.sin(angle)]))
    outline = outline.buffer(0)
    if outline.geom_type != "Polygon" or outline.area < 8.0:
        return random_outline(rng)
    if rng.uniform() < 0.25:
        with_hole = outline.difference(Point(10 + rng.uniform(-2, 2), 10 + rng.uniform(-1, 1)).buffer(0.6, 6))
        outline = with_hole if with_hole.geom_type == "Polygon" else outline
    return outline


def random_elevation(rng: np.random.Generator, grid: Grid, limit: float) -> Array:
    """Tilted and curved ground with waves; the steepest place reaches a random share of the limit, up to all of it."""
    x, y = np.meshgrid(grid.x, grid.y)
    z = rng.uniform(-1, 1) * x + rng.uniform(-1, 1) * y + rng.uniform(-0.05, 0.05) * (x - 10) ** 2
    for _ in range(4):
        length, turn, phase = rng.uniform(1.5, 9), rng.uniform(0, np.pi), rng.uniform(0, 6)
        z = z + 0.3 * length * np.sin((x * np.cos(turn) + y * np.sin(turn)) * 2 * np.pi / length + phase)
    steepest = np.hypot(*np.gradient(z, grid.cell)).max()
    return 100.0 + z * rng.choice([0.2, 0.5, 0.8, 1.0, 1.2]) * limit / steepest


def random_yard(seed: int, cell: float = 0.1) -> tuple[Site, Ground]:
    """One random yard with a wish that is often more than the limits allow."""
    rng = np.random.default_rng(seed)
    outline = random_outline(rng)
    west, south, east, north = outline.bounds
    # The nodes stand anywhere against the outline, as in real yards.
    x0, y0 = west - 1.0 - rng.uniform(0, cell), south - 1.0 - rng.uniform(0, cell)
    grid = Grid(x0, y0, cell, int((east + 1.0 - x0) / cell) + 1, int((north + 1.0 - y0) / cell) + 1)
    limit = float(rng.choice([1 / 3, 1 / 4, 1 / 5, 1 / 8]))
    room = outline.buffer(-0.3)
    crest = [
        (float(p.x), float(p.y), float(rng.uniform(0.1, 1.2)))
        for p in _points_in(rng, room if not room.is_empty else outline, int(rng.integers(1, 4)))
    ]
    trees = [
        Tree(f"tree {n}", (float(p.x), float(p.y)), 0.4, 0.5, float(rng.uniform(0.5, 1.6)))
        for n, p in enumerate(_points_in(rng, outline.buffer(1.0), int(rng.integers(0, 5))))
    ]
    clear = [Polygon([(9, 9), (9.7, 9.1), (9.6, 14), (8.9, 14)])] if rng.uniform() < 0.2 else []
    toe = [None, 0.0, 0.3, 1.0][int(rng.integers(0, 4))]
    site = site_with(outline, crest, limit, trees, clear, toe)
    return site, ground_on(grid, random_elevation(rng, grid, limit))


def _points_in(rng: np.random.Generator, area: Polygon, count: int) -> list[Point]:
    west, south, east, north = area.bounds
    points: list[Point] = []
    while len(points) < count:
        point = Point(rng.uniform(west, east), rng.uniform(south, north))
        if area.contains(point):
            points.append(point)
    return points
