"""The limits hold with basins, channels, terraces and stones in random yards, and no overlap goes untold."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest
import shapely
from random_sites import random_yard
from shapely.geometry import LineString, Point, Polygon
from test_limits_hold_on_random_yards import SLOPE_TOLERANCE, both_cuts, faces_slope

from terrain.errors import InputError
from terrain.ground.model import Ground
from terrain.review.overlaps import overlap_findings
from terrain.shape.berm import shape_berm
from terrain.shape.digs import channel_bed, digs_of
from terrain.shape.proposal import Proposal
from terrain.shape.retained import retained_edges
from terrain.site.features import Basin, Channel, RetainedEdge, Terrace
from terrain.site.model import Site


def spot(rng: np.random.Generator, area: Polygon) -> Point:
    west, south, east, north = area.bounds
    while True:
        point = Point(rng.uniform(west, east), rng.uniform(south, north))
        if area.contains(point):
            return point


def random_features(seed: int) -> tuple[Site, Ground]:
    """A random yard with up to one of each feature, laid with no regard for one another."""
    site, ground = random_yard(seed)
    rng = np.random.default_rng([7, seed])
    bed = site.bed.outline
    around = bed.buffer(0.8)
    features: dict[str, object] = {}
    if rng.uniform() < 0.5:
        at, size = spot(rng, around), rng.uniform(0.5, 1.2, 2)
        features["basin"] = (
            Basin(
                "pond",
                rng.uniform(0.1, 0.4),
                center=(at.x, at.y),
                size=(size[0], size[1]),
                side_slope=rng.uniform(1, 3),
            ),
        )
    if rng.uniform() < 0.5:
        ends = [spot(rng, around) for _ in range(3)]
        line = tuple((point.x, point.y) for point in ends)
        if LineString(line).is_simple:
            features["channel"] = (Channel("rill", line, rng.uniform(0.15, 0.4), rng.uniform(0.08, 0.25), 1.0),)
    if rng.uniform() < 0.5:
        patch = spot(rng, bed).buffer(rng.uniform(0.5, 1.2), quad_segs=3).intersection(bed)
        if isinstance(patch, Polygon):
            features["terrace"] = (Terrace("seat", patch, height=rng.uniform(0.1, 0.4)),)
    if rng.uniform() < 0.6:
        start, turn = spot(rng, bed), rng.uniform(0, 2 * np.pi)
        bend = turn + rng.uniform(-0.6, 0.6)
        line = [(start.x, start.y)]
        for way in (turn, bend):
            step = rng.uniform(0.8, 2.0)
            line.append((line[-1][0] + step * np.cos(way), line[-1][1] + step * np.sin(way)))
        features["retained_edge"] = (RetainedEdge("stones", tuple(line), rng.uniform(0.1, 0.4)),)
    return replace(site, **features), ground


def apart_from(shape: shapely.Geometry, proposal: Proposal) -> np.ndarray:
    """(ny-1, nx-1) cells that keep clear of a shape."""
    grid = proposal.grid
    x, y = np.meshgrid(grid.x[:-1], grid.y[:-1])
    return ~shapely.intersects(shapely.box(x, y, x + grid.cell, y + grid.cell), shape)


def check_yard(site: Site, ground: Ground, proposal: Proposal) -> None:
    limit, cell = site.berm.max_slope, ground.grid.cell
    assert (proposal.fill >= 0.0).all()
    assert (proposal.cut >= 0.0).all()
    assert not ((proposal.cut > 0.0) & (proposal.fill > 0.0)).any()
    assert np.array_equal(proposal.elevation, ground.elevation + proposal.fill - proposal.cut)
    assert proposal.steepest <= limit + SLOPE_TOLERANCE
    # Across stones, and in a dig, the slope limit does not apply: everywhere else it does, on grid and mesh alike.
    edges, digs = retained_edges(site), digs_of(site, ground)
    steps = [edge.line.buffer(1e-3) for edge in edges] + [edge.stones for edge in edges] + [dig.rim for dig in digs]
    free = shapely.union_all(steps) if steps else Polygon()
    own, finished = both_cuts(ground.elevation, cell), both_cuts(ground.elevation + proposal.fill, cell)
    filled = proposal.fill > 0
    touched = filled[:-1, :-1] | filled[:-1, 1:] | filled[1:, 1:] | filled[1:, :-1]
    assert (finished <= np.maximum(limit, own) + SLOPE_TOLERANCE)[touched & apart_from(free, proposal)].all()
    mesh = proposal.mesh
    corners = mesh.triangles[mesh.inside]
    clear = ~shapely.intersects(shapely.polygons(mesh.points[corners]), free.buffer(2e-3))
    own_faces = faces_slope(mesh.points, mesh.existing, corners)
    faces = faces_slope(mesh.points, mesh.proposed, corners)
    assert (faces <= np.maximum(limit, own_faces) + SLOPE_TOLERANCE)[clear].all()


def check_holds(site: Site, ground: Ground, proposal: Proposal) -> None:
    nodes = proposal.grid.nodes
    moved = nodes[((proposal.fill > 0.0) | (proposal.cut > 0.0)).ravel()]
    filled = nodes[(proposal.fill > 0.0).ravel()]
    for tree in site.tree:
        assert tree.keep_off is not None
        assert (np.hypot(*(moved - tree.at).T) >= tree.keep_off - 1e-9).all()
    for area in site.keep_clear:
        assert not shapely.contains_xy(area.outline, *moved.T).any()
    for dig in digs_of(site, ground):
        assert not shapely.contains_xy(dig.rim, *filled.T).any()
    for edge in retained_edges(site):
        assert not shapely.contains_xy(edge.stones, *filled.T).any()
    for channel in site.channel:
        assert (np.diff(channel_bed(channel, ground)[1]) <= 1e-12).all(), "a bed never rises along its line"


def check_told(site: Site, ground: Ground) -> None:
    """Every pair that shares ground is named in some finding; written plainly on purpose."""
    dug = digs_of(site, ground)
    texts = [finding.text for finding in overlap_findings(site, ground, dug)]
    digs = [(dig.name, dig.rim) for dig in dug]
    stones = [(edge.name, edge.stones) for edge in retained_edges(site)]
    for terrace in site.terrace:
        discs = [(tree.name, Point(tree.at).buffer(tree.keep_off or 0.0)) for tree in site.tree]
        areas = [(clear.name, clear.outline) for clear in site.keep_clear]
        for name, shape in [*digs, *stones, *discs, *areas]:
            if terrace.outline.intersection(shape).area > 0.02:
                assert any(terrace.name in text and name in text for text in texts), (terrace.name, name)
    for dig, rim in digs:
        for edge, strip in stones:
            if rim.intersection(strip).area > 0.02:
                assert any(dig in text and edge in text for text in texts), (dig, edge)


def run(seeds: range) -> tuple[int, int]:
    """Yards shaped, and yards refused with a sentence."""
    shaped = refused = 0
    for seed in seeds:
        site, ground = random_features(seed)
        try:
            proposal = shape_berm(site, ground)
        except InputError as error:
            refused += bool(re.search("takes no cut|leave no ground|too narrow", str(error)))
            continue
        check_yard(site, ground, proposal)
        check_holds(site, ground, proposal)
        check_told(site, ground)
        shaped += 1
    return shaped, refused


@pytest.mark.parametrize(
    "yards", [4, pytest.param(15, marks=pytest.mark.slow), pytest.param(230, marks=pytest.mark.fuzz)]
)
def test_limits_hold_with_features_on_random_yards(yards: int) -> None:
    shaped, refused = run(range(yards))
    assert shaped >= yards // 2
    assert shaped + refused == yards, "a refusal says why"
