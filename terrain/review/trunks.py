"""Trunks that are thicker than their kind grows, or whose root zone is larger than the yard: a girth typed as trunk.

A tape round the trunk reads three times its diameter, so that the root zone comes out ten times too large and every
share of it ten times too small.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from terrain.findings import Finding
from terrain.ground import Ground
from terrain.limits import PRACTICE, TRUNK_USUAL
from terrain.review.species import kind_of
from terrain.site import Site, Tree, root_zone_radius
from terrain.units import show_length


def trunk_findings(site: Site, ground: Ground) -> Iterator[Finding]:
    """One caution a doubtful trunk; none for a trunk that was worked out from a girth or from stems."""
    yard = float((ground.hull if site.boundary is None else site.boundary).area)
    for tree in site.tree:
        if tree.girth is None and not tree.stems:
            yield from _doubt(site, tree, yard)


def _doubt(site: Site, tree: Tree, yard: float) -> Iterator[Finding]:
    kind = kind_of(tree.species or tree.name)
    zone = root_zone_radius(site.trees.rule, tree.trunk, tree.dripline)
    trunk, girth = (show_length(length, site.units) for length in (tree.trunk, tree.trunk / math.pi))
    if tree.trunk > kind.thickest:
        reason, bound = f"is thicker than {kind.name or 'most kinds'} grows", kind.thickest
    elif tree.trunk > TRUNK_USUAL.value and math.pi * zone * zone > yard:
        reason, bound = "makes a root protection zone larger than the yard", TRUNK_USUAL.value
    else:
        return
    text = (
        f"{tree.name}: a trunk of {trunk} {reason}. Where that is what a tape reads round it, write girth in place of "
        f"trunk: the trunk is then {girth}."
    )
    yield Finding("caution", "trees", text, tree.trunk, bound, PRACTICE, tree.at)
