"""Blocks of the tree's page: rows of figures set small, and room for the arborist's own words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from shapely.geometry import LineString

from terrain.review import OWN_WORDS
from viewer.page import FAINT, HEADING, INK, NUMBER, SMALL, SOFT_INK, Page, Pen, Type, text_size, wrap

LINES = 3  # ruled lines for remarks
LINE = 15.0  # points from one to the next: room for a hand
SOFT, STRONG = Type(SMALL, SOFT_INK), Type(NUMBER, bold=True)
HEAD, LETTERS, UNDER = 16.0, 9.5, 3.0  # points: heading of a block, a line of a row, the space to its rule
# What a permission says, by hand; it closes a stop once the site file has it under this tree.
ALLOWS = "Allowed: soil to __________ on day one, and ________ % of the zone; nothing within 6 in (15 cm) of the flare."
SIGNED = (("Name", 0.26), ("Certificate or licence", 0.30), ("Date", 0.16), ("Signature", 0.28))


@dataclass(frozen=True)
class CompactBlock:
    """A heading, and rows of what (soft, at the left) and how much (strong, at the right)."""

    heading: str
    rows: Sequence[tuple[str, str]]

    def height(self, width: float) -> float:
        """Points of height that heading and rows take at a width."""
        return HEAD + sum(LETTERS * len(_lines(*row, width)) + UNDER for row in self.rows)

    def draw(self, page: Page, left: float, top: float, width: float, room: float) -> float:
        """Draw heading and rows, each over a rule; the sheet makes room for all of them."""
        page.text(left, top - 10.0, self.heading, Type(HEADING, bold=True))
        used = HEAD
        for what, figure in self.rows:
            page.text(left, top - used - 8.5, what, SOFT)
            for line in _lines(what, figure, width):
                used += LETTERS
                page.text(left + width, top - used + 1.0, line, STRONG, "right")
            used += UNDER
            page.lines(LineString([(left, top - used), (left + width, top - used)]), Pen(FAINT, 0.4))
        return used


def _lines(what: str, figure: str, width: float) -> list[str]:
    """The lines that a figure takes beside its name."""
    return wrap(figure, STRONG, width - text_size(what, SOFT)[0] - 6.0)


@dataclass(frozen=True)
class RemarksBlock:
    """Ruled lines for the arborist's own words, and a line to sign."""

    def draw(self, page: Page, left: float, top: float, width: float, room: float) -> float:
        """Draw heading, lines, and the blanks for name, certificate, date and signature."""
        page.text(left, top - 10.0, "Remarks of the arborist", Type(HEADING, bold=True))
        used = 13.0
        for number in range(LINES):
            used += LINE
            if number == 0:
                page.text(left, top - used + 2.0, ALLOWS, Type(SMALL, SOFT_INK))
            page.lines(LineString([(left, top - used), (left + width, top - used)]), Pen(FAINT, 0.7))
        used += LINE + 4.0
        edge = left
        for label, share in SIGNED:
            kind = Type(SMALL, SOFT_INK)
            page.text(edge, top - used + 2.0, label, kind)
            start = edge + text_size(label, kind)[0] + 4.0
            edge += share * width
            page.lines(LineString([(start, top - used), (edge - 8.0, top - used)]), Pen(INK, 0.7))
        used += 12.0
        page.text(left, top - used, OWN_WORDS, Type(SMALL, SOFT_INK))
        return used
