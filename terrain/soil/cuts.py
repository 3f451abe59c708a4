"""What basins, channels and lowered ground give: the cut, three ways, and the part of it that can serve as fill."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from shapely.geometry import box

from terrain.grid import Array
from terrain.numerics import Slab, YardMesh, end_area_volume, grid_volume, prism_volume, unit_area_volume
from terrain.shape import Proposal
from terrain.soil.model import VolumeChecks
from terrain.soil.sections import cut_sections
from terrain.soil.solid import Solid, round_offset, solid_between


def dig_solid(mesh: YardMesh) -> Solid:
    """Closed solid of the ground taken out outside the bed's worked ground: existing grade above, dug surface below."""
    offset = round_offset(mesh)
    slab = Slab(
        mesh.points - np.array(offset[:2]),
        mesh.triangles[~mesh.inside],
        mesh.proposed - offset[2],
        mesh.existing - offset[2],
    )
    return replace(solid_between(slab), offset=offset)


def cut_volumes(mesh: YardMesh, sod: float) -> tuple[float, float, float]:
    """Ground taken away, the part of it that is soil and no sod, and the sod on the digs; bank m3.

    `sod` is the depth of sod, metres: stripped in the bed before anything else, and lying on top of every dig.
    """
    in_bed, in_digs, below_sod = _parts(mesh, sod)
    return in_bed + in_digs, in_bed + below_sod, in_digs - below_sod


def _parts(mesh: YardMesh, sod: float) -> tuple[float, float, float]:
    """Cut in the bed under its stripped ground, cut in digs, and the part of the latter under its sod; m3."""
    lower = mesh.proposed < mesh.existing
    if not lower.any():
        return 0.0, 0.0, 0.0
    first, second, third = mesh.triangles.T
    lowered = lower[first] | lower[second] | lower[third]
    inside, outside = mesh.triangles[mesh.inside & lowered], mesh.triangles[~mesh.inside & lowered]
    in_bed = prism_volume(mesh.points, inside, mesh.existing - sod, mesh.proposed).cut
    in_digs = prism_volume(mesh.points, outside, mesh.existing, mesh.proposed).cut
    below_sod = prism_volume(mesh.points, outside, mesh.existing - sod, mesh.proposed).cut
    return in_bed, in_digs, below_sod


def cut_checks(proposal: Proposal, sod: float, direction: tuple[float, float]) -> VolumeChecks:
    """The cut of a proposal three ways, bank m3.

    Parameters
    ----------
    proposal
        The proposed grade.
    sod
        Depth of sod, metres.
    direction
        Unit vector along which the sections run.
    """
    in_bed, in_digs, _ = _parts(proposal.mesh, sod)
    if in_bed + in_digs == 0.0:
        return VolumeChecks(0.0, 0.0, 0.0)
    bed_depth = np.where(proposal.bed, proposal.fill - proposal.cut + sod, 0.0)
    dig_depth = np.where(proposal.bed, 0.0, proposal.cut)
    cell_area = proposal.grid.cell**2
    return VolumeChecks(
        grid=unit_area_volume(dig_depth, cell_area) + grid_volume(bed_depth, cell_area).cut,
        mesh=in_bed + dig_solid(proposal.mesh).volume,
        sections=_by_sections(proposal, sod, dig_depth, direction),
    )


def _by_sections(proposal: Proposal, sod: float, dig_depth: Array, direction: tuple[float, float]) -> float:
    """Cut by average end areas, m3: in the bed, and over the rectangle of the grid that holds every dig."""
    grid = proposal.grid
    lowered = cut_sections(grid, proposal.cut - proposal.fill, proposal.worked, direction=direction, sod=-sod)
    total = end_area_volume(*lowered)
    rows, columns = np.nonzero(dig_depth)
    if len(rows):
        around = box(
            grid.x[columns.min()] - grid.cell,
            grid.y[rows.min()] - grid.cell,
            grid.x[columns.max()] + grid.cell,
            grid.y[rows.max()] + grid.cell,
        )
        total += end_area_volume(*cut_sections(grid, dig_depth, around, direction=direction))
    return total
