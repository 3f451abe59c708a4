"""What lies under the water: sheet cut from the roll, and the cloth under it.

A sheet is bought as a rectangle. The stream is drawn on it flat, so that what lies beside a narrow stretch is seen: it
is cut away, or folded under the stones of the edge.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from terrain.limits import BASIN_EDGE, SHEET_EDGE, SHEET_END, SHEET_SLACK, UNDERLAY_MORE
from terrain.waterworks.membrane import box_sheet, with_edges
from terrain.waterworks.reaches import BESIDE, Reach, developed_length


@dataclass(frozen=True)
class LinerSheet:
    """One piece as it comes off the roll; lengths in metres.

    Parameters
    ----------
    name
        What it lies under.
    length, width
        Of the rectangle.
    cut
        Its outline on the rectangle, (along, across) from the middle of its upper end.
    laps
        Along it, at drops, where a sheet in two pieces may lap.
    folds
        Of a basin: the outline of its floor, between whose sides and the edge it is folded up.
    """

    name: str
    length: float
    width: float
    cut: tuple[tuple[float, float], ...]
    laps: tuple[float, ...] = ()
    folds: tuple[tuple[float, float], ...] = ()

    @property
    def area(self) -> float:
        """Of the rectangle, m2."""
        return self.length * self.width


@dataclass(frozen=True)
class Lining:
    """All sheets of a stream: that of the stream first, then that of the basin that it ends in, where there is one."""

    sheets: tuple[LinerSheet, ...]

    @property
    def area(self) -> float:
        """Of sheet to buy, m2."""
        return sum(sheet.area for sheet in self.sheets)

    @property
    def underlay(self) -> float:
        """Of cloth to buy, m2."""
        return self.area * (1.0 + UNDERLAY_MORE.value)


def stream_sheet(name: str, reaches: Sequence[Reach], drops: Sequence[float]) -> LinerSheet:
    """The sheet under a whole stream in one piece, from beyond its top to beyond its end.

    `drops` are the stations of its drops, metres from the top.
    """
    widths = [with_edges(reach.developed, SHEET_EDGE.value) for reach in reaches]
    right: list[tuple[float, float]] = []
    laps: list[float] = []
    along = SHEET_END.value
    for k, reach in enumerate(reaches):
        right += [(along, widths[k] / 2.0)]
        along += reach.path * (1.0 + SHEET_SLACK.value)
        right += [(along, widths[k] / 2.0)]
        if k + 1 < len(reaches):
            laps += [along] if any(abs(reaches[k + 1].start - drop) < BESIDE for drop in drops) else []
            right += [(along, max(widths[k : k + 2]) / 2.0)]
            along += abs(reach.foot - reaches[k + 1].top) * (1.0 + SHEET_SLACK.value)
            right += [(along, max(widths[k : k + 2]) / 2.0)]
    length = with_edges(developed_length(reaches), SHEET_END.value)
    right = [(0.0, right[0][1]), *right, (length, right[-1][1])]
    return LinerSheet(name, length, max(widths), _both_sides(right), tuple(laps))


def basin_sheet(name: str, length: float, width: float, depth: float) -> LinerSheet:
    """The sheet of a basin with upright sides; inside, metres."""
    long, wide = box_sheet(length, width, depth, BASIN_EDGE.value)
    start = (long - length) / 2.0
    floor = _both_sides([(start, width / 2.0), (start + length, width / 2.0)])
    return LinerSheet(name, long, wide, _both_sides([(0.0, wide / 2.0), (long, wide / 2.0)]), folds=floor)


def _both_sides(right: Sequence[tuple[float, float]]) -> tuple[tuple[float, float], ...]:
    """The outline from its right half, each corner once."""
    once = [right[0], *(later for earlier, later in pairwise(right) if later != earlier)]
    return (*once, *((along, -across) for along, across in reversed(once)))
