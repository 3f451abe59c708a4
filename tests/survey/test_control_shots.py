"""Where a few more shots would set a scan: they narrow what its points share as foretold, and more than others do."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
import shapely
from odd_scans import OddScan, odd_scan
from scan_sites import RING, scanned_site
from scanned_yards import scanned_yard

from terrain.ground.control_choice import next_controls
from terrain.numerics import Controls, mean_left, set_by
from terrain.site import Site, read_site

pytestmark = pytest.mark.usefixtures("forked_readers")


def shared(site: Site) -> float:
    assert site.survey.scan is not None
    return site.survey.scan.shared.mean


def with_more(odd: OddScan, path: Path, places: np.ndarray) -> Site:
    """The yard read again once its soil has been shot at more places, (k, 2) metres, as surely as before."""
    chance = np.random.default_rng([odd.yard.seed, 23])
    heights = odd.yard.truth(places) + chance.normal(0.0, 0.005, len(places))
    rows = [f"N{k},{x:.4f},{y:.4f},{z:.4f}" for k, ((x, y), z) in enumerate(zip(places, heights, strict=True), start=1)]
    with (path.parent / "shots.csv").open("a", encoding="utf-8") as table:
        table.write("\n".join(rows) + "\n")
    return read_site(path)


def test_controls_in_line_set_nothing_and_more_of_them_set_more() -> None:
    few = Controls(RING[:4], np.full(4, 0.007), 0.015, 0.007)
    line = Controls(np.column_stack([np.arange(5.0), 2.0 * np.arange(5.0)]), np.full(5, 0.007), 0.015, 0.007)
    assert math.isinf(mean_left(line, RING))
    steps = [mean_left(few.with_more(RING[4 : 4 + k]), RING) for k in range(5)]
    assert steps == sorted(steps, reverse=True)
    found = set_by(np.column_stack([RING, np.zeros(8)]), np.full(8, 0.007), 0.015, RING, RING)
    assert found.mean == pytest.approx(mean_left(found.controls, RING))


def test_the_one_control_that_holds_the_plane_is_heeded_whatever_it_reads() -> None:
    """Without it the others stand nearly in line, and nothing would be known of the surface across it."""
    places = np.column_stack([np.arange(6.0), 0.02 * np.array([1.0, -1.0, 1.0, -1.0, 1.0, 0.0])])
    places[5] = (2.0, 4.0)
    off = np.array([0.0, 0.001, -0.001, 0.0, 0.001, 0.5])
    found = set_by(np.column_stack([places, off]), np.full(6, 0.007), 0.015, places, places)
    assert found.unheeded == ()
    assert math.isfinite(found.mean)


def narrowed(seed: int, folder: Path) -> tuple[float, float, float]:
    """What a yard's shared error is expected to come down to, what it did, and what is expected of as many shots
    elsewhere in the bed, as parts of what it was.
    """
    odd = odd_scan(seed)
    site = read_site(path := odd.site(folder / f"{seed}"))
    scan, named = site.survey.scan, next_controls(site, 0.0)
    assert scan is not None
    assert 2 <= len(named) <= 4
    cells = site.survey.shots[site.survey.scanned, :2]
    inside = cells[shapely.contains_xy(site.bed.outline, *cells.T)]
    others = np.random.default_rng([seed, 24]).permutation(inside)[: len(named)]
    elsewhere = math.hypot(mean_left(scan.shared.controls.with_more(others), inside), scan.shared.left)
    after = with_more(odd, path, np.array([shot.at for shot in named]))
    before = shared(site)
    return named[-1].mean_deviation / before, shared(after) / before, elsewhere / before


@pytest.mark.slow
@pytest.mark.parametrize("yards", [8, pytest.param(20, marks=pytest.mark.fuzz)])
def test_shots_taken_there_narrow_a_scan_as_foretold(yards: int, tmp_path: Path) -> None:
    foretold, came, elsewhere = np.array([narrowed(seed, tmp_path) for seed in range(400, 400 + yards)]).T
    assert np.median(came / foretold) == pytest.approx(1.0, abs=0.1)
    assert np.all((came / foretold < 1.5) & (came / foretold > 1.0 / 1.5))
    assert np.all(foretold < elsewhere + 1e-9)


def test_of_a_scan_that_nothing_sets_the_first_shots_stand_far_apart_and_do_something_from_the_third_on(
    tmp_path: Path,
) -> None:
    yard = scanned_yard(4, density=150.0)
    path = scanned_site(tmp_path, yard, scan='scan = { file = "yard.xyz" }', laid=lambda places: places)
    path.write_text(path.read_text(encoding="utf-8").replace('shots    = "shots.csv"\n', ""), encoding="utf-8")
    site = read_site(path)
    named = next_controls(site, 0.001)
    steps = [math.hypot(shared(site), 0.001), *(shot.mean_deviation for shot in named)]
    assert len(named) == 4
    assert steps[0] == steps[1] == steps[2]
    assert steps[3] < 0.6 * steps[2]
    places = np.array([shot.at for shot in named])
    assert shapely.MultiPoint(places).convex_hull.area > 0.5 * site.bed.outline.area
