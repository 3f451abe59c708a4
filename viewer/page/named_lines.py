"""What the same thing is called on every sheet, and its entry in a legend: the one place that has these words."""

from __future__ import annotations

from viewer.page import pens
from viewer.page.marks import Swatch, line_swatch

CAUTIONS = "Cautions"
REVIEW_FILE = "review.pdf"  # every caution
ROOT_ZONE = "root protection zone"
Entry = tuple[Swatch, str]


def outline_entry() -> Entry:
    """The edge of the bed."""
    return line_swatch(pens.OUTLINE_PEN), "bed outline"


def keep_off_entry(rule: str = "no fill, no digging") -> Entry:
    """The ground about a trunk, and what it means to who reads the sheet."""
    return line_swatch(pens.KEEP_OFF_PEN), f"keep-off: {rule}"


def zone_entry() -> Entry:
    """The ground that a tree's roots need."""
    return line_swatch(pens.ZONE_PEN), ROOT_ZONE
