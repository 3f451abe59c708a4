"""Match lines on the paper, the words along them, and the small key of which part a sheet shows."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import LineString, Point, Polygon, box
from shapely.geometry.base import BaseGeometry

from terrain.site import North
from viewer.page.lettering import HEADING, NUMBER, Type, text_size
from viewer.page.marks import arrow_room, north_arrow
from viewer.page.page import Page, Pen, cut_gaps
from viewer.page.palette import INK, PAPER, SOFT_INK, SOIL
from viewer.page.sheet import Match, Part, Sheet

MATCH_PEN = Pen(INK, 2.0, (18.0, 5.0))  # 0.7 mm, heavy long dashes
_KIND = Type(NUMBER, INK, bold=True)
_SHORT = 50.0  # points that a match line goes on where the bed comes again, at most; half way there where that is less
_KEY, _ARROW = 86.0, 40.0  # points of height of the key, at most; of width that its arrow takes


def draw_matches(page: Page, sheet: Sheet) -> None:
    """The match lines of a part with their words, each on paper of its own."""
    page.begin("match lines")
    for line, words, text, middle, turn in _laid(sheet):
        page.lines(cut_gaps([line], [words]), MATCH_PEN)
        page.area(words, PAPER, 0.85)
        page.text(*middle, text, _KIND, "centre", turn)


def match_ground(sheet: Sheet) -> list[Polygon]:
    """The paper that match lines and their words take: no other word may stand there."""
    return [shape for line, words, *_ in _laid(sheet) for shape in (line.buffer(3.0), words)]


def _laid(sheet: Sheet) -> Iterator[tuple[LineString, Polygon, str, tuple[float, float], float]]:
    """Each match line on the paper, the box of its words, these, their middle, and the degrees they are turned."""
    part = sheet.part
    if part is None:
        return
    for match in part.matches:
        line, cut = _drawn(sheet, part, match)
        text = _words(match, part)
        wide, high = text_size(text, _KIND)
        start, end = shapely.get_coordinates(line)[[0, -1]]
        ends = shapely.get_coordinates(cut)
        if np.hypot(*(end - ends[-1])) > np.hypot(*(start - ends[0])):
            start, end = end, start  # the words stand beyond the bed, where its own words are few
        way = (end - start) / np.hypot(*(end - start))
        middle = start + (0.5 * wide + 10.0 + high) * way
        flat = box(middle[0] - wide / 2 - 3.0, middle[1] - high, middle[0] + wide / 2 + 3.0, middle[1] + high)
        turn = math.degrees(math.atan2(way[1], way[0]))
        turn -= 180.0 * math.floor((turn + 89.999) / 180.0)  # never upside down
        words = affinity.rotate(flat, turn, origin=tuple(middle))
        yield line, words, text, (float(middle[0]), float(middle[1])), turn


def _drawn(sheet: Sheet, part: Part, match: Match) -> tuple[LineString, LineString]:
    """A match line on the paper, on to the frame unless the bed comes again before it; and its cut through the bed."""
    bed, cut = sheet.shape(part.bed.exterior), sheet.shape(match.line)
    first, last = shapely.get_coordinates(cut)[[0, -1]]
    way = (last - first) / np.hypot(*(last - first))
    ends = []
    for spot, out in ((first, -way), (last, way)):
        beyond = LineString([spot + out, spot + sum(sheet.room.bounds[2:]) * out]).intersection(sheet.room)
        again = beyond.intersection(bed)
        if not again.is_empty:
            beyond = LineString([spot, spot + min(0.5 * again.distance(Point(spot)), _SHORT) * out])
        ends.append(shapely.get_coordinates(beyond)[-1])
    return LineString([ends[0], ends[1]]), cut


def _words(match: Match, part: Part) -> str:
    other = next(number for number in match.parts if number != part.number)
    return f"MATCH LINE {match.letter}, see part {other + 1}"


@dataclass(frozen=True)
class PartKey:
    """A small plan of the bed with all its parts, the one that the sheet shows dark; nothing for a whole.

    It lies as the survey does on every sheet, however this one is turned, with a north arrow of its own.
    """

    sheet: Sheet
    north: North

    def draw(self, page: Page, left: float, top: float, width: float, room: float) -> float:
        """Draw heading and key; answer the height used."""
        part = self.sheet.part
        if part is None:
            return 0.0
        page.text(left, top - 10.0, f"Key: {part.said}", Type(HEADING, bold=True))
        west, south, east, north = part.bed.bounds
        size = min((width - _ARROW) / (east - west), _KEY / (north - south))
        lift = top - 20.0 - size * (north - south)

        def laid(shape: BaseGeometry) -> BaseGeometry:
            placing = [size, 0.0, 0.0, size, left + 2.0 - size * west, lift - size * south]
            return affinity.affine_transform(shape, placing)

        for number, piece in enumerate(part.pieces):
            page.area(laid(piece), SOFT_INK if number == part.number else SOIL)
        page.lines(laid(part.bed.boundary), Pen(INK, 0.8))
        page.lines([laid(match.line) for match in part.all_matches], Pen(INK, 1.6))
        for number, piece in enumerate(part.pieces):
            spot = laid(piece.representative_point())
            label, kind = str(number + 1), Type(NUMBER, INK, bold=number == part.number)
            wide, high = text_size(label, kind)
            disc = spot.buffer(0.5 * max(wide, high) + 2.0)
            page.area(disc, PAPER)
            page.lines(disc.exterior, Pen(INK, 1.2 if number == part.number else 0.5))
            page.text(spot.x, spot.y, label, kind, "centre")
        high = max(size * (north - south), 34.0)
        north_arrow(page, (left + width - arrow_room(34.0, self.north.turn), top - 37.0), 34.0, self.north.turn, _KIND)
        return float(24.0 + high)
