"""Basins, channels, terraces and retained edges: each does what it says, and none breaks a limit."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from random_sites import ground_on, site_with
from shapely.geometry import LineString, Point, Polygon, box

from terrain.errors import InputError
from terrain.grid import Grid
from terrain.ground.model import Ground
from terrain.numerics.mesh import YardMesh
from terrain.shape.berm import shape_berm
from terrain.shape.digs import LEAST_FALL, channel_bed
from terrain.shape.retained import retained_edges
from terrain.site.feature_checks import settled_features
from terrain.site.features import Basin, Channel, Drop, RetainedEdge, Terrace
from terrain.site.model import Site, Tree

GRID = Grid(0.0, 0.0, 0.08, 276, 226)
BASIN = Basin("pond", 0.5, center=(8.0, 4.0), size=(2.0, 1.4), clearance=0.1, side_slope=1.0)
CHANNEL = Channel("rill", ((10.0, 4.0), (14.0, 2.0), (21.0, 2.0)), 0.4, 0.25)
TERRACE = Terrace("sitting place", box(5.0, 7.0, 7.0, 9.0), height=0.3)
EDGE = RetainedEdge("oak stones", ((11.0, 10.6), (12.0, 9.2), (13.4, 8.6), (15.0, 8.8)), 0.3)


def kidney() -> Polygon:
    angle = np.linspace(0, 2 * np.pi, 60, endpoint=False)
    radius = 1 + 0.2 * np.cos(2 * angle) + 0.08 * np.sin(3 * angle)
    return Polygon(np.column_stack([10 + 7 * radius * np.cos(angle), 8 + 5 * radius * np.sin(angle)]))


def yard(east: float = 0.02, north: float = 0.01, **features: object) -> tuple[Site, Ground]:
    site = site_with(kidney(), [(7.5, 7.5, 0.5), (11.0, 7.5, 0.6)], 0.25, [Tree("oak", (13.5, 10.5), 0.5, 0.5, 1.2)])
    ground = ground_on(GRID, 50.0 + east * GRID.x[None, :] + north * GRID.y[:, None])
    return replace(site, **features), ground


def dug_volume(mesh: YardMesh) -> float:
    """Volume between ground and dig over the dug triangles, m3."""
    assert mesh.dug is not None
    a, b, c = (mesh.points[mesh.triangles[mesh.dug][:, k]] for k in range(3))
    area = 0.5 * np.abs((b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0])
    return float((area * (mesh.existing - mesh.proposed)[mesh.triangles[mesh.dug]].mean(axis=1)).sum())


def test_basin_on_level_ground_is_the_frustum_of_its_rectangle() -> None:
    site, ground = yard(0.0, 0.0, basin=(BASIN,))
    proposal = shape_berm(site, ground)
    # Floor 2.2 x 1.6 m, sides 1:1, 0.5 m deep, round rim corners: prismatoid with a quarter cone at each corner.
    floor, run, depth = 2.2 * 1.6, 0.5, 0.5
    exact = floor * depth + 0.5 * run * depth * 2 * (2.2 + 1.6) + np.pi * run**2 * depth / 3
    assert dug_volume(proposal.mesh) == pytest.approx(exact, rel=0.01)
    assert proposal.cut.max() == pytest.approx(0.5, abs=1e-9)
    assert proposal.cut.sum() * GRID.cell**2 == pytest.approx(exact, rel=0.02)


def test_dig_takes_no_fill_and_fill_is_never_dug() -> None:
    proposal = shape_berm(*yard(basin=(BASIN,), channel=(CHANNEL,)))
    assert not ((proposal.cut > 0.0) & (proposal.fill > 0.0)).any()
    assert np.allclose(
        proposal.elevation, 50 + 0.02 * GRID.x[None, :] + 0.01 * GRID.y[:, None] + proposal.fill - proposal.cut
    )
    assert proposal.steepest <= 0.25 + 1e-6


@pytest.mark.parametrize("east", [-0.06, 0.0, 0.06])
def test_channel_never_rises_along_its_line_and_is_deep_enough(east: float) -> None:
    site, ground = yard(east, 0.0, channel=(CHANNEL,))
    stations, bed = channel_bed(CHANNEL, ground)
    assert (np.diff(bed) <= -LEAST_FALL * np.diff(stations) + 1e-12).all()
    line = LineString(CHANNEL.line)
    places = np.array([line.interpolate(s).coords[0] for s in stations])
    assert (ground.grid.sample(ground.elevation, places) - bed >= CHANNEL.depth - 1e-9).all()
    assert shape_berm(site, ground).cut.max() >= CHANNEL.depth - 0.01


@pytest.mark.parametrize("east", [-0.06, 0.0, 0.06])
def test_a_drop_steps_the_bed_down_where_it_is_and_nowhere_else(east: float) -> None:
    stepped = replace(CHANNEL, drops=(Drop(12.0, 3.0, 0.15), Drop(18.0, 2.0, 0.10)))
    _, ground = yard(east, 0.0)
    stations, bed = channel_bed(stepped, ground)
    assert (np.diff(bed) <= -LEAST_FALL * np.diff(stations) + 1e-12).all(), "never uphill"
    _, plain = channel_bed(CHANNEL, ground)
    line = LineString(CHANNEL.line)
    first, second = (line.project(Point(drop.x, drop.y)) for drop in stepped.drops)
    assert np.array_equal(bed[stations <= first], plain[stations <= first])
    for at, height in ((first, 0.15), (second, 0.10)):
        # one station of 5 cm on either side falls by the ground's own fall as well
        before, after = np.interp([at - 0.05, at + 0.06], stations, bed)
        assert before - after == pytest.approx(height, abs=0.012)
    assert (bed <= plain + 1e-12).all(), "a drop never raises the bed"


def test_a_drop_off_the_line_is_refused() -> None:
    site, _ = yard(channel=(replace(CHANNEL, drops=(Drop(12.0, 4.0, 0.15),)),))
    with pytest.raises(InputError, match=r'"rill" drops 1: x 12.00, y 4.00 lies .* off the line.*on the channel'):
        settled_features(site, box(0.0, 0.0, 22.0, 18.0), "site.toml")


def test_digs_may_meet_and_the_deeper_holds() -> None:
    into_pond = Channel("rill", ((4.0, 2.5), (8.0, 4.0)), 0.4, 0.2)
    site, ground = yard(basin=(BASIN,), channel=(into_pond,))
    both = shape_berm(site, ground).cut
    alone = [shape_berm(replace(site, basin=b, channel=c), ground).cut for b, c in [((BASIN,), ()), ((), (into_pond,))]]
    assert np.allclose(both, np.maximum(*alone), atol=1e-12)


def test_dig_that_reaches_into_a_keep_off_is_refused() -> None:
    deep = Basin("well", 0.6, center=(13.0, 9.0), size=(1.0, 1.0), side_slope=1.0)
    with pytest.raises(InputError, match=r'dig of "well".*reaches into the keep-off of oak.*Move it'):
        shape_berm(*yard(basin=(deep,)))


def test_terrace_is_level_where_the_limits_let_it() -> None:
    site, ground = yard(0.0, 0.0, terrace=(TERRACE,))
    proposal = shape_berm(site, ground)
    inner = TERRACE.outline.buffer(-0.8)
    nodes = np.array([inner.contains(Point(p)) for p in GRID.nodes]).reshape(GRID.shape)
    level = proposal.elevation[nodes]
    assert nodes.sum() > 10
    assert np.ptp(level) < 0.01
    assert level.mean() == pytest.approx(50.3, abs=0.01)
    assert proposal.steepest <= 0.25 + 1e-6


def test_terrace_at_an_elevation_under_the_ground_digs_nothing() -> None:
    low = replace(TERRACE, height=None, elevation=49.0)
    proposal = shape_berm(*yard(terrace=(low,)))
    assert (proposal.fill >= 0.0).all()
    assert proposal.cut.max() == 0.0


def test_retained_edge_holds_a_step_and_the_stones_take_no_soil() -> None:
    site, ground = yard(0.0, 0.0, retained_edge=(EDGE,))
    proposal = shape_berm(site, ground)
    (edge,) = retained_edges(site)
    middle = edge.line.interpolate(0.5, normalized=True)
    direction = np.array(edge.line.interpolate(0.52, normalized=True).coords[0]) - np.array(middle.coords[0])
    left = np.array([-direction[1], direction[0]]) / np.hypot(*direction)
    behind = np.array([middle.coords[0] + 0.15 * left])
    before = np.array([middle.coords[0] - 0.10 * left])
    step = GRID.sample(proposal.fill, behind)[0] - GRID.sample(proposal.fill, before)[0]
    assert step > 0.15  # the line is short: its ends run out, so its middle does not reach the whole 0.3
    inside = np.array([edge.stones.contains(Point(p)) for p in GRID.nodes]).reshape(GRID.shape)
    assert proposal.fill[inside].max() == 0.0
    assert proposal.steepest <= 0.25 + 1e-6


def test_retained_edge_turns_itself_to_the_crest() -> None:
    site, _ = yard(retained_edge=(EDGE,))
    turned = replace(EDGE, line=EDGE.line[::-1])
    (one,), (other,) = retained_edges(site), retained_edges(replace(site, retained_edge=(turned,)))
    assert one.stones.equals(other.stones)
    assert one.stones.distance(Point(13.5, 10.5)) < EDGE.height + 2.0  # the stones stand on the tree's side
    assert not one.stones.contains(Point(11.0, 7.5))


def test_a_tapered_end_comes_out_on_a_slope_and_the_bed_still_falls() -> None:
    ground = ground_on(Grid(0.0, 0.0, 0.25, 81, 81), np.repeat(0.05 * np.arange(81)[:, None] * 0.25, 81, axis=1))
    tapered = Channel("swale", ((10.0, 17.0), (10.0, 3.0)), 0.4, 0.2, 1.0, taper=7.0)
    stations, bed = channel_bed(tapered, ground)
    level = 0.05 * (17.0 - stations)
    # 0.2 m over 7 m is 2.9 %; the ground falls 5 %, so that the bed is left 2.1 % and never rises.
    assert (np.diff(bed) <= 1e-12).all()
    assert bed[stations <= 7.0] == pytest.approx(level[stations <= 7.0] - 0.2, abs=1e-9)
    assert bed[-1] == pytest.approx(level[-1], abs=1e-9)
