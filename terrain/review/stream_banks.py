"""Where the mound stands higher than its form asks, so that the lower bank of a stream holds."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely
from shapely.geometry import LineString

from terrain.findings import Finding
from terrain.limits import BANK_LOW
from terrain.shape import Proposal
from terrain.site import Site
from terrain.units import show_length, show_place


def raised_findings(site: Site, proposal: Proposal) -> Iterator[Finding]:
    """One note: the most by which the mound is raised beside a stream, and where."""
    if proposal.raised is None or proposal.raised.max() <= BANK_LOW.value:
        return
    highest = int(np.argmax(proposal.raised))
    value, at = float(proposal.raised.flat[highest]), proposal.grid.nodes[highest]
    spot = shapely.points(at)
    stream = min(site.stream, key=lambda one: float(LineString(one.line).distance(spot)))
    text = (
        f"The mound is raised beside {stream.name}, by {show_length(value, site.units)} at the most, at "
        f"{show_place(float(at[0]), float(at[1]), site.units)}: else its lower bank would stand less than "
        f"{show_length(stream.depth, site.units)} over its bed."
    )
    yield Finding("note", "shape", text, value, BANK_LOW.value, BANK_LOW.source, (float(at[0]), float(at[1])))
