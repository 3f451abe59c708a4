"""Trees over the lot line: whose they are is said, because no work on their roots is the client's alone to allow."""

from __future__ import annotations

from collections.abc import Iterator

from shapely.geometry import Point

from terrain.findings import Finding
from terrain.limits import PRACTICE
from terrain.review.model import TreeCheck
from terrain.review.words import listed, percent
from terrain.site import Site


def neighbour_findings(site: Site, trees: tuple[TreeCheck, ...]) -> Iterator[Finding]:
    """One caution on all trees beyond the lot line whose root zones the work reaches."""
    lot = site.boundary
    if lot is None:
        return
    reached = [tree for tree in trees if tree.share_of_root_zone_disturbed > 0.0 and not lot.covers(Point(tree.at))]
    if not reached:
        return
    worst = max(reached, key=lambda tree: tree.share_of_root_zone_disturbed)
    share, names = worst.share_of_root_zone_disturbed, listed([tree.name for tree in reached])
    stand, whose = ("stands", "it is") if len(reached) == 1 else ("stand", "they are")
    text = (
        f"{names} {stand} over the lot line: {whose} a neighbour's, and the work takes up to {percent(share)} of a "
        "root protection zone. Ask the owner before any work there."
    )
    yield Finding("caution", "trees", text, share, 0.0, f"{PRACTICE}; local law decides", worst.at)
