"""Streams: the bed of each, cut into the finished surface of the mound and into the ground where it runs out of it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, partial

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from terrain.grid import Array, frozen
from terrain.ground import Ground
from terrain.limits import STEEPEST_TREAD
from terrain.numerics import StationFrame
from terrain.shape.bed_line import Steps, even_bed, proposed_steps
from terrain.shape.daylight import Stop, daylight, held_back, steps_of
from terrain.shape.digs import STATION_STEP, Dig
from terrain.shape.long_section import BedDrop, LongSection, PoolBed
from terrain.site import PoolReach, Stream, pool_reaches

# The face of a drop leans back by this share of its height, as laid stone does (1 in 6), and by no less than this
# length: two lines of the mesh any nearer would leave slivers between them.
FACE_LEAN, LEAST_FACE = 1.0 / 6.0, 0.02
BANK_STEPS = 4  # places between the edge of the bed and the top of its bank where the ground is looked at
_CLOSE = 1e-9  # metres; what rounding leaves of one station


@dataclass(frozen=True)
class StreamBed:
    """One stream as cut.

    Parameters
    ----------
    dig
        Its floor, its rim and the surface between.
    section
        Along its line.
    wet
        Ground that water may cover: bed and pools, metres.
    edges
        Lines besides floor and rim at which the surface bends or steps: faces of drops, edges of pools.
    """

    dig: Dig
    section: LongSection
    wet: Polygon
    edges: tuple[BaseGeometry, ...]


@dataclass(frozen=True)
class _Course:
    """A stream's line as a frame, the stations at which its bed is worked out, its drops and its pools."""

    stream: Stream
    frame: StationFrame
    stations: Array
    steps: Steps
    reaches: tuple[PoolReach, ...]

    @cached_property
    def half(self) -> Array:
        """(m,) half the width of bed or pool at each station, metres."""
        return self.half_beside(0.0)

    def half_beside(self, out: float) -> Array:
        """(m,) half the width at each station of what lies within `out` metres of bed or pools."""
        half = np.full(len(self.stations), self.stream.width / 2.0 + out)
        for reach in self.reaches:
            middle, long = (reach.start + reach.end) / 2.0, (reach.end - reach.start) / 2.0 + out
            chord = np.sqrt(np.maximum(0.0, 1.0 - ((self.stations - middle) / long) ** 2))
            half = np.maximum(half, (reach.pool.width / 2.0 + out) * chord)
        return half

    @property
    def level(self) -> tuple[tuple[float, float], ...]:
        """Stretches that are level."""
        return tuple((reach.start, reach.end) for reach in self.reaches)

    @property
    def faces(self) -> Array:
        """(d,) run of each drop's face, metres."""
        return np.maximum(FACE_LEAN * self.steps.heights, LEAST_FACE)


def stream_bed(stream: Stream, finished: Ground, existing: Ground, stops: tuple[Stop, ...]) -> StreamBed:
    """The bed of one stream.

    Parameters
    ----------
    stream
        As the site file has it.
    finished
        The finished ground without streams and digs.
    existing
        The ground that is there.
    stops
        What its sides may not run into.

    Notes
    -----
    Its bed is the highest one whose treads fall evenly and that lies `depth` or more under the ground on either side
    (`even_bed`), so that where it crosses a face the lower bank counts.
    """
    course = _course(stream, lambda one: _lower_bank(one, finished))
    left, right = _levels_beside(course, finished).min(axis=1)
    bed = _bed(course, np.minimum(left, right))
    section = _section(course, bed, (left, right), existing)
    return _cut(course, section, finished, stops)


def low_banks(stream: Stream, finished: Ground, most: Ground) -> Array:
    """Where the ground beside a stream lies too low for a bed no deeper than asked, and how high it should stand.

    Parameters
    ----------
    stream
        As the site file has it.
    finished
        The finished ground without streams.
    most
        The highest ground that the limits of the mound allow.

    Returns
    -------
    array
        (k, 3) east, north and the elevation of the bank's top there, metres.

    Notes
    -----
    The bed may then lie `depth` under the ground on its own line, where that is no higher than both sides taken
    together: on a face, across which the ground falls, soil from nowhere else need be dug.
    """
    course = _course(stream, lambda one: _evened_bank(one, finished, most))
    top = _bed(course, _evened_bank(course, finished, most)) + stream.depth
    found = []
    for spots, levels in zip(_beside(course), _levels_beside(course, finished), strict=True):
        short = levels < top
        height = np.broadcast_to(top, levels.shape)[short]
        found.append(np.column_stack([spots.reshape(*levels.shape, 2)[short], height]))
    return np.vstack(found)


def _bed(course: _Course, bank: Array) -> Array:
    """(m,) the highest bed that lies its depth or more under a bank's elevation, metres."""
    stream = course.stream
    steepest = STEEPEST_TREAD.value if stream.drops is None else np.inf
    return even_bed(course.stations, bank - stream.depth, course.level, course.steps, steepest)


def _course(stream: Stream, bank: Callable[[_Course], Array]) -> _Course:
    """The course of a stream; `bank` tells the elevation at its stations that proposed drops keep under."""
    frame = StationFrame(np.array(stream.line))
    count = max(2, int(frame.length / STATION_STEP) + 1)
    plain = np.linspace(0.0, frame.length, count)
    if stream.drops is not None:
        order = sorted((_station(frame, drop.x, drop.y), drop.height) for drop in stream.drops)
        steps = Steps(np.array([at for at, _ in order]), np.array([height for _, height in order]))
    else:
        level = bank(_Course(stream, frame, plain, Steps(np.empty(0), np.empty(0)), ()))
        pools = [(reach.start, reach.end) for reach in pool_reaches(stream, ())]
        steps = proposed_steps(plain, level - stream.depth, stream.highest_drop, pools)
    reaches = pool_reaches(stream, tuple(steps.stations.tolist()))
    course = _Course(stream, frame, plain, steps, reaches)
    feet = steps.stations + course.faces
    ends = [end for reach in reaches for end in (reach.start, reach.end)]
    stations = np.unique(np.clip(np.concatenate([plain, ends, frame.starts]), 0.0, frame.length))
    on_face = (stations[:, None] >= steps.stations - _CLOSE) & (stations[:, None] <= feet + _CLOSE)
    stations = np.sort(np.concatenate([stations[~on_face.any(axis=1)], steps.stations, feet]))
    return replace(course, stations=stations)


def _station(frame: StationFrame, east: float, north: float) -> float:
    return float(LineString(frame.corners).project(Point(east, north)))


def _beside(course: _Course) -> Array:
    """(2, k m, 2) places from the edge of bed or pool to where its bank's top stands, left, then right."""
    top = course.half_beside(course.stream.depth / course.stream.side_slope)
    away = np.concatenate(
        [course.half + share * (top - course.half) for share in np.linspace(0.0, 1.0, BANK_STEPS + 1)]
    )
    stations = np.tile(course.stations, BANK_STEPS + 1)
    return np.stack([course.frame.beside(stations, side * away) for side in (1.0, -1.0)])


def _levels_beside(course: _Course, ground: Ground) -> Array:
    """(2, k, m) ground at the k places beside each station, left, then right, metres."""
    levels = ground.grid.sample(ground.elevation, _beside(course).reshape(-1, 2))
    levels = levels.reshape(2, BANK_STEPS + 1, len(course.stations))
    for reach in course.reaches:
        _lower_round_pool(course, reach, ground, levels[:, -1])
    return levels


def _lower_round_pool(course: _Course, reach: PoolReach, ground: Ground, tops: Array) -> None:
    """Lower the (2, m) tops of the banks to the ground all round a pool: in a bend it does not lie along the line."""
    out = course.stream.depth / course.stream.side_slope
    ring = shapely.get_coordinates(shapely.segmentize(_pool_shape(course, reach).buffer(out).exterior, STATION_STEP))
    line = LineString(course.stream.line)
    ring = ring[shapely.distance(line, shapely.points(ring)) > course.stream.width / 2.0 + out]
    at = course.frame.stations(ring)
    ahead = course.frame.places(at + 1e-3) - course.frame.places(at)
    away = ring - course.frame.places(at)
    side = np.where(ahead[:, 0] * away[:, 1] > ahead[:, 1] * away[:, 0], 0, 1)
    nearest = np.abs(course.stations[None, :] - at[:, None]).argmin(axis=1)
    np.minimum.at(tops, (side, nearest), ground.grid.sample(ground.elevation, ring))


def _lower_bank(course: _Course, finished: Ground) -> Array:
    """(m,) lowest finished ground beside each station, metres."""
    return np.asarray(_levels_beside(course, finished).min(axis=(0, 1)))


def _evened_bank(course: _Course, finished: Ground, most: Ground) -> Array:
    """(m,) where the lower bank would stand, raised to the ground on the line as far as the limits let it, metres."""
    levels = _levels_beside(course, finished)
    line = finished.grid.sample(finished.elevation, course.frame.places(course.stations))
    wished = np.minimum(line, levels.mean(axis=0).min(axis=0))
    allowed = np.minimum(wished, _levels_beside(course, most).min(axis=(0, 1)))
    return np.asarray(np.maximum(allowed, levels.min(axis=(0, 1))))


def _section(course: _Course, bed: Array, banks: tuple[Array, Array], existing: Ground) -> LongSection:
    """The long section of a bed with its banks."""
    stream, stations, places = course.stream, course.stations, course.frame.places(course.stations)
    ground = existing.grid.sample(existing.elevation, places)

    def at(values: Array, station: float) -> float:
        return float(np.interp(station, stations, values))

    def place(station: float) -> tuple[float, float]:
        east, north = course.frame.places(np.array([station]))[0]
        return float(east), float(north)

    drops = tuple(
        BedDrop(float(s), place(s), at(bed, s), at(bed, s) - float(height), at(ground, s))
        for s, height in zip(course.steps.stations, course.steps.heights, strict=True)
    )
    pools = tuple(
        PoolBed(
            start=reach.start,
            end=reach.end,
            at=place((reach.start + reach.end) / 2.0),
            sill=at(bed, reach.end),
            floor=at(bed, reach.end) - reach.pool.depth,
            area=float(_pool_shape(course, reach).area),
            existing=at(ground, reach.end),
        )
        for reach in course.reaches
    )
    return LongSection(
        name=stream.name,
        basin=stream.basin,
        stations=frozen(stations),
        places=frozen(places),
        bed=frozen(bed),
        left=frozen(banks[0]),
        right=frozen(banks[1]),
        existing=frozen(ground),
        width=stream.width,
        side_slope=stream.side_slope,
        edge=stream.edge,
        roughness=stream.roughness,
        drops=drops,
        pools=pools,
        proposed=stream.drops is None,
    )


def _pool_shape(course: _Course, reach: PoolReach, inset: float = 0.0) -> Polygon:
    """The still water of a pool, or what lies `inset` metres inside its edge: an ellipse along the stream."""
    middle = np.array([(reach.start + reach.end) / 2.0])
    (east, north), ahead = course.frame.places(middle)[0], course.frame.places(middle + 1e-3)[0]
    turn = float(np.arctan2(ahead[1] - north, ahead[0] - east))
    round_one = Point(east, north).buffer(1.0, quad_segs=16)
    long, wide = reach.pool.length / 2.0 - inset, reach.pool.width / 2.0 - inset
    return affinity.rotate(affinity.scale(round_one, long, wide), turn, origin=(east, north), use_radians=True)


@dataclass(frozen=True)
class _Pit:
    """The hollow of a pool: its floor in plan, that floor's elevation, and the station from which it is dug."""

    floor: Polygon
    elevation: float
    start: float


def _pits(course: _Course, section: LongSection) -> tuple[_Pit, ...]:
    found = []
    for reach, pool in zip(course.reaches, section.pools, strict=True):
        inset = (pool.sill - pool.floor) / section.side_slope
        at_drop = np.abs(course.steps.stations - reach.start) < _CLOSE
        start = reach.start + float(course.faces[at_drop].sum())
        found.append(_Pit(_pool_shape(course, reach, inset), pool.floor, start))
    return tuple(found)


def _cut(course: _Course, section: LongSection, finished: Ground, stops: tuple[Stop, ...]) -> StreamBed:
    """The bed as a dig into the finished ground."""
    line, slope = LineString(course.stream.line), section.side_slope
    run = line.buffer(section.width / 2.0, cap_style="flat", join_style="round", quad_segs=16)
    pits = _pits(course, section)
    pools = [_pool_shape(course, reach) for reach in course.reaches]
    floor = Polygon(shapely.union_all([run, *pools]).exterior)
    bottom = partial(_bed_surface, course, section, run, pits)
    start = float(section.bank.max()) / slope
    rim = held_back(floor, daylight(floor, bottom, finished, start), stops)
    # On rising ground the sides run on: as far as the rim's corner that is farthest from the line, and a little more.
    across = _faces(course, float(shapely.hausdorff_distance(rim.exterior, line)) + LEAST_FACE)
    edges = [run.exterior, *(pool.exterior for pool in pools), *(pit.floor.exterior for pit in pits), *across]
    inside = tuple(part for part in (edge.intersection(rim) for edge in edges) if not part.is_empty)
    return StreamBed(
        Dig(section.name, floor, rim, bottom, steps_of(rim, bottom, finished, stops)), section, floor, inside
    )


def _bed_surface(
    course: _Course, section: LongSection, run: BaseGeometry, pits: Sequence[_Pit], points: Array
) -> Array:
    """(m,) elevation of a stream's bed, its pools and its sides, as if they went on up for ever."""
    spots, at = shapely.points(points), course.frame.stations(points)
    level = np.interp(at, section.stations, section.bed) + section.side_slope * shapely.distance(run, spots)
    for pit in pits:
        hollow = pit.elevation + section.side_slope * shapely.distance(pit.floor, spots)
        level = np.where(at >= pit.start - _CLOSE, np.minimum(level, hollow), level)
    return np.asarray(level)


def _faces(course: _Course, reach: float) -> list[LineString]:
    """Top and foot of each drop's face, as lines across that go `reach` metres to either side."""
    stations = np.concatenate([course.steps.stations, course.steps.stations + course.faces])
    away = np.full(len(stations), reach)
    ends = np.stack([course.frame.beside(stations, away), course.frame.beside(stations, -away)], axis=1)
    return [LineString(pair) for pair in ends]


def proposed_drops(stream: Stream, section: LongSection) -> tuple[BedDrop, ...]:
    """The drops that a stream would have if none were stated, from its long section."""
    level = [(pool.start, pool.end) for pool in section.pools]
    cap = np.minimum(section.left, section.right) - stream.depth
    steps = proposed_steps(section.stations, cap, stream.highest_drop, level)
    found = []
    for station, height in zip(steps.stations, steps.heights, strict=True):
        east, north, sill, ground = (
            float(np.interp(station, section.stations, values))
            for values in (section.places[:, 0], section.places[:, 1], section.bed, section.existing)
        )
        found.append(BedDrop(float(station), (east, north), sill, sill - float(height), ground))
    return tuple(found)
