"""The limits hold on the delivered surface: grid, mesh and exact geometry, on 300 random yards."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from random_sites import random_yard

from terrain.errors import InputError
from terrain.ground.model import Ground
from terrain.shape.berm import shape_berm
from terrain.shape.proposal import Proposal
from terrain.site.model import Site

SLOPE_TOLERANCE = 1e-6  # issue: on grid and mesh faces alike


def both_cuts(elevation: np.ndarray, cell: float) -> np.ndarray:
    """Slope of the steepest of the four triangles that two diagonals cut from each cell; written plainly on purpose."""
    a, b, c, d = elevation[:-1, :-1], elevation[:-1, 1:], elevation[1:, 1:], elevation[1:, :-1]
    legs = [(b - a, c - b), (c - d, d - a), (b - a, d - a), (c - d, c - b)]
    return np.max([np.hypot(east, north) for east, north in legs], axis=0) / cell


def faces_slope(points: np.ndarray, elevation: np.ndarray, triangles: np.ndarray) -> np.ndarray:
    """Slope of mesh faces from their normals."""
    corner = np.column_stack([points, elevation])[triangles]
    normal = np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0])
    return np.hypot(normal[:, 0], normal[:, 1]) / np.abs(normal[:, 2])


def check_slopes(site: Site, ground: Ground, proposal: Proposal) -> None:
    limit, cell = site.berm.max_slope, ground.grid.cell
    own = both_cuts(ground.elevation, cell)
    finished = both_cuts(proposal.elevation, cell)
    filled = proposal.fill > 0
    touched = filled[:-1, :-1] | filled[:-1, 1:] | filled[1:, 1:] | filled[1:, :-1]
    assert (finished <= np.maximum(limit, own) + SLOPE_TOLERANCE)[touched].all()
    mesh = proposal.mesh
    bed = mesh.triangles[mesh.inside]
    own_faces = faces_slope(mesh.points, mesh.existing, bed)
    faces = faces_slope(mesh.points, mesh.proposed, bed)
    assert (faces <= np.maximum(limit, own_faces) + SLOPE_TOLERANCE).all()
    # As a mesh file holds it: single precision, less an offset.
    offset = np.floor(mesh.points.min(axis=0))
    single = (mesh.points - offset).astype(np.float32).astype(float)
    height = (mesh.proposed - 100.0).astype(np.float32).astype(float)
    gentle = own_faces <= limit * (1 - 1e-4)
    assert (faces_slope(single, height, bed)[gentle] <= limit + SLOPE_TOLERANCE).all()
    assert proposal.steepest <= limit + SLOPE_TOLERANCE


def check_holds(site: Site, proposal: Proposal) -> None:
    assert (proposal.fill >= 0.0).all()
    nodes = proposal.grid.nodes[(proposal.fill > 0.0).ravel()]
    assert shapely.contains_xy(site.bed.outline, nodes[:, 0], nodes[:, 1]).all()
    for area in site.keep_clear:
        assert not shapely.contains_xy(area.outline, nodes[:, 0], nodes[:, 1]).any()
    mesh = proposal.mesh
    carrying = mesh.triangles[(mesh.fill > 0.0)[mesh.triangles].any(axis=1)]
    solid = shapely.polygons(mesh.points[carrying])
    for tree in site.tree:
        assert (np.hypot(*(nodes - tree.at).T) >= tree.keep_off).all()
        # No triangle that carries any fill enters the circle: exact on the geometry, not on the raster.
        assert (shapely.distance(solid, shapely.Point(tree.at)) >= tree.keep_off - 1e-9).all()
    outline = site.bed.outline.buffer(1e-9)
    shapely.prepare(outline)
    assert shapely.covers(outline, solid).all()


@pytest.mark.parametrize(
    "yards", [12, pytest.param(50, marks=pytest.mark.slow), pytest.param(300, marks=pytest.mark.fuzz)]
)
def test_slope_and_holds_on_random_yards(yards: int) -> None:
    shaped, filled = 0, 0
    for seed in range(yards):
        site, ground = random_yard(seed)
        try:
            proposal = shape_berm(site, ground)
        except InputError:  # trees may leave no room; that is said, not shaped
            continue
        shaped += 1
        filled += proposal.fill.max() > 0.05
        try:
            check_slopes(site, ground, proposal)
            check_holds(site, proposal)
        except AssertionError as broken:
            pytest.fail(f"seed {seed}: {broken}")
    assert shaped >= 0.96 * yards
    assert filled >= 0.8 * yards  # the law is not kept by building nothing


def test_ground_steeper_than_the_limit_is_counted_and_never_made_steeper() -> None:
    steep = []
    for seed in range(40):
        site, ground = random_yard(seed)
        try:
            proposal = shape_berm(site, ground)
        except InputError:
            continue
        if proposal.existing_steepest > site.berm.max_slope:
            steep.append(seed)
            check_slopes(site, ground, proposal)
    assert len(steep) >= 3
