"""A bed too long for one sheet in parts that meet at match lines, the long side of the bed along that of the paper."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from shapely.geometry import LineString, Polygon, box

from terrain.units import Units
from viewer.page.sheet import Bounds, Match, Part, Scale, Sheet, frame_on, papers, scales, turned
from viewer.page.subject import bed_sides

NARROW, WIDE = 60.0, 90.0  # points: a bed narrower than the first is split, until it is as wide as the second
SHARE = 1.0 / 3.0  # of the paper's longer side that a bed is long, at least
OVERLAP = 0.06  # of a part's length that the next one shows too, on either side of the match line
AROUND = 1.2  # metres of ground round the bed
MOST = 6  # parts of one bed
_LETTERS = "ABCDE"


@dataclass(frozen=True)
class _Way:
    """A way to lay a bed on sheets: paper, scale, whether north points right, and the windows (metres) of its parts."""

    paper: str
    scale: Scale
    turned: bool
    windows: tuple[Bounds, ...]
    good: float  # how wide and how long the bed stands, against what is wanted; 1 is enough


def in_parts(whole: Sheet, bed: Polygon, asked: str | None, foot: float) -> tuple[Sheet, ...]:
    """The sheet itself, or as many as show a bed large enough to be read.

    Parameters
    ----------
    whole
        The sheet that shows everything.
    bed
        The outline, metres.
    asked
        The only paper to take; None: those of the unit.
    foot
        Points of height for the words under the drawing where the paper stands.
    """
    if _good(whole.paper, whole.scale, bed, NARROW) >= 1.0:
        return (whole,)
    ways = sorted(
        (way for paper in papers(whole.units, asked) for way in _ways(paper, whole.units, bed, foot)),
        key=lambda way: (-min(way.good, 1.0), len(way.windows), way.turned, -way.scale.ratio),
    )
    finer = [way for way in ways if way.scale.ratio < whole.scale.ratio]
    return tuple(_sheets(finer[0], whole.units, bed, foot)) if finer else (whole,)


def _good(paper: str, scale: Scale, bed: Polygon, wide: float) -> float:
    long, short = (side * scale.points for side in bed_sides(bed))
    return min(long / (SHARE * max(turned(paper))), short / wide)


def _ways(paper: str, units: Units, bed: Polygon, foot: float) -> Iterator[_Way]:
    frame, _ = frame_on(turned(paper), foot)
    across, up = frame[2] - frame[0], frame[3] - frame[1]
    for scale in scales(units):
        room = across / scale.points, up / scale.points
        good = _good(paper, scale, bed, WIDE)
        for aside in (False, True):
            windows = _windows(bed.buffer(AROUND), room if not aside else room[::-1], aside)
            if windows:
                yield _Way(paper, scale, aside, windows, good)


def _windows(ground: Polygon, room: tuple[float, float], north: bool) -> tuple[Bounds, ...]:
    """The fewest windows as large as `room` (east, north) one after another that show ground whole; none: too many."""
    tried = (_strips(ground, room, north, count) for count in range(1, MOST + 1))
    return next((strips for strips in tried if strips), ())


def _strips(ground: Polygon, room: tuple[float, float], north: bool, count: int) -> tuple[Bounds, ...]:
    """So many windows along the ground, the first and the last at its ends; none where it is longer or wider."""
    low, high = ground.bounds[1::2] if north else ground.bounds[::2]
    long, wide = room[::-1] if north else room
    shared = OVERLAP * long if count > 1 else 0.0
    step = (high - low - shared) / count
    if step + shared > long:
        return ()
    middles = [low + shared / 2.0 + (k + 0.5) * step for k in range(count)]
    strips = [_strip(ground, middle - long / 2.0, middle + long / 2.0, wide, north) for middle in middles]
    found = tuple(strip for strip in strips if strip is not None)
    return found if len(found) == count else ()


def _strip(ground: Polygon, low: float, high: float, wide: float, north: bool) -> Bounds | None:
    """The window from low to high along its length, centred on the ground there; None where that is wider."""
    west, south, east, up = ground.bounds
    here = ground.intersection(box(west, low, east, high) if north else box(low, south, high, up))
    first, last = (here.bounds[0], here.bounds[2]) if north else (here.bounds[1], here.bounds[3])
    if last - first > wide:
        return None
    middle = (first + last) / 2.0
    side = middle - wide / 2.0, middle + wide / 2.0
    return (side[0], low, side[1], high) if north else (low, side[0], high, side[1])


def _sheets(way: _Way, units: Units, bed: Polygon, foot: float) -> Iterator[Sheet]:
    size = turned(way.paper)
    frame, panels = frame_on(size, foot)
    matches = _matches(way)
    for number, window in enumerate(way.windows):
        mine = tuple(match for match in matches if number in match.parts)
        part = Part(number, mine, way.windows, bed) if len(way.windows) > 1 else None  # nearer, but whole
        yield Sheet(way.paper, *size, way.scale, frame, window, panels, units, way.turned, part)


def _matches(way: _Way) -> list[Match]:
    """The lines at which neighbours meet: across the middle of the ground that both show."""
    found = []
    for number, (one, other) in enumerate(pairwise(way.windows)):
        if way.turned:
            up = (one[3] + other[1]) / 2.0
            line = LineString([(min(one[0], other[0]), up), (max(one[2], other[2]), up)])
        else:
            across = (one[2] + other[0]) / 2.0
            line = LineString([(across, min(one[1], other[1])), (across, max(one[3], other[3]))])
        found.append(Match(_LETTERS[number], line, (number, number + 1)))
    return found
