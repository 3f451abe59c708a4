"""Speed of what a tree is told and of the smooth covariance, held against the plain computation in the same run.

Run with `pytest -m benchmark tests/benchmarks/test_review_speed.py -s`; CI runs it once.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from pathlib import Path
from statistics import median

import numpy as np
import pytest
from scipy.ndimage import distance_transform_edt, gaussian_filter
from scipy.special import k1

from terrain.flow import Study, run_site
from terrain.numerics.bessel import times_first_bessel
from terrain.numerics.disc import disc_content, facets_around, fill_facets
from terrain.review.trees import check_trees
from terrain.site.model import GridSpec
from terrain.site.read import read_site
from terrain.soil.what_if import WhatIf

pytestmark = pytest.mark.benchmark
ROUNDS = 7
CELL = 0.04  # metres: 257,000 nodes on the shipped example


def work_of(job: Callable[[], object]) -> float:
    """Median processor time of a job after a warm-up, seconds: other programs on the machine count little."""
    times = []
    for _ in range(ROUNDS + 1):
        start = time.process_time()
        job()
        times.append(time.process_time() - start)
    return median(times[1:])


def distances_and_filter(study: Study) -> object:
    """The reference of whole stages: a distance transform of the bed and a Gaussian filter of the ground."""
    return distance_transform_edt(study.proposal.bed), gaussian_filter(np.asarray(study.ground.elevation), 8.0)


@pytest.fixture(scope="module")
def study(root: Path) -> Study:
    site = read_site(root / "examples" / "alder-bend" / "site.toml")
    return run_site(replace(site, grid=GridSpec(cell=CELL)))


def test_the_circles_about_a_tree_cost_a_fraction_of_each_alone(study: Study) -> None:
    fill, tree = fill_facets(study.proposal.mesh), study.site.tree[0]
    zone = study.review.trees[0].root_zone
    radii = np.linspace(zone / 12.0, zone, 12)

    def together() -> list[float]:
        around = facets_around(fill, tree.at, zone)
        return [around.content(radius).volume for radius in radii]

    def alone() -> list[float]:
        return [disc_content(fill, tree.at, radius).volume for radius in radii]

    assert together() == pytest.approx(alone(), rel=1e-9, abs=1e-12)
    ours, plain = work_of(together), work_of(alone)
    print(f"\n12 circles on {len(fill):,} facets: {1e3 * ours:.0f} ms, each alone {1e3 * plain:.0f} ms")
    assert ours < 0.6 * plain


def test_the_bessel_function_costs_half_of_the_librarys_at_most() -> None:
    a = np.random.default_rng(4).uniform(0.0, 6.0, 500_000)
    ours, theirs = work_of(lambda: times_first_bessel(a)), work_of(lambda: a * k1(a))
    print(f"\n500,000 values of a K1(a): {1e3 * ours:.1f} ms, scipy {1e3 * theirs:.1f} ms")
    assert ours < 0.5 * theirs


def test_a_whole_study_after_a_change_of_height(study: Study) -> None:
    shape = study.ground.grid.shape

    def changed() -> object:
        return run_site(study.site, WhatIf(scale=0.9), ground=study.ground, earlier=study)

    ours, against = work_of(changed), work_of(partial(distances_and_filter, study))
    print(
        f"\nstudy of {shape[0] * shape[1]:,} nodes after a change {1e3 * ours:.0f} ms, "
        f"distance transform and Gaussian filter {1e3 * against:.0f} ms, ratio {ours / against:.0f}"
    )
    assert ours < 26.0 * against


def test_a_study_with_eighty_trees(study: Study) -> None:
    """Eighty trees in and about the bed, none of which keeps fill off: what their checks cost beside one tree's."""
    west, south, east, north = study.site.bed.outline.bounds
    random = np.random.default_rng(8)
    places = random.uniform([west - 2.0, south - 2.0], [east + 2.0, north + 2.0], (80, 2))
    one = study.site.tree[0]
    trees = tuple(replace(one, name=f"tree {k}", at=(float(x), float(y))) for k, (x, y) in enumerate(places))
    many = replace(study.site, tree=trees)
    checked = check_trees(many, study.proposal, study.work)
    assert checked[7] == check_trees(replace(many, tree=trees[7:8]), study.proposal, study.work)[0]
    ours = work_of(lambda: check_trees(many, study.proposal, study.work))
    single = work_of(lambda: check_trees(study.site, study.proposal, study.work))
    against = work_of(partial(distances_and_filter, study))
    print(
        f"\ntrees: 80 {ours:.2f} s, one {1e3 * single:.0f} ms, distance transform and Gaussian filter "
        f"{1e3 * against:.0f} ms, ratio {ours / against:.0f}"
    )
    assert ours < 55.0 * against
