"""What must not go wrong on site, on a page: stops, cautions and notes, each whole, with its source; then every check
with its verdict. A stop has the lines that close it: a change, or the leave of somebody who is named.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from shapely.geometry import LineString

from terrain.findings import Finding, Level
from terrain.flow import Study
from terrain.review import Verdict
from terrain.units import show_place
from viewer.page import (
    BODY,
    CAUTIONS,
    FAINT,
    FLOOR,
    HEADING,
    INK,
    KEEP_OFF,
    MARGIN,
    REVIEW_FILE,
    SMALL,
    SOFT_INK,
    Page,
    Pen,
    Stamp,
    Type,
    marks,
    new_page,
    numbered,
    page_of_words,
    save_book,
    stamp,
    wrap,
)

READ = BODY + 1.0  # points: cautions are read on a phone
LINE = 12.6
JUDGED, GUTTER = 50.0, 18.0  # points: of a check's word, and between the two columns of checks
LEAST_COLUMN = 80.0  # points: lower ones begin on a page of their own
ALL = "Every check and its verdict"
# Nothing else closes a stop.
TITLE = "Trees and cautions"
CLOSED = (
    "Closed by this change: ____________________________________________  date: ______________",
    "or allowed by (name): ____________________  licence: ____________  signed: ______________",
)
HEADS: dict[Level, str] = {"stop": "Stop: a limit is broken", "caution": CAUTIONS, "note": "Worth knowing"}


@dataclass(frozen=True)
class _CautionLine:
    """One line of text: how far down it goes, its type, and how far in it stands."""

    text: str
    kind: Type
    high: float
    inset: float = 0.0
    rule: bool = False


def draw_review(study: Study, folder: Path, paper: str | None = None) -> Path:
    """Write review.pdf into an existing folder: every finding and every check of the review."""
    return save_book(numbered(caution_pages(study, paper)), folder / REVIEW_FILE)


def caution_pages(study: Study, paper: str | None = None) -> list[Page]:
    """As many pages as the findings and the checks take, the worst first."""
    size = page_of_words(study.site.units, paper)
    width = size[0] - 2 * MARGIN
    pages: list[Page] = []
    top = 0.0
    for block in _blocks(study, width):
        if not pages or top - _high(block) < FLOOR:
            page, top = _begun(study, size)
            pages.append(page)
        top = _written(pages[-1], block, MARGIN, top, width)
    return [*pages, *_checks(study, size, pages[-1:], top)]


def _checks(study: Study, size: tuple[float, float], here: Sequence[Page], top: float) -> Iterator[Page]:
    """Every check in two columns, from a height of the page `here` on; answers the further pages."""
    width = size[0] - 2 * MARGIN
    wide = 0.5 * (width - GUTTER)
    head, rest = [_head(ALL, INK)], [_judged(verdict, wide) for verdict in study.review.checks]
    page = here[0] if here else None
    while rest:
        if page is None or top - _high(head) - LEAST_COLUMN < FLOOR:
            page, top = _begun(study, size)
            yield page
        top = _written(page, head, MARGIN, top, width)
        for across, blocks in zip((MARGIN, MARGIN + wide + GUTTER), _columns(rest, top - FLOOR), strict=True):
            _written(page, [line for block in blocks for line in block], across, top, wide)
            rest = rest[len(blocks) :]
        head, top = [], FLOOR


def _begun(study: Study, size: tuple[float, float]) -> tuple[Page, float]:
    """A page with its title and stamp, and where its lines begin."""
    page = new_page(*size)
    top = size[1] - MARGIN
    title = marks.TitleBlock(TITLE, "Planning findings; a qualified arborist and the local code decide.")
    top -= title.draw(page, MARGIN, top, size[0] - 2 * MARGIN, top) + 8.0
    stamp(page, Stamp(study.site, TITLE))
    return page, top


def _written(page: Page, lines: Iterable[_CautionLine], across: float, top: float, width: float) -> float:
    """Lines one under another from a corner; answers where they end."""
    for line in lines:
        top -= line.high
        page.text(across + line.inset, top + 3.0, line.text, line.kind)
        if line.rule:
            page.lines(LineString([(across, top + 2.0), (across + width, top + 2.0)]), Pen(FAINT, 0.5))
    return top


def _high(block: Iterable[_CautionLine]) -> float:
    return sum(line.high for line in block)


def _columns(blocks: Sequence[list[_CautionLine]], high: float) -> tuple[list[list[_CautionLine]], ...]:
    """What stands in either column so high: as much as has room, even where all of it has."""
    ends = np.cumsum([_high(block) for block in blocks])
    even = int(np.searchsorted(ends, 0.5 * ends[-1] - 1e-6)) + 1
    first = min(even, int(np.searchsorted(ends, high, "right")))
    second = int(np.searchsorted(ends, ends[first - 1] + high, "right"))
    if second < len(blocks):  # not all has room: the first column is full too
        first = int(np.searchsorted(ends, high, "right"))
        second = int(np.searchsorted(ends, ends[first - 1] + high, "right"))
    return list(blocks[:first]), list(blocks[first:second])


def _blocks(study: Study, width: float) -> Iterator[list[_CautionLine]]:
    """The lines of each finding, kept together; a heading goes with the first of its level."""
    for level, head in HEADS.items():
        first = True
        for finding in _of(study.review, level):
            block = [_head(head, _ink(level))] if first else []
            yield [*block, *_wording(study, finding, width)]
            first = False


def _head(words: str, ink: str) -> _CautionLine:
    return _CautionLine(words, Type(HEADING + 1.0, ink, bold=True), 24.0)


def _judged(verdict: Verdict, width: float) -> list[_CautionLine]:
    """The word of one check at the left; beside it its name, what is so or lacked, and who has the last word."""
    check, small = verdict.check, Type(SMALL)
    said = f"for lack of {verdict.lack}" if verdict.word == "not checked" else check.holds
    said = "told above" if verdict.findings else said
    decides = f" (the last word: {check.decides})" if check.decides else ""
    words = wrap(f"{check.name}: {said}{decides}", small, width - JUDGED)
    lines = [_CautionLine(text, small, 10.5, JUDGED) for text in words]
    loud = verdict.word in ("stop", "look")
    word = _CautionLine(verdict.word, Type(SMALL, KEEP_OFF if verdict.word == "stop" else INK, bold=loud), 10.5)
    return [word, _up(lines[0]), *lines[1:]]


def _of(findings: Iterable[Finding], level: Level) -> list[Finding]:
    return [finding for finding in findings if finding.level == level]


def _ink(level: Level) -> str:
    return KEEP_OFF if level == "stop" else INK


def _wording(study: Study, finding: Finding, width: float) -> list[_CautionLine]:
    """Topic and text, then place and source in small type."""
    kind = Type(READ, INK, bold=finding.level == "stop")
    body = wrap(finding.text, kind, width - 58.0)
    lines = [_CautionLine(text, kind, LINE, 58.0) for text in body]
    where = [show_place(*finding.at, study.site.units)] if finding.at else []
    small = Type(SMALL, SOFT_INK)
    last = wrap("; ".join([*where, *([f"source: {finding.source}"] if finding.source else [])]), small, width - 58.0)
    lines += [_CautionLine(text, small, 10.5, 58.0) for text in last]
    lines += [_CautionLine(text, small, 16.0, 58.0) for text in CLOSED] if finding.level == "stop" else []
    lines.append(_CautionLine("", small, 8.0, rule=True))
    # The topic stands at the left of the first line: the same height, drawn without going down.
    return [_CautionLine(finding.topic, Type(SMALL, _ink(finding.level), bold=True), LINE), _up(lines[0]), *lines[1:]]


def _up(line: _CautionLine) -> _CautionLine:
    return _CautionLine(line.text, line.kind, 0.0, line.inset)
