"""Whatever lies on something else is told, with what becomes of it; what lies clear is not."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from random_sites import ground_on, site_with
from review_yards import make_grid, reviewed
from shapely.geometry import Polygon, box

from terrain.errors import InputError
from terrain.findings import Finding
from terrain.grid import Grid
from terrain.ground.model import Ground
from terrain.review.overlaps import overlap_findings
from terrain.shape.berm import shape_berm
from terrain.shape.digs import digs_of
from terrain.shape.retained import LIFT_SHARE
from terrain.site.features import Basin, Channel, RetainedEdge, Terrace
from terrain.site.model import KeepClear, Site, Tree

GRID = Grid(0.0, 0.0, 0.1, 221, 181)
BED = box(3.0, 3.0, 19.0, 14.0)
SEAT = Terrace("seat", box(5.0, 6.0, 8.0, 9.0), height=0.3)
POND = Basin("pond", 0.4, center=(15.0, 6.0), size=(2.0, 1.5), side_slope=1.0)
RILL = Channel("rill", ((10.0, 5.0), (13.0, 5.0)), 0.3, 0.2)
STONES = RetainedEdge("stones", ((10.0, 11.0), (18.0, 11.0)), 0.4)


def yard(**features: object) -> tuple[Site, Ground]:
    site = site_with(BED, [(7.5, 9.0, 0.4), (12.0, 9.0, 0.5)], 0.25, [Tree("oak", (3.0, 14.0), 0.4, 0.4, 1.0)])
    return replace(site, **features), ground_on(GRID, np.full(GRID.shape, 50.0))


def told(**features: object) -> tuple[Finding, ...]:
    site, ground = yard(**features)
    found = overlap_findings(site, ground, digs_of(site, ground))
    for finding in found:
        assert finding.topic == "shape"
        assert finding.at is not None
        assert finding.source == "the site file"
    return found


def test_features_that_lie_clear_of_each_other_are_not_told() -> None:
    assert told(terrace=(SEAT,), retained_edge=(STONES,)) == ()


CLASHES = {
    "terrace and keep-off": (
        {"terrace": (SEAT,), "tree": (Tree("oak", (5.0, 9.0), 0.4, 0.4, 1.0),)},
        "The terrace seat and the keep-off of oak overlap",
        "stays as it is",
    ),
    "terrace and keep-clear": (
        {"terrace": (SEAT,), "keep_clear": (KeepClear("walk", box(7.0, 0.0, 7.5, 18.0)),)},
        "The terrace seat and walk overlap",
        "stays as it is",
    ),
    "terrace and dig": (
        {"terrace": (SEAT,), "basin": (replace(POND, center=(7.5, 7.0)),)},
        "The terrace seat and the dig of pond overlap",
        "dug and takes no soil",
    ),
    "terrace and stones": (
        {"terrace": (SEAT,), "retained_edge": (replace(STONES, line=((4.0, 8.8), (13.0, 8.8))),)},
        "The terrace seat and the stones of stones overlap",
        "no soil lies",
    ),
    "two terraces of unlike level": (
        {"terrace": (SEAT, Terrace("step", box(7.0, 6.0, 9.0, 8.0), height=0.15))},
        "The terrace seat and the terrace step overlap",
        "there step sets the level",
    ),
    "stones and dig": (
        {"basin": (replace(POND, center=(14.0, 11.2)),), "retained_edge": (STONES,)},
        "The stones of stones and the dig of pond overlap",
        "from under them",
    ),
    "stones and keep-clear": (
        {"keep_clear": (KeepClear("walk", box(13.0, 0.0, 13.5, 18.0)),), "retained_edge": (STONES,)},
        "The stones of stones and walk overlap",
        "kept clear",
    ),
    "two rows of stones": (
        {"retained_edge": (STONES, RetainedEdge("more", ((14.0, 13.5), (14.0, 5.0)), 0.4))},
        "The stones of stones and those of more overlap",
        "neither holds its height",
    ),
    "dig and dig": (
        {"basin": (POND,), "channel": (replace(RILL, line=((14.5, 6.0), (10.0, 6.0))),)},
        "The dig of pond and that of rill overlap",
        "the deeper counts",
    ),
    "dig and bed": ({"basin": (POND,)}, "The dig of pond and the bed overlap", "stops at its edge"),
}


@pytest.mark.parametrize("clash", CLASHES)
def test_every_overlap_is_told_with_its_place_and_outcome(clash: str) -> None:
    features, opening, outcome = CLASHES[clash]
    site, _ = yard(**features)
    (finding,) = [one for one in told(**features) if one.text.startswith(opening)]
    assert outcome in finding.text
    assert finding.value is not None
    assert finding.value >= 0.01
    x, y = finding.at or (0.0, 0.0)
    assert site.bed.outline.buffer(1.0).contains(box(x, y, x, y).centroid)


def test_a_channel_that_ends_in_a_basin_is_as_it_should_be() -> None:
    found = told(basin=(POND,), channel=(replace(RILL, line=((10.0, 6.0), (14.5, 6.0))),))
    assert not any("the deeper counts" in one.text for one in found)


def test_the_area_told_is_the_area_shared() -> None:
    (finding,) = told(terrace=(SEAT,), keep_clear=(KeepClear("walk", box(7.0, 0.0, 7.5, 18.0)),))
    assert finding.value == pytest.approx(0.5 * 3.0, rel=1e-9)


def test_what_is_told_of_terraces_is_what_is_built() -> None:
    step = Terrace("step", box(7.0, 6.0, 9.0, 8.0), height=0.15)
    site, ground = yard(terrace=(SEAT, step))
    proposal = shape_berm(site, ground)
    level = GRID.sample(proposal.elevation, np.array([[7.7, 7.0]]))[0]
    assert level == pytest.approx(50.15, abs=0.03), "the later one sets the level"


def test_two_terraces_of_one_level_are_one() -> None:
    assert told(terrace=(SEAT, Terrace("more", box(7.0, 6.0, 9.0, 8.0), height=0.3))) == ()


def test_a_dig_in_a_keep_off_is_refused_not_told() -> None:
    site, ground = yard(basin=(replace(POND, center=(4.2, 12.8)),))
    with pytest.raises(InputError, match="takes no cut"):
        shape_berm(site, ground)


def test_a_line_too_short_for_its_height_is_told_with_the_length_it_needs() -> None:
    short = RetainedEdge("stones", ((10.0, 11.0), (13.0, 11.0)), 0.4)
    (finding,) = told(retained_edge=(short,))
    reached = LIFT_SHARE * 0.25 * 1.5
    assert finding.value == pytest.approx(reached, rel=1e-9)
    assert finding.bound == 0.4
    assert f"{2 * 0.4 / (LIFT_SHARE * 0.25):.2f} m" in finding.text


def test_the_stones_hold_what_the_finding_says() -> None:
    """The soil one cell behind the middle of a short line is as high as told, less a cell's fall."""
    line = ((10.0, 9.0), (13.0, 9.0))
    site, ground = yard(retained_edge=(RetainedEdge("stones", line, 0.4),), terrace=())
    (finding,) = overlap_findings(site, ground, digs_of(site, ground))
    proposal = shape_berm(
        replace(site, berm=replace(site.berm, crest=(replace(site.berm.crest[0], x=11.5, y=6.5, height=0.05),))), ground
    )
    assert finding.value is not None
    built = GRID.sample(proposal.fill, np.array([[11.5, 8.9]]))[0]
    assert built >= finding.value - 0.25 * GRID.cell - 0.02
    assert built <= finding.value + 0.06


def test_a_polygon_that_only_touches_is_no_overlap() -> None:
    assert told(terrace=(SEAT,), keep_clear=(KeepClear("walk", Polygon(box(8.0, 0.0, 8.5, 18.0).exterior)),)) == ()


def test_slivers_beside_a_keep_off_are_no_ground() -> None:
    """A keep-off that leaves corners of the bed too small for a node of the grid: refused as if it left nothing."""
    bed = box(8.0, 8.0, 12.1, 12.1)
    tree = Tree("beech", (10.0, 10.0), 0.5, 0.5, 2.95)  # its corner at (12.1, 12.1) lies 2 cm outside the circle
    with pytest.raises(InputError, match=r"leave no ground in the bed\. Move the bed"):
        reviewed(bed=bed, tree=(tree,), crest=((10.0, 10.0, 0.5),), grid=make_grid(cell=0.4))
