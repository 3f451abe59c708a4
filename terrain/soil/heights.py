"""Heights against soil: the order for the same mound built lower or higher, from one preparation of its bed."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from terrain.ground import Ground
from terrain.shape import CLOSE, MOST, Prepared, Proposal, build, proposed_vertices, scale_for
from terrain.site import Site
from terrain.soil.measured import fill_over, measured_of
from terrain.soil.model import Volumes
from terrain.soil.order import Order, order_soil

_ALIKE = 0.025  # half an inch on a mound of 20 in
SCALES = tuple(round(0.1 * tenths, 1) for tenths in range(5, 16))  # half of the heights as given to half as much again


@dataclass(frozen=True)
class HeightRow:
    """One height and the soil for it.

    Parameters
    ----------
    scale
        Factor on the crest heights of the site file.
    height
        Top of the finished mound over existing grade, metres.
    limited
        True where the limits keep a crest point lower than the factor asks.
    volumes
        What its surfaces hold.
    order
        The order for it.
    """

    scale: float
    height: float
    limited: bool
    volumes: Volumes
    order: Order


def scales_beside(own: float) -> tuple[float, ...]:
    """The factors of a table about one's own: none so near to it that a crew would read the same height twice."""
    return (*(scale for scale in SCALES if abs(scale - own) > _ALIKE), own)


def top_height(proposal: Proposal) -> float:
    """Height of the finished mound over existing grade at its highest, metres."""
    return max(float(proposal.fill.max()), float(proposal.mesh.fill.max()))


def site_without_heap(site: Site) -> Site:
    """The site as it is shaped where heights are asked for: the soil on hand sets none."""
    return replace(site, berm=replace(site.berm, soil=None))


def height_row(site: Site, ground: Ground, prepared: Prepared, scale: float) -> HeightRow:
    """The order for the site's crest heights times `scale`."""
    proposal = build(site_without_heap(site), ground, prepared, scale)
    volumes = measured_of(site, ground, proposal)
    limited = any(point.short for point in proposal.crest)
    return HeightRow(scale, top_height(proposal), limited, volumes, order_soil(site, volumes))


def height_rows(
    site: Site, ground: Ground, prepared: Prepared, scales: Iterable[float] = SCALES
) -> tuple[HeightRow, ...]:
    """The order for each factor on the site's crest heights, lowest first; a factor that comes twice is worked once."""
    return tuple(height_row(site, ground, prepared, scale) for scale in sorted(set(scales)))


def scale_for_height(site: Site, ground: Ground, prepared: Prepared, height: float) -> float:
    """Factor on the site's crest heights at which the top stands `height` metres over existing grade.

    Where the limits hold the mound lower at any factor, the least factor at which its top is as high as it can be.
    """

    def top(scale: float) -> float:
        return float((proposed_vertices(site, ground, prepared, scale) - prepared.vertices).max())

    return scale_for(top, min(height, (1.0 - CLOSE) * top(MOST)))


def mean_depth(site: Site, proposal: Proposal) -> float:
    """Mean depth of the finished mound over the whole bed, metres."""
    return fill_over(proposal.mesh, 0.0) / float(site.bed.outline.area)


def scale_for_depth(site: Site, ground: Ground, prepared: Prepared, depth: float) -> float:
    """Factor on the site's crest heights at which the mound is `depth` metres deep in the mean over the bed.

    Where the limits leave less room at any factor, the least factor at which it is as deep as it can be.
    """
    weights = prepared.layout.vertex_area

    def deep(scale: float) -> float:
        fill = proposed_vertices(site, ground, prepared, scale) - prepared.vertices
        return float(weights @ fill[: len(weights)]) / float(site.bed.outline.area)

    return scale_for(deep, min(depth, (1.0 - CLOSE) * deep(MOST)))
