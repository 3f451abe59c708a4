"""What the surfaces of a proposal hold, before any soil factor: volumes and areas, SI units."""

from __future__ import annotations

import shapely
from shapely.geometry import MultiPolygon, Polygon

from terrain.ground import Ground
from terrain.numerics import YardMesh, prism_volume
from terrain.shape import Proposal
from terrain.site import Site, sod_deviation
from terrain.soil.covers import gravel_volume, mulch_ground
from terrain.soil.cuts import cut_volumes
from terrain.soil.model import Laid, Volumes
from terrain.soil.ranges import fill_shares
from terrain.soil.stone import trenches
from terrain.soil.toe import toe_left
from terrain.waterworks import Materials, stream_materials


def measured_of(site: Site, ground: Ground, proposal: Proposal) -> Volumes:
    """Measure a proposal on its mesh alone: exact for its triangles, and quick enough to do for many heights."""
    mesh, bed = proposal.mesh, site.bed
    bank, below_sod, on_digs = cut_volumes(mesh, bed.sod)
    turf, spoil = trenches(site)
    area, mulched = float(proposal.worked.area), float(mulch_ground(site, _dry(proposal)).area)
    return Volumes(
        fill_placed=fill_over(mesh, bed.sod),
        worked_area=area,
        mulch_area=mulched,
        rise=fill_over(mesh, 0.0),
        sod_in_bed=bed.sod * area,
        sod_on_digs=on_digs + turf,
        topsoil=bed.topsoil * area,
        cut_bank=bank,
        cut_below_sod=below_sod + spoil,
        trench=turf + spoil,
        planting_placed=0.0 if bed.planting is None else top_layer(mesh, bed.sod + bed.topsoil, bed.planting),
        mulch=bed.mulch * mulched,
        gravel=gravel_volume(site, proposal.digs, mesh),
        fill_shares=fill_shares(area, ground.mean_deviation, sod_deviation(bed.sod, bed.sod_spread)),
        toe=toe_left(ground, mesh, bed.sod),
        laid=_laid(stream_materials(site, proposal)),
    )


def _laid(streams: tuple[Materials, ...]) -> Laid:
    """What all streams are lined and covered with."""
    return Laid(
        sheet=sum(one.lining.area for one in streams),
        underlay=sum(one.lining.underlay for one in streams),
        stone=sum(one.rocks.stone_mass for one in streams),
        gravel=sum(one.rocks.gravel_volume for one in streams),
    )


def _dry(proposal: Proposal) -> Polygon | MultiPolygon:
    """The worked ground beside the streams, which take stones and no mulch."""
    wet = [bed.dig.rim for bed in proposal.streams]
    return proposal.worked.difference(shapely.union_all(wet)) if wet else proposal.worked


def top_layer(mesh: YardMesh, stripped: float, depth: float) -> float:
    """Volume in m3 of the uppermost `depth` metres of the fill, where `stripped` metres of ground were taken off.

    Exact on the triangles of the mesh: the whole fill less the fill that lies deeper.
    """
    return fill_over(mesh, stripped) - fill_over(mesh, stripped, lowered=depth)


def fill_over(mesh: YardMesh, stripped: float, lowered: float = 0.0) -> float:
    """Fill in m3 between ground stripped by some metres and finished grade lowered by some metres."""
    triangles = mesh.triangles[mesh.inside]
    return prism_volume(mesh.points, triangles, mesh.existing - stripped, mesh.proposed - lowered).fill
