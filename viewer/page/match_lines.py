"""Match lines on the paper, the words along them, and the small key of which part a sheet shows."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import LineString, Polygon, box

from viewer.page.lettering import HEADING, NUMBER, Type, text_size
from viewer.page.page import Page, Pen, cut_gaps
from viewer.page.palette import INK, PAPER, SOFT_INK, SOIL
from viewer.page.sheet import Match, Part, Sheet

MATCH_PEN = Pen(INK, 2.0, (18.0, 5.0))  # 0.7 mm, heavy long dashes
_KIND = Type(NUMBER, INK, bold=True)
_KEY = 86.0  # points of height of the key, at most


def draw_matches(page: Page, sheet: Sheet) -> None:
    """The match lines of a part with their words, each on paper of its own."""
    page.begin("match lines")
    for line, words, text, middle in _laid(sheet):
        page.lines(cut_gaps([line], [words]), MATCH_PEN)
        page.area(words, PAPER, 0.85)
        turn = 90.0 if abs(line.coords[-1][0] - line.coords[0][0]) < 1.0 else 0.0
        page.text(*middle, text, _KIND, "centre", turn)


def match_ground(sheet: Sheet) -> list[Polygon]:
    """The paper that match lines and their words take: no other word may stand there."""
    return [shape for line, words, _, _ in _laid(sheet) for shape in (line.buffer(3.0), words)]


def _laid(sheet: Sheet) -> Iterator[tuple[LineString, Polygon, str, tuple[float, float]]]:
    """Each match line on the paper, the box of its words, these, and their middle."""
    part = sheet.part
    for match in part.matches if part is not None else ():
        line = _across(sheet, match)
        text = _words(match, part)
        wide, high = text_size(text, _KIND)
        start, end = shapely.get_coordinates(line)[[0, -1]]
        way = (end - start) / np.hypot(*(end - start))
        # Near one end, where the bed's own words are few.
        middle = start + (0.5 * wide + 10.0) * way
        flat = box(middle[0] - wide / 2 - 3.0, middle[1] - high, middle[0] + wide / 2 + 3.0, middle[1] + high)
        words = affinity.rotate(flat, 90.0 if abs(way[0]) < 0.5 else 0.0, origin=tuple(middle))
        yield line, words, text, (float(middle[0]), float(middle[1]))


def _across(sheet: Sheet, match: Match) -> LineString:
    """A match line from edge to edge of the frame."""
    (x, y), (far_x, far_y) = shapely.get_coordinates(sheet.shape(match.line))[[0, -1]]
    left, bottom, right, top = sheet.frame
    if abs(far_x - x) < abs(far_y - y):
        return LineString([(x, bottom), (x, top)])
    return LineString([(left, y), (right, y)])


def _words(match: Match, part: Part | None) -> str:
    other = next(number for number in match.parts if part is None or number != part.number)
    return f"MATCH LINE {match.letter}, see part {other + 1}"


@dataclass(frozen=True)
class PartKey:
    """A small plan of the bed with the windows of all parts, the one that the sheet shows dark; nothing for a whole."""

    sheet: Sheet

    def draw(self, page: Page, left: float, top: float, width: float, room: float) -> float:
        """Draw heading and key; answer the height used."""
        part = self.sheet.part
        if part is None:
            return 0.0
        page.text(left, top - 10.0, f"Key: {part.said}", Type(HEADING, bold=True))
        windows = [self._turned(box(*window)) for window in part.windows]
        west, south, east, north = shapely.union_all(windows).bounds
        size = min(width / (east - west), _KEY / (north - south))
        lift = top - 18.0 - size * (north - south)

        def laid(shape: Polygon) -> Polygon:
            placing = [size, 0.0, 0.0, size, left - size * west, lift - size * south]
            return affinity.affine_transform(shape, placing)

        for number, window in enumerate(windows):
            mine = number == part.number
            if mine:
                page.area(laid(window), SOFT_INK, 0.25)
            page.lines(laid(window), Pen(INK, 1.6 if mine else 0.6))
        bed = laid(self._turned(part.bed))
        page.area(bed, SOIL)
        page.lines(bed, Pen(INK, 0.8))
        for number, window in enumerate(windows):
            spot = laid(window).centroid
            label, kind = str(number + 1), Type(NUMBER, INK, bold=number == part.number)
            wide, high = text_size(label, kind)
            page.area(spot.buffer(0.5 * max(wide, high) + 2.0), PAPER)
            page.text(spot.x, spot.y, label, kind, "centre")
        return float(18.0 + size * (north - south))

    def _turned(self, shape: Polygon) -> Polygon:
        """Ground as it lies on the sheet, in metres."""
        return affinity.affine_transform(shape, [0.0, 1.0, -1.0, 0.0, 0.0, 0.0]) if self.sheet.aside else shape
