"""Layers that are no soil: mulch on the worked ground, gravel on the floor of a basin."""

from __future__ import annotations

import shapely
from shapely.geometry import MultiPolygon, Point, Polygon

from terrain.errors import InputError
from terrain.numerics import YardMesh, prism_volume
from terrain.shape import Dig
from terrain.site import Basin, Site, flare_radius
from terrain.units import show_length

# Mulch against a trunk rots its bark. Pages ask for 3 to 18 in of bare ground round the flare: 6 in is common practice,
# no published source.
MULCH_BACK = 0.1524  # metres


def mulch_ground(site: Site, worked: Polygon | MultiPolygon) -> Polygon | MultiPolygon:
    """The ground that takes mulch: the worked ground less every flare and `MULCH_BACK` round it, metres."""
    bare = [Point(tree.at).buffer(flare_radius(tree) + MULCH_BACK, quad_segs=64) for tree in site.tree]
    return worked.difference(shapely.union_all(bare)) if bare else worked


def gravel_volume(site: Site, digs: tuple[Dig, ...], mesh: YardMesh) -> float:
    """Gravel as laid on the floors of all basins that ask for it, m3.

    Exact on the triangles of the mesh: what lies between the dug surface and a level plane over the floor.

    Raises
    ------
    InputError
        If the gravel is as deep as the basin.
    """
    if not any(basin.gravel for basin in site.basin):
        return 0.0
    return sum(_gravel_in(basin, dig, mesh, site) for basin, dig in zip(site.basin, digs, strict=False))


def _gravel_in(basin: Basin, dig: Dig, mesh: YardMesh, site: Site) -> float:
    if basin.gravel >= basin.depth:
        deep, depth = show_length(basin.gravel, site.units), show_length(basin.depth, site.units)
        where = f'[[basin]] "{basin.name}" gravel'
        raise InputError(
            where,
            f"{deep} leaves no room in a dig of {depth}.",
            "Accepted: less than depth.",
        )
    middle = mesh.points[mesh.triangles].mean(axis=1)
    triangles = mesh.triangles[shapely.contains_xy(dig.rim, middle[:, 0], middle[:, 1])]
    floor = float(dig.bottom(shapely.get_coordinates(dig.floor.representative_point()))[0])
    level = mesh.proposed * 0.0 + floor + basin.gravel
    return prism_volume(mesh.points, triangles, mesh.proposed, level).fill
