"""Water to roots: a tree below the mound may be cut off from what ran to it, and one above it may be drowned."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from terrain.findings import Finding
from terrain.limits import RUNOFF_CHANGE, TURNED
from terrain.review.drainage import Waters, catchment
from terrain.review.model import TreeCheck
from terrain.review.words import listed
from terrain.site import Site
from terrain.units import Units, show_area


@dataclass(frozen=True)
class RootWater:
    """Ground outside a root zone whose rain runs to it, before and after, m2."""

    tree: TreeCheck
    before: float
    after: float

    @property
    def share(self) -> float:
        """Change, of what it was; infinite where nothing ran there."""
        return (self.after - self.before) / self.before if self.before > 0.0 else float("inf")


def root_water(waters: Waters, tree: TreeCheck) -> RootWater:
    """The ground that drains to a root zone, as far as the surveyed ground tells."""
    grid = waters.grid
    zone = np.hypot(grid.nodes[:, 0] - tree.at[0], grid.nodes[:, 1] - tree.at[1]).reshape(grid.shape) < tree.root_zone
    was, now = (
        catchment(onward, zone) * grid.cell**2 if zone.any() else 0.0 for onward in (waters.before, waters.after)
    )
    return RootWater(tree, was, now)


def root_water_findings(site: Site, waters: Waters, trees: tuple[TreeCheck, ...]) -> Iterator[Finding]:
    """At most one finding on zones that lose water and one on zones that gain it: the worst, with the names of all."""
    told = [one for one in (root_water(waters, tree) for tree in trees) if _worth_a_word(one)]
    ways = (
        ([one for one in told if one.share < 0.0], "falls", "It may go dry: ask an arborist."),
        ([one for one in told if one.share > 0.0], "rises", "Wet roots get no air: lead it round them."),
    )
    for group, way, advice in ways:
        if group:
            yield _of_the_worst(group, way, advice, site.units)


def _worth_a_word(one: RootWater) -> bool:
    """Whether a zone gains or loses a good deal, in area and in share."""
    return abs(one.after - one.before) > TURNED.value and abs(one.share) >= RUNOFF_CHANGE.value


def _of_the_worst(group: list[RootWater], way: str, advice: str, units: Units) -> Finding:
    """The zone that changes most, with the names of the others."""
    worst = max(group, key=lambda one: abs(one.after - one.before))
    was, now = show_area(worst.before, units), show_area(worst.after, units)
    others = [one.tree.name for one in group if one is not worst]
    more = f", likewise for {listed(others)}" if others else ""
    zone = f"the root protection zone of {worst.tree.name}"
    text = f"Runoff to {zone} {way}: from {was} of ground before, {now} after{more}. {advice}"
    return Finding("caution", "trees", text, worst.after, worst.before, RUNOFF_CHANGE.source, worst.tree.at)
