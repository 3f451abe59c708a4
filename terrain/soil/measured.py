"""What the surfaces of a proposal hold, before any soil factor: volumes and areas, SI units."""

from __future__ import annotations

from dataclasses import dataclass

from terrain.ground.model import Ground
from terrain.numerics.mesh import YardMesh
from terrain.numerics.prisms import prism_volume
from terrain.shape.proposal import Proposal
from terrain.site.model import Site
from terrain.soil.covers import gravel_volume, mulch_ground
from terrain.soil.cuts import cut_volumes


@dataclass(frozen=True)
class Measured:
    """Volumes in m3 and areas in m2, as the finished surfaces enclose them.

    Parameters
    ----------
    fill_placed
        Fill between stripped ground (sod off) and finished grade.
    worked_area, mulch_area
        Area that is stripped and filled, and the part of it that takes mulch.
    cut_bank, cut_below_sod
        Ground taken away, and the part of it that lies under the sod.
    planting
        The uppermost layer of the fill that is planting soil; 0.0 where one soil is used throughout.
    gravel
        Gravel on the floors of basins.
    """

    fill_placed: float
    worked_area: float
    mulch_area: float = 0.0
    cut_bank: float = 0.0
    cut_below_sod: float = 0.0
    planting: float = 0.0
    gravel: float = 0.0


def measured_of(site: Site, ground: Ground, proposal: Proposal) -> Measured:
    """Measure a proposal on its mesh alone: exact for its triangles, and quick enough to do for many heights."""
    mesh, bed = proposal.mesh, site.bed
    bank, below_sod = cut_volumes(mesh, bed.sod)
    return Measured(
        fill_placed=_fill_over(mesh, bed.sod),
        worked_area=float(proposal.worked.area),
        mulch_area=float(mulch_ground(site, proposal.worked).area),
        cut_bank=bank,
        cut_below_sod=below_sod,
        planting=0.0 if bed.planting is None else top_layer(mesh, bed.sod + bed.topsoil, bed.planting),
        gravel=gravel_volume(site, ground, mesh),
    )


def top_layer(mesh: YardMesh, stripped: float, depth: float) -> float:
    """Volume in m3 of the uppermost `depth` metres of the fill, where `stripped` metres of ground were taken off.

    Exact on the triangles of the mesh: the whole fill less the fill that lies deeper.
    """
    return _fill_over(mesh, stripped) - _fill_over(mesh, stripped, lowered=depth)


def _fill_over(mesh: YardMesh, stripped: float, lowered: float = 0.0) -> float:
    """Fill in m3 between ground stripped by some metres and finished grade lowered by some metres."""
    triangles = mesh.triangles[mesh.inside]
    return prism_volume(mesh.points, triangles, mesh.existing - stripped, mesh.proposed - lowered).fill
