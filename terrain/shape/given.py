"""A proposal that somebody else designed: two grades and the edge of the work, nothing shaped and nothing held back."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Polygon

from terrain.errors import InputError
from terrain.grid import Array, Grid, Mask, frozen
from terrain.ground import Ground, check_ground, interpolate
from terrain.limits import NOISE
from terrain.numerics import (
    Triangulation,
    YardMesh,
    edge_points,
    fill_clearance,
    linework,
    triangulate,
)
from terrain.shape.proposal import Proposal
from terrain.site import Site

_EXACT = 1e-4  # metres: how near the surface passes by an elevation that a plan gives
_EDGE_POINTS = 400  # along the edge of the work, at most, where proposed grade meets existing grade
_BESIDE = 0.05  # metres: a given elevation this near the edge is one on it
_NEGLIGIBLE = 0.1  # m2 of the steepest ground that the steepest slope leaves out: a square foot


@dataclass(frozen=True)
class GivenGrade:
    """Proposed grade as a plan gives it.

    Parameters
    ----------
    points
        (n, 3) easting, northing, elevation, metres.
    faceted
        True where the points are corners of faces: the surface is flat between them. False: it is smooth.
    """

    points: Array
    faceted: bool


def given_proposal(site: Site, ground: Ground, grade: GivenGrade) -> Proposal:
    """The proposal of a plan: its grade inside the outline of the work, existing grade at that outline and beyond.

    No keep-off holds anything back, since the soil lies where it is drawn. What two drawn surfaces cannot tell apart
    (`terrain.limits.NOISE`) counts as no work; a little more is taken in part, so that no step arises.

    Raises
    ------
    InputError
        Where no elevation of the plan lies inside the outline.
    """
    check_ground("given_proposal", site, ground)
    grid, outline = ground.grid, site.bed.outline
    clearance = fill_clearance(grid, outline, (), ())
    lines = linework(edge_points(outline, grid.cell), [], grid.cell, ())
    mesh = triangulate(grid, clearance, np.abs(clearance), outline, lines)
    bed = clearance > 0.0
    edge = mesh.points[len(mesh.nodes) :]
    # Beyond the mesh's own nodes some stand in the work right beside its edge.
    own = np.zeros(grid.nx * grid.ny, dtype=bool)
    own[mesh.nodes] = True
    further = np.flatnonzero(bed.ravel() & ~own)
    inner = np.flatnonzero(bed.ravel()[mesh.nodes])
    places = np.vstack([mesh.points[inner], grid.nodes[further]])
    existing = grid.sample(ground.elevation, mesh.points)
    raised = _difference(ground, outline, grade, places, edge)
    change = np.zeros(grid.nx * grid.ny)
    change[mesh.nodes[inner]], change[further] = raised[: len(inner)], raised[len(inner) :]
    return _proposal(site, ground, mesh, existing, change.reshape(grid.shape), bed)


def _difference(ground: Ground, outline: Polygon, grade: GivenGrade, places: Array, edge: Array) -> Array:
    """(m,) proposed less existing grade at (m, 2) places in the work, metres."""
    grid = ground.grid
    shapely.prepare(outline)
    points = grade.points
    inside = shapely.contains_xy(outline.buffer(-_BESIDE), points[:, 0], points[:, 1])
    if not inside.any():
        raise InputError(
            "proposed grade", "none of its elevations lies inside the outline of the work.", "Name another."
        )
    step = max(1, len(edge) // _EDGE_POINTS)
    rim = np.column_stack([edge[::step], grid.sample(ground.elevation, edge[::step])])
    method = "triangulation" if grade.faceted else "kriging"
    proposed, _ = interpolate(
        np.vstack([points[inside], rim]), places, method, accuracy=0.0 if grade.faceted else _EXACT
    )
    return told_apart(proposed - grid.sample(ground.elevation, places))


def told_apart(difference: Array) -> Array:
    """Differences of two drawn surfaces, metres, without what neither can tell: 0 up to half of `NOISE`, whole from
    one and a half times that, and rising evenly between.
    """
    share = np.clip(np.abs(difference) / NOISE.value - 0.5, 0.0, 1.0)
    return np.asarray(difference * share)


def _proposal(site: Site, ground: Ground, plan: Triangulation, existing: Array, change: Array, bed: Mask) -> Proposal:
    grid: Grid = ground.grid
    proposed = existing.copy()
    proposed[: len(plan.nodes)] += change.ravel()[plan.nodes]
    mesh = YardMesh(
        frozen(plan.points), frozen(plan.triangles), frozen(plan.inside), frozen(existing), frozen(proposed)
    )
    fill, cut = np.maximum(change, 0.0), np.maximum(-change, 0.0)
    worked = np.asarray((mesh.fill[mesh.triangles] != 0.0).any(axis=1)) & mesh.inside
    return Proposal(
        grid=grid,
        elevation=frozen(ground.elevation + change),
        fill=frozen(fill),
        cut=frozen(cut),
        limit=frozen(ground.elevation + fill),
        worked=site.bed.outline,
        bed=frozen(bed),
        mesh=mesh,
        crest=(),
        toe=0.0,
        steepest=_steepest(mesh, mesh.proposed_slopes, worked),
        existing_steepest=_steepest(mesh, mesh.existing_slopes, mesh.inside),
        made_for=site.yard_print,
    )


def _steepest(mesh: YardMesh, slopes: Array, counted: Mask) -> float:
    """Slope that all but a square foot of the counted triangles keep to, rise/run."""
    corners = mesh.points[mesh.triangles[counted]]
    if not len(corners):
        return 0.0
    a, b = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    areas = np.abs(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]) / 2.0
    order = np.argsort(-slopes[counted])
    beyond = np.searchsorted(np.cumsum(areas[order]), min(_NEGLIGIBLE, 0.5 * float(areas.sum())))
    return float(slopes[counted][order][beyond])
