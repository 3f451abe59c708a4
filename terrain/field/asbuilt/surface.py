"""The built surface between the shots, and what it is short of the plan.

Two ways are tried: kriging of the differences from the plan, which follows the plan between shots and is the better one
where the crew did; and the ground model on the new shots, which knows nothing of the plan. The one that misses
left-out shots by less is taken, the first of equals.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from terrain.errors import InputError
from terrain.field.asbuilt.model import BuiltShot, Missing, Stage
from terrain.flow import Study
from terrain.grid import Array, frozen
from terrain.ground import FittedGround, fit_ground, heights_at, local_shots, mean_deviation_over, points_over
from terrain.numerics import CENTRAL_90, DepthFacets, deeper_than, one_thread
from terrain.site import loose_to_order, placed_to_loose

BY_DIFFERENCES = "kriging of the differences from the plan"
# How much better the plain ground model must be before the plan is left out of it.
_CLEARLY = 0.8
_TRACE = 1e-6  # metres
_SAMPLES = 400


@dataclass(frozen=True)
class BuiltSurface:
    """The built surface.

    Parameters
    ----------
    difference
        (ny, nx) built less planned, metres; nan off the mound.
    on_mesh
        (n,) the same at the vertices of the proposal's mesh; 0.0 off the mound.
    method, check_rms
        How it was made, and its leave-one-out error, metres.
    mean_deviation
        Standard deviation of the error of the mean difference over the mound, metres.
    """

    difference: Array
    on_mesh: Array
    method: str
    check_rms: float
    mean_deviation: float


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
            return _surface(study, stage, plain, f"{plain.method.replace('_', ' ')} of the shots alone", False)
        return _surface(study, stage, by_plan, BY_DIFFERENCES, True)


def _surface(study: Study, stage: Stage, fit: FittedGround, method: str, differences: bool) -> BuiltSurface:
    proposal, mesh = study.proposal, study.proposal.mesh
    on_grid, on_mesh = planned(study, stage)
    corners = np.unique(mesh.triangles[mesh.inside])
    nodes = proposal.grid.nodes[proposal.bed.ravel()]
    found = heights_at(fit, fit.shots.local(np.vstack([nodes, mesh.points[corners]]))) + fit.shots.base
    grid_part, mesh_part = found[: len(nodes)], found[len(nodes) :]
    if not differences:
        grid_part = grid_part - on_grid[proposal.bed]
        mesh_part = mesh_part - on_mesh[corners]
    difference = np.full(proposal.grid.shape, np.nan)
    difference[proposal.bed] = grid_part
    at_corners = np.zeros(len(mesh.points))
    at_corners[corners] = mesh_part
    return BuiltSurface(
        frozen(difference), frozen(at_corners), method, float(fit.errors[fit.method]), _mean_deviation(study, fit)
    )


def _mean_deviation(study: Study, fit: FittedGround) -> float:
    """Deviation of the error of the mean over the mound, metres."""
    places = points_over(study.site.bed.outline, _SAMPLES)
    inside = places[shapely.contains_xy(study.proposal.worked, places[:, 0], places[:, 1])]
    local = fit.shots.local(inside if len(inside) else places)
    return mean_deviation_over(fit.likely, local, float(heights_at(fit, local).mean()))


def missing_soil(study: Study, surface: BuiltSurface, stage: Stage) -> Missing:
    """What the surface is short of the plan and what lies over it, placed m3, on the mesh of the mound.

    The ends of the range are the same sum with the whole surface raised or lowered by 1.645 deviations of its mean.
    """
    soil, off = study.site.soil, surface.on_mesh
    reach = CENTRAL_90 * surface.mean_deviation
    missing = _volume(study, -off)
    # Day-one heights carry the allowance for settlement already.
    loose = placed_to_loose(missing, soil) if stage == "day one" else loose_to_order(missing, soil, soil.settlement)
    return Missing(missing, _volume(study, -off - reach), _volume(study, -off + reach), _volume(study, off), loose)


def _volume(study: Study, depth: Array) -> float:
    """Volume in m3 of a depth given at the mesh's vertices, where it is above zero, over the mound."""
    mesh = study.proposal.mesh
    inside = mesh.triangles[mesh.inside]
    facets = deeper_than(DepthFacets(mesh.points[inside], depth[inside]), _TRACE)
    if not len(facets):
        return 0.0
    a, b, c = (facets.corners[:, k] for k in range(3))
    area = 0.5 * np.abs((b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (b[:, 1] - a[:, 1]) * (c[:, 0] - a[:, 0]))
    return float((area * facets.depth.mean(axis=1)).sum())
