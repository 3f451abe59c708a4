"""Where a section crosses a stream it shows the water: on the bed, level, as deep as it runs; its banks are no face."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from shipped import study_of

from terrain.flow import Study
from terrain.numerics import StationFrame
from viewer.page.subject import SectionLine, Subject
from viewer.sheets.profile import profile_of, steepest_places
from viewer.sheets.section_water import water_cut


@pytest.fixture(scope="module")
def study() -> Study:
    return study_of("tansy-hollow", 0.2)


@pytest.fixture(scope="module")
def subject(study: Study) -> Subject:
    return Subject(study.site, study.ground, study.proposal, study.work)


def across(study: Study, station: float, reach: float = 1.5) -> SectionLine:
    """A section square across the stream at a station."""
    frame = StationFrame(np.array(study.site.stream[0].line))
    left, right = frame.beside(np.array([station, station]), np.array([reach, -reach]))
    return SectionLine("A", (float(left[0]), float(left[1])), (float(right[0]), float(right[1])))


def test_across_a_reach_the_water_is_as_deep_and_wide_as_it_runs(study: Study, subject: Subject) -> None:
    needs = study.streams[0]
    for one in needs.wet[:-1]:  # the last runs into the pit of the basin
        if one.reach.kind != "bed" or one.reach.length < 0.5:
            continue
        station = one.reach.start + 0.5 * one.reach.length
        (water,) = water_cut(subject, across(study, station))
        heights = shapely.get_coordinates(water.surface)[:, 1]
        assert np.ptp(heights) < 0.01  # a square section: level to what the bed falls over a bend
        west, low, east, high = water.area.bounds
        assert high - low == pytest.approx(one.depth.value, abs=0.01)
        assert east - west == pytest.approx(study.site.stream[0].width, rel=0.1)


def test_in_a_pool_it_reaches_from_the_floor_to_its_head_over_the_sill(study: Study, subject: Subject) -> None:
    pool = study.proposal.streams[0].section.pools[0]
    (wet,) = [one for one in study.streams[0].wet if one.reach.kind == "pool" and one.reach.start < pool.end][:1]
    (water,) = water_cut(subject, across(study, (pool.start + pool.end) / 2.0))
    _, low, _, high = water.area.bounds
    assert low == pytest.approx(pool.floor, abs=1e-6)
    assert high == pytest.approx(pool.sill + wet.depth.value, abs=0.005)


def test_the_bank_of_a_stream_is_not_named_as_the_steepest_face(study: Study, subject: Subject) -> None:
    profile = profile_of(subject, across(study, 1.5, 2.2))
    assert profile.in_streams is not None
    assert profile.in_streams.any()
    limit = study.site.berm.max_slope
    assert all(abs(slope) <= 1.02 * limit for _, slope in steepest_places(profile))


def test_a_section_beside_the_stream_shows_none(subject: Subject) -> None:
    assert water_cut(subject, SectionLine("A", (1.0, 1.0), (1.0, 9.0))) == ()
