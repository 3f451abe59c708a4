"""On random yards a storm loses and makes no water, and a plain second way of running it agrees.

The second way (`pouring`) knows no hollows and no ways out: it moves water drop by drop to the lowest surface beside
it.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from pouring import pour
from shapely.geometry import box
from test_features_on_random_yards import random_features

from terrain.errors import InputError
from terrain.numerics.rainfall import runoff_depth
from terrain.review.existing_water import existing_water
from terrain.review.rain import run_rain
from terrain.shape.berm import shape_berm
from terrain.site.model import Building
from terrain.site.storm import Storm

AGREE = 0.05  # of the water that runs, on 95 yards of a hundred; a drop that may go either way parts them by more
PART = 6  # cells of a random yard to one of the second way: it takes its time


def check_storm(seed: int) -> float | None:
    """Check the storm of a yard: by how much of the water both ways part; None where it cannot be shaped."""
    site, ground = random_features(seed)
    rng = np.random.default_rng([11, seed])
    storm = Storm(rng.uniform(0.02, 0.2), rng.uniform(0.5, 24.0), rng.choice([0.0, 1.0, 4.0]) / 3.6e6)
    site = replace(site, storm=storm)
    if seed % 3 == 0:
        site = replace(site, building=(Building("shed", box(1.0, 1.0, 4.0, 3.0)),))
    try:
        proposal = shape_berm(site, ground)
    except InputError:
        return None
    grid = ground.grid
    walls = np.zeros(grid.shape, dtype=bool)
    for house in site.building:
        walls |= shapely.contains_xy(house.outline, grid.nodes).reshape(grid.shape)
    rain = run_rain(site, existing_water(site, ground), proposal)
    area = float((~walls).sum()) * grid.cell**2
    for one in (rain.water.before, rain.water.after):
        assert one.fell == pytest.approx(storm.rain * area, rel=1e-12)
        assert one.soaked + one.stored + one.left == pytest.approx(one.fell, rel=1e-9)
    if not site.building:
        out = sum(side.after for side in rain.water.leaving)
        assert out == pytest.approx(rain.water.after.left, rel=1e-9, abs=1e-12)
        return parted(runoff_depth(storm.rain, storm.hours * 3600.0, storm.intake), proposal.elevation)
    return 0.0


def parted(runs: float, elevation: np.ndarray) -> float:
    """By how much of the water the second way parts from ours, on every few nodes of the finished ground."""
    from terrain.numerics.spilling import spill

    coarse = np.ascontiguousarray(elevation[::PART, ::PART])
    water = np.full(coarse.shape, runs)
    ours = spill(coarse, water, 1.0)
    depth, left = pour(coarse, water)
    off = max(abs(ours.depth.sum() - depth.sum()), abs(ours.left.sum() - left))
    return float(off / (runs * coarse.size)) if runs > 0.0 else 0.0


def shaped(seeds: range) -> int:
    found = sorted(part for part in map(check_storm, seeds) if part is not None)
    assert found[int(0.95 * len(found)) - 1] <= AGREE
    assert found[-1] <= 2.0 * AGREE
    return len(found)


def test_no_water_is_lost_on_five_yards() -> None:
    assert shaped(range(5)) >= 3


@pytest.mark.parametrize(
    ("seeds", "least"),
    [pytest.param(range(5, 25), 14, marks=pytest.mark.slow), pytest.param(range(25, 245), 130, marks=pytest.mark.fuzz)],
    ids=["20 yards", "220 yards"],
)
def test_no_water_is_lost_on_many_yards(seeds: range, least: int) -> None:
    assert shaped(seeds) >= least
