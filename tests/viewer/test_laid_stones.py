"""What pictures show of a built stream: level water in its pools, a basin full of stone, boulders as they are laid."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import shapely
from shapely.geometry import LineString
from shipped import study_of

from terrain.soil.stone import walls
from viewer.page.subject import Subject
from viewer.pictures.laid import boulders, filled_basins, level_sheets
from viewer.still.shapes import boulder
from viewer.still.surfaces import GRAVEL, WATER

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


@pytest.fixture(scope="module")
def subject() -> Subject:
    study = study_of("tansy-hollow", 0.2)
    return Subject(study.site, study.ground, study.proposal, study.work)


def test_water_stands_level_with_the_sill_of_its_pool(subject: Subject) -> None:
    section = subject.proposal.streams[0].section
    sheets = [one for one in level_sheets(subject) if one.kind == WATER]
    assert len(sheets) == len(section.pools) > 0
    for pool, water in zip(section.pools, sheets, strict=True):
        assert water.points[:, 2] == pytest.approx(pool.sill, abs=0.006)
        middle = water.points[:, :2].mean(axis=0)
        assert np.hypot(*(middle - np.array(pool.at))) < 0.5 * (pool.end - pool.start) + 0.1


def test_a_buried_basin_is_full_of_stone_up_to_where_the_water_comes_in_and_no_higher_than_its_rim(
    subject: Subject,
) -> None:
    (stone,) = [one for one in level_sheets(subject) if one.kind == GRAVEL]
    rim = filled_basins(subject)
    level = float(stone.points[0, 2])
    ground = subject.ground.grid.sample(subject.ground.elevation, shapely.get_coordinates(rim.exterior))
    assert level <= min(float(ground.min()), float(subject.proposal.streams[0].section.bed[-1]))
    assert np.ptp(stone.points[:, 2]) == 0.0
    pieces = shapely.polygons(stone.points[stone.triangles][:, :, :2])
    assert shapely.area(pieces).sum() == pytest.approx(rim.area, rel=1e-9)
    inside = shapely.contains_xy(rim, *subject.ground.grid.nodes.T)
    assert level > subject.proposal.elevation.ravel()[inside].min() + 0.3


def test_every_stone_of_a_wall_stands_in_its_strip_and_those_of_a_stream_beside_its_water(subject: Subject) -> None:
    middles = np.array([stone.points.mean(axis=0) for stone in boulders(subject)])
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
        corners = boulder((1.0, 2.0, 3.0), 0.4, number).points
        assert corners.mean(axis=0) == pytest.approx([1.0, 2.0, 3.0], abs=0.06)
        assert float(np.prod(np.ptp(corners, axis=0)) ** (1 / 3)) == pytest.approx(0.4, rel=0.25)
        assert (corners == boulder((1.0, 2.0, 3.0), 0.4, number).points).all()


def test_a_yard_without_stones_has_none() -> None:
    study = study_of("alder-bend", 0.3)
    dry = Subject(study.site, study.ground, study.proposal, study.work)
    assert list(level_sheets(dry)) == []
    assert len(list(boulders(dry))) == sum(wall.count for wall in walls(study.site))
