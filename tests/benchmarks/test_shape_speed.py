"""Speed of shaping 250,000 nodes, held against a reference in the same run.

Run with `pytest -m benchmark tests/benchmarks/test_shape_speed.py -s`.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable
from functools import partial

import numpy as np
import pytest
from random_sites import ground_on, site_with
from scipy import ndimage
from shapely.geometry import Polygon
from sizes import Size

from terrain.grid import Grid
from terrain.shape.berm import build, shape_berm
from terrain.shape.prepared import prepare
from terrain.site.model import Tree

NODES = 500, 120  # on a side: in full, small


def median_seconds(job: Callable[[], object], runs: int = 9) -> float:
    """Median time of a job after two warm-up runs, seconds."""
    times = []
    for run in range(runs + 2):
        start = time.perf_counter()
        job()
        if run >= 2:
            times.append(time.perf_counter() - start)
    return statistics.median(times)


def processor_seconds(job: Callable[[int], object], runs: int = 7) -> float:
    """Median processor time of a job that is told its round, seconds.

    The first five do not count: four layouts are kept, and until they are there the system hands out new memory.
    """
    times = []
    for run in range(5 + runs):
        start = time.process_time()
        job(run)
        times.append(time.process_time() - start)
    return statistics.median(times[5:])


@pytest.mark.benchmark
def test_outline_change_on_250_000_nodes(size: Size) -> None:
    """Another outline each time, so that no layout is kept; and what a boundary of 4,000 corners costs beside 400."""
    nodes = size.of(*NODES)
    grid = Grid(0.0, 0.0, 20 / (nodes - 1), nodes, nodes)
    x, y = np.meshgrid(grid.x, grid.y)
    ground = ground_on(grid, 100 + 0.04 * x + 0.02 * y + 0.15 * np.sin(x / 3) * np.cos(y / 4))
    mask, field = np.hypot(x - 10.0, y - 10.0) < 7.0, np.asarray(ground.elevation)

    def changed(corners: int, run: int) -> None:
        angle = np.linspace(0, 2 * np.pi, corners, endpoint=False)
        radius = 1 + 0.25 * np.cos(2 * angle)
        points = np.column_stack([10 + 7 * radius * np.cos(angle), 10 + 6 * radius * np.sin(angle)])
        points[3] += 0.003 * (run + 1)
        crest = [(8.0, 9.0, 0.4), (11.0, 9.5, 0.48), (13.5, 9.0, 0.28)]
        shape_berm(site_with(Polygon(points), crest, 0.25, [Tree("oak", (12.0, 13.0), 0.6, 0.6, 1.5)]), ground)

    few, many = (processor_seconds(partial(changed, corners)) for corners in (400, 4000))
    against = processor_seconds(lambda _: (ndimage.distance_transform_edt(mask), ndimage.gaussian_filter(field, 8.0)))
    print(
        f"\noutline change {1e3 * few:.0f} ms, distance transform and Gaussian filter {1e3 * against:.0f} ms, ratio "
        f"{few / against:.1f}; 4,000 corners {1e3 * many:.0f} ms, {many / few:.1f} times 400"
    )
    assert few < size.most(7.5) * against
    assert many < size.most(2.5) * few


@pytest.mark.benchmark
@pytest.mark.parametrize("wish", [0.4, 2.0], ids=["within limits", "held by the limits everywhere"])
def test_height_change_on_250_000_nodes(wish: float, size: Size) -> None:
    nodes = size.of(*NODES)
    angle = np.linspace(0, 2 * np.pi, 60, endpoint=False)
    radius = 1 + 0.25 * np.cos(2 * angle)
    outline = Polygon(np.column_stack([10 + 7 * radius * np.cos(angle), 10 + 6 * radius * np.sin(angle)]))
    grid = Grid(0.0, 0.0, 20 / (nodes - 1), nodes, nodes)
    x, y = np.meshgrid(grid.x, grid.y)
    ground = ground_on(grid, 100 + 0.04 * x + 0.02 * y + 0.15 * np.sin(x / 3) * np.cos(y / 4))
    crest = [(8.0, 9.0, wish), (11.0, 9.5, 1.2 * wish), (13.5, 9.0, 0.7 * wish)]
    site = site_with(outline, crest, 0.25, [Tree("oak", (12.0, 13.0), 0.6, 0.6, 1.5)])
    prepared = prepare(site, ground)
    mask = prepared.layout.clearance > 0
    field = np.asarray(ground.elevation)

    def reference() -> None:
        ndimage.distance_transform_edt(np.pad(mask, ((0, nodes - mask.shape[0]), (0, nodes - mask.shape[1]))))
        ndimage.gaussian_filter(field, 8.0)

    shaping = median_seconds(lambda: build(site, ground, prepared, 1.0))
    whole = median_seconds(lambda: shape_berm(site, ground))
    against = median_seconds(reference)
    print(
        f"\nheight change {1e3 * shaping:.0f} ms, whole stage with its layout kept {1e3 * whole:.0f} ms, "
        f"distance transform and Gaussian filter {1e3 * against:.0f} ms, ratio {shaping / against:.2f}"
    )
    assert shaping / against < size.most(4.0)
