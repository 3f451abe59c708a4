"""The Earthwork stage: from a proposal to volumes, loads, range and cost."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from terrain.ground.model import Ground
from terrain.numerics.end_areas import end_area_volume
from terrain.numerics.unit_area import grid_volume, unit_area_volume
from terrain.shape.proposal import Proposal, check_proposal
from terrain.site.model import Site, Soil
from terrain.site.soil_states import day_one_factor
from terrain.soil.cuts import Cut, measure_cut
from terrain.soil.layers import CUT_TO_SPARE, CUT_UNFIT, TOPSOIL_TO_SPARE, loose_of
from terrain.soil.loads import whole_loads
from terrain.soil.measured import Measured, measured_of
from terrain.soil.model import Earthwork, EndAreas, Share, VolumeChecks
from terrain.soil.need import soil_need
from terrain.soil.ranges import central_range, cut_shares, fill_shares
from terrain.soil.sections import cut_sections, long_axis
from terrain.soil.solid import fill_solid, solid_volume


def measure_earthwork(site: Site, ground: Ground, proposal: Proposal) -> Earthwork:
    """Volumes by measure, soil to order with its range, loads and cost.

    Sod is stripped over the whole of `proposal.worked`; placed fill lies between stripped ground and finished
    grade. The fill reported is that of the mesh, which follows the outline and the keep-offs exactly; the
    other two ways of measuring stand beside it as checks.

    Raises
    ------
    InputError
        If the soil factors leave no soil.
    """
    check_proposal("measure_earthwork", site, ground, proposal)
    sod, area = site.bed.sod, float(proposal.worked.area)
    direction = long_axis(site.bed.outline)
    raised = proposal.fill - proposal.cut
    ends = cut_sections(proposal.grid, raised, proposal.worked, direction=direction, sod=sod)
    checks = VolumeChecks(
        grid=_grid_fill(proposal, sod, area),
        mesh=solid_volume(fill_solid(proposal.mesh, sod)),
        sections=end_area_volume(ends.areas, ends.stations),
    )
    cut = measure_cut(proposal, sod, direction)
    measured = replace(measured_of(site, ground, proposal), fill_placed=checks.mesh)
    work = _priced(site, measured, checks, ends, cut, fill_shares(area, ground.mean_deviation, sod))
    shares = cut_shares(ground.deviation, proposal.cut > 0.0, proposal.grid.cell**2)
    low, high = central_range(work.cut_bank, shares)
    return replace(work, cut_bank_low=low, cut_bank_high=high, cut_shares=shares)


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


def _priced(
    site: Site, measured: Measured, checks: VolumeChecks, ends: EndAreas, cut: Cut, shares: tuple[Share, ...]
) -> Earthwork:
    """Turn measured volumes into what is ordered, hauled and paid."""
    soil, need = site.soil, soil_need(measured, site.bed, site.soil, shares)
    ordered = max(0.0, need.balance)
    fill_low, fill_high = central_range(measured.fill_placed, shares)
    import_low, import_high = central_range(need.balance, need.shares)
    return Earthwork(
        fill_placed=measured.fill_placed,
        fill_placed_low=fill_low,
        fill_placed_high=fill_high,
        cut_bank=cut.bank,
        cut_below_sod=cut.below_sod,
        cut_checks=cut.checks,
        sod=site.bed.sod * measured.worked_area,
        mulch=site.bed.mulch * measured.mulch_area,
        import_loose=ordered,
        import_loose_low=import_low,
        import_loose_high=import_high,
        export_loose=loose_of(need.layers, TOPSOIL_TO_SPARE, CUT_TO_SPARE, CUT_UNFIT),
        day_one_factor=day_one_factor(soil.settlement),
        trucks=_loads(ordered, soil.truck),
        barrows=_loads(ordered, soil.barrow),
        cost=_cost(ordered, soil),
        bed_area=float(site.bed.outline.area),
        worked_area=measured.worked_area,
        mulch_area=measured.mulch_area,
        planting_placed=measured.planting,
        checks=checks,
        end_areas=ends,
        balance_loose=need.balance,
        layers=need.layers,
        fill_shares=shares,
        import_shares=need.shares,
        made_for=site.layers_print,
    )


def _loads(volume: float, capacity: float | None) -> int | None:
    return None if capacity is None else whole_loads(volume, capacity)


def _cost(volume: float, soil: Soil) -> float | None:
    return None if soil.price is None else volume * soil.price
