"""What shall be different from the site file: other heights, soil on hand, another soil, another chance."""

from __future__ import annotations

from dataclasses import dataclass, replace

from terrain.ground import Ground
from terrain.limits import CREST_SHORT
from terrain.shape import Prepared, Proposal, build, check_streams, scale_for_soil
from terrain.site import Site
from terrain.soil.heights import mean_depth, scale_for_depth, scale_for_height, site_without_heap, top_height
from terrain.soil.supply import with_kind
from terrain.soil.words import show_quantity
from terrain.units import show_length

TRACE_OF_DEPTH = 0.02  # of the mean depth asked for: less is what no eye sees


@dataclass(frozen=True)
class WhatIf:
    """What shall be different from the site file; None: nothing. At most one of the first four is given.

    Parameters
    ----------
    scale
        Factor on the crest heights.
    height
        Top of the mound over existing grade, metres.
    depth
        Mean depth of the mound over the bed, metres.
    soil
        Soil on hand that the mound shall take, loose m3.
    kind
        Kind of soil, by the published table.
    chance
        Chance of having enough.
    """

    scale: float | None = None
    height: float | None = None
    depth: float | None = None
    soil: float | None = None
    kind: str | None = None
    chance: float | None = None

    @property
    def anything(self) -> bool:
        """True where something differs from the site file."""
        return self != NOTHING_ASKED


NOTHING_ASKED = WhatIf()


def site_as_asked(site: Site, asked: WhatIf) -> Site:
    """The site with the kind of soil, the soil on hand and the chance of the what-if.

    Raises
    ------
    InputError
        If the published table does not know the kind of soil.
    """
    if asked.kind is not None:
        site = replace(site, soil=with_kind(site.soil, asked.kind))
    if asked.chance is not None:
        site = replace(site, soil=replace(site.soil, chance=asked.chance))
    if asked.soil is not None:
        site = replace(site, berm=replace(site.berm, soil=asked.soil))
    return site


def shaped_as_asked(site: Site, ground: Ground, bed: Prepared, asked: WhatIf) -> Proposal:
    """The mound of a site that is as `site_as_asked` has it; heights that are asked for stand, whatever is on hand."""
    if asked.height is not None:
        scale = scale_for_height(site, ground, bed, asked.height)
    elif asked.depth is not None:
        scale = scale_for_depth(site, ground, bed, asked.depth)
    elif asked.scale is not None:
        scale = asked.scale
    else:
        scale = 1.0 if site.berm.soil is None else scale_for_soil(site, ground, bed, site.berm.soil)
    heap = asked.height is None and asked.scale is None and asked.depth is None
    proposal = build(site if heap else site_without_heap(site), ground, bed, scale)
    check_streams(site, ground, proposal)
    return proposal


def what_if_words(site: Site, proposal: Proposal, asked: WhatIf) -> str:
    """What is different from the site file, or ""; and what of it the limits do not allow."""
    units, words = site.units, []
    if asked.kind is not None:
        words.append(f"soil of kind {asked.kind}")
    if asked.chance is not None:
        words.append(f"enough {100.0 * asked.chance:g} times in 100")
    if asked.soil is not None:
        words.append(f"{show_quantity(asked.soil, units)} loose on hand")
    if asked.scale is not None:
        words.append(f"heights times {asked.scale:g}")
    if asked.height is not None:
        top = top_height(proposal)
        words.append(f"top {show_length(asked.height, units)} over existing")
        if asked.height - top > CREST_SHORT.value:
            words.append(f"which the limits hold at {show_length(top, units)}")
    if asked.depth is not None:
        deep = mean_depth(site, proposal)
        words.append(f"{show_length(asked.depth, units)} deep in the mean over the bed")
        if asked.depth - deep > TRACE_OF_DEPTH * asked.depth:
            words.append(f"which the limits hold at {show_length(deep, units)}")
    return ", ".join(words)
