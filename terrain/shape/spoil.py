"""Soil that a mound takes from outside, before there is a proposal to measure: the order's own chain on the layout."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from terrain.grid import Array
from terrain.numerics import YardMesh, prism_volume
from terrain.shape.digs import dug_out
from terrain.shape.layout import Layout
from terrain.site import Site
from terrain.soil import Given, Volumes, evaluated, soil_given, trenches, volumes_given


@dataclass(frozen=True)
class OwnSoil:
    """What the site gives itself whatever the height of its mound, bank m3, and the soil factors of the order.

    `spared` and `spared_rise` are the placed fill that the beds of streams displace, m3: over stripped ground, and over
    existing grade.
    """

    sod_on_digs: float
    cut_below_sod: float
    soil: Given
    spared: float = 0.0
    spared_rise: float = 0.0


def own_soil(site: Site, layout: Layout, existing: Array) -> OwnSoil:
    """Sod and spoil of the digs, and of the trenches for stones.

    Parameters
    ----------
    existing
        (n,) ground at the vertices of the layout's mesh, metres.
    """
    mesh, soil, (turf, spoil) = layout.mesh, soil_given(site), trenches(site)
    if not layout.digs:
        return OwnSoil(turf, spoil, soil)
    outside = mesh.triangles[~mesh.inside]
    dug = dug_out(layout.digs, mesh.points, existing)
    whole = prism_volume(mesh.points, outside, existing, dug).cut
    below = prism_volume(mesh.points, outside, existing - site.bed.sod, dug).cut
    return OwnSoil(whole - below + turf, below + spoil, soil)


def beside_streams(own: OwnSoil, site: Site, mound: YardMesh, done: YardMesh) -> OwnSoil:
    """The same with what streams displace and what their beds give, from a mound without and with them."""
    sod = site.bed.sod

    def fill(mesh: YardMesh, stripped: float) -> float:
        return prism_volume(mesh.points, mesh.triangles[mesh.inside], mesh.existing - stripped, mesh.proposed).fill

    def cut(mesh: YardMesh, stripped: float, inside: bool) -> float:
        triangles = mesh.triangles[mesh.inside == inside]
        return prism_volume(mesh.points, triangles, mesh.existing - stripped, mesh.proposed).cut

    whole, below, in_bed = (cut(done, s, i) - cut(mound, s, i) for s, i in ((0.0, False), (sod, False), (sod, True)))
    return replace(
        own,
        sod_on_digs=own.sod_on_digs + whole - below,
        cut_below_sod=own.cut_below_sod + below + in_bed,
        spared=fill(mound, sod) - fill(done, sod),
        spared_rise=fill(mound, 0.0) - fill(done, 0.0),
    )


def loose_soil(site: Site, layout: Layout, fill: Array, own: OwnSoil) -> float:
    """Soil to bring for a fill and all that was stripped under it, loose m3, less what the site gives itself.

    Parameters
    ----------
    fill
        (v,) metres at the layout's vertices.
    own
        From `own_soil`.
    """
    bed, area = site.bed, float(layout.worked.area)
    rise = float(layout.vertex_area @ fill[: len(layout.vertex_area)])
    volumes = Volumes(
        fill_placed=rise + bed.sod * area - own.spared,
        worked_area=area,
        rise=rise - own.spared_rise,
        sod_in_bed=bed.sod * area,
        sod_on_digs=own.sod_on_digs,
        topsoil=bed.topsoil * area,
        cut_below_sod=own.cut_below_sod,
        planting_placed=0.0 if bed.planting is None else _planting(site, layout, fill, bed.planting),
    )
    return float(evaluated({**own.soil, **volumes_given(volumes)}).missing)


def _planting(site: Site, layout: Layout, fill: Array, depth: float) -> float:
    """The uppermost `depth` metres of the fill, m3."""
    mesh, raised = layout.mesh, fill[: len(layout.vertex_area)]
    inside, stripped = mesh.triangles[mesh.inside], np.full(len(raised), -(site.bed.sod + site.bed.topsoil))
    whole, deeper = (prism_volume(mesh.points, inside, stripped, raised - lowered).fill for lowered in (0.0, depth))
    return whole - deeper
