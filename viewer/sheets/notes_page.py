"""Sentences that found no room beside a drawing, whole, on pages of words behind it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from terrain.site import Site
from viewer.page import FLOOR, MARGIN, Bounds, Page, Stamp, marks, new_page, page_of_words, stamp

NOTES = "Notes"


def notes_pages(site: Site, left: Sequence[marks.NotesBlock]) -> list[Page]:
    """As many pages as the sentences take, each under its heading; none where none is left.

    Parameters
    ----------
    site
        Whose units say the paper.
    left
        What `marks.flow` had no room for.
    """
    pages: list[Page] = []
    wide, high = page_of_words(site.units)
    queue = list(left)
    while queue:
        pages.append(new_page(wide, high))
        top = high - MARGIN
        title = marks.TitleBlock(NOTES, "What found no room beside the drawings.")
        top -= title.draw(pages[-1], MARGIN, top, wide - 2 * MARGIN, top) + marks.GAP
        queue = _filled(pages[-1], (MARGIN, FLOOR, wide - MARGIN, top), queue)
        stamp(pages[-1], Stamp(site, NOTES))
    return pages


def _filled(page: Page, room: Bounds, queue: Sequence[marks.NotesBlock]) -> list[marks.NotesBlock]:
    """Set blocks from the top down; answer what goes over to the next page, headings again."""
    left, foot, right, top = room
    for number, block in enumerate(queue):
        told = block.told_in((left, foot, right, top))
        shown = replace(block, notes=block.notes[:told])
        used = shown.draw(page, left, top, right - left, top - foot)
        top -= used + marks.GAP if used else 0.0
        if told < len(block.notes):
            return [replace(block, notes=block.notes[told:]), *queue[number + 1 :]]
    return []
