"""The words of the proposal: what is built and its price at the left, what holds for them at the right.

What is built can be any number of things; rows that find no room beside the rest go over to pages of their own.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from shapely.geometry import LineString

from terrain.soil import Fact, Offer, listed
from viewer.page import BODY, FAINT, HEADING, INK, MARGIN, NUMBER, SOFT_INK, Page, Pen, Type, wrap
from viewer.sheets import PairsBlock

GAP = 14.0  # points between blocks and columns
LINE = 12.0
HEAD = 17.0  # points that a heading takes
LARGE = 16.0  # points: the figure to pay
BUILT = "What is built"


@dataclass(frozen=True)
class PriceBlock:
    """Rows of what and how much money, the last one large; without any the price is open."""

    rows: Sequence[Fact]

    def height(self) -> float:
        """Points of height that heading and rows take."""
        return HEAD + (sum(6.0 + kind.size for kind in self._kinds()) if self.rows else LINE)

    def _kinds(self) -> list[Type]:
        return [Type(BODY)] * (len(self.rows) - 1) + [Type(LARGE, bold=True)]

    def draw(self, page: Page, left: float, top: float, width: float, room: float) -> float:
        """Draw heading and rows, each over a rule; answer the height."""
        page.text(left, top - 10.0, "Price", Type(HEADING, bold=True))
        used = HEAD
        if not self.rows:
            page.text(left, top - used - 10.0, "to be agreed", Type(BODY))
        for (what, amount), kind in zip(self.rows, self._kinds() if self.rows else (), strict=True):
            used += kind.size + 6.0
            page.text(left, top - used + 4.0, what, Type(BODY, INK if kind.bold else SOFT_INK, bold=kind.bold))
            page.text(left + width, top - used + 4.0, amount, kind, "right")
            page.lines(LineString([(left, top - used), (left + width, top - used)]), Pen(FAINT, 0.4))
        return self.height()


@dataclass(frozen=True)
class SentencesBlock:
    """A heading and whole sentences."""

    heading: str
    sentences: Sequence[str]

    def height(self, width: float) -> float:
        """Points of height that heading and sentences take at a width."""
        return HEAD + sum(LINE * len(wrap(one, Type(NUMBER), width)) + 2.0 for one in self.sentences)

    def draw(self, page: Page, left: float, top: float, width: float, room: float) -> float:
        """Draw heading and sentences; answer the height."""
        page.text(left, top - 10.0, self.heading, Type(HEADING, bold=True))
        used = HEAD
        for sentence in self.sentences:
            for line in wrap(sentence, Type(NUMBER), width):
                used += LINE
                page.text(left, top - used + 3.0, line, Type(NUMBER))
            used += 2.0
        return used


@dataclass(frozen=True)
class ClientWords:
    """All words of an offer in two columns that are `width` points wide together."""

    offer: Offer
    width: float

    @property
    def column(self) -> float:
        """Width of a column in points."""
        return (self.width - GAP) / 2.0

    def height(self, told: int) -> float:
        """Points of height that the words take with so many rows of what is built."""
        built = self._built(told).height(self.column)
        right = [block.height(self.column) for block in self._holding()]
        return max(built + GAP + PriceBlock(self.offer.price).height(), sum(right) + GAP * (len(right) - 1))

    def told_in(self, room: float) -> int:
        """How many rows of what is built stand beside the price in so many points of height."""
        every = len(self.offer.built)
        return next((told for told in range(every, 0, -1) if self.height(told) <= room), 0)

    def draw(self, page: Page, top: float, told: int) -> None:
        """Draw both columns from the top down with so many rows of what is built."""
        under = top - self._built(told).draw(page, MARGIN, top, self.column, top) - GAP
        PriceBlock(self.offer.price).draw(page, MARGIN, under, self.column, under)
        for block in self._holding():
            top -= block.draw(page, MARGIN + self.column + GAP, top, self.column, top) + GAP

    def _built(self, told: int) -> PairsBlock:
        more = len(self.offer.built) - told
        rest = [("", f"{'and ' if told else ''}{more} {'things' if more > 1 else 'thing'} on page 2")] if more else []
        return PairsBlock(BUILT, [*self.offer.built[:told], *rest])

    def _holding(self) -> Iterator[SentencesBlock]:
        offer = self.offer
        if offer.holds:
            yield SentencesBlock("The price pays for", (f"{listed(offer.holds).capitalize()}.",))
        yield SentencesBlock("Not included", (f"{listed(offer.leaves_out).capitalize()}.",))
        yield SentencesBlock("What is assumed", offer.assumed)


def columns_of(rows: Sequence[Fact], width: float, high: float) -> list[PairsBlock]:
    """Rows of what is built as columns of a width that are no higher than so many points; a row at least in each."""
    blocks: list[PairsBlock] = []
    for row in rows:
        longer = PairsBlock(BUILT, [*blocks[-1].rows, row]) if blocks else None
        if longer is not None and longer.height(width) <= high:
            blocks[-1] = longer
        else:
            blocks.append(PairsBlock(BUILT, [row]))
    return blocks
