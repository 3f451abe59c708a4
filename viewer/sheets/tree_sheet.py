"""The sheet of one tree: a square of ground about its trunk, words beside and below, room to write at the foot."""

from __future__ import annotations

from dataclasses import dataclass

from terrain.review import TreeCheck, circle_rows, work_rows
from terrain.units import Units
from viewer.page import FLOOR, MARGIN, PAPERS, Bounds, Scale, Sheet, scales
from viewer.sheets.tree_blocks import CompactBlock

SQUARE = 0.60  # side of the drawing over the width of the paper's printed part
SMALLER = 0.50  # the same where its scale holds and the findings need the paper
APART = 10.0  # points between the tables and the findings
BESIDE = 14.0  # points between the drawing and the words
TABLES = 172.0  # points of height for the tables, more where a tree has more rows than that holds
REMARKS = 90.0  # points of height that the arborist's own words take
# Scales between the plan's own, as rules for drawings carry them, so that a zone fills its square.
BETWEEN: dict[Units, tuple[Scale, ...]] = {
    "ft": (Scale(12.0 * 16.0, "1 in = 16 ft"),),
    "m": (Scale(75.0, "1:75"), Scale(125.0, "1:125")),
}
PAST = 1.02  # how far the ground goes past the widest circle


@dataclass(frozen=True)
class TreeSheet:
    """A sheet, and where its words stand: beside the drawing, three tables under it, findings, remarks."""

    sheet: Sheet
    beside: Bounds
    tables: tuple[Bounds, ...]
    told: Bounds
    remarks: Bounds


def tree_sheet(check: TreeCheck, units: Units, more: float = 0.0) -> TreeSheet:
    """Lay out letter or A4, upright, at the largest round scale that shows the root zone and the crown whole.

    `more` points of height are wanted for the findings; the drawing gives them where it can at the same scale.
    """
    paper, wide, high = PAPERS[units][0]
    left, right, top, bottom = MARGIN, wide - MARGIN, high - MARGIN, FLOOR
    columns = _columns(left, right)
    blocks = (circle_rows(check, units), work_rows(check, units))
    tall = max(TABLES, *(CompactBlock("", rows).height(columns[k][1] - columns[k][0]) for k, rows in enumerate(blocks)))
    # A tree of which much is to be told in long words has a smaller drawing.
    side = min(SQUARE * (right - left), top - bottom - REMARKS - tall - BESIDE - APART - 4.0)
    reach = PAST * max(check.root_zone, check.dripline or 0.0, check.keep_off, check.holding_roots)
    steps = sorted((*scales(units), *BETWEEN[units]), key=lambda step: step.ratio)
    scale = next((step for step in steps if 2.0 * reach * step.points <= side), steps[-1])
    side = max(side - more, min(side, max(2.0 * reach * scale.points, SMALLER * (right - left))))
    frame = (left, top - side, left + side, top)
    half = side / scale.points / 2.0
    east, north = check.at
    window = (east - half, north - half, east + half, north + half)
    beside = (left + side + BESIDE, frame[1], right, top)
    foot = frame[1] - BESIDE
    tables = tuple((start, foot - tall, end, foot) for start, end in columns)
    remarks = (left, bottom, right, bottom + REMARKS)
    told = (left, bottom + REMARKS + 4.0, right, foot - tall - APART)
    sheet = Sheet(paper, wide, high, scale, frame, window, (beside, *tables), units)
    return TreeSheet(sheet, beside, tables, told, remarks)


def _columns(left: float, right: float) -> tuple[tuple[float, float], ...]:
    """Left and right edges of the three tables."""
    room = right - left - 2 * BESIDE
    first, second = left + 0.23 * room, left + 0.23 * room + BESIDE + 0.35 * room
    return (left, first), (first + BESIDE, second), (second + BESIDE, right)
