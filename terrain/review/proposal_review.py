"""The review of a proposal: everything that somebody must know or do, worst first."""

from __future__ import annotations

from collections.abc import Iterator

from terrain.findings import Finding
from terrain.ground import Ground
from terrain.look import Look, natural_look
from terrain.review.cautions import caution_findings
from terrain.review.dig_sides import side_findings
from terrain.review.drainage import Drainage, check_drainage
from terrain.review.edges import edge_findings
from terrain.review.ground import ground_findings
from terrain.review.heaps import heap_findings
from terrain.review.model import Review
from terrain.review.overlaps import overlap_findings
from terrain.review.setbacks import setback_findings
from terrain.review.slopes import slope_findings
from terrain.review.swales import cut_crest_findings
from terrain.review.tree_findings import tree_findings
from terrain.review.trees import check_trees
from terrain.review.walks import walk_findings
from terrain.shape import Proposal, check_proposal
from terrain.site import Site
from terrain.soil import Earthwork, check_work

LEVELS = ("stop", "caution", "note")
TOPICS = ("trees", "slopes", "shape", "drainage", "ground", "look", "soil", "safety")


def review(site: Site, ground: Ground, proposal: Proposal, work: Earthwork) -> Review:
    """Check a proposal against its limits and published bounds.

    Every figure is a planning default: local code and the licensed people on site decide. A stop means that a limit
    is broken; nothing here says that a design is free of risk.

    Parameters
    ----------
    site, ground, proposal, work
        The stages before this one.
    bounds
        What the design is held against; the defaults name their sources.
    """
    check_proposal("review", site, ground, proposal)
    check_work("review", site, work)
    trees = check_trees(site, proposal, work)
    look = natural_look(ground.grid, ground.elevation, proposal.elevation, site.bed.outline)
    drainage = check_drainage(site, ground, proposal)
    findings = (
        *tree_findings(site, trees),
        *slope_findings(site, proposal),
        *walk_findings(site, ground, proposal),
        *drainage.findings,
        *ground_findings(site, ground),
        *_look_findings(look, drainage),
        *edge_findings(site, trees),
        *overlap_findings(site, ground),
        *side_findings(site, ground),
        *cut_crest_findings(site, ground, proposal),
        *heap_findings(site, ground, trees),
        *setback_findings(site, proposal),
        *caution_findings(site, ground, proposal, work, trees),
    )
    return Review(in_order(findings), trees, look, drainage.water)


def in_order(findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """Findings by level, then by topic, and else as they came."""
    return tuple(sorted(findings, key=lambda one: (LEVELS.index(one.level), TOPICS.index(one.topic))))


def _look_findings(look: Look, drainage: Drainage) -> Iterator[Finding]:
    """The signs that are present; standing water only where the drainage check has not told of it."""
    for sign in look.signs:
        if sign.present and not (sign.sign == "holds_water" and drainage.water.ponds):
            text = f"{sign.sentence} {sign.suggestion}"
            yield Finding("caution", "look", text, sign.value, sign.bound, "measured on the shape", sign.at)
