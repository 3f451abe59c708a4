"""What both pages of the crew's sheet share: black on white, figures of 14 points, the caution at the foot."""

from __future__ import annotations

import re

from terrain.language import Language
from viewer.page import MARGIN, Page, Type, fit_size, wrap

BLACK, WHITE = "#000000", "#ffffff"
FIGURE, WORDS = 14.0, 12.5  # points: what holds a figure, and other words
NUMBERING = 110.0  # points at the right of the foot for the page's number
FOOT = MARGIN + 32.0


def caution(page: Page, words: Language) -> None:
    """The caution at the foot of every page of the crew."""
    told, kind = words.say("Planning sheet. Local code and licensed people decide."), Type(WORDS, BLACK)
    for number, line in enumerate(reversed(wrap(told, kind, page.width - 2 * MARGIN - NUMBERING))):
        page.text(MARGIN, MARGIN + 14.0 * number, line, kind)


def glued(text: str) -> str:
    """The text with a no-break space behind every figure, so that no measure is torn at the end of a line."""
    return re.sub(r"(?<=\d) (?=\S)", "\u00a0", text)


def numbered(pages: list[Page], words: Language) -> list[Page]:
    """The pages with their numbers at the foot."""
    for number, page in enumerate(pages, start=1):
        told = words.say("page {number} of {count}", number=number, count=len(pages))
        strong = Type(FIGURE, BLACK, bold=True)
        page.text(page.width - MARGIN, MARGIN, told, fit_size(told, strong, NUMBERING - 6.0, 10.0), "right")
    return pages
