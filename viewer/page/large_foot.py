"""The foot of sheets that are read wet, folded and at arm's length: the caution and the number in large black type."""

from __future__ import annotations

from collections.abc import Sequence

from terrain.language import Language
from viewer.page.lettering import Type, fit_size, wrap
from viewer.page.page import Page
from viewer.page.sheet import MARGIN

BLACK = "#000000"
FIGURE, WORDS = 14.0, 12.5  # points: what holds a figure, and other words
LARGE_FOOT = MARGIN + 32.0  # points: nothing of the sheet stands lower
_NUMBERING = 110.0  # points at the right of the foot for the page's number


def footed(pages: Sequence[Page], title: str, words: Language) -> list[Page]:
    """The pages of one file, each with its title, the caution and its number at its foot."""
    told = words.say("Planning sheet. Local code and licensed people decide.")
    for number, page in enumerate(pages, start=1):
        page.named(title)
        kind = Type(WORDS, BLACK)
        for line, text in enumerate(reversed(wrap(told, kind, page.width - 2 * MARGIN - _NUMBERING))):
            page.text(MARGIN, MARGIN + 14.0 * line, text, kind)
        count = words.say("page {number} of {count}", number=number, count=len(pages))
        strong = Type(FIGURE, BLACK, bold=True)
        page.text(page.width - MARGIN, MARGIN, count, fit_size(count, strong, _NUMBERING - 6.0, 10.0), "right")
    return list(pages)
