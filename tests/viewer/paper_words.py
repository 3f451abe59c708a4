"""The words of a PDF as pdfium finds them on the paper: each with the turned box of its letters and its size."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pypdfium2 as pdfium
import pypdfium2.raw as raw
import shapely
from shapely.geometry import Polygon

TOUCH = 0.8  # square points: letters of one line set in two types may meet by as much
JOINED = 0.45  # of the size: by so much at most joined letters (ff, fi) and their neighbours share paper
SMALLEST = 7.0


@dataclass(frozen=True)
class PaperWord:
    """Some letters in one type: text, the four corners of their box in points, their size, how high they stand."""

    text: str
    box: Polygon
    size: float
    level: float


def words_of(page: pdfium.PdfPage) -> Iterator[PaperWord]:
    """Every piece of text of a page."""
    letters = page.get_textpage()
    for piece in page.get_objects(filter=[raw.FPDF_PAGEOBJ_TEXT]):
        count = raw.FPDFTextObj_GetText(piece.raw, letters.raw, None, 0)
        buffer = (raw.c_ushort * (count // 2 + 1))()
        raw.FPDFTextObj_GetText(piece.raw, letters.raw, buffer, count)
        text = bytes(buffer).decode("utf-16-le").split("\0")[0].strip()
        if text:
            corners = piece.get_quad_points()
            size = raw.c_float()
            raw.FPDFTextObj_GetFontSize(piece.raw, size)
            yield PaperWord(text, Polygon(corners), size.value, round(piece.get_matrix().f, 1))


def faults_of(path: Path, border: float) -> list[str]:
    """What a reader would stumble over on any page: words over the border, on each other, or too small."""
    found: list[str] = []
    with pdfium.PdfDocument(path) as book:
        for number, page in enumerate(book, start=1):
            where = f"{path.name} page {number}"
            words = list(words_of(page))
            wide, high = page.get_size()
            paper = shapely.box(border, border, wide - border, high - border)
            found += [f"{where}: {word.text!r} runs out" for word in words if not paper.covers(word.box)]
            found += [f"{where}: {word.text!r} is {word.size:.1f} pt" for word in words if word.size < SMALLEST - 0.01]
            boxes = [word.box for word in words]
            pairs = shapely.STRtree(boxes).query(boxes, predicate="intersects").T
            found += [
                f"{where}: {words[a].text!r} lies on {words[b].text!r}"
                for a, b in pairs.tolist()
                if a < b and _collide(words[a], words[b])
            ]
    return found


def _collide(one: PaperWord, other: PaperWord) -> bool:
    """Whether two pieces lie on each other: more than letters that are joined, and set in two pieces for it, do."""
    shared = one.box.intersection(other.box)
    left, bottom, right, top = shared.bounds if not shared.is_empty else (0.0, 0.0, 0.0, 0.0)
    joined = min(right - left, top - bottom) < JOINED * min(one.size, other.size) and one.level == other.level
    return shared.area > TOUCH and not joined
