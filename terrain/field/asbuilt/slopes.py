"""The slope limit on the built surface, its fill brought down to settled height."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from terrain.field.asbuilt.model import BuiltShot, Stage
from terrain.field.asbuilt.surface import BuiltSurface, planned
from terrain.flow import Study
from terrain.grid import Array
from terrain.review import facet_slopes

_LEAST_FILL = 0.01  # metres: thinner soil makes no slope of its own
_ROUNDING = 1e-6


@dataclass(frozen=True)
class BuiltSlopes:
    """Steepest facet (rise/run), what more than the limit the shots leave open, and what is steeper still.

    `area` in m2 and `at` (metres) of ground steeper than the limit and that allowance; `at` None where there is none.
    """

    steepest: float
    allowance: float
    area: float
    at: tuple[float, float] | None


def settled_surface(study: Study, surface: BuiltSurface, stage: Stage) -> Array:
    """(n,) elevation at the mesh's vertices of the built surface, its fill shrunk to what it settles to; metres."""
    mesh = study.proposal.mesh
    built = planned(study, stage)[1] + surface.on_mesh
    factor = study.work.day_one_factor if stage == "day one" else 1.0
    over = built - mesh.existing
    return np.asarray(mesh.existing + np.where(over > 0.0, over / factor, over))


def built_slopes(study: Study, surface: BuiltSurface, stage: Stage, shots: tuple[BuiltShot, ...]) -> BuiltSlopes:
    """Hold the built surface against the slope limit, as the design was: ground that was steeper before is left out."""
    mesh, limit = study.proposal.mesh, study.site.berm.max_slope
    built = settled_surface(study, surface, stage)
    slopes, before = facet_slopes(mesh, built), facet_slopes(mesh, mesh.existing)
    filled = (built - mesh.existing)[mesh.triangles].max(axis=1) > _LEAST_FILL
    # Where no shot is near nothing is known of the slope.
    judged = mesh.inside & filled & np.isfinite(slopes)
    # Where the ground was steep before, soil may be as steep as that, and no steeper.
    bound = np.maximum(limit, before)
    allowance = slope_allowance(shots, study.site.survey.accuracy)
    steep = judged & (slopes > bound + allowance + _ROUNDING)
    corners = mesh.points[mesh.triangles]
    sides = corners[:, 1:] - corners[:, :1]
    areas = 0.5 * np.abs(sides[:, 0, 0] * sides[:, 1, 1] - sides[:, 0, 1] * sides[:, 1, 0])
    within = judged & (before <= limit)
    steepest = float(slopes[within].max()) if within.any() else 0.0
    at = None
    if steep.any():
        worst = int(np.argmax(np.where(steep, slopes - bound, -math.inf)))
        east, north = corners[worst].mean(axis=0)
        at = (float(east), float(north))
        steepest = max(steepest, float(slopes[worst]))
    return BuiltSlopes(steepest, allowance, float(areas[steep].sum()), at)


def slope_allowance(shots: tuple[BuiltShot, ...], accuracy: float) -> float:
    """What two standard deviations of two neighbouring shots can make of a slope, rise/run."""
    from scipy.spatial import KDTree

    places = np.array([shot.at for shot in shots if shot.where == "mound"])
    apart, _ = KDTree(places).query(places, k=2)
    return 2.0 * math.sqrt(2.0) * accuracy / max(float(np.median(apart[:, 1])), 0.1)
