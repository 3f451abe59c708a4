"""Cut the beds of streams into a proposal: grid and mesh, fill and cut, from the same surface."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry import Polygon

from terrain.grid import Array, frozen
from terrain.ground import Ground
from terrain.numerics import LEAST_EDGE, YardMesh, refined
from terrain.shape.daylight import Stop
from terrain.shape.digs import stops_of
from terrain.shape.proposal import Proposal
from terrain.shape.stream_refusals import check_stream
from terrain.shape.streams import StreamBed, stream_bed
from terrain.shape.turn_pools import pooled
from terrain.site import Site, Stream

ON_RIM = 1e-4  # metres


def with_streams(site: Site, ground: Ground, mound: Proposal) -> Proposal:
    """The proposal with the beds of the site's streams cut into it.

    Parameters
    ----------
    site, ground
        The yard.
    mound
        The mound as it stands without them, its digs made.

    """
    if not site.stream:
        return mound
    finished = replace(ground, elevation=ground.elevation + mound.fill)
    stops = stops_of(site, ground)
    beds = tuple(_bed(stream, mound, finished, ground, stops) for stream in site.stream)
    return _carved(ground, mound, tuple(replace(bed, wet=_above_digs(bed.wet, mound)) for bed in beds))


def _bed(stream: Stream, mound: Proposal, finished: Ground, ground: Ground, stops: tuple[Stop, ...]) -> StreamBed:
    """The bed of one stream, with pools where it turns if nothing is said of them."""
    with_pools = pooled(stream, mound.digs)
    bed = stream_bed(with_pools, finished, ground, stops)
    mine = stream.pools is None and bool(with_pools.pools)
    return replace(bed, section=replace(bed.section, pools_proposed=mine))


def _above_digs(wet: Polygon, mound: Proposal) -> Polygon:
    """The water of a stream as far as the digs that it falls into."""
    parts = shapely.get_parts(wet.difference(shapely.union_all([dig.rim for dig in mound.digs])))
    return max(parts, key=lambda part: float(part.area), default=wet)


def check_streams(site: Site, ground: Ground, proposal: Proposal) -> None:
    """Refuse streams that cannot be built as asked.

    Raises
    ------
    InputError
        Naming the stream, the place and what would do (`terrain.shape.stream_refusals`).
    """
    for stream, bed in zip(site.stream, proposal.streams, strict=True):
        check_stream(site, ground, proposal, stream, bed)


def _carved(ground: Ground, mound: Proposal, beds: tuple[StreamBed, ...]) -> Proposal:
    """The proposal with beds cut into grid and mesh."""
    grid, mesh = mound.grid, mound.mesh
    elevation = _lowered(beds, grid.nodes, mound.elevation.ravel()).reshape(grid.shape)
    changed = elevation < mound.elevation
    cut = refined(mesh.points, mesh.triangles, [edge for bed in beds for edge in (bed.dig.rim.exterior, *bed.edges)])
    proposed = _lowered(beds, cut.points, cut.carried(mesh.proposed))
    middle = cut.points[cut.triangles].mean(axis=1)
    dug = np.zeros(len(cut.triangles), dtype=bool) if mesh.dug is None else mesh.dug[cut.parent]
    for bed in beds:
        # Slivers along the rim that rounding leaves outside it carry no shape: they count to the bed as well.
        dug |= shapely.contains_xy(bed.dig.rim.buffer(LEAST_EDGE), middle[:, 0], middle[:, 1])
    return replace(
        mound,
        elevation=frozen(elevation),
        fill=frozen(np.where(changed, np.maximum(elevation - ground.elevation, 0.0), mound.fill)),
        cut=frozen(np.where(changed, np.maximum(ground.elevation - elevation, 0.0), mound.cut)),
        mesh=YardMesh(
            frozen(cut.points),
            frozen(cut.triangles),
            frozen(mesh.inside[cut.parent]),
            frozen(cut.carried(mesh.existing)),
            frozen(proposed),
            frozen(dug),
        ),
        streams=beds,
        before_streams=mound.elevation,
    )


def _lowered(beds: tuple[StreamBed, ...], points: Array, elevation: Array) -> Array:
    """(m,) elevation at (m, 2) points once the beds are cut, metres."""
    for bed in beds:
        # What stands on the rim itself, but for rounding, is its bank's top and stays.
        inner = replace(bed.dig, rim=bed.dig.rim.buffer(-ON_RIM))
        elevation = inner.dug(points, elevation)
    return elevation
