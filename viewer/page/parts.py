"""A bed too long for one sheet in parts along its run, whatever its bends: one scale, each part turned as it fits."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from string import ascii_uppercase

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import nearest_points

from terrain.errors import InputError
from terrain.grid import Array
from terrain.shape import spine_of
from terrain.units import Units
from viewer.page.sheet import Bounds, Match, Part, Scale, Sheet, frame_on, papers, scales, turned
from viewer.page.subject import bed_sides

NARROW, WIDE = 60.0, 90.0  # points: a bed narrower than the first is split, until it is as wide as the second
SHARE = 1.0 / 3.0  # of the paper's longer side that a bed, or what a part shows of it, is long, at least
OVERLAP = 34.0  # points of the neighbour's ground that a part shows beyond a match line
AROUND, LITTLE = 1.2, 0.12  # metres of ground round the bed; of its length where it is small
MOST = 6  # parts of one bed
SHIFTS = np.array([0.0, 0.04, -0.04, 0.08, -0.08])  # of a part's run, by which a cut may go off to a narrower place
_LEANS = np.radians([0.0, 12.0, -12.0, 24.0, -24.0])  # from straight across, of the lines that may cut a bed
_SLIT = 1e-3  # metres: how wide a ring is opened where its ends meet


@dataclass(frozen=True)
class _Cut:
    """A bed cut across its run: its pieces one after another, and each line (metres) with the two that meet there."""

    pieces: tuple[BaseGeometry, ...]
    lines: tuple[tuple[LineString, tuple[int, int]], ...]


@dataclass(frozen=True)
class _Way:
    """A way to lay a cut bed on sheets: paper, scale, where each piece's window lies (metres), and how it is turned."""

    paper: str
    scale: Scale
    cut: _Cut
    windows: tuple[tuple[Bounds, float], ...]
    good: float  # how wide and how long the bed stands, against what is wanted; 1 is enough

    @property
    def turned(self) -> float:
        """Radians by which its sheets are turned, all together."""
        return sum(abs(turn) for _, turn in self.windows)


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
    if _good(whole.paper, whole.scale, (bed,), NARROW / width_of(bed)) >= 1.0:
        return (whole,)
    finer = [
        way for cut in _cuts(bed) for paper in papers(whole.units, asked) for way in _ways(cut, paper, whole, bed, foot)
    ]
    if not finer:
        return (whole,)
    best = min(finer, key=lambda way: (-min(way.good, 1.0), len(way.windows), round(way.turned, 3), -way.scale.ratio))
    return tuple(_sheets(best, whole.units, bed, foot))


def width_of(bed: Polygon) -> float:
    """How wide a bed is where it is widest, metres: across its run, whatever its bends."""
    return 2.0 * float(shapely.maximum_inscribed_circle(bed, 0.01 * math.sqrt(bed.area)).length)


def _good(paper: str, scale: Scale, pieces: Sequence[BaseGeometry], wanted: float) -> float:
    """How large pieces of a bed stand at a scale, against a share of the paper and the points to the metre wanted."""
    long = min(bed_sides(piece)[0] for piece in pieces)
    return min(long * scale.points / (SHARE * max(turned(paper))), scale.points / wanted)


def _ways(cut: _Cut, paper: str, whole: Sheet, bed: Polygon, foot: float) -> Iterator[_Way]:
    """The ways to lay a cut bed on a paper at larger scales than the whole has."""
    (left, bottom, right, top), _ = frame_on(turned(paper), foot)
    wanted, spare = WIDE / width_of(bed), min(AROUND, LITTLE * bed_sides(bed)[0])
    around = [piece.buffer(spare) for piece in cut.pieces]
    for scale in scales(whole.units):
        room = (right - left) / scale.points, (top - bottom) / scale.points
        if scale.ratio < whole.scale.ratio and (windows := _windows(cut, room, around, OVERLAP / scale.points)):
            yield _Way(paper, scale, cut, windows, _good(paper, scale, cut.pieces, wanted))


def _windows(
    cut: _Cut, room: tuple[float, float], around: Sequence[BaseGeometry], beyond: float
) -> tuple[tuple[Bounds, float], ...]:
    """A window for every piece, with so much (metres) beyond its match lines; none where one finds no room."""
    found = []
    for number, (piece, near) in enumerate(zip(cut.pieces, around, strict=True)):
        matches = [line.buffer(beyond) for line, parts in cut.lines if number in parts]
        window = _window(piece, room, shapely.union_all([near, *matches]))
        if window is None:
            return ()
        found.append(window)
    return tuple(found)


def _window(piece: BaseGeometry, room: tuple[float, float], shown: BaseGeometry) -> tuple[Bounds, float] | None:
    """A window as large as `room` (metres) that shows ground whole, and its turn: the least that lets it fit."""
    middle = piece.centroid
    for turn in _turns(piece):
        west, south, east, north = affinity.rotate(shown, -turn, middle, use_radians=True).bounds
        if east - west <= room[0] and north - south <= room[1]:
            at = affinity.rotate(Point((west + east) / 2, (south + north) / 2), turn, middle, use_radians=True)
            half = room[0] / 2.0, room[1] / 2.0
            return (at.x - half[0], at.y - half[1], at.x + half[0], at.y + half[1]), turn
    return None


def _turns(piece: BaseGeometry) -> list[float]:
    """Radians clockwise by which a sheet may be turned: not at all, north to the right, along the piece."""
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(piece))
    side = corners[1] - corners[0]
    along = math.atan2(side[1], side[0])
    quarter = 0.5 * math.pi
    lying = [math.remainder(along + k * quarter, 2.0 * math.pi) for k in range(4)]
    return [0.0, quarter, *sorted(lying, key=lambda turn: (round(abs(turn), 6), -turn))]


def _cuts(bed: Polygon) -> Iterator[_Cut]:
    """The bed whole, and cut into two to `MOST` pieces along its run."""
    yield _Cut((bed,), ())
    slits = _slits(bed)
    open_bed = _opened(bed, slits, _SLIT)
    try:
        spine = spine_of(_opened(bed, slits, 0.2 * width_of(bed)))
    except InputError:
        return
    run, stations = LineString(spine.points), spine.stations
    ends = [_leads(run, 0, open_bed), _leads(run, -1, open_bed)]
    for count in range(2, MOST + 1):
        shares = (np.arange(1, count) * (stations[-1] + sum(ends)) / count - ends[0]).clip(0.0, stations[-1])
        nearly = SHIFTS * stations[-1] / count
        tried = [[_across(open_bed, spine.across, stations, run, at) for at in share + nearly] for share in shares]
        lines = [min(some, key=lambda line: round(line.length, 2)) for some in tried]
        shares = [run.project(line.centroid) for line in lines]
        pieces = _between(open_bed, run, shares, lines)
        if all(not piece.is_empty for piece in pieces):
            meeting = [(line, (k, k + 1)) for k, line in enumerate(lines)]
            yield _Cut(tuple(pieces), (*meeting, *_met(slits, pieces)))


def _slits(bed: Polygon) -> list[LineString]:
    """Lines (metres) from every hole of a bed to the nearest other edge: opened there, a ring has two ends."""
    rings = [bed.exterior, *bed.interiors]
    others = [shapely.union_all([one for one in rings if one is not hole]) for hole in rings[1:]]
    return [LineString(nearest_points(hole, other)) for hole, other in zip(rings[1:], others, strict=True)]


def _opened(bed: Polygon, slits: Sequence[LineString], wide: float) -> Polygon:
    """A bed opened along lines, so wide (metres); without its holes where that leaves more than one body."""
    opened = bed.difference(shapely.union_all([slit.buffer(0.5 * wide, cap_style="square") for slit in slits]))
    return opened if isinstance(opened, Polygon) and not opened.interiors else Polygon(bed.exterior)


def _met(slits: Sequence[LineString], pieces: Sequence[BaseGeometry]) -> list[tuple[LineString, tuple[int, int]]]:
    """The slits at which two different pieces meet."""
    found = []
    for slit in slits:
        touching = [k for k, piece in enumerate(pieces) if piece.distance(slit.centroid) <= 2.0 * _SLIT]
        if len(touching) == 2:
            found.append((slit, (touching[0], touching[1])))
    return found


def _leads(run: LineString, end: int, bed: Polygon) -> float:
    """How far the bed goes on beyond an end of its spine, metres."""
    points = shapely.get_coordinates(run)
    way = points[end] - points[1 if end == 0 else -2]
    reach = points[end] + way / np.hypot(*way) * bed.length
    return float(_through(LineString([points[end], reach]), bed, Point(points[end])).length)


def _across(bed: Polygon, across: Array, stations: Array, run: LineString, at: float) -> LineString:
    """The shortest line through a station of the spine that cuts the bed about straight across, metres."""
    spot = run.interpolate(at)
    way = math.atan2(*(np.interp(at, stations, part) for part in (across[:, 1], across[:, 0])))
    reach = bed.length

    def cut(lean: float) -> LineString:
        east, north = reach * math.cos(way + lean), reach * math.sin(way + lean)
        ray = LineString([(spot.x - east, spot.y - north), (spot.x + east, spot.y + north)])
        return _through(ray, bed, spot)

    return min(map(cut, _LEANS), key=lambda line: line.length)


def _through(line: LineString, bed: Polygon, spot: Point) -> LineString:
    """The piece of a line inside the bed that goes through a place."""
    inside = [part for part in shapely.get_parts(line.intersection(bed)) if isinstance(part, LineString)]
    return min(inside, key=lambda part: part.distance(spot), default=LineString([spot, spot]))


def _between(bed: Polygon, run: LineString, shares: Sequence[float], lines: Sequence[LineString]) -> list[BaseGeometry]:
    """What of the bed lies between the lines that cut it, one after another along its run."""
    knives = [affinity.scale(line, 1.0 + 2e-6, 1.0 + 2e-6) for line in lines]
    edges = shapely.node(shapely.union_all([bed.exterior, *knives]))
    bodies = shapely.get_parts(shapely.polygonize(shapely.get_parts(edges)))
    inside = [body for body in bodies if bed.covers(body.representative_point())]
    part = np.searchsorted(shares, [run.project(body.representative_point()) for body in inside])
    return [shapely.union_all([inside[k] for k in np.flatnonzero(part == n)]) for n in range(len(lines) + 1)]


def _sheets(way: _Way, units: Units, bed: Polygon, foot: float) -> Iterator[Sheet]:
    size = turned(way.paper)
    frame, panels = frame_on(size, foot)
    matches = tuple(Match(ascii_uppercase[k], *line) for k, line in enumerate(way.cut.lines))
    for number, (window, turn) in enumerate(way.windows):
        part = Part(number, matches, way.cut.pieces, bed) if len(way.windows) > 1 else None  # nearer, but whole
        yield Sheet(way.paper, *size, way.scale, frame, window, panels, units, turn, part)
