"""The marks round a drawing: words in blocks, legend, scale bar, north arrow. All in points."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Protocol

import shapely
from shapely.affinity import rotate
from shapely.geometry import LineString, Point, Polygon, box

from terrain.site import North
from terrain.units import unit_length
from viewer.page.lettering import BODY, HEADING, LEAST, NUMBER, SMALL, TITLE, Type, fit_size, text_size, wrap
from viewer.page.page import Page, Pen
from viewer.page.palette import FAINT, INK, SOFT_INK
from viewer.page.sheet import Bounds, Sheet, bar_length

MARK_ROOM = 24.0  # points that a note's mark takes
GAP = 14.0  # points between blocks
LEAST_NOTES = 38.0  # points: in less stand no sentences
NOTES_ROOM = 110.0  # points that a legend leaves under itself where sentences follow
NORTH = Type(HEADING, INK, bold=True, title=True)
# Names of facts and the points from line to line of a long one, and the same where they find no room so.
NAMES, TIGHT_NAMES = (Type(NUMBER, SOFT_INK), 11.0), (Type(LEAST, SOFT_INK), 8.0)
LOOSE, CLOSE = (3.0, 10.5), (0.5, 9.5)  # points between the entries of a legend, and from line to line of one

SWATCH_HATCH = Pen(SOFT_INK, 0.5)

Swatch = Callable[[Page, Bounds], None]


class Block(Protocol):
    """A block of words or marks that stands in a panel."""

    def draw(self, page: Page, left: float, top: float, width: float, room: float) -> float:
        """Draw from the upper left corner down, with `room` points of height; answer the height used, in points."""
        ...


@dataclass(frozen=True)
class TitleBlock:
    """What the sheet shows, large, with remarks; whose it is and when stands at its foot (`title_block`)."""

    title: str
    remark: str = ""
    under: str = ""

    def _named(self, width: float) -> tuple[Type, list[str]]:
        """The title's lines, smaller where it is too long for three."""
        for size in (TITLE, 14.0, 11.5, BODY):
            title = Type(size, title=True, bold=True)
            lines = wrap(self.title, title, width)
            if len(lines) <= 3:
                break
        return title, lines

    def _lines(self, width: float) -> list[tuple[str, Type, float]]:
        title, names = self._named(width)
        rows = [(line, fit_size(line, title, width, BODY), title.size * 1.18) for line in names]
        strong, small = Type(HEADING, bold=True), Type(NUMBER, SOFT_INK)
        rows += [(line, fit_size(line, strong, width, SMALL), 14.0) for line in wrap(self.under, strong, width)]
        return rows + [(line, small, 11.5) for line in wrap(self.remark, small, width)]

    def draw(self, page: Page, left: float, top: float, width: float, room: float) -> float:
        """Draw the lines from the top down."""
        used = 0.0
        for text, kind, step in self._lines(width):
            used += step
            page.text(left, top - used + 0.22 * step, text, kind)
        return used


@dataclass(frozen=True)
class FactsBlock:
    """A heading and rows of "what: figure", the figure strong."""

    heading: str
    rows: Sequence[tuple[str, str]]

    def draw(self, page: Page, left: float, top: float, width: float, room: float) -> float:
        """Draw heading, and each row over a rule; a row too long for one line takes two, a long name as many lines."""
        used, kind = _heading(page, left, top, self.heading), Type(BODY, bold=True)
        soft, step = NAMES if used + sum(self._high(row, width, *NAMES) for row in self.rows) <= room else TIGHT_NAMES
        for what, figure in self.rows:
            for number, line in enumerate(wrap(what, soft, width)):
                page.text(left, top - used - 9.5 - step * number, line, soft)
            used += self._high((what, figure), width, soft, step)
            page.text(left + width, top - used + 3.5, figure, fit_size(figure, kind, width, SMALL), "right")
            page.lines(LineString([(left, top - used), (left + width, top - used)]), Pen(FAINT, 0.4))
        return used

    def _high(self, row: tuple[str, str], width: float, soft: Type, step: float) -> float:
        """Points that a row takes with its name in a type, so many points from line to line."""
        names = wrap(row[0], soft, width)
        spare = width - text_size(names[-1], soft)[0] - 8.0
        beside = text_size(row[1], Type(BODY, bold=True))[0] <= spare
        return 13.0 + step * (len(names) - 1) + (0.0 if beside else 11.0)


@dataclass(frozen=True)
class NotesBlock:
    """A heading and sentences, each led by its mark; what finds no room is counted and is to be read in `rest_in`."""

    heading: str
    notes: Sequence[tuple[str, str]]
    rest_in: str

    def told_in(self, room: Bounds) -> int:
        """How many of the sentences stand in a room whole."""
        wide, high = room[2] - room[0], room[3] - room[1]
        return self._fitted(wide, high)[1] if high >= LEAST_NOTES else 0

    def _fitted(self, width: float, room: float) -> tuple[list[tuple[str, str]], int]:
        """The lines that find room, each with its mark, and of how many sentences they are."""
        rows: list[tuple[str, str]] = []
        most = int((room - 17.0) / 10.0)
        for count, (mark, text) in enumerate(map(_led, self.notes)):
            lines = wrap(text, Type(SMALL), width - MARK_ROOM)
            last = count == len(self.notes) - 1
            if len(rows) + len(lines) + (0 if last else 1) > most:
                left_over = len(self.notes) - count
                return [*rows, ("", f"{'and ' if rows else ''}{left_over} more in {self.rest_in}")], count
            rows += [(mark if k == 0 else "", line) for k, line in enumerate(lines)]
        return rows, len(self.notes)

    def draw(self, page: Page, left: float, top: float, width: float, room: float) -> float:
        """Draw heading and sentences; nothing where not even a line fits."""
        if room < LEAST_NOTES or not self.notes:
            return 0.0
        used = _heading(page, left, top, self.heading)
        for mark, line in self._fitted(width, room)[0]:
            used += 10.0
            page.text(left, top - used + 2.5, mark, Type(SMALL, bold=True))
            page.text(left + MARK_ROOM, top - used + 2.5, line, Type(SMALL))
        return used


def _led(note: tuple[str, str]) -> tuple[str, str]:
    """A mark and its sentence; a name too long to stand beside the sentence opens it."""
    mark, text = note
    return note if text_size(mark, Type(SMALL, bold=True))[0] <= MARK_ROOM - 3.0 else ("", f"{mark}: {text}")


@dataclass(frozen=True)
class LegendBlock:
    """What each mark on the drawing means."""

    entries: Sequence[tuple[Swatch, str]]
    heading: str = "Legend"

    def draw(self, page: Page, left: float, top: float, width: float, room: float) -> float:
        """Draw heading, swatches and texts; nothing without entries, no heading where it is empty.

        Entries that are more than the room takes stand closer together.
        """
        if not self.entries:
            return 0.0
        used = _heading(page, left, top, self.heading) if self.heading else 0.0
        rows = [(swatch, wrap(text, Type(NUMBER), width - 36.0)) for swatch, text in self.entries]
        gap, step = LOOSE if used + sum(LOOSE[0] + LOOSE[1] * len(lines) for _, lines in rows) <= room else CLOSE
        for swatch, lines in rows:
            high = gap + step * len(lines)
            middle, half = top - used - high / 2, min(5.0, high / 2 - 0.6)
            swatch(page, (left, middle - half, left + 28.0, middle + half))
            for k, line in enumerate(lines):
                page.text(left + 36.0, middle + (len(lines) / 2 - k - 0.76) * step, line, Type(NUMBER))
            used += high
        return used


@dataclass(frozen=True)
class ScaleBlock:
    """The scale in words, its bar, the north arrow beside it, and which north that is."""

    sheet: Sheet
    north: North

    def draw(self, page: Page, left: float, top: float, width: float, room: float) -> float:
        """Draw the arrow at the right, words and bar at the left."""
        spare = width - 44.0
        words = f"{self.sheet.scale.text} on {self.sheet.paper} paper"
        page.text(left, top - 14.0, words, fit_size(words, Type(BODY, bold=True), spare, SMALL))
        scale_bar(page, self.sheet, left + 3.0, top - 34.0, spare - 10.0)
        turn = self.north.turn + self.sheet.turn
        north_arrow(page, (left + width - arrow_room(50.0, turn), top - 30.0), 50.0, turn)
        lines = wrap(self.north.said, Type(SMALL, SOFT_INK), spare)
        for k, line in enumerate(lines):
            page.text(left, top - 58.0 - 9.0 * k, line, Type(SMALL, SOFT_INK))
        return 53.0 + 9.0 * len(lines)


def _heading(page: Page, left: float, top: float, text: str) -> float:
    """Set a block's heading; answer the height it takes."""
    page.text(left, top - 10.0, text, Type(HEADING, bold=True))
    return 17.0


def scale_bar(page: Page, sheet: Sheet, left: float, up: float, room: float) -> None:
    """A bar in four pieces, dark and light, marked in the site's units at its ends and its middle."""
    length = bar_length(sheet.scale, sheet.units, room - 24.0)
    quarter = length / 4 * unit_length(sheet.units) * sheet.scale.points
    for k in range(4):
        piece = box(left + k * quarter, up, left + (k + 1) * quarter, up + 5.0)
        page.area(piece, INK if k % 2 == 0 else "#ffffff")
        page.lines(piece, Pen(INK, 0.7))
    for k, text in ((0, "0"), (2, f"{length / 2:g}"), (4, f"{length:g} {sheet.units}")):
        page.text(left + k * quarter, up - 10.0, text, Type(NUMBER), anchor="middle")


def arrow_room(high: float, turn: float) -> float:
    """Points from the middle of an arrow to the edge of its column: lying on its side it takes more than upright."""
    return high * (0.34 + 0.24 * abs(math.sin(turn)))


def north_arrow(page: Page, at: tuple[float, float], high: float, turn: float, letter: Type = NORTH) -> None:
    """A leaf that points north, `high` points with the N at its head: its left half dark, its right half light.

    `turn` is where north lies, radians clockwise from up; the leaf has the colour of its letter.
    """
    across, up = at
    head, foot = up + 0.5 * high, up - 0.36 * high
    tip = head - 0.75 * letter.size - 2.5
    half, rise = 0.17 * high, tip - foot
    bulge = [(0.0, 0.0), (0.62, 0.16), (0.98, 0.36), (0.92, 0.55), (0.6, 0.76), (0.25, 0.92), (0.0, 1.0)]
    left_edge = [(across - half * out, foot + rise * share) for out, share in bulge]
    right_edge = [(across + half * out, foot + rise * share) for out, share in bulge]
    shapes = (
        Polygon(left_edge),
        Polygon(left_edge + right_edge[-2:0:-1]),
        LineString([(across, foot), (across, up - 0.5 * high)]),
        Point(across, tip + 2.5 + 0.35 * letter.size),  # the middle of the letter, which stays upright
    )
    dark, leaf, stalk, spot = (rotate(shape, -turn, at, use_radians=True) for shape in shapes)
    ink = letter.colour
    page.area(dark, ink)
    page.lines(leaf, Pen(ink, 0.9))
    page.lines(stalk, Pen(ink, 1.4))
    page.text(spot.x, spot.y - 0.35 * letter.size, "N", letter, anchor="middle")


def flow(page: Page, panels: Sequence[Bounds], columns: Sequence[Sequence[Block]]) -> list[NotesBlock]:
    """Stand the blocks in the panels, top to bottom: a column to a panel, or all columns in the only panel.

    Sentences that can be cut short come last; where only one block has some, under all columns if it says more there.
    Answers what of them found no room.
    """
    page.begin("legend and notes")
    stacks = columns if len(panels) > 1 else [[block for column in columns for block in column]]
    rooms = [_stacked(page, panel, blocks) for panel, blocks in zip(panels, stacks, strict=False)]
    heeded = [(room, _notes(blocks)) for room, blocks in zip(rooms, stacks, strict=False) if _notes(blocks)]
    left: list[NotesBlock] = []
    for own, notes in heeded:
        left += _heed(page, own if len(heeded) > 1 else _roomiest(own, rooms, notes[0]), notes)
    return left


def _heed(page: Page, room: Bounds, notes: Sequence[NotesBlock]) -> list[NotesBlock]:
    """Draw blocks of sentences under each other; answer what of them found no room."""
    left = []
    for block in notes:
        told = block.told_in(room)
        left += [replace(block, notes=block.notes[told:])] if told < len(block.notes) else []
        room = _down(page, room, [block])
    return left


def _roomiest(own: Bounds, rooms: Sequence[Bounds], block: NotesBlock) -> Bounds:
    """What is left of the block's own column, or the width under all columns, where more of it stands there."""
    under = rooms[0][0], rooms[0][1], rooms[-1][2], min(room[3] for room in rooms)
    return max((own, under), key=block.told_in)


def _notes(blocks: Sequence[Block]) -> list[NotesBlock]:
    return [block for block in blocks if isinstance(block, NotesBlock) and block.notes]


def _stacked(page: Page, panel: Bounds, blocks: Sequence[Block]) -> Bounds:
    """Draw what is no sentence, the legend with room under it for what to heed; answer the room that is left."""
    for block in (block for block in blocks if not isinstance(block, NotesBlock)):
        kept = NOTES_ROOM if isinstance(block, LegendBlock) and _notes(blocks) else 0.0
        left, bottom, right, _ = panel
        _, _, _, top = _down(page, (left, bottom + kept, *panel[2:]), [block])
        panel = left, bottom, right, top
    return panel


def _down(page: Page, room: Bounds, blocks: Sequence[Block]) -> Bounds:
    """Draw blocks under each other; answer the room that is left."""
    left, bottom, right, top = room
    for block in blocks:
        used = block.draw(page, left, top, right - left, top - bottom)
        top -= used + GAP if used else 0.0
    return left, bottom, right, top


def frame_line(page: Page, sheet: Sheet) -> None:
    """The thin edge of the drawing."""
    page.begin("frame")
    page.lines(sheet.room, Pen(FAINT, 0.8))


def line_swatch(pen: Pen) -> Swatch:
    """A short piece of a line."""

    def draw(page: Page, bounds: Bounds) -> None:
        middle = (bounds[1] + bounds[3]) / 2
        page.lines(LineString([(bounds[0], middle), (bounds[2], middle)]), pen)

    return draw


def area_swatch(
    colour: str,
    edge: Pen | None = None,
    lines: Callable[[Polygon], shapely.Geometry] | None = None,
    hatch_pen: Pen = SWATCH_HATCH,
) -> Swatch:
    """A small patch of a tint, with its edge and its hatch."""

    def draw(page: Page, bounds: Bounds) -> None:
        patch = box(*bounds)
        page.area(patch, colour)
        if lines is not None:
            page.lines(lines(patch), hatch_pen)
        if edge is not None:
            page.lines(patch, edge)

    return draw
