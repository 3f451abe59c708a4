"""The review of a proposal: everything that somebody must know or do, worst first."""

from __future__ import annotations

import copyreg

from terrain.findings import Finding
from terrain.ground import Ground
from terrain.look import look_of
from terrain.review.answer import Review
from terrain.review.check_list import CHECKS, verdicts
from terrain.review.checking import Check, Yard
from terrain.review.drainage import check_drainage
from terrain.review.trees import check_trees
from terrain.shape import Proposal, check_proposal
from terrain.site import Site
from terrain.soil import Earthwork, Order, check_work, order_soil
from terrain.waterworks import stream_needs

LEVELS = ("stop", "caution", "note")
TOPICS = ("trees", "slopes", "shape", "drainage", "ground", "look", "soil", "safety")


def review(site: Site, ground: Ground, proposal: Proposal, work: Earthwork, order: Order | None = None) -> Review:
    """Check a proposal against its limits and published bounds: every check of `terrain.review.check_list`.

    Every figure is a planning default: local code and the licensed people on site decide. A stop means that a limit
    is broken; nothing here says that a design is free of risk.

    Parameters
    ----------
    site, ground, proposal, work
        The stages before this one.
    order
        The order for that work; None: it is made here.
    """
    check_proposal("review", site, ground, proposal)
    check_work("review", site, work)
    trees = check_trees(site, proposal, work)
    look = look_of(site, ground, proposal)
    drainage = check_drainage(site, ground, proposal)
    order, streams = order or order_soil(site, work), stream_needs(site, proposal)
    checks = verdicts(Yard(site, ground, proposal, work, order, trees, look, drainage, streams))
    findings = tuple(finding for verdict in checks for finding in verdict.findings)
    return Review(in_order(findings), trees, look, drainage.water, checks)


def in_order(findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """Findings by level, then by topic, and else as they came."""
    return tuple(sorted(findings, key=lambda one: (LEVELS.index(one.level), TOPICS.index(one.topic))))


def _named(name: str) -> Check:
    """The check of a name."""
    return next(check for check in CHECKS if check.name == name)


# A review goes to another process with the names of its checks: what they do stands in the code of both.
copyreg.pickle(Check, lambda check: (_named, (check.name,)))
