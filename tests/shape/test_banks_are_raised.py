"""Across a face the lower bank of a stream is raised within the limits of the mound; where they forbid it the bed lies
deeper."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from terrain.ground import Ground, model_ground
from terrain.review.stream_banks import raised_findings
from terrain.shape.berm import shape_berm
from terrain.shape.carve import with_streams
from terrain.shape.proposal import Proposal
from terrain.site.model import Site, Tree
from terrain.site.read import build_site
from terrain.soil.measure import measure_earthwork

INCH = 0.0254
# Invented: flat ground, a broad mound far under its limit, and a stream that crosses its face nearly level.
FIELDS: dict[str, Any] = {
    "name": "a stream across a face, invented",
    "units": "m",
    "survey": {"shots": [[x, y, 50.0] for x in (0.0, 8.0, 16.0) for y in (0.0, 7.0, 14.0)]},
    "bed": {"outline": [[1.0, 1.0], [15.0, 1.0], [15.0, 13.0], [1.0, 13.0]], "sod": 0.05},
    "berm": {"max_slope": 1 / 3, "crest": [[7.0, 7.5, 0.8], [9.0, 7.5, 0.8]]},
    "stream": [
        {
            "name": "run",
            "line": [[7.5, 5.2], [9.5, 5.0], [11.5, 4.8]],
            "width": 0.3,
            "depth": 0.13,
            "side_slope": 1.0,
            "drops": [],
        }
    ],
    "grid": {"cell": 0.1},
}


@pytest.fixture(scope="module")
def site() -> Site:
    return build_site(FIELDS)


@pytest.fixture(scope="module")
def ground(site: Site) -> Ground:
    return model_ground(site)


def without_raising(site: Site, ground: Ground) -> Proposal:
    """The stream cut into the mound as its form stands."""
    return with_streams(site, ground, shape_berm(replace(site, stream=()), ground))


def test_the_bed_lies_under_its_own_line_and_the_lower_bank_is_raised(site: Site, ground: Ground) -> None:
    dry, done = shape_berm(replace(site, stream=()), ground), shape_berm(site, ground)
    section, stream = done.streams[0].section, site.stream[0]
    deep, cut = done.raised.max(), without_raising(site, ground).streams[0].section.bed
    # The ground falls across the line, so that the lower bank's top lies by so much under the line.
    line = ground.grid.sample(dry.elevation, section.places)
    low = line - (cut + stream.depth)
    assert low.min() > 0.9 * INCH
    # Raised, it leaves the bed its depth under the line where that governs; a tread is straight, the face is curved.
    assert (line - section.bed).min() == pytest.approx(stream.depth, abs=0.2 * INCH)
    assert (section.bed - cut).mean() > 1.3 * INCH
    assert (section.bed >= cut - 1e-6).all()
    assert (np.minimum(section.left, section.right) - section.bed >= stream.depth - 1e-6).all()
    assert 1.3 * INCH < deep < low.max()


def test_a_raised_mound_keeps_its_limits_and_its_form(site: Site, ground: Ground) -> None:
    dry, done = shape_berm(replace(site, stream=()), ground), shape_berm(site, ground)
    assert done.steepest <= site.berm.max_slope + 1e-9
    assert (done.mound >= dry.elevation - 1e-3).all()
    assert (done.mound <= np.maximum(done.limit, dry.elevation) + 1e-3).all()
    far = np.hypot(ground.grid.nodes[:, 0] - 9.5, ground.grid.nodes[:, 1] - 5.0) > 4.0
    assert np.abs(done.mound - dry.elevation).ravel()[far].max() < 1e-3


def test_the_soil_is_that_of_the_mound_with_what_its_banks_take_less_the_hollow(site: Site, ground: Ground) -> None:
    dry, done = shape_berm(replace(site, stream=()), ground), shape_berm(site, ground)
    cell = ground.grid.cell**2
    hollow = float((done.mound - done.elevation).sum()) * cell  # the bed lies in fill from end to end
    assert done.cut.max() == 0.0
    without = measure_earthwork(replace(site, stream=()), ground, dry).fill_placed
    bought = measure_earthwork(site, ground, done).fill_placed
    assert bought + hollow == pytest.approx(without + float(done.raised.sum()) * cell, rel=0.002)


def test_no_bank_is_raised_into_a_keep_off_and_the_bed_lies_deeper_there(site: Site, ground: Ground) -> None:
    tree = Tree(name="oak", at=(9.5, 3.4), trunk=0.3, keep_off=1.3)
    guarded = replace(site, tree=(tree,))
    kept, free = shape_berm(guarded, ground), shape_berm(site, ground)
    inside = np.hypot(ground.grid.nodes[:, 0] - 9.5, ground.grid.nodes[:, 1] - 3.4) <= 1.3
    assert kept.fill.ravel()[inside].max() == 0.0
    section = kept.streams[0].section
    assert (np.minimum(section.left, section.right) - section.bed >= site.stream[0].depth - 1e-6).all()
    assert section.bed.min() < free.streams[0].section.bed.min() - INCH


def test_a_straight_way_down_raises_nothing(site: Site, ground: Ground) -> None:
    down = replace(site, stream=(replace(site.stream[0], line=((8.0, 6.0), (8.0, 3.0)), drops=None),))
    done = shape_berm(down, ground)
    assert done.raised is None
    assert not list(raised_findings(down, done))


def test_a_raised_bank_is_told_with_its_place(site: Site, ground: Ground) -> None:
    done = shape_berm(site, ground)
    (found,) = raised_findings(site, done)
    assert found.level == "note"
    assert found.text.startswith("The mound is raised beside run, by ")
    assert found.value == done.raised.max()
    assert abs(found.at[1] - 5.0) < 1.0


def test_soil_on_hand_counts_what_the_banks_take(site: Site, ground: Ground) -> None:
    soil = 30.0
    stocked = replace(site, berm=replace(site.berm, soil=soil))
    done = shape_berm(stocked, ground)
    assert done.raised is not None
    assert abs(done.soil_left) < 0.01 * soil
