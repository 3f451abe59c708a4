"""Speed of what a designer waits for on 250,000 nodes: the signs, the heights for the soil on hand, the suggestions.

Run with `pytest -m benchmark tests/benchmarks/test_form_speed.py -s`. Each time is told beside a reference of the same
run (one exact Euclidean distance transform and one Gaussian filter of the whole grid), since machines differ.
"""

from __future__ import annotations

import time
from dataclasses import replace

import numpy as np
import pytest
from random_sites import ground_on, site_with
from scipy import ndimage
from shapely.geometry import Polygon
from sizes import Size
from test_shape_speed import NODES, median_seconds

from terrain.grid import Grid
from terrain.ground.model import Ground
from terrain.look.look import natural_look
from terrain.shape.berm import scale_for_soil, shape_berm
from terrain.shape.prepared import prepare
from terrain.site.model import Site, Tree
from terrain.suggest.search import suggest

SIGNS, SOLVE, SUGGEST = 0.08, 0.6, 20.0  # seconds


def yard(wish: float, nodes: int) -> tuple[Site, Ground]:
    """A bed of 14 by 12 m with a tree beside it, on rolling ground."""
    angle = np.linspace(0, 2 * np.pi, 60, endpoint=False)
    radius = 1 + 0.25 * np.cos(2 * angle)
    outline = Polygon(np.column_stack([10 + 7 * radius * np.cos(angle), 10 + 6 * radius * np.sin(angle)]))
    grid = Grid(0.0, 0.0, 20 / (nodes - 1), nodes, nodes)
    x, y = np.meshgrid(grid.x, grid.y)
    ground = ground_on(grid, 100 + 0.04 * x + 0.02 * y + 0.15 * np.sin(x / 3) * np.cos(y / 4))
    crest = [(8.0, 9.0, wish), (11.0, 9.5, 1.2 * wish), (13.5, 9.0, 0.7 * wish)]
    return site_with(outline, crest, 0.25, [Tree("oak", (12.0, 13.0), 0.6, 0.6, 1.5)]), ground


def reference(ground: Ground) -> float:
    """Seconds of one distance transform and one Gaussian filter on the same grid."""
    x, y = np.meshgrid(ground.grid.x - 10.0, ground.grid.y - 10.0)
    mask, field = np.hypot(x, y) < 7.0, np.asarray(ground.elevation)

    def job() -> None:
        ndimage.distance_transform_edt(mask)
        ndimage.gaussian_filter(field, 8.0)

    return median_seconds(job)


@pytest.mark.benchmark
@pytest.mark.parametrize("wish", [0.4, 2.0], ids=["within limits", "held by the limits everywhere"])
def test_signs_on_250_000_nodes(wish: float, size: Size) -> None:
    site, ground = yard(wish, size.of(*NODES))
    proposal = shape_berm(site, ground)
    outline = site.bed.outline
    took = median_seconds(lambda: natural_look(ground.grid, ground.elevation, proposal.elevation, outline))
    print(f"\nsigns {1e3 * took:.0f} ms, ratio {took / reference(ground):.2f}")
    assert took < size.most(SIGNS)


@pytest.mark.benchmark
@pytest.mark.parametrize("share", [0.4, 0.8])
def test_heights_for_the_soil_on_hand_on_250_000_nodes(share: float, size: Size) -> None:
    site, ground = yard(0.5, size.of(*NODES))
    prepared = prepare(site, ground)
    takes = float(shape_berm(site, ground).fill.sum()) * ground.grid.cell**2
    loose = share * takes * 1.25 / 0.9 + 10.0
    took = median_seconds(lambda: scale_for_soil(site, ground, prepared, loose), runs=3)
    whole = median_seconds(lambda: shape_berm(replace(site, berm=replace(site.berm, soil=loose)), ground), runs=3)
    print(f"\nsoil on hand {took:.2f} s, with layout and proposal {whole:.2f} s, ratio {took / reference(ground):.1f}")
    assert took < size.most(SOLVE)


@pytest.mark.benchmark
@pytest.mark.parametrize("soil", [None, 30.0], ids=["heights", "soil on hand"])
def test_suggestions_on_250_000_nodes(soil: float | None, size: Size) -> None:
    site, ground = yard(0.5, size.of(*NODES))
    site = replace(site, berm=replace(site.berm, soil=soil))
    start = time.perf_counter()
    found = suggest(site, ground)
    took = time.perf_counter() - start
    print(f"\n{len(found)} suggestions {took:.1f} s, ratio {took / reference(ground):.0f}")
    assert len(found) >= 3
    assert took < size.most(SUGGEST)
