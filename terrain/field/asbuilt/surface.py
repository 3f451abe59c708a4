"""The built surface between the shots, and what it is short of the plan.

Two ways are tried: kriging of the differences from the plan, which follows the plan between shots and is the better one
where the crew did; and the ground model on the new shots, which knows nothing of the plan. The one that misses
left-out shots by less is taken, the first of equals.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from terrain.errors import InputError
from terrain.field.asbuilt.covered import covered_ground
from terrain.field.asbuilt.model import BuiltShot, Stage
from terrain.flow import Study
from terrain.grid import Array, Grid, Mask, frozen
from terrain.ground import FittedGround, fit_ground, heights_at, local_shots, mean_deviation_over, points_over
from terrain.numerics import one_thread

BY_DIFFERENCES = "kriging of the differences from the plan"
# How much better the plain ground model must be before the plan is left out of it.
_CLEARLY = 0.8
_SAMPLES = 600  # places over the covered ground


@dataclass(frozen=True)
class BuiltSurface:
    """The built surface.

    Parameters
    ----------
    difference
        (ny, nx) built less planned, metres; nan off the mound and where no shot is near.
    on_mesh
        (n,) the same at the vertices of the proposal's mesh.
    method, check_rms
        How it was made, and its leave-one-out error, metres.
    mean_deviation
        Standard deviation of the error of the mean difference over the covered ground, metres.
    covered
        The part of the mound that shots cover, metres.
    shots, values
        (n, 2) and (n,): the shots on the mound, and what was modelled of them, metres: how far each stands off the
        plan, or its elevation where the plan is left out.
    places, each
        (m, 2) places all over the covered ground, metres, and the area that each stands for, m2.
    fit, plan_grid
        The model; and the plan (ny, nx) where its values are elevations, else zeros; metres.
    grid
        Of the plan.
    """

    difference: Array
    on_mesh: Array
    method: str
    check_rms: float
    mean_deviation: float
    covered: BaseGeometry
    shots: Array
    values: Array
    places: Array
    each: float
    fit: FittedGround
    plan_grid: Array
    grid: Grid

    def plan(self, places: Array) -> Array:
        """The plan in metres at (m, 2) places where elevations are modelled; zero where differences from it are."""
        return self.grid.sample(self.plan_grid, places)

    def off(self, places: Array) -> Array:
        """Built less planned in metres at (m, 2) places."""
        return np.asarray(heights_at(self.fit, self.fit.shots.local(places)) + self.fit.shots.base - self.plan(places))


def planned(study: Study, stage: Stage) -> tuple[Array, Array]:
    """The plan at a stage: elevation on the grid (ny, nx) and at the mesh's vertices (n,), metres."""
    factor = study.work.day_one_factor if stage == "day one" else 1.0
    proposal, mesh = study.proposal, study.proposal.mesh
    grid = proposal.elevation + (factor - 1.0) * proposal.fill
    return grid, mesh.proposed + (factor - 1.0) * np.maximum(mesh.fill, 0.0)


def built_surface(study: Study, shots: tuple[BuiltShot, ...], stage: Stage, label: str) -> BuiltSurface:
    """Model what was built from the shots on the mound.

    Raises `InputError` where fewer than three of them, or all in one line, stand on the mound.
    """
    on_mound = [shot for shot in shots if shot.where == "mound"]
    if len(on_mound) < 3:
        raise InputError(
            label,
            f"{len(on_mound)} of {len(shots)} shots stand on the mound.",
            "Accepted: three or more, spread over it; twenty make a useful check.",
        )
    places = np.array([shot.at for shot in on_mound])
    heights = np.array([shot.elevation for shot in on_mound])
    off = np.array([shot.over_day_one if stage == "day one" else shot.over_settled for shot in on_mound])
    accuracy = study.site.survey.accuracy
    with one_thread():
        by_plan = fit_ground(local_shots(np.column_stack([places, off]), accuracy), "kriging", 0.0)
        plain = fit_ground(local_shots(np.column_stack([places, heights]), accuracy), chance=0.0)
        if plain.errors[plain.method] < _CLEARLY * by_plan.errors["kriging"]:
            method = f"{plain.method.replace('_', ' ')} of the shots alone"
            return _surface(study, stage, shots, plain, (method, heights, planned(study, stage)[0]))
        none = np.zeros(study.proposal.grid.shape)
        return _surface(study, stage, shots, by_plan, (BY_DIFFERENCES, off, none))


def _surface(
    study: Study, stage: Stage, shots: tuple[BuiltShot, ...], fit: FittedGround, way: tuple[str, Array, Array]
) -> BuiltSurface:
    method, values, plan_grid = way
    proposal, mesh, covered = study.proposal, study.proposal.mesh, covered_ground(study.proposal.worked, shots)
    corners = np.unique(mesh.triangles[mesh.inside])
    corners = corners[shapely.intersects_xy(covered, *mesh.points[corners].T)]
    nodes = proposal.bed & _known_nodes(covered, proposal.grid)
    places = points_over(covered, _SAMPLES)
    surface = BuiltSurface(
        np.full(proposal.grid.shape, np.nan),
        np.full(len(mesh.points), np.nan),
        method,
        float(fit.errors[fit.method]),
        0.0,
        covered,
        np.array([shot.at for shot in shots if shot.where == "mound"]),
        values,
        places,
        covered.area / len(places),
        fit,
        plan_grid,
        proposal.grid,
    )
    surface.difference[nodes] = surface.off(proposal.grid.nodes[nodes.ravel()])
    # On the mesh the plan is known exactly.
    bare = planned(study, stage)[1][corners] if plan_grid.any() else 0.0
    found = heights_at(fit, fit.shots.local(mesh.points[corners])) + fit.shots.base
    surface.on_mesh[corners] = found - bare
    local = fit.shots.local(places)
    doubt = mean_deviation_over(fit.likely, local, float(heights_at(fit, local).mean()))
    return replace(
        surface, mean_deviation=doubt, difference=frozen(surface.difference), on_mesh=frozen(surface.on_mesh)
    )


def _known_nodes(covered: BaseGeometry, grid: Grid) -> Mask:
    return np.asarray(shapely.intersects_xy(covered, *grid.nodes.T).reshape(grid.shape))
