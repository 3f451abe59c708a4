"""The signs of an unnatural shape as findings."""

from __future__ import annotations

from collections.abc import Iterator

from terrain.findings import Finding
from terrain.limits import PRACTICE
from terrain.look import Look
from terrain.review.water import Water
from terrain.shape import Proposal
from terrain.site import Site


def look_findings(site: Site, proposal: Proposal, look: Look, water: Water) -> Iterator[Finding]:
    """The signs that are present; standing water only where the drainage check has not told of it. And what was made of
    one high point."""
    for sign in look.present:
        if not (sign.sign == "holds_water" and water.ponds):
            yield Finding("caution", "look", sign.explained, sign.value, sign.bound, "measured on the shape", sign.at)
    if len(site.berm.crest) == 1:
        point = site.berm.crest[0]
        yield Finding("note", "look", one_point_words(proposal), 1.0, 1.0, PRACTICE, (point.x, point.y))


def one_point_words(proposal: Proposal) -> str:
    """What was made of one high point, and how to have it otherwise."""
    if proposal.drawn_out:
        return (
            "One high point alone makes a bell: it is drawn out along the bed, with a long tail and a short one. "
            "Where a bell is wanted, write drawn_out = false under [berm]."
        )
    return "One high point alone makes a bell. Add a lower one beside it, along the bed."
