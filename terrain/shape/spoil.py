"""Soil that a mound takes from outside, before there is a proposal to measure: the order's own chain on the layout."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from terrain.grid import Array
from terrain.numerics import prism_volume
from terrain.shape.digs import dug_out
from terrain.shape.layout import Layout
from terrain.site import Site
from terrain.soil import Given, Volumes, soil_given, trenches, volumes_given, worked


@dataclass(frozen=True)
class OwnSoil:
    """What the site gives itself whatever the height of its mound, bank m3, and the soil factors of the order."""

    sod_on_digs: float
    cut_below_sod: float
    soil: Given


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
        fill_placed=rise + bed.sod * area,
        worked_area=area,
        rise=rise,
        sod_in_bed=bed.sod * area,
        sod_on_digs=own.sod_on_digs,
        topsoil=bed.topsoil * area,
        cut_below_sod=own.cut_below_sod,
        planting_placed=0.0 if bed.planting is None else _planting(site, layout, fill, bed.planting),
    )
    return float(worked({**own.soil, **volumes_given(volumes)}).missing)


def _planting(site: Site, layout: Layout, fill: Array, depth: float) -> float:
    """The uppermost `depth` metres of the fill, m3."""
    mesh, raised = layout.mesh, fill[: len(layout.vertex_area)]
    inside, stripped = mesh.triangles[mesh.inside], np.full(len(raised), -(site.bed.sod + site.bed.topsoil))
    whole, deeper = (prism_volume(mesh.points, inside, stripped, raised - lowered).fill for lowered in (0.0, depth))
    return whole - deeper
