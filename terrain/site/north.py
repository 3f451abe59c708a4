"""Which north is up on a sheet: true north, that of a grid, or that of a survey which lies nowhere on earth."""

from __future__ import annotations

import math
from dataclasses import dataclass

from terrain.site.model import Site


@dataclass(frozen=True)
class North:
    """Where the arrow of a sheet points, and which north that is.

    Parameters
    ----------
    turn
        Radians clockwise from the survey's y, which is up.
    said
        Which north it is, in a sentence.
    """

    turn: float
    said: str


def north_of(site: Site) -> North:
    """The north of a site's sheets: that of the grid whose coordinates it has, or true north about the bed."""
    located = site.survey.located
    if located is None:
        return North(0.0, "Arrow: north of the survey's own coordinates.")
    middle = site.bed.outline.centroid
    turn = located.north_at((middle.x, middle.y))
    if not located.registered:
        return North(turn, "Arrow: true north.")
    degrees = abs(math.degrees(turn))
    if turn > 0.0:
        return North(0.0, f"Arrow: north of the grid {located.system}; true north is {degrees:.1f}° to its right.")
    return North(0.0, f"Arrow: north of the grid {located.system}; true north is {degrees:.1f}° to its left.")
