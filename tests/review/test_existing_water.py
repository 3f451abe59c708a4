"""Water on the existing ground is kept while a mound changes, and worked out anew where anything that it follows from
differs."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from shapely import contains_xy
from shapely.affinity import translate
from shapely.geometry import box
from shipped import study_of

from terrain.flow import run_site
from terrain.grid import frozen
from terrain.numerics import ends
from terrain.numerics.rainfall import runoff_depth
from terrain.review.existing_water import ExistingWater, existing_water
from terrain.site.model import Building, KeepClear, Site, Walk
from terrain.site.storm import Storm
from terrain.soil.what_if import WhatIf


def same(one: ExistingWater, other: ExistingWater) -> bool:
    return one.storm == other.storm and all(
        np.array_equal(getattr(one, name), getattr(other, name)) for name in ("walls", "runs", "out", "onward", "stood")
    )


def test_a_study_after_a_change_says_of_the_water_what_one_from_nothing_says() -> None:
    first = study_of("alder-bend", 0.3)
    site, ground = first.site, first.ground
    kept = run_site(site, WhatIf(scale=0.8), ground=ground, earlier=first)
    anew = run_site(site, WhatIf(scale=0.8), ground=replace(ground))
    assert kept.review == anew.review
    assert kept.order == anew.order


def test_it_is_the_very_same_water_only_while_ground_and_all_that_stands_on_it_are_the_same() -> None:
    study = study_of("alder-bend", 0.3)
    site, ground = study.site, study.ground
    water = existing_water(site, ground)
    assert existing_water(replace(site, name="other", berm=replace(site.berm, max_slope=0.1)), ground) is water
    assert same(existing_water(site, replace(ground)), water)


CHANGES: dict[str, Callable[[Site], Site]] = {
    "a building": lambda site: replace(site, building=(*site.building, Building("shed", box(6.0, 5.0, 9.0, 7.0)))),
    "paving": lambda site: replace(
        site, keep_clear=(*site.keep_clear, KeepClear("pad", box(6.0, 5.0, 9.0, 7.0), paved=True))
    ),
    "a walk": lambda site: replace(site, walk=(*site.walk, Walk("path", ((2.0, 2.0), (9.0, 7.0)), 1.2, paved=True))),
    "the storm": lambda site: replace(site, storm=Storm(0.09, 1.0, 1e-7)),
    "the lot": lambda site: replace(site, boundary=translate(site.bed.outline.buffer(1.0), 0.5, 0.0)),
}


@pytest.mark.parametrize("change", CHANGES)
def test_another_yard_on_the_same_ground_has_other_water(change: str) -> None:
    study = study_of("alder-bend", 0.3)
    before = existing_water(study.site, study.ground)
    assert not same(existing_water(CHANGES[change](study.site), study.ground), before)


def test_other_ground_has_other_water() -> None:
    study = study_of("alder-bend", 0.3)
    before = existing_water(study.site, study.ground)
    tilted = study.ground.elevation + 0.3 * np.arange(study.ground.grid.nx)
    after = existing_water(study.site, replace(study.ground, elevation=frozen(tilted)))
    assert not np.array_equal(ends(after.onward), ends(before.onward))


def test_all_of_the_storm_runs_off_paving_and_the_rest_after_the_soil_took_its_part() -> None:
    study = study_of("alder-bend", 0.3)
    storm, nodes = study.site.design_storm, study.ground.grid.nodes
    drive = box(1.0, 1.0, 4.0, 9.0)
    site = replace(study.site, keep_clear=(KeepClear("drive", drive, True),), walk=())
    runs = existing_water(site, study.ground).runs.ravel()
    paved = contains_xy(drive.buffer(-0.01), nodes)
    soil = ~contains_xy(drive.buffer(0.01), nodes)
    assert min(paved.sum(), soil.sum()) > 50
    assert runs[paved] == pytest.approx(storm.rain, rel=1e-12)
    assert runs[soil] == pytest.approx(runoff_depth(storm.rain, storm.lasts, storm.intake), rel=1e-12)
    assert runs[soil].max() < storm.rain
