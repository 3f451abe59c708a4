"""The crew's sheet: the day on one page, the mound in squares on the second; black on white, legible wet and folded.

Every line with a figure is set in 14 points, other words in 12.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from shapely.geometry import LineString, box

from terrain.field import (
    CrewDay,
    SetOut,
    day_rows,
    decide_words,
    grade_words,
    hold_lines,
    sill_lines,
    stake_words,
    title_words,
    total_words,
    way_words,
)
from terrain.flow import Study
from terrain.language import ENGLISH, Language
from viewer.page import (
    BLACK,
    FIGURE,
    LARGE_FOOT,
    MARGIN,
    WORDS,
    Page,
    Pen,
    Type,
    fit_size,
    footed,
    heading_lines,
    new_page,
    page_of_words,
    save_book,
    text_size,
    wrap,
)
from viewer.sheets.crew_marks import glued
from viewer.sheets.crew_squares import draw_squares, room_under

RULE = Pen(BLACK, 1.0)
TICK = 11.0  # points: side of a box to tick
HOURS, BETWEEN = 136.0, 16.0  # points: room for hours, and so far from them stands the amount, or both read as one
_SPACINGS = (1.0, 0.98, 0.96, 0.9)  # of the lines, until the page holds them; at the last, accents meet tails


@dataclass(frozen=True)
class _CrewLine:
    """One line of the page: words at the left, amount and hours at right edges, and what is drawn with it."""

    left: str
    high: float
    bold: bool = False
    amount: str = ""
    hours: str = ""
    tick: bool = False
    rule: bool = False
    inset: float = 0.0
    size: float = FIGURE


def draw_crew(study: Study, stakes: SetOut, day: CrewDay, path: Path, words: Language = ENGLISH) -> Path:
    """Write the crew's sheet as one PDF of two pages."""
    return save_book(footed(crew_pages(study, stakes, day, words), _head(study, words), words), path)


def crew_pages(study: Study, stakes: SetOut, day: CrewDay, words: Language = ENGLISH) -> list[Page]:
    """The day, then the squares where there is soil to place; what a full day leaves goes under them, or on a third."""
    wide, high = page_of_words(study.site.units)
    page, width = new_page(wide, high), wide - 2 * MARGIN
    top = _title(page, study, words, width, high - MARGIN)
    blocks = list(_blocks(study, stakes, day, words, width))
    under = max(room_under(study, day, words), 0.0) if day.squares.lifts else 0.0
    here, told = _shared_out(blocks, top - LARGE_FOOT, under)
    _stand(page, blocks[:here], top)
    pages = [page]
    if day.squares.lifts:
        last = blocks[here:told]
        pages.append(draw_squares(study, stakes, day, words, _high(last)))
        _stand(pages[-1], last, LARGE_FOOT + _high(last))
    if told < len(blocks):
        pages.append(new_page(wide, high))
        blocks[told][0] = replace(blocks[told][0], rule=False)  # the title has its own
        _stand(pages[-1], blocks[told:], _title(pages[-1], study, words, width, high - MARGIN))
    return pages


def _shared_out(blocks: Sequence[Sequence[_CrewLine]], room: float, under: float) -> tuple[int, int]:
    """How many blocks the page of work holds, and how many it holds with what stands `under` the squares.

    The last ones go there; where not all of these find room, the others stand a page further.
    """
    here = 1
    for spacing in (_SPACINGS[-2], _SPACINGS[-1]):
        here = max(_fitting(blocks, room / spacing), 1)
        if _high(blocks[here:]) <= under:
            return here, len(blocks)
    return here, here + _fitting(blocks[here:], under)


def _fitting(blocks: Sequence[Sequence[_CrewLine]], room: float) -> int:
    """How many of the first blocks stand in so many points of height."""
    return sum(1 for count in range(1, len(blocks) + 1) if _high(blocks[:count]) <= room)


def _high(blocks: Sequence[Sequence[_CrewLine]]) -> float:
    return sum(line.high for block in blocks for line in block)


def _stand(page: Page, blocks: Sequence[Sequence[_CrewLine]], top: float) -> None:
    """Draw blocks from a height down to the foot, their lines as far apart as there is room."""
    needed = _high(blocks)
    room = top - LARGE_FOOT
    squeeze = next((share for share in _SPACINGS if needed * share <= room), room / max(needed, 1.0))
    for block in blocks:
        for line in block:
            top -= line.high * squeeze
            _draw(page, line, top + 4.0)


def _head(study: Study, words: Language) -> str:
    return words.say("{title}: {name}", title=title_words(words), name=study.site.name)


def _title(page: Page, study: Study, words: Language, width: float, top: float) -> float:
    """The name of the yard, of the sheet and of the grade; answers how far down they go."""
    strong = Type(FIGURE, BLACK, bold=True)
    heads, kind = heading_lines(_head(study, words), Type(18.0, BLACK, bold=True), width, FIGURE)
    top -= 3.0
    for line in heads:
        top -= 15.0
        page.text(MARGIN, top, line, kind)
    top -= 2.0
    for line in wrap(glued(grade_words(study, words)), strong, width):
        top -= 17.0
        page.text(MARGIN, top, line, strong)
    page.lines(LineString([(MARGIN, top - 6.0), (MARGIN + width, top - 6.0)]), Pen(BLACK, 2.0))
    return top - 9.0


def _blocks(study: Study, stakes: SetOut, day: CrewDay, words: Language, width: float) -> Iterator[list[_CrewLine]]:
    units = study.site.units
    yield list(_steps(study, day, words, width))
    yield list(_wording(words.say("Wait for a yes"), hold_lines(day, units, words), width, tick=True))
    yield list(_wording(words.say("The way in"), way_words(study, day, words), width))
    named = ", ".join(f"{name} {depth}".replace(" ", "\u00a0") for name, depth in stake_words(stakes, units, words))
    if named:
        said = words.say("{stakes}; all others in setout.pdf.", stakes=named)
        yield list(_wording(words.say("Stakes where it is highest"), [said], width))
    if sills := sill_lines(study, words):
        yield list(_wording(words.say("Sills of the stream"), sills, width))
    yield list(_wording(words.say("Who decides"), decide_words(words), width))


def _steps(study: Study, day: CrewDay, words: Language, width: float) -> Iterator[_CrewLine]:
    for number, row in enumerate(day_rows(study, day, words)):
        # What the amount leaves of the line is too little for some lists: they get a line of their own.
        beside = width - text_size(row.name, _type(row.name, True))[0] - TICK - HOURS - BETWEEN
        apart = text_size(row.amount, _type(row.amount, True))[0] > beside - BETWEEN
        amount = "" if apart else row.amount
        yield _CrewLine(row.name, 20.0, bold=True, amount=amount, hours=row.hours, tick=True, rule=number > 0)
        if apart:
            yield from _wrapped(row.amount, width - 18.0, 18.0, bold=True)
        yield from _wrapped(row.mind, width - 18.0, 18.0)
    told, hours = total_words(day, words)
    yield _CrewLine(told, 20.0, bold=True, hours=hours, rule=True)


def _wording(head: str, sentences: Sequence[str], width: float, tick: bool = False) -> Iterator[_CrewLine]:
    """A heading and its sentences; nothing without sentences."""
    if not sentences:
        return
    yield _CrewLine(head, 22.0, bold=True, rule=True)
    for sentence in sentences:
        inset = 18.0 if tick else 0.0
        for number, line in enumerate(_wrapped(sentence, width - inset, inset)):
            yield replace(line, tick=tick and number == 0)


def _wrapped(text: str, width: float, inset: float, bold: bool = False) -> Iterator[_CrewLine]:
    kind = _type(text, bold)
    for line in wrap(glued(text), kind, width):
        yield _CrewLine(line, kind.size * 1.22, bold=bold, inset=inset, size=kind.size)


def _type(text: str, bold: bool = False) -> Type:
    """What holds a figure is set larger."""
    size = FIGURE if bold or any(sign.isdigit() for sign in text) else WORDS
    return Type(size, BLACK, bold=bold)


def _draw(page: Page, line: _CrewLine, up: float) -> None:
    right, kind = page.width - MARGIN, Type(line.size, BLACK, bold=line.bold)
    if line.rule:
        page.lines(LineString([(MARGIN, up + 14.0), (right, up + 14.0)]), RULE)
    if line.tick:
        page.lines(box(MARGIN, up, MARGIN + TICK, up + TICK), Pen(BLACK, 1.2))
    page.text(MARGIN + (18.0 if line.tick else line.inset), up, line.left, kind)
    strong = Type(FIGURE, BLACK, bold=True)
    page.text(right, up, line.hours, fit_size(line.hours, strong, HOURS, 10.0), "right")
    page.text(right - HOURS - BETWEEN, up, line.amount, strong, "right")
