"""Pages of words on the paper of the drawings that they go with: several beside each other where it is larger."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from terrain.site import Site
from viewer.page import Page, Stamp, page_of_words, side_by_side, stamp, turned


def pages_on(paper: str, stamped: Stamp, draw: Callable[[], Iterable[Page]]) -> list[Page]:
    """The sheets of a paper on which the pages of words that `draw` draws stand; `stamped` is for such a sheet."""
    size = page_of_words(stamped.site.units, paper)
    if size == turned(paper):
        return list(draw())
    with side_by_side(size, turned(paper)) as sheets:
        list(draw())
    for sheet in sheets:
        stamp(sheet, stamped)
    return sheets


def pages_to_a_sheet(paper: str, site: Site) -> int:
    """How many pages of words stand on one sheet of a paper."""
    (wide, high), (own_wide, own_high) = turned(paper), page_of_words(site.units, paper)
    return round(wide / own_wide) * round(high / own_high)
