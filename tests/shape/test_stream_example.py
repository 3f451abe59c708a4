"""The third shipped example: what its own words say of it is so, and no limit is broken."""

from __future__ import annotations

from pathlib import Path

import pytest
import shapely

from terrain.flow import Study, run_site
from terrain.site.read import read_site
from terrain.site.root_zones import root_zone_radius

INCH = 0.0254  # metres, exact
ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def study() -> Study:
    return run_site(read_site(ROOT / "examples/tansy-hollow/site.toml"), resolution=0.12)


def test_no_limit_is_broken_and_the_mound_stands_as_high_as_its_words_say(study: Study) -> None:
    assert not study.review.stopped
    assert study.review.look.reads_natural
    assert all(22 * INCH - 0.02 <= point.wished <= 26 * INCH + 1e-9 for point in study.proposal.crest)
    assert not any(point.short for point in study.proposal.crest)


def test_the_stream_has_its_drops_and_pools_and_ends_in_its_basin(study: Study) -> None:
    (bed,) = study.proposal.streams
    stated = study.site.stream[0].drops
    assert stated is not None
    assert [drop.height for drop in bed.section.drops] == pytest.approx([drop.height for drop in stated], abs=1e-9)
    assert (len(bed.section.drops), len(bed.section.pools)) == (4, 2)
    vault = study.proposal.digs[0]
    assert bed.section.bed[-1] > float(vault.bottom(shapely.get_coordinates(vault.floor.centroid))[0])
    assert vault.rim.distance(shapely.Point(bed.section.places[-1])) == 0.0


def test_the_basin_lies_clear_of_the_root_zone(study: Study) -> None:
    (beech,) = study.site.tree
    zone = shapely.Point(beech.at).buffer(root_zone_radius(study.site.trees.rule, beech.trunk, beech.dripline))
    assert all(not zone.intersects(dig.rim) for dig in study.proposal.digs)
    assert not any(zone.intersects(bed.dig.rim) for bed in study.proposal.streams)
