"""Soil of the site itself that goes into the berm: what the digs bring up, and topsoil that is kept."""

from __future__ import annotations

from terrain.grid import Array
from terrain.numerics.prisms import prism_volume
from terrain.shape.digs import dug_out
from terrain.shape.layout import Layout
from terrain.site.model import Site
from terrain.site.soil_states import bank_to_placed, ground_factors, loose_to_order


def own_soil(site: Site, layout: Layout, existing: Array) -> float:
    """Soil of the site that serves as fill, placed m3: the digs' spoil under their sod, and the topsoil laid again.

    Parameters
    ----------
    existing
        (n,) ground at the vertices of the layout's mesh, metres.
    """
    mesh, bed = layout.mesh, site.bed
    bank = bed.topsoil * float(layout.worked.area)
    if layout.digs:
        outside = mesh.triangles[~mesh.inside]
        dug = dug_out(layout.digs, mesh.points, existing)
        bank += site.soil.reuse * prism_volume(mesh.points, outside, existing - bed.sod, dug).cut
    return bank_to_placed(bank, ground_factors(site.soil))


def loose_soil(site: Site, layout: Layout, fill: Array, own: float) -> float:
    """Soil to bring for a fill and all that was stripped under it, loose m3, less what the site gives itself.

    The same sum as the order's (`terrain.soil.layers`), here before there is a proposal to measure.

    Parameters
    ----------
    fill
        (v,) metres at the layout's vertices.
    own
        Placed m3 from `own_soil`; built before settling, as the digs give it.
    """
    area = float(layout.worked.area)
    placed = float(layout.vertex_area @ fill[: len(layout.vertex_area)]) + (site.bed.sod + site.bed.topsoil) * area
    return max(0.0, loose_to_order(placed, site.soil, site.soil.settlement) - loose_to_order(own, site.soil, 0.0))
