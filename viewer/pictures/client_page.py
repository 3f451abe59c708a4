"""For the client: before and after at eye level, what is built, the price, room for two signatures; then the plan with
the cautions, each by its number where it has a place.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

import numpy as np
from shapely.geometry import LineString, box

from terrain.flow import Study
from terrain.soil import Offer, listed, offer_of, top_height
from viewer.page import (
    BODY,
    FAINT,
    FLOOR,
    HEADING,
    INK,
    KEEP_OFF,
    MARGIN,
    NUMBER,
    PAPER,
    SMALL,
    SOFT_INK,
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
from viewer.pictures.eye_camera import eye_view
from viewer.pictures.eye_level import lay_picture
from viewer.pictures.eye_picture import eye_picture
from viewer.pictures.photograph import PlacedPhoto, photo_before_after
from viewer.pictures.standpoints import Standpoint, standpoints
from viewer.sheets import FOOT, PairsBlock, draw_plain_plan, plain_sheet

GAP = 14.0  # points between blocks and columns
TALL = 0.33  # of its width: a taller picture stands beside the other, a lower one over it
SIGN = 50.0  # points at the foot for the signatures
LINE = 12.0
INSET = 18.0  # points that a caution stands in
_GLANCE = 160  # pixels across, enough to see what changes most
MOST_PLAN, LEAST_PLAN = 0.68, 0.4  # of the second page's height: the plan with its legend
PROPOSAL, PLAN = "Proposal for a planted mound", "The plan with its cautions"
CAUTION = (
    "A plan for planting, no engineer's and no arborist's approval. Before any digging have buried lines located; the "
    "local code and licensed practice decide."
)


def draw_client(study: Study, path: Path, photo: PlacedPhoto | None = None) -> Path:
    """Write both pages as PDF.

    A photograph of the yard takes the place of the drawn views.
    """
    return save_book(numbered(client_pages(study, photo)), path)


def client_pages(study: Study, photo: PlacedPhoto | None = None) -> list[Page]:
    """The proposal, then the plan with the cautions. Letter or A4 by the site's units."""
    wide, high = page_of_words(study.site.units, None)
    page, width = new_page(wide, high), wide - 2 * MARGIN
    top, foot = high - MARGIN, FLOOR + SIGN
    title = marks.TitleBlock(study.site.name, "", PROPOSAL)
    top -= title.draw(page, MARGIN, top, width, top) + GAP
    top -= _stopped(page, study, top, width)
    top -= (_photographs(page, study, photo, top, width) if photo else _pictures(page, study, top, width)) + GAP
    _columns(page, study, top, width)
    _signatures(page, foot, width, f"{PLAN} on page 2 is part of this proposal.")
    stamp(page, Stamp(study.site, PROPOSAL, caution=CAUTION))
    return [page, _plan_page(study)]


def _columns(page: Page, study: Study, top: float, width: float) -> None:
    """What is built and the price at the left, what holds for it at the right."""
    offer = offer_of(study.site, study.work, study.order, top_height(study.proposal))
    column = (width - GAP) / 2.0
    used = PairsBlock("What is built", offer.built).draw(page, MARGIN, top, column, top) + GAP
    _price(page, offer, top - used, column)
    for heading, sentences in _wording(offer):
        top -= _sentences(page, heading, sentences, MARGIN + column + GAP, top, column) + GAP


def _stopped(page: Page, study: Study, top: float, width: float) -> float:
    """A bar over everything where a limit is broken: such a mound is not for signing."""
    if not study.review.stopped:
        return 0.0
    page.area(box(MARGIN, top - 20.0, MARGIN + width, top), KEEP_OFF)
    words = "Not to be built as drawn: a limit is broken, see the cautions."
    page.text(MARGIN + 8.0, top - 14.0, words, Type(BODY, PAPER, bold=True))
    return 20.0 + GAP


def _pictures(page: Page, study: Study, top: float, width: float) -> float:
    """Before and after, from the place that shows most of the mound: tall pictures side by side; answers the height."""
    subject = subject_of(study)
    stand = _best_place(subject)
    view = eye_view(subject, stand, round(width * 150.0 / 72.0))
    beside = view.size[1] > TALL * view.width
    across = (width - GAP) / 2.0 if beside else width
    high = across * view.size[1] / view.width
    for number, built in enumerate((False, True)):
        left, up = (MARGIN + number * (across + GAP), top) if beside else (MARGIN, top - number * (high + 5.0))
        frame = (left, up - high, left + across, up)
        lay_picture(page, subject, view, eye_picture(subject, view, built), frame, built)
        _tag(page, frame, "after" if built else "before")
    down = high if beside else 2.0 * high + 5.0
    page.text(MARGIN, top - down - 12.0, _seen_from(stand), Type(SMALL, SOFT_INK))
    return down + 14.0


def _photographs(page: Page, study: Study, photo: PlacedPhoto, top: float, width: float) -> float:
    """The client's own photograph before and after, side by side, and what is true of it; answers the height."""
    across = (width - GAP) / 2.0
    shown = photo_before_after(subject_of(study), photo, round(across * 200.0 / 72.0))
    high = across * float(shown.before.shape[0] / shown.before.shape[1])
    for number, (word, pixels) in enumerate((("before", shown.before), (shown.after_word, shown.after))):
        left = MARGIN + number * (across + GAP)
        frame = (left, top - high, left + across, top)
        page.picture(pixels, frame)
        page.lines(box(*frame), Pen(SOFT_INK, 0.6))
        _tag(page, frame, word)
    told = dict(shown.told)
    said = f"The mound in a photograph of the yard: {told['Mound']}. {told['Picture']}"
    lines = wrap(said, Type(SMALL, SOFT_INK), width)
    for number, line in enumerate(lines, start=1):
        page.text(MARGIN, top - high - 2.0 - LINE * number, line, Type(SMALL, SOFT_INK))
    return high + LINE * len(lines) + 4.0


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


def _price(page: Page, offer: Offer, top: float, width: float) -> float:
    """The price, its last row large; answers the height."""
    page.text(MARGIN, top - 10.0, "Price", Type(HEADING, bold=True))
    used = 17.0
    if not offer.price:
        page.text(MARGIN, top - used - 10.0, "to be agreed", Type(BODY))
        return used + 12.0
    for what, amount in offer.price:
        last = (what, amount) == offer.price[-1]
        kind = Type(16.0 if last else BODY, bold=last)
        used += kind.size + 6.0
        page.text(MARGIN, top - used + 4.0, what, Type(BODY, INK if last else SOFT_INK, bold=last))
        page.text(MARGIN + width, top - used + 4.0, amount, kind, "right")
        page.lines(LineString([(MARGIN, top - used), (MARGIN + width, top - used)]), Pen(FAINT, 0.4))
    return used


def _wording(offer: Offer) -> Iterator[tuple[str, tuple[str, ...]]]:
    if offer.holds:
        yield "The price pays for", (f"{listed(offer.holds).capitalize()}.",)
    yield "Not included", (f"{listed(offer.leaves_out).capitalize()}.",)
    yield "What is assumed", offer.assumed


def _sentences(page: Page, heading: str, sentences: tuple[str, ...], left: float, top: float, width: float) -> float:
    page.text(left, top - 10.0, heading, Type(HEADING, bold=True))
    used = 17.0
    for sentence in sentences:
        for line in wrap(sentence, Type(NUMBER), width):
            used += LINE
            page.text(left, top - used + 3.0, line, Type(NUMBER))
        used += 2.0
    return used


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
