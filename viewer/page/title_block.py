"""The border of a sheet and the title block in it: the one place that says what, whose, when and which of how many."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from unicodedata import decomposition

from shapely.geometry import LineString, box

from terrain.site import Site
from viewer.page.lettering import HEADING, LEAST, NUMBER, SMALL, Type, fit_size, text_size, wrap
from viewer.page.page import Page, Pen
from viewer.page.palette import INK, SOFT_INK
from viewer.page.sheet import BORDER, STRIP, Sheet
from viewer.page.tongue import as_lines, as_spoken

CAUTION = "Planning drawing. Locate buried services before any dig; local code and licensed practice decide."
NO_SCALE = "words and figures"  # what stands for a scale on a sheet without a drawing

BORDER_PEN = Pen(INK, 1.4)
CELL_PEN = Pen(INK, 0.5)
FOOT_ROW = 20.0  # points at the foot of the block that the caution takes
CELL = STRIP - FOOT_ROW - 2.0  # points of height that a cell has for its lines
LEAD = 9.2  # points from line to line
CLOSE, ACCENTED = 7.4, 8.3  # where a cell has much to say, and where capitals there have accents
PAD = 5.0  # points between the edge of a cell and its words
# Right edges of the cells as shares of the width: project and sheet, scale and date, datum, people, number.
_EDGES = (0.35, 0.52, 0.70, 0.90, 1.0)
Row = tuple[str, Type, int]  # words, their type, most lines
_SOFT, _PLAIN = Type(LEAST, SOFT_INK), Type(SMALL)


@dataclass(frozen=True)
class Stamp:
    """What the title block of a sheet says besides its number; `scale` in words, `paper` its name."""

    site: Site
    title: str
    scale: str = NO_SCALE
    paper: str = ""
    caution: str = CAUTION
    day: date = field(default_factory=date.today)


def stamp(page: Page, words: Stamp) -> None:
    """Draw border and title block; the number comes when the set is whole (`numbered`)."""
    if page.part:
        return  # its sheet has the border and the block
    page.begin("title block")
    page.named(titled(words.site, words.title))
    left, right, foot, top = BORDER, page.width - BORDER, BORDER, BORDER + STRIP
    page.lines(box(left, foot, right, page.height - BORDER), BORDER_PEN)
    page.lines(LineString([(left, top), (right, top)]), BORDER_PEN)
    base = foot + FOOT_ROW
    page.lines(LineString([(left, base), (right, base)]), CELL_PEN)
    _caution(page, words.caution)
    rest = as_spoken(f"see {words.site.path.name}") if words.site.path is not None else ""
    cells = [_project(words), _scale(words), _datum(words.site), _people(words.site)]
    edges = [left, *(left + share * (right - left) for share in _EDGES)]
    for start, end, lines in zip(edges, edges[1:], cells, strict=False):
        page.lines(LineString([(end, base), (end, top)]), CELL_PEN)
        _cell(page, (start + PAD, end - PAD), top, lines, rest)


def stamp_sheet(page: Page, site: Site, title: str, sheet: Sheet, caution: str = CAUTION) -> None:
    """The same for a drawing to the scale of its sheet."""
    named = f"{title}, {sheet.part.said}" if sheet.part is not None else title
    stamp(page, Stamp(site, named, sheet.scale.text, sheet.paper, caution))
    page.named(titled(site, title))  # of the file, which holds every part


def titled(site: Site, drawing: str) -> str:
    """The title of a file: the yard, and what is drawn of it, in the language of the pages."""
    return f"{site.name}: {as_spoken(drawing)}"


def numbered(pages: Sequence[Page]) -> list[Page]:
    """The pages of one file or set, each with its number in its title block: "3 of 11"."""
    for number, page in enumerate(pages, start=1):
        right = page.width - BORDER
        wide = (_EDGES[4] - _EDGES[3]) * (right - BORDER)
        middle, top = right - wide / 2.0, BORDER + STRIP
        page.text(middle, top - 2.0 - LEAD, "sheet", _SOFT, "middle")
        strong = Type(HEADING, INK, bold=True)
        told = f"{number} of {len(pages)}"
        page.text(middle, top - 26.0, told, fit_size(told, strong, wide - 6.0, LEAST), "middle")
    return list(pages)


def _caution(page: Page, words: str) -> None:
    """The caution at the foot, in two lines at most."""
    lines = fitted(words, Type(SMALL, SOFT_INK), 2, page.width - 2 * BORDER - 2 * PAD)
    up = BORDER + 7.6 + 4.2 * (len(lines) - 1)
    for number, (line, kind) in enumerate(lines):
        page.text(BORDER + PAD, up - 8.4 * number, line, kind)


def _cell(page: Page, sides: tuple[float, float], top: float, rows: Sequence[Row], rest: str) -> None:
    """Set rows from the top down; what a cell cannot hold is to be read in `rest`."""
    left, right = sides
    lead, laid = _laid(rows, right - left)
    for words, kind, most in laid:
        for line in fitted(words, kind, most, right - left, rest):
            top -= lead
            page.text(left, top, *line)


def _laid(rows: Sequence[Row], width: float) -> tuple[float, list[Row]]:
    """Points from line to line, and the rows with as many lines as each gets there.

    Where a row would be cut or left out, all are set small and close.
    """
    needed = [len(wrap(words, replace(_small(kind), bold=False), width)) for words, kind, _ in rows]
    lines = sum(len(fitted(*row, width)) for row in rows)
    if lines <= int(CELL / LEAD) and all(need <= row[2] for need, row in zip(needed, rows, strict=True)):
        return LEAD, list(rows)
    lead = ACCENTED if any(_accented(as_spoken(words)) for words, _, _ in rows) else CLOSE
    most = _shared(needed, [row[2] for row in rows], int(CELL / lead))
    return lead, [(words, _small(kind), count) for (words, kind, _), count in zip(rows, most, strict=True)]


def _accented(words: str) -> bool:
    """Whether a capital has an accent, which stands into the line above where lines are close."""
    return any(sign.isupper() and decomposition(sign) for sign in words)


def _small(kind: Type) -> Type:
    return replace(kind, size=min(LEAST, kind.size))


def _shared(needed: Sequence[int], shares: Sequence[int], lines: int) -> list[int]:
    """Lines shared out to rows: one to each, and those to spare round and round, first to the larger shares."""
    most = [1] * len(needed)
    while short := [k for k, need in enumerate(needed) if most[k] < need and sum(most) < lines]:
        most[min(short, key=lambda k: most[k] / shares[k])] += 1
    return most


def fitted(words: str, kind: Type, most: int, width: float, rest: str = "") -> list[tuple[str, Type]]:
    """The words in so many lines at most, smaller or thinner where they must be.

    What has no room then is "...", and where it stands whole follows: `rest`.
    """
    for smaller in (kind, _small(kind), replace(_small(kind), bold=False)):
        lines = wrap(words, smaller, width)
        if len(lines) <= most and all(text_size(line, smaller)[0] <= width for line in lines):
            return [(line, smaller) for line in lines]
    kept = lines[:most]
    return [
        (_shortened(line, smaller, width, rest) if end or text_size(line, smaller)[0] > width else line, smaller)
        for line, end in zip(kept, [False] * (most - 1) + [len(lines) > most], strict=False)
    ]


def _shortened(line: str, kind: Type, width: float, rest: str) -> str:
    """A line that ends in "..." and where the rest stands, no wider than it may be."""
    end = f"... {rest}".rstrip()
    end = end if text_size(end, kind)[0] <= width else "..."
    while line and text_size(f"{line.rstrip()} {end}", kind)[0] > width:
        line = line[:-1]
    return as_lines([f"{line.rstrip()} {end}"])[0]


def _project(words: Stamp) -> list[Row]:
    site = words.site
    source = site.path.name if site.path is not None else "no site file"
    return [
        (site.name, Type(NUMBER, INK, bold=True), 2),
        (words.title, _PLAIN, 2),
        (f"{source}, run {site.run_print}", _SOFT, 1),
    ]


def _scale(words: Stamp) -> list[Row]:
    rows = [("scale and date", _SOFT, 1), (words.scale, Type(SMALL, INK, bold=True), 2)]
    if words.paper:
        rows.append((f"on {words.paper} paper", _PLAIN, 1))
    return [*rows, (f"{words.day:%Y-%m-%d}", _PLAIN, 1)]


def _datum(site: Site) -> list[Row]:
    return [("datum and benchmark", _SOFT, 1), (datum_words(site), _PLAIN, 3)]


def datum_words(site: Site) -> str:
    """What elevations are measured from, in words."""
    if site.drawing.datum:
        return site.drawing.datum
    if not site.survey.measured:
        return "none: nobody measured the ground"
    return f"that of {site.survey.file}" if site.survey.file else "that of the shots"


def _people(site: Site) -> list[Row]:
    drafting = site.drawing
    rows = [
        (f"drawn: {drafting.drawn or 'by the tool'}", _PLAIN, 1),
        (f"checked: {drafting.checked or '____________'}", _PLAIN, 1),
    ]
    if not drafting.revision:
        return [*rows, ("revision: none, first issue", _PLAIN, 2)]
    last = drafting.revision[-1]
    return [*rows, (f"revision {last.mark}, {last.date}: {last.what}", _PLAIN, 2)]
