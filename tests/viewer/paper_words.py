"""The words of a PDF as pdfium finds them on the paper: each with the turned box of its letters and its size; and the
hatches under them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from ctypes import c_float, c_int, c_uint
from dataclasses import dataclass, field
from itertools import groupby
from pathlib import Path

import numpy as np
import pypdfium2 as pdfium
import pypdfium2.raw as raw
import shapely
from shapely.geometry import LineString, Polygon

TOUCH = 0.8  # square points: letters of one line set in two types may meet by as much
JOINED = 0.45  # of the size: by so much at most joined letters (ff, fi) and their neighbours share paper
SMALLEST = 7.0
CUT = ("...", "…")  # how a text ends that found no room
FEWEST = 5  # parallel lines that make a hatch
GROUND = 0.5  # opacity from which an area hides what lies under it
EDGE = 0.6  # points at the edge of a word's box that its letters hardly fill


@dataclass(frozen=True)
class PaperWord:
    """Some letters in one type: text, the four corners of their box in points, their size, how high they stand.

    `place` is when they were drawn among all marks of the page.
    """

    text: str
    box: Polygon
    size: float
    level: float
    place: int = 0


@dataclass
class PaperPage:
    """Words, grounds that hide what lies under them (when each was drawn, its area), lines of hatches (likewise)."""

    words: list[PaperWord] = field(default_factory=list)
    grounds: list[tuple[int, Polygon]] = field(default_factory=list)
    hatched: list[tuple[int, LineString]] = field(default_factory=list)


@dataclass(frozen=True)
class _Stroke:
    """A straight line of two points: when it was drawn, the line, its colour and its direction, radians below pi."""

    place: int
    line: LineString
    colour: tuple[int, ...]
    way: float


def words_of(page: pdfium.PdfPage) -> list[PaperWord]:
    """Every piece of text of a page."""
    return read_page(page).words


def read_page(page: pdfium.PdfPage) -> PaperPage:
    """All that the judgements below need of a page."""
    found, strokes, letters = PaperPage(), [], page.get_textpage()
    for place, piece in enumerate(page.get_objects()):
        if piece.type == raw.FPDF_PAGEOBJ_TEXT:
            found.words += _word(piece, letters, place)
        elif piece.type == raw.FPDF_PAGEOBJ_PATH:
            stroke = _stroke(piece.raw, place)
            strokes += [stroke] if stroke else []
            found.grounds += [] if stroke else [(place, area) for area in _filled(piece.raw)]
        elif piece.type == raw.FPDF_PAGEOBJ_IMAGE:
            found.grounds.append((place, shapely.box(*piece.get_bounds())))
    found.hatched += _hatches(strokes)
    return found


def _word(piece: pdfium.PdfObject, letters: pdfium.PdfTextPage, place: int) -> Iterator[PaperWord]:
    count = raw.FPDFTextObj_GetText(piece.raw, letters.raw, None, 0)
    buffer = (raw.c_ushort * (count // 2 + 1))()
    raw.FPDFTextObj_GetText(piece.raw, letters.raw, buffer, count)
    text = bytes(buffer).decode("utf-16-le").split("\0")[0].strip()
    if text:
        size = c_float()
        raw.FPDFTextObj_GetFontSize(piece.raw, size)
        yield PaperWord(text, Polygon(piece.get_quad_points()), size.value, round(piece.get_matrix().f, 1), place)


def _points(path: raw.FPDF_PAGEOBJECT) -> list[tuple[float, float]]:
    found = []
    for k in range(raw.FPDFPath_CountSegments(path)):
        x, y = c_float(), c_float()
        raw.FPDFPathSegment_GetPoint(raw.FPDFPath_GetPathSegment(path, k), x, y)
        found.append((x.value, y.value))
    return found


def _stroke(path: raw.FPDF_PAGEOBJECT, place: int) -> _Stroke | None:
    """The straight line that a path is; None where it is anything else."""
    if raw.FPDFPath_CountSegments(path) != 2:
        return None
    (x, y), (right, up) = _points(path)
    rgba = [c_uint() for _ in range(4)]
    raw.FPDFPageObj_GetStrokeColor(path, *rgba)
    way = float(np.mod(np.arctan2(up - y, right - x), np.pi))
    return _Stroke(place, LineString([(x, y), (right, up)]), tuple(one.value for one in rgba), way)


def _filled(path: raw.FPDF_PAGEOBJECT) -> list[Polygon]:
    """The area that a path fills so that nothing shows through, holes filled too; none where it fills none."""
    how, stroked, rgba = c_int(), c_int(), [c_uint() for _ in range(4)]
    raw.FPDFPath_GetDrawMode(path, how, stroked)
    raw.FPDFPageObj_GetFillColor(path, *rgba)
    if how.value == raw.FPDF_FILLMODE_NONE or rgba[3].value < GROUND * 255:
        return []
    corners = _points(path)
    return [Polygon(corners).buffer(0)] if len(corners) > 3 else []


def _hatches(strokes: Sequence[_Stroke]) -> Iterator[tuple[int, LineString]]:
    """The lines of every run of parallel lines in one colour, drawn without anything between."""

    def run(numbered: tuple[int, _Stroke]) -> tuple[object, ...]:
        number, stroke = numbered
        return stroke.place - number, stroke.colour, round(np.mod(stroke.way + 0.02, np.pi), 1)

    for _, lines in groupby(enumerate(strokes), key=run):
        found = [(stroke.place, stroke.line) for _, stroke in lines]
        if len(found) >= FEWEST:
            yield from found


def faults_of(path: Path, border: float) -> list[str]:
    """What a reader would stumble over: words over the border, cut, too small, on each other, on a hatch."""
    found: list[str] = []
    with pdfium.PdfDocument(path) as book:
        for number, sheet in enumerate(book, start=1):
            page, (wide, high) = read_page(sheet), sheet.get_size()
            paper = shapely.box(border, border, wide - border, high - border)
            said = [*_alone(page.words, paper), *_on_each_other(page.words), *_on_hatches(page)]
            found += [f"{path.name} page {number}: {fault}" for fault in said]
    return found


def _alone(words: Sequence[PaperWord], paper: Polygon) -> Iterator[str]:
    for word in words:
        if not paper.covers(word.box):
            yield f"{word.text!r} runs out"
        if word.size < SMALLEST - 0.01:
            yield f"{word.text!r} is {word.size:.1f} pt"
        if word.text.endswith(CUT):
            yield f"{word.text!r} is cut"


def _on_each_other(words: Sequence[PaperWord]) -> Iterator[str]:
    boxes = [word.box for word in words]
    for a, b in shapely.STRtree(boxes).query(boxes, predicate="intersects").T.tolist():
        if a < b and _collide(words[a], words[b]):
            yield f"{words[a].text!r} lies on {words[b].text!r}"


def _collide(one: PaperWord, other: PaperWord) -> bool:
    """Whether two pieces lie on each other: more than letters that are joined, and set in two pieces for it, do."""
    shared = one.box.intersection(other.box)
    left, bottom, right, top = shared.bounds if not shared.is_empty else (0.0, 0.0, 0.0, 0.0)
    joined = min(right - left, top - bottom) < JOINED * min(one.size, other.size) and one.level == other.level
    return shared.area > TOUCH and not joined


def _on_hatches(page: PaperPage) -> Iterator[str]:
    """Words with a line of a hatch through their letters and no ground between."""
    lines = shapely.STRtree([line for _, line in page.hatched])
    for word in page.words:
        letters = word.box.buffer(-EDGE, join_style="mitre")
        under = [page.hatched[k] for k in lines.query(letters, predicate="intersects").tolist()]
        for drawn, line in under:
            through = line.intersection(letters).length > 1.0 and drawn < word.place
            if through and not any(drawn < at < word.place and area.covers(letters) for at, area in page.grounds):
                yield f"{word.text!r} stands on a hatch"
                break
