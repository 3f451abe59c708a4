"""The sheet a drawing goes on: paper, round scale, and which ground it shows. Everything in points on the paper."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon, box
from shapely.geometry.base import BaseGeometry

from terrain.errors import InputError
from terrain.grid import Array
from terrain.numerics import overlap
from terrain.papers import NAMED, PAPERS as PAPERS, Scale as Scale, scales as scales, turned as turned
from terrain.units import Units, as_written, unit_length

MARGIN = 26.0  # points between the edge of the paper and the words
BORDER = 18.0  # points of bare paper that printers need: the border stands there
STRIP = 59.0  # points of height of the title block, at the foot of every sheet
FLOOR = BORDER + STRIP + 5.0  # points: nothing of a drawing stands lower
SIDE_PANEL = 196.0  # width of the words beside a wide drawing
FOOT_PANEL = 212.0  # height of the words below a tall drawing, at least
SPARE = 24.0  # points of ground beyond what must show, above and below
LEAST_FRAME = 0.55  # height of a tall page's drawing over its width, at least
READABLE_BED = (270.0, 110.0)  # points: a bed shorter or narrower than this on paper has no room for its numbers

Bounds = tuple[float, float, float, float]


def paper_named(text: str) -> str:
    """The name of a paper as drawings write it, however it is spelled; `InputError` lists those there are."""
    found = next((name for name in NAMED if name.lower() == text.strip().lower()), None)
    if found is None:
        raise InputError("--paper", f"{as_written(text)} is not a paper.", f"Accepted: {', '.join(NAMED)}.")
    return found


def papers(units: Units, asked: str | None = None) -> tuple[str, ...]:
    """Names of the papers to choose from, smallest first; only the one that is asked for."""
    return tuple(name for name, _, _ in PAPERS[units]) if asked is None else (asked,)


def page_of_words(units: Units, asked: str | None = None) -> tuple[float, float]:
    """Width and height in points of pages of words: letter or A4, whichever goes with the paper of the drawings."""
    series: Units = units if asked is None else "m" if asked.startswith("A") else "ft"
    _, wide, high = PAPERS[series][0]
    return wide, high


@dataclass(frozen=True)
class Match:
    """A match line: its letter, where it lies (metres), and the two parts, by their numbers from 0, that meet there."""

    letter: str
    line: LineString
    parts: tuple[int, int]


@dataclass(frozen=True)
class Part:
    """Which part of a drawing a sheet shows: its number from 0, all match lines, the pieces of the bed, and the bed."""

    number: int
    all_matches: tuple[Match, ...]
    pieces: tuple[BaseGeometry, ...]
    bed: Polygon

    @property
    def matches(self) -> tuple[Match, ...]:
        """The lines at which this part meets others."""
        return tuple(match for match in self.all_matches if self.number in match.parts)

    @property
    def said(self) -> str:
        """Which part this is, in words."""
        return f"part {self.number + 1} of {len(self.pieces)}"


@dataclass(frozen=True)
class Sheet:
    """A sheet laid out.

    Parameters
    ----------
    paper, width, height
        Name of the paper and its size in points, as turned.
    scale
        The scale of the drawing.
    frame
        Left, bottom, right, top of the drawing on the paper, points.
    window
        The ground inside the frame: west, south, east, north in metres, survey coordinates; turned about its middle.
    panels
        Rectangles (left, bottom, right, top) for words, in reading order.
    units
        The units that numbers are shown in.
    turn
        How far the survey's y is turned from up on the paper, radians clockwise.
    part
        Which part of the drawing this is; None: the whole.
    """

    paper: str
    width: float
    height: float
    scale: Scale
    frame: Bounds
    window: Bounds
    panels: tuple[Bounds, ...]
    units: Units
    turn: float = 0.0
    part: Part | None = None

    @property
    def _axes(self) -> Array:
        """(2, 2): directions on the ground times this are directions on the paper."""
        across, up = math.cos(self.turn), math.sin(self.turn)
        return np.array([[across, -up], [up, across]])

    @property
    def _middles(self) -> tuple[Array, Array]:
        """The middle of the window (metres), and of the frame (points)."""
        window, frame = np.reshape(self.window, (2, 2)), np.reshape(self.frame, (2, 2))
        return window.mean(axis=0), frame.mean(axis=0)

    def ways(self, ways: Array) -> Array:
        """Directions on the ground (n, 2) as directions on the paper."""
        on_paper: Array = np.asarray(ways, dtype=float) @ self._axes
        return on_paper

    def points(self, places: Array) -> Array:
        """Ground places (n, 2) in metres as points on the paper."""
        # By their distance from the window's middle, so that large coordinates lose nothing.
        ground, paper = self._middles
        return self.scale.points * self.ways(np.asarray(places, dtype=float) - ground) + paper

    def ground(self, places: Array) -> Array:
        """Points on the paper (n, 2) as ground places in metres."""
        ground, paper = self._middles
        back: Array = (np.asarray(places, dtype=float) - paper) / self.scale.points @ self._axes.T + ground
        return back

    def shape(self, geometry: BaseGeometry) -> BaseGeometry:
        """Ground geometry on the paper, not clipped."""
        return shapely.transform(geometry, self.points)

    @property
    def alone(self) -> Sheet:
        """The same drawing without paper and words round it: the frame is the page."""
        left, bottom, right, top = self.frame
        wide, high = right - left, top - bottom
        return replace(self, width=wide, height=high, frame=(0.0, 0.0, wide, high), panels=())

    @property
    def room(self) -> Polygon:
        """The frame as an area."""
        return box(*self.frame)

    def clipped(self, geometry: BaseGeometry) -> BaseGeometry:
        """Ground geometry on the paper, cut at the frame."""
        return overlap(self.shape(geometry), self.room)


def lay_out(
    need: Bounds,
    bed: tuple[float, float],
    units: Units,
    asked: str | None = None,
    between: Sequence[Scale] = (),
    foot: float = FOOT_PANEL,
) -> Sheet:
    """Choose paper and scale, so that the needed ground fits and the bed is large enough to read.

    Parameters
    ----------
    need
        West, south, east, north of the ground that must show, metres.
    bed
        Longer and shorter side of the bed, metres.
    units
        "ft" takes letter or tabloid, "m" takes A4 or A3.
    asked
        A key of `NAMED` to take in place of these.
    between
        Scales that may be taken beside `scales`, where a drawing would else need larger paper.
    foot
        Points of height for the words under the drawing where the paper stands.

    The smaller paper is taken when the bed can be read on it; the larger one when that brings a larger scale. Each
    paper lies or stands one way (`turned`), so that a set does too.
    """
    best: Sheet | None = None
    for name in papers(units, asked):
        steps = sorted((*scales(units), *between), key=lambda step: step.ratio)
        here = _fit((name, foot), need, units, steps)
        if best is None or here.scale.ratio < best.scale.ratio:
            best = here
        if all(side * best.scale.points >= least for side, least in zip(bed, READABLE_BED, strict=True)):
            break
    assert best is not None
    return best


def _fit(paper: tuple[str, float], need: Bounds, units: Units, steps: Sequence[Scale]) -> Sheet:
    """The largest of some scales at which the needed ground fits on one paper (name, height of its words)."""
    (name, foot), size = paper, turned(paper[0])
    frame, _ = frame_on(size, foot)
    wide, high = frame[2] - frame[0], frame[3] - frame[1]
    ground = need[2] - need[0], need[3] - need[1]
    scale = next((s for s in steps if ground[0] * s.points <= wide and ground[1] * s.points <= high), steps[-1])
    frame, panels = frame_on(size, foot, max(ground[1] * scale.points + SPARE, LEAST_FRAME * wide))
    half = wide / scale.points / 2, (frame[3] - frame[1]) / scale.points / 2
    middle = (need[0] + need[2]) / 2, (need[1] + need[3]) / 2
    window = middle[0] - half[0], middle[1] - half[1], middle[0] + half[0], middle[1] + half[1]
    return Sheet(name, size[0], size[1], scale, frame, window, panels, units)


def frame_on(size: tuple[float, float], least: float, most: float = math.inf) -> tuple[Bounds, tuple[Bounds, ...]]:
    """Where the drawing and the words go: words beside it on a wide page, below it in columns on a tall one.

    On a tall page the words take `least` points of height at least and the drawing `most` at most.
    """
    wide, high = size
    left, right, top, bottom = MARGIN, wide - MARGIN, high - MARGIN, FLOOR
    if wide > high:
        edge = right - SIDE_PANEL
        return (left, bottom, edge - 16.0, top), ((edge, bottom, right, top),)
    foot = max(bottom + least + 14.0, top - most)
    gap = 18.0
    column = (right - left - 2 * gap) / 3
    starts = [left + k * (column + gap) for k in range(3)]
    panels = tuple((start, bottom, start + column, foot - 14.0) for start in starts)
    return (left, foot, right, top), panels


def bar_length(scale: Scale, units: Units, room: float) -> float:
    """Length of the scale bar in the site's units: the longest of 1, 2, 4 times a power of ten within `room` points."""
    unit = unit_length(units) * scale.points
    rounds = [base * 10.0**power for power in range(-1, 4) for base in (1.0, 2.0, 4.0)]
    return max((length for length in rounds if length * unit <= room), default=rounds[0])
