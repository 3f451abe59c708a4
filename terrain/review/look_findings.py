"""The signs of an unnatural shape as findings."""

from __future__ import annotations

from collections.abc import Iterator

from terrain.findings import Finding
from terrain.look import Look
from terrain.review.water import Water


def look_findings(look: Look, water: Water) -> Iterator[Finding]:
    """The signs that are present; standing water only where the drainage check has not told of it."""
    for sign in look.present:
        if not (sign.sign == "holds_water" and water.ponds):
            yield Finding("caution", "look", sign.explained, sign.value, sign.bound, "measured on the shape", sign.at)
