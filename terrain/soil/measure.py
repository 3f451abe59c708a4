"""The Earthwork stage: from a proposal to its volumes, three ways, with their ranges."""

from __future__ import annotations

from dataclasses import fields, replace

import numpy as np

from terrain.ground import Ground
from terrain.numerics import end_area_volume, grid_volume, unit_area_volume
from terrain.shape import Proposal, check_proposal
from terrain.site import Site, day_one_factor
from terrain.soil.cuts import cut_checks
from terrain.soil.measured import measured_of
from terrain.soil.model import Earthwork, VolumeChecks, Volumes
from terrain.soil.ranges import central_range, cut_shares
from terrain.soil.sections import cut_sections, long_axis
from terrain.soil.solid import fill_solid


def measure_earthwork(site: Site, ground: Ground, proposal: Proposal) -> Earthwork:
    """Volumes by measure, each three ways, with their ranges; what of it is bought and hauled the order says.

    Sod is stripped over the whole of `proposal.worked`; placed fill lies between stripped ground and finished
    grade. The fill reported is that of the mesh, which follows the outline and the keep-offs exactly; the
    other two ways of measuring stand beside it as checks.

    Raises
    ------
    InputError
        If the soil factors leave no soil.
    """
    check_proposal("measure_earthwork", site, ground, proposal)
    sod, direction = site.bed.sod, long_axis(site.bed.outline)
    raised = proposal.fill - proposal.cut
    sections = cut_sections(proposal.grid, raised, proposal.worked, direction=direction, sod=sod)
    checks = VolumeChecks(
        grid=_grid_fill(proposal, sod, float(proposal.worked.area)),
        mesh=fill_solid(proposal.mesh, sod).volume,
        sections=end_area_volume(*sections),
    )
    volumes = replace(measured_of(site, ground, proposal), fill_placed=checks.mesh)
    fill_low, fill_high = central_range(volumes.fill_placed, volumes.fill_shares)
    shares = cut_shares(ground.deviation, proposal.cut > 0.0, proposal.grid.cell**2)
    cut_low, cut_high = central_range(volumes.cut_bank, shares)
    return Earthwork(
        **{field.name: getattr(volumes, field.name) for field in fields(Volumes)},
        fill_placed_low=fill_low,
        fill_placed_high=fill_high,
        day_one_factor=day_one_factor(site.soil.settlement),
        bed_area=float(site.bed.outline.area),
        checks=checks,
        cut_checks=cut_checks(proposal, sod, direction),
        cut_bank_low=cut_low,
        cut_bank_high=cut_high,
        cut_shares=shares,
        made_for=site.layers_print,
    )


def _grid_fill(proposal: Proposal, sod: float, area: float) -> float:
    """Placed fill in m3 by unit areas on the grid.

    The fill ends at zero on the edge of the bed, so its sum over the nodes needs no clipping; the sod layer,
    which ends steeply there, is taken over the exact area. Where finished grade lies below stripped ground,
    that cut is no fill and is given back.
    """
    cell_area = proposal.grid.cell**2
    raised = np.where(proposal.bed, proposal.fill - proposal.cut, 0.0)
    below = grid_volume(np.where(proposal.bed, raised + sod, 0.0), cell_area).cut
    return unit_area_volume(raised, cell_area) + sod * area + below
