"""Mulch over roots: no deeper than trees bear, and off the root flare."""

from __future__ import annotations

from collections.abc import Iterator

from shapely.geometry import Point

from terrain.findings import Finding
from terrain.limits import FLARE_CLEAR, MULCH_DEEPEST
from terrain.numerics import polygon_area_in_disc
from terrain.review.model import TreeCheck
from terrain.review.words import listed
from terrain.shape import Proposal
from terrain.site import Site
from terrain.soil import mulch_ground
from terrain.units import show_area, show_length


def mulch_findings(site: Site, proposal: Proposal, trees: tuple[TreeCheck, ...]) -> Iterator[Finding]:
    """At most one finding on deep mulch over root zones, and one on a bed that runs up to a flare."""
    if site.bed.mulch <= 0.0:
        return
    yield from _deep(site, proposal, trees)
    yield from _at_flares(site, proposal, trees)


def _deep(site: Site, proposal: Proposal, trees: tuple[TreeCheck, ...]) -> Iterator[Finding]:
    """Mulch over root zones that is too deep for the roots."""
    ground = mulch_ground(site, proposal.worked)
    areas = {tree: polygon_area_in_disc(ground, tree.at, tree.root_zone) for tree in trees}
    over = [tree for tree, area in areas.items() if area > 0.0]
    if over and site.bed.mulch > MULCH_DEEPEST.value + 1e-9:
        depth, most = (show_length(d, site.units) for d in (site.bed.mulch, MULCH_DEEPEST.value))
        worst = max(over, key=areas.__getitem__)
        text = (
            f"Mulch {depth} deep lies over {show_area(areas[worst], site.units)} of the root protection zone of "
            f"{listed([tree.name for tree in over])}: roots under it get too little air. Lay {most} at most there."
        )
        yield Finding("caution", "trees", text, site.bed.mulch, MULCH_DEEPEST.value, MULCH_DEEPEST.source, worst.at)


def _at_flares(site: Site, proposal: Proposal, trees: tuple[TreeCheck, ...]) -> Iterator[Finding]:
    """A bed whose mulch lies against a root flare."""
    by = [t for t in trees if proposal.worked.distance(Point(t.at)) < t.flare + FLARE_CLEAR.value - 1e-6]
    if by:
        back = show_length(FLARE_CLEAR.value, site.units)
        names = listed([tree.name for tree in by])
        text = f"The bed runs up to the root flare of {names}. Keep mulch {back} off it, so that the flare stays bare."
        yield Finding("caution", "trees", text, 0.0, FLARE_CLEAR.value, FLARE_CLEAR.source, by[0].at)
