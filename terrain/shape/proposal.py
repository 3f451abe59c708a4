"""The proposed grade and what held it back."""

from __future__ import annotations

from dataclasses import dataclass

from shapely.geometry import MultiPolygon, Polygon

from terrain.grid import Array, Grid, Mask
from terrain.numerics.mesh import YardMesh


@dataclass(frozen=True)
class BuiltCrest:
    """One crest point: height wished and height built over existing grade, metres, and what held it (or "")."""

    at: tuple[float, float]
    wished: float
    built: float
    held_by: str


@dataclass(frozen=True)
class Proposal:
    """Proposed grade on the same grid as the ground.

    Parameters
    ----------
    grid
        The ground's grid.
    elevation, fill
        (ny, nx) in metres; fill is never negative and 0.0 exactly outside `worked`.
    cut
        (ny, nx) depth of basins and channels under existing grade, metres; elevation = existing + fill - cut.
    limit
        (ny, nx): the limit surface, the highest ground that the slope limit, the outline and the keep-offs allow.
    worked
        Geometry of the ground that may take fill: the bed less keep-offs and keep-clear areas, metres.
    bed
        (ny, nx): True at nodes inside `worked`.
    mesh
        The same surface as triangles that follow the outline and the keep-off circles exactly.
    crest
        Wish and result at each crest point.
    toe
        Width over which the toe eases into the ground, metres, as used.
    steepest
        Steepest facet of the finished ground where soil is placed, rise/run, on grid and mesh alike; where the
        existing ground itself is steeper than the limit the facet is left out here and counted in `existing_steepest`.
    existing_steepest
        Steepest facet of the existing ground inside the bed, rise/run.
    height_scale
        Factor on the wished heights that was applied to meet the soil on hand (1.0 where none was stated).
    soil_left
        Loose soil on hand, m3, that the limits leave over (or that is missing, negative); near 0.0 where it was met.
    """

    grid: Grid
    elevation: Array
    fill: Array
    cut: Array
    limit: Array
    worked: Polygon | MultiPolygon
    bed: Mask
    mesh: YardMesh
    crest: tuple[BuiltCrest, ...]
    toe: float
    steepest: float
    existing_steepest: float
    height_scale: float = 1.0
    soil_left: float = 0.0
