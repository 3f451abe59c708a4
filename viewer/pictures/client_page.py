"""For the client: before and after at eye level, what is built, the price, room for two signatures; what is built of
many things on pages of its own; then the plan with the cautions, each by its number where it has a place.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import numpy as np
from shapely.geometry import LineString, box

from terrain.flow import Study
from terrain.soil import Fact, offer_of, top_height
from viewer.page import (
    BODY,
    FLOOR,
    INK,
    KEEP_OFF,
    MARGIN,
    NUMBER,
    PAPER,
    SMALL,
    SOFT_INK,
    Bounds,
    Page,
    Pen,
    Stamp,
    Subject,
    Type,
    marks,
    new_page,
    numbered,
    page_of_words,
    save_book,
    stamp,
    subject_of,
    text_size,
    wrap,
)
from viewer.pictures.client_words import BUILT, GAP, LINE, ClientWords, columns_of
from viewer.pictures.composite import Pixels
from viewer.pictures.eye_camera import eye_view
from viewer.pictures.eye_level import lay_picture
from viewer.pictures.eye_picture import eye_picture
from viewer.pictures.photograph import PlacedPhoto, photo_before_after
from viewer.pictures.standpoints import Standpoint, standpoints
from viewer.sheets import FOOT, draw_plain_plan, plain_sheet

BESIDE = 130.0  # points of white beside pictures in which what is said of them stands
BETWEEN = 5.0  # points between two pictures that stand one over the other
LEAST_PICTURE = 90.0  # points of height that no words take from the pictures
SIGN = 50.0  # points at the foot for the signatures
INSET = 18.0  # points that a caution stands in
_GLANCE = 160  # pixels across, enough to see what changes most
MOST_PLAN, LEAST_PLAN = 0.68, 0.4  # of its page's height: the plan with its legend
PROPOSAL, PLAN = "Proposal for a planted mound", "The plan with its cautions"
CAUTION = (
    "A plan for planting, no engineer's and no arborist's approval. Before any digging have buried lines located; the "
    "local code and licensed practice decide."
)


def draw_client(study: Study, path: Path, photo: PlacedPhoto | None = None) -> Path:
    """Write the pages as PDF.

    A photograph of the yard takes the place of the drawn views.
    """
    return save_book(numbered(client_pages(study, photo)), path)


def client_pages(study: Study, photo: PlacedPhoto | None = None) -> list[Page]:
    """The proposal, what is built of many things, the plan with the cautions. Letter or A4 by the site's units."""
    wide, high = page_of_words(study.site.units, None)
    page, width = new_page(wide, high), wide - 2 * MARGIN
    top, foot = high - MARGIN, FLOOR + SIGN
    title = marks.TitleBlock(study.site.name, "", PROPOSAL)
    top -= title.draw(page, MARGIN, top, width, top) + GAP
    top -= _stopped(page, study, top, width)
    words = ClientWords(offer_of(study.site, study.work, study.order, top_height(study.proposal)), width)
    shown = _photographs(study, photo, width) if photo else _views(study, width)
    told = words.told_in(top - foot - shown.height(LEAST_PICTURE, width) - 2 * GAP)
    top -= shown.draw(page, top, width, top - foot - words.height(told) - 2 * GAP) + GAP
    words.draw(page, top, told)
    more = _built_pages(study, words.offer.built[told:])
    _signatures(page, foot, width, _signed_for(2 + len(more)))
    stamp(page, Stamp(study.site, PROPOSAL, caution=CAUTION))
    return [page, *more, _plan_page(study)]


def _signed_for(last: int) -> str:
    """What else both sign for; the plan stands on the last page."""
    if last == 2:
        return f"{PLAN} on page 2 is part of this proposal."
    return f"The pages up to {last} are part of this proposal: the rest of what is built, and {PLAN.lower()}."


def _built_pages(study: Study, rows: Sequence[Fact]) -> list[Page]:
    """What is built and found no room on the first page, in two columns a page."""
    if not rows:
        return []
    wide, high = page_of_words(study.site.units, None)
    column, top = (wide - 2 * MARGIN - GAP) / 2.0, high - MARGIN
    title, pages = marks.TitleBlock(BUILT, "The rest of it, part of the proposal on page 1."), []
    floor = top - title.draw(new_page(wide, high), MARGIN, top, wide - 2 * MARGIN, top) - GAP
    blocks = columns_of(rows, column, floor - FLOOR)
    for first in range(0, len(blocks), 2):
        page = new_page(wide, high)
        title.draw(page, MARGIN, top, wide - 2 * MARGIN, top)
        for side, block in enumerate(blocks[first : first + 2]):
            block.draw(page, MARGIN + side * (column + GAP), floor, column, floor)
        stamp(page, Stamp(study.site, f"{BUILT}, the rest", caution=CAUTION))
        pages.append(page)
    return pages


def _stopped(page: Page, study: Study, top: float, width: float) -> float:
    """A bar over everything where a limit is broken: such a mound is not for signing."""
    if not study.review.stopped:
        return 0.0
    page.area(box(MARGIN, top - 20.0, MARGIN + width, top), KEEP_OFF)
    words = "Not to be built as drawn: a limit is broken, see the cautions."
    page.text(MARGIN + 8.0, top - 14.0, words, Type(BODY, PAPER, bold=True))
    return 20.0 + GAP


@dataclass(frozen=True)
class _Shown:
    """Before and after: their height as a share of their width, how each is laid into a frame, what is said of them."""

    share: float
    lay: tuple[Callable[[Page, Bounds], None], Callable[[Page, Bounds], None]]
    said: str
    over: bool  # whether one may stand over the other

    def height(self, pictures: float, width: float) -> float:
        """Points of height with so many for the pictures, over what is said in lines of a width."""
        return pictures + LINE * len(wrap(self.said, Type(SMALL), width)) + 4.0

    def draw(self, page: Page, top: float, width: float, room: float) -> float:
        """Draw both with what is said under them, in so many points of height; answer the height."""
        pictures = max(room - self.height(0.0, width), LEAST_PICTURE)
        frames = picture_frames(self.share, (MARGIN, top, width, pictures), self.over)
        for lay, frame in zip(self.lay, frames, strict=True):
            lay(page, frame)
        _, low, right, _ = frames[1]
        white = MARGIN + width - right - GAP
        if white >= BESIDE:
            _say(page, right + GAP, low + self.height(0.0, white), white, self.said)
            return top - low + 4.0
        _say(page, MARGIN, low - 2.0, width, self.said)
        return top - low + self.height(0.0, width)


def _say(page: Page, left: float, top: float, width: float, said: str) -> None:
    for number, line in enumerate(wrap(said, Type(SMALL), width), start=1):
        page.text(left, top - LINE * number, line, Type(SMALL, SOFT_INK))


def picture_frames(share: float, room: tuple[float, float, float, float], over: bool) -> tuple[Bounds, Bounds]:
    """Frames of two pictures that are `share` as high as wide, in a room: left, top, width, height in points.

    `over`: they stand one over the other, at the left, where they are larger so; else side by side. Words come first:
    where the room is lower than the pictures, these are smaller.
    """
    left, top, width, high = room
    stacked, beside = min(width, (high - BETWEEN) / 2.0 / share), min((width - GAP) / 2.0, high / share)
    if over and stacked > beside:
        tall, right = share * stacked, left + stacked
        under = top - tall - BETWEEN
        return (left, top - tall, right, top), (left, under - tall, right, under)
    tall, middle = share * beside, left + width / 2.0
    first, second = (middle - GAP / 2.0 - beside, middle + GAP / 2.0)
    return (first, top - tall, first + beside, top), (second, top - tall, second + beside, top)


def _views(study: Study, width: float) -> _Shown:
    """Before and after, from the place that shows most of the mound."""
    subject = subject_of(study)
    stand = _best_place(subject)
    view = eye_view(subject, stand, round(width * 150.0 / 72.0))

    def lay(built: bool, page: Page, frame: Bounds) -> None:
        lay_picture(page, subject, view, eye_picture(subject, view, built), frame, built)
        _tag(page, frame, "after" if built else "before")

    both = partial(lay, False), partial(lay, True)
    return _Shown(view.size[1] / view.width, both, _seen_from(stand), over=True)


def _photographs(study: Study, photo: PlacedPhoto, width: float) -> _Shown:
    """The client's own photograph before and after, side by side, and what is true of it."""
    shown = photo_before_after(subject_of(study), photo, round((width - GAP) / 2.0 * 200.0 / 72.0))

    def lay(word: str, pixels: Pixels, page: Page, frame: Bounds) -> None:
        page.picture(pixels, frame)
        page.lines(box(*frame), Pen(SOFT_INK, 0.6))
        _tag(page, frame, word)

    told = dict(shown.told)
    said = f"The mound in a photograph of the yard: {told['Mound']}. {told['Picture']}"
    share = float(shown.before.shape[0] / shown.before.shape[1])
    both = partial(lay, "before", shown.before), partial(lay, shown.after_word, shown.after)
    return _Shown(share, both, said, over=False)


def _best_place(subject: Subject) -> Standpoint:
    """The place from which building the mound changes most of a small picture."""

    def changed(stand: Standpoint) -> float:
        view = eye_view(subject, stand, _GLANCE)
        before, after = (eye_picture(subject, view, built).pixels.astype(float) for built in (False, True))
        return float(np.mean(np.abs(after - before)))

    return max(standpoints(subject.site, subject.ground), key=changed)


def _tag(page: Page, frame: tuple[float, float, float, float], word: str) -> None:
    """A word in the upper left corner of a picture."""
    kind = Type(NUMBER, bold=True)
    page.area(box(frame[0], frame[3] - 15.0, frame[0] + text_size(word, kind)[0] + 12.0, frame[3]), PAPER, 0.9)
    page.text(frame[0] + 6.0, frame[3] - 11.0, word, kind)


def _seen_from(stand: Standpoint) -> str:
    return f"Seen from the {stand.name}. Heights are true; trees and houses are plain shapes. Dashed: the bed."


def _signatures(page: Page, top: float, width: float, said: str) -> None:
    """Two lines to sign on, side by side, and what is said over them."""
    column = (width - 2 * GAP) / 2.0
    page.text(MARGIN, top - 2.0, said, Type(NUMBER, bold=True))
    for number, who in enumerate(("for the client", "for the contractor")):
        left = MARGIN + number * (column + 2 * GAP)
        page.lines(LineString([(left, top - 34.0), (left + column, top - 34.0)]), Pen(INK, 0.7))
        page.text(left, top - 43.0, f"{who}: name, date", Type(SMALL, SOFT_INK))


def _plan_page(study: Study) -> Page:
    """The plan, and under it every caution by its number, as many as the page holds; what finds no room is counted."""
    told = [(f"{k}", one) for k, one in enumerate((f for f in study.review.findings if f.level != "note"), start=1)]
    wide, high = page_of_words(study.site.units, None)
    page, width = new_page(wide, high), wide - 2 * MARGIN
    top, foot = high - MARGIN, FLOOR + 14.0
    title = marks.TitleBlock(PLAN, "Part of the proposal on page 1.")
    top -= title.draw(page, MARGIN, top, width, top) + GAP
    size, needed = _size_of([one.text for _, one in told], width, (1.0 - LEAST_PLAN) * (top - foot))
    room = min(MOST_PLAN * (top - foot), max(LEAST_PLAN * (top - foot), top - foot - needed))
    sheet = plain_sheet(subject_of(study), (wide, high), (MARGIN, top - room, MARGIN + width, top))
    placed = [(number, one.at) for number, one in told if one.at is not None]
    draw_plain_plan(page, sheet, subject_of(study), placed)
    left = _list_cautions(page, [(number, one.text) for number, one in told], sheet.frame[1] - FOOT - GAP, size)
    if left:
        page.text(MARGIN, foot, f"and {left} more in order.json", Type(BODY, SOFT_INK))
    stamp(page, Stamp(study.site, f"{PLAN} of the proposal", sheet.scale.text, caution=CAUTION))
    return page


def _size_of(cautions: Sequence[str], width: float, room: float) -> tuple[float, float]:
    """The larger of two sizes at which cautions stand in a room, else the smaller, and the height they then take."""
    needed = {size: sum(_caution_height(text, width, size) for text in cautions) + 3.0 * GAP for size in (BODY, SMALL)}
    size = BODY if needed[BODY] <= room else SMALL
    return size, needed[size]


def _list_cautions(page: Page, told: Sequence[tuple[str, str]], top: float, size: float) -> int:
    """Numbers and cautions down to the foot of the page; answers how many find no room."""
    width = page.width - 2 * MARGIN
    for count, (number, text) in enumerate(told):
        counted = 0.0 if count == len(told) - 1 else 1.4 * BODY  # the line that counts the rest
        if top - _caution_height(text, width, size) < FLOOR + 14.0 + counted:
            return len(told) - count
        page.text(MARGIN, top - 1.1 * size, number, Type(size, bold=True))
        for k, line in enumerate(wrap(text, Type(size), width - INSET)):
            page.text(MARGIN + INSET, top - 1.1 * size - 1.3 * size * k, line, Type(size))
        top -= _caution_height(text, width, size)
    return 0


def _caution_height(text: str, width: float, size: float) -> float:
    return 1.3 * size * len(wrap(text, Type(size), width - INSET)) + 0.45 * size
