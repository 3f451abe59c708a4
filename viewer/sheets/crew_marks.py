"""What both pages of the crew's sheet share: black on white, figures of 14 points, the caution at the foot."""

from __future__ import annotations

from terrain.language import Language
from viewer.page import MARGIN, Page, Type, fit_size

BLACK, WHITE = "#000000", "#ffffff"
FIGURE, WORDS = 14.0, 12.5  # points: what holds a figure, and other words
NUMBERING = 110.0  # points at the right of the foot for the page's number
FOOT = MARGIN + 22.0


def caution(page: Page, words: Language) -> None:
    """The caution at the foot of every page of the crew."""
    told = words.say("Planning sheet. Local code and licensed people decide.")
    page.text(MARGIN, MARGIN, told, fit_size(told, Type(WORDS, BLACK), page.width - 2 * MARGIN - NUMBERING, 8.0))


def numbered(pages: list[Page], words: Language) -> list[Page]:
    """The pages with their numbers at the foot."""
    for number, page in enumerate(pages, start=1):
        told = words.say("page {number} of {count}", number=number, count=len(pages))
        strong = Type(FIGURE, BLACK, bold=True)
        page.text(page.width - MARGIN, MARGIN, told, fit_size(told, strong, NUMBERING - 6.0, 10.0), "right")
    return pages
