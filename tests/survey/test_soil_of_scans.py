"""The soil that is ordered over scanned ground, against what the true ground takes: within its range, and no wider."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely
from odd_scans import odd_scan
from scan_sites import BED, scanned_site
from scanned_yards import GROUND, ScannedYard, scanned_yard
from scipy.interpolate import LinearNDInterpolator

from terrain.flow import Study, run_site
from terrain.numerics import CENTRAL_90
from terrain.site import read_site
from terrain.site.scanned import _LEFT
from terrain.soil.draw import needs
from terrain.soil.ranges import GROUND as OF_THE_GROUND

pytestmark = pytest.mark.usefixtures("forked_readers")


def needed_loose(study: Study, taken: float, seed: int) -> float:
    """Loose soil, m3, that one job needs: its ground the true one, each factor of its soil anywhere in its range."""
    given = dict(study.order.given)
    given |= {"rise": given["rise"] + taken - given["fill_placed"], "fill_placed": taken}
    causes = ("swell", "shrink", "own", "settlement", "sod", "lost", "reuse")
    chance = np.random.default_rng([seed, 22])
    drawn = {cause: chance.uniform(size=1) for cause in causes}
    return float(needs(given, {**drawn, "ground": np.array([0.5])})[0])


def held(seeds: range, folder: Path) -> tuple[list[float], list[int]]:
    """By how many deviations of the ground the placed soil of each yard is off, and the yards that need more loose
    soil, or less, than the range of their order says.
    """
    off, outside = [], []
    for seed in seeds:
        odd = odd_scan(seed)
        study = run_site(read_site(odd.site(folder / str(seed))))
        taken, work = odd.soil_taken(study), study.work
        (ground,) = (share.deviation for share in work.fill_shares if share.cause == OF_THE_GROUND)
        off.append((work.fill_placed - taken) / ground)
        assert work.fill_placed_high - work.fill_placed == pytest.approx(CENTRAL_90 * ground, rel=0.05)
        if not study.order.low <= needed_loose(study, taken, seed) <= study.order.high:
            outside.append(seed)
    return off, outside


def within(off: list[float]) -> int:
    return int(np.sum(np.abs(off) <= CENTRAL_90))


@pytest.mark.slow
def test_the_range_of_the_soil_holds_what_the_true_ground_takes(tmp_path: Path) -> None:
    off, outside = held(range(100, 112), tmp_path)
    assert within(off) >= 9  # at 90 % there are fewer in 3 of 100 such sets
    assert len(outside) <= 3


@pytest.mark.fuzz
def test_the_range_of_the_soil_holds_what_the_true_ground_takes_in_90_of_100_yards(tmp_path: Path) -> None:
    off, outside = held(range(100), tmp_path)
    print(f"{within(off)} of 100 within; off by {np.std(off):.2f} deviations; {len(outside)} orders outside: {outside}")
    assert 90 <= within(off) <= 98, sorted(off)
    assert np.sqrt(np.mean(np.square(off))) > 0.7  # a range twice as wide would hold them all
    assert len(outside) <= 14  # at 90 % there are more in 7 of 100 such sets


def mean_of_ground(yard: ScannedYard, folder: Path) -> float:
    """Mean height of the scanned ground over the bed above the soil, metres, by flat facets between its cells."""
    path = scanned_site(folder, yard, scan='scan = { file = "yard.xyz" }', laid=lambda places: places)
    survey = read_site(path).survey
    cells = survey.shots[survey.scanned]
    lattice = np.stack(np.meshgrid(*[np.arange(0.1, 20.0, 0.2)] * 2), axis=-1).reshape(-1, 2)
    bed = lattice[shapely.contains_xy(shapely.Polygon(BED), *lattice.T)]
    return float(np.mean(LinearNDInterpolator(cells[:, :2], cells[:, 2])(bed) - yard.truth(bed)))


@pytest.mark.slow
def test_what_plants_leave_in_the_mean_of_a_bed_is_what_is_allowed_for(tmp_path: Path) -> None:
    """The same scans with and without all that is no lawn, what it hides hidden in both."""
    left = []
    for seed in range(300, 312):
        yard = scanned_yard(seed, density=200.0)
        lawn = yard.labels == GROUND
        bare = replace(yard, points=yard.points[lawn], labels=yard.labels[lawn])
        left.append(mean_of_ground(yard, tmp_path / f"{seed}") - mean_of_ground(bare, tmp_path / f"{seed} bare"))
    assert 0.6 * _LEFT < np.sqrt(np.mean(np.square(left))) < 1.25 * _LEFT
