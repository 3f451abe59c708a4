"""Beds with arms: every form holds soil in each of them, or says which part of the bed it leaves bare."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from random_sites import ground_on, site_with
from scipy.ndimage import label
from shapely import contains_xy, union_all
from shapely.geometry import LineString, Polygon

from terrain.grid import Grid
from terrain.suggest.first_crests import filling_crest
from terrain.suggest.search import suggest

CELL = 0.25
LEAST = 0.15  # of the bed: what counts as an arm here, by a count of the test's own


def lines(*each: list[tuple[float, float]]) -> Callable[[np.random.Generator], Polygon]:
    """A bed along lines, each from 1.5 to 2.2 m to either side."""
    return lambda rng: union_all([LineString(one).buffer(rng.uniform(1.5, 2.2)) for one in each])


def odd(rng: np.random.Generator) -> Polygon:
    """Three to five arms of any length from one place, each with a bend."""
    turns = np.cumsum(rng.uniform(0.9, 1.6, rng.integers(3, 6)))
    arms = []
    for turn in turns * min(1.0, 5.4 / turns[-1]):
        length, bend = rng.uniform(4.0, 8.0), rng.uniform(-0.4, 0.4)
        way = [(0.5 * length * np.cos(turn), 0.5 * length * np.sin(turn))]
        end = (way[0][0] + 0.5 * length * np.cos(turn + bend), way[0][1] + 0.5 * length * np.sin(turn + bend))
        arms.append(LineString([(0.0, 0.0), way[0], end]).buffer(rng.uniform(1.3, 2.1)))
    return union_all(arms)


BEDS = {
    "L": lines([(0, 9), (0, 0), (9, 0)]),
    "U": lines([(0, 8), (0, 0), (9, 0), (9, 7)]),
    "T": lines([(-7, 0), (7, 0)], [(0, 0), (0, -8)]),
    "Y": lines([(0, -7), (0, 0), (-5, 6)], [(0, 0), (5, 5)]),
    "S": lines([(0, 0), (8, 0), (8, 6), (0, 6), (0, 12), (8, 12)]),
    "odd": odd,
}


@pytest.mark.parametrize(
    ("kind", "seed"),
    [
        pytest.param("odd", 0, marks=pytest.mark.slow),
        *(pytest.param(kind, 0, marks=pytest.mark.fuzz) for kind in ("T", "S")),
        *(pytest.param(kind, seed, marks=pytest.mark.fuzz) for kind in BEDS for seed in range(1, 7)),
    ],
)
def test_every_form_fills_each_arm_or_names_the_one_that_it_leaves(kind: str, seed: int) -> None:
    rng = np.random.default_rng([41, seed, *kind.encode()])
    bed = BEDS[kind](rng)
    bed = Polygon(bed.exterior)
    site = site_with(bed, filling_crest(bed, 0.25), 0.25, [], toe=0.2)
    west, south, east, north = bed.bounds
    nx, ny = (int((size + 2.0) / CELL) + 2 for size in (east - west, north - south))
    grid = Grid(west - 1.0, south - 1.0, CELL, nx, ny)
    found = suggest(site, ground_on(grid, np.full(grid.shape, 100.0)))
    assert found
    inside = contains_xy(bed.buffer(-0.6), *grid.nodes.T).reshape(grid.shape)
    for one in found:
        parts, count = label(inside & (one.proposal.fill < 0.01))
        widest = max((float((parts == k).sum() / inside.sum()) for k in range(1, count + 1)), default=0.0)
        assert widest < LEAST or "Leaves the" in one.sentence, (kind, seed, one.name, widest)
