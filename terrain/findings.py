"""A finding: one thing the result says aloud, with its value, its bound, its source and its place."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Level = Literal["note", "caution", "stop"]


@dataclass(frozen=True)
class Finding:
    """One thing that somebody must know or do.

    Parameters
    ----------
    level
        "note" (worth knowing), "caution" (ask or check first) or "stop" (a limit is broken).
    topic
        One word: "trees", "slopes", "ground", "soil", "drainage", "look", "shape", "safety".
    text
        One or two plain sentences that read aloud well. Lengths are shown in the site's own units.
    value, bound
        The measured figure and the limit it is held against, in SI units (slopes as rise/run, shares as
        fractions); None where the finding carries no figure.
    source
        Where the bound comes from: a published source, "the site file" or "common practice, no published source".
    at
        Place (x, y) in metres in survey coordinates, or None.
    """

    level: Level
    topic: str
    text: str
    value: float | None = None
    bound: float | None = None
    source: str = ""
    at: tuple[float, float] | None = None
