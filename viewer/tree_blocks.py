"""Blocks of the tree's page: rows of figures set small, and room for the arborist's own words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from shapely.geometry import LineString

from terrain.review.tree_words import OWN_WORDS
from viewer.lettering import HEADING, NUMBER, SMALL, Type, text_size, wrap
from viewer.page import Page, Pen
from viewer.palette import FAINT, INK, SOFT_INK

LINES = 3  # ruled lines for remarks
LINE = 15.0  # points from one to the next: room for a hand
SIGNED = (("Name", 0.26), ("Certificate or licence", 0.30), ("Date", 0.16), ("Signature", 0.28))


@dataclass(frozen=True)
class CompactBlock:
    """A heading, and rows of what (soft, at the left) and how much (strong, at the right)."""

    heading: str
    rows: Sequence[tuple[str, str]]

    def draw(self, page: Page, left: float, top: float, width: float, room: float) -> float:
        """Draw heading and rows, each over a rule, as many as there is room for."""
        page.text(left, top - 10.0, self.heading, Type(HEADING, bold=True))
        soft, strong, used = Type(SMALL, SOFT_INK), Type(NUMBER, bold=True), 16.0
        for what, figure in self.rows:
            lines = wrap(figure, strong, width - text_size(what, soft)[0] - 6.0)
            if used + 9.5 * len(lines) + 3.0 > room:
                break
            page.text(left, top - used - 8.5, what, soft)
            for line in lines:
                used += 9.5
                page.text(left + width, top - used + 1.0, line, strong, "right")
            used += 3.0
            page.lines(LineString([(left, top - used), (left + width, top - used)]), Pen(FAINT, 0.4))
        return used


@dataclass(frozen=True)
class RemarksBlock:
    """Ruled lines for the arborist's own words, and a line to sign."""

    def draw(self, page: Page, left: float, top: float, width: float, room: float) -> float:
        """Draw heading, lines, and the blanks for name, certificate, date and signature."""
        page.text(left, top - 10.0, "Remarks of the arborist", Type(HEADING, bold=True))
        used = 13.0
        for _ in range(LINES):
            used += LINE
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
