"""How kinds of trees take raised grade: one list, told as a question to the arborist and never as an answer."""

from __future__ import annotations

import re

SOURCE = "one gardening page that does not say where its list comes from; ask the arborist"

# Longer names come before the shorter ones that they hold: a pin oak is not told with the other oaks.
_GROUPS = {
    "most": ("sugar maple", "dogwood", "beech", "tulip tree", "tulip poplar", "spruce", "pine", "oak"),
    "moderately": ("birch", "hickory", "hemlock"),
    "least": ("pin oak", "plane", "sycamore", "poplar", "locust", "willow", "elm"),
}
_KINDS = {kind: group for group, kinds in _GROUPS.items() for kind in kinds}
_BY_LENGTH = sorted(_KINDS, key=len, reverse=True)


def sensitivity(species: str) -> tuple[str, str] | None:
    """(kind, "most" / "moderately" / "least") that a name of a tree falls under, or None where the list is silent.

    Names are matched as whole words, so that "bur oak" falls under oak and "pineapple guava" under nothing.
    """
    words = " ".join(re.findall(r"[a-z]+", species.lower()))
    for kind in _BY_LENGTH:
        if re.search(rf"\b{kind}(e?s)?\b", words):
            return kind, _KINDS[kind]
    return None
