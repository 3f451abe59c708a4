"""Digs that the finished ground does not show: the trench of a wall's base course, and topsoil that is stripped.

Both are filled again, but the roots in them are cut all the same, so a root zone counts them as digs. Sod alone is
none: it is lifted by hand.
"""

from __future__ import annotations

from dataclasses import dataclass

import shapely
from shapely.geometry import LineString, MultiPoint, MultiPolygon, Polygon

from terrain.limits import FOOT, NOISE
from terrain.shape import Proposal, retained_edges
from terrain.site import Site, Stream
from terrain.soil import walls

# A pipe is laid beside the bed of its stream, in a trench as wide and deep as this: common practice, no published
# source. In the mound it lies in the mound's own soil.
PIPE_BESIDE, PIPE_WIDE, PIPE_DEEP = 0.5 * FOOT, 0.5 * FOOT, FOOT


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
    pipes = [pipe_trench(site, stream, proposal) for stream in site.stream if site.water.pipe is not None]
    found += [trench for trench in pipes if not trench.outline.is_empty]
    strip = site.bed.sod + site.bed.topsoil
    if site.bed.topsoil > 0.0 and strip > NOISE.value:
        found.append(Trench("the stripped topsoil", proposal.worked, strip))
    return tuple(found)


def pipe_trench(site: Site, stream: Stream, proposal: Proposal) -> Trench:
    """The trench of a stream's pipe in the old ground beside its bed, away from the trees; none in the mound's soil."""
    line, out = LineString(stream.line), stream.width / 2.0 + stream.depth / stream.side_slope + PIPE_BESIDE
    sides = [line.offset_curve(side * out) for side in (1.0, -1.0)]
    trunks = MultiPoint([tree.at for tree in site.tree])
    way = max(sides, key=lambda side: float(side.distance(trunks))) if site.tree else sides[0]
    dug = [dig.rim for dig in proposal.all_digs]
    outline = way.buffer(PIPE_WIDE / 2.0).difference(shapely.union_all([proposal.worked, *dug]))
    return Trench(f"the trench of the pipe of {stream.name}", outline, PIPE_DEEP)
