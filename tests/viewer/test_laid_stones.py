"""What pictures show of a built stream: level water in its pools, a basin full of stone, boulders as they are laid."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import shapely
from shapely.geometry import LineString

from terrain.flow import run_site
from terrain.site.read import read_site
from terrain.soil.stone import walls
from viewer.page.subject import Subject
from viewer.pictures.laid import as_built, boulders, filled_basins
from viewer.pictures.solids import boulder

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


@pytest.fixture(scope="module")
def subject() -> Subject:
    study = run_site(read_site(EXAMPLES / "tansy-hollow/site.toml"))
    return Subject(study.site, study.ground, study.proposal, study.work)


def test_water_stands_level_with_the_sill_of_its_pool_and_nowhere_lower_than_the_ground(subject: Subject) -> None:
    seen, nodes = as_built(subject).ravel(), subject.ground.grid.nodes
    assert (seen >= subject.proposal.elevation.ravel() - 1e-12).all()
    for pool in subject.proposal.streams[0].section.pools:
        middle = np.hypot(*(nodes - np.array(pool.at)).T) < 0.15
        assert middle.any()
        assert seen[middle] == pytest.approx(pool.sill, abs=1e-6)


def test_a_buried_basin_is_full_of_stone_up_to_where_the_water_comes_in(subject: Subject) -> None:
    seen, nodes = as_built(subject).ravel(), subject.ground.grid.nodes
    inside = shapely.contains_xy(filled_basins(subject), nodes[:, 0], nodes[:, 1])
    end = subject.proposal.streams[0].section.bed[-1]
    dug, ground = (one.ravel()[inside] for one in (subject.proposal.elevation, subject.ground.elevation))
    assert seen[inside] == pytest.approx(np.maximum(dug, np.minimum(ground, end)), abs=1e-9)
    assert seen[inside].min() > dug.min() + 0.3


def test_nothing_else_changes_what_is_seen(subject: Subject) -> None:
    nodes = subject.ground.grid.nodes
    area = shapely.union_all([filled_basins(subject), subject.proposal.streams[0].wet])
    outside = ~shapely.intersects_xy(area, nodes[:, 0], nodes[:, 1])
    assert (as_built(subject).ravel()[outside] == subject.proposal.elevation.ravel()[outside]).all()


def test_every_stone_of_a_wall_stands_in_its_strip_and_those_of_a_stream_beside_its_water(subject: Subject) -> None:
    middles = np.array([stone.reshape(-1, 3).mean(axis=0) for stone in boulders(subject)])
    (wall,) = walls(subject.site)
    of_wall = middles[: wall.count]
    assert (shapely.distance(wall.line, shapely.points(of_wall[:, :2])) < 0.5).all()
    assert of_wall[:, 2].max() - of_wall[:, 2].min() > wall.size
    (stream,) = subject.site.stream
    away = shapely.distance(LineString(stream.line), shapely.points(middles[wall.count :, :2]))
    assert len(away) > 30
    assert away.max() < 0.5 * 0.74 + 0.3


def test_a_boulder_has_the_size_that_it_is_said_to_have() -> None:
    for number in range(20):
        corners = boulder((1.0, 2.0, 3.0), 0.4, number).reshape(-1, 3)
        assert corners.mean(axis=0) == pytest.approx([1.0, 2.0, 3.0], abs=0.06)
        assert float(np.prod(np.ptp(corners, axis=0)) ** (1 / 3)) == pytest.approx(0.4, rel=0.25)
        assert (corners == boulder((1.0, 2.0, 3.0), 0.4, number).reshape(-1, 3)).all()


def test_a_yard_without_stones_has_none() -> None:
    study = run_site(read_site(EXAMPLES / "alder-bend/site.toml"))
    dry = Subject(study.site, study.ground, study.proposal, study.work)
    assert (as_built(dry) == study.proposal.elevation).all()
    assert len(list(boulders(dry))) == sum(wall.count for wall in walls(study.site))
