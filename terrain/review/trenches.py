"""Digs that the finished ground does not show: the trench of a wall's base course, and topsoil that is stripped.

Both are filled again, but the roots in them are cut all the same, so a root zone counts them as digs. Sod alone is
none: it is lifted by hand.
"""

from __future__ import annotations

from dataclasses import dataclass

from shapely.geometry import MultiPolygon, Polygon

from terrain.limits import NOISE
from terrain.shape import Proposal, retained_edges
from terrain.site import Site
from terrain.soil import walls


@dataclass(frozen=True)
class Trench:
    """Ground that is dug and filled again: what it is called, its outline and its depth, metres."""

    name: str
    outline: Polygon | MultiPolygon
    depth: float


def trenches_of(site: Site, proposal: Proposal) -> tuple[Trench, ...]:
    """Every trench of a design, and the ground that loses its topsoil."""
    found = [
        Trench(f"the trench of {edge.name}", edge.stones, wall.bury + wall.bedding)
        for edge, wall in zip(retained_edges(site), walls(site), strict=True)
    ]
    strip = site.bed.sod + site.bed.topsoil
    if site.bed.topsoil > 0.0 and strip > NOISE.value:
        found.append(Trench("the stripped topsoil", proposal.worked, strip))
    return tuple(found)
