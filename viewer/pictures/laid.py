"""What lies on the ground once a yard is built, as pictures show it: water in pools, stone in basins, and boulders."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import substring

from terrain.grid import Array
from terrain.numerics import StationFrame, overlap
from terrain.shape import BATTER, LongSection
from terrain.site import Stream
from terrain.soil import Wall, walls
from terrain.waterworks import key_stone, stream_materials
from viewer.page import Subject
from viewer.still import GRAVEL, WATER, StillBody, boulder, sheet

CLOSE = 0.95  # of a stone's size: how far apart two in a row stand
SUNK = 0.15  # of a stone's size: how deep the middle of one beside the water lies in its bank
LIP = 0.02  # metres of water over the stone of a step
FILM = 0.005  # metres: still water and stone lie this far under the edge that holds them


@dataclass(frozen=True)
class _Laid:
    """A stone: its middle (x, y, elevation) and its size, metres."""

    at: tuple[float, float, float]
    size: float


def filled_basins(subject: Subject) -> BaseGeometry:
    """Ground in plan of the buried basins that streams end in; metres."""
    ends = {stream.basin for stream in subject.site.stream}
    return shapely.union_all([dig.rim for dig in subject.proposal.digs if dig.name in ends])


def level_sheets(subject: Subject) -> Iterator[StillBody]:
    """Still water level with the sill of each pool, and the top of the stone that fills a basin; survey coordinates."""
    ground = subject.ground
    for bed in subject.proposal.streams:
        section = bed.section
        line = LineString(section.places)
        for pool in section.pools:
            reach = substring(line, pool.start, pool.end).buffer(2.0 * np.sqrt(pool.area), cap_style="flat")
            yield replace(sheet(overlap(bed.wet, reach), pool.sill - FILM), kind=WATER, casts=False)
        for dig in subject.proposal.digs:
            if dig.name == section.basin:
                rim = shapely.get_coordinates(shapely.segmentize(dig.rim.exterior, 0.1))
                level = min(float(ground.grid.sample(ground.elevation, rim).min()), float(section.bed[-1])) - FILM
                yield replace(sheet(dig.rim, level), kind=GRAVEL, casts=False)


def boulders(subject: Subject) -> Iterator[StillBody]:
    """The stones of walls and streams, in survey coordinates."""
    for number, stone in enumerate((*_of_walls(subject), *_of_streams(subject))):
        yield boulder(stone.at, stone.size, number)


def _of_walls(subject: Subject) -> Iterator[_Laid]:
    """Course by course, the upper ones set back."""
    grid, ground = subject.ground.grid, subject.ground.elevation
    for wall in walls(subject.site):
        for k, course in enumerate(wall.courses):
            lean = (len(wall.courses) - 1 - k) * BATTER * course.size
            places = _row(wall, course.length, course.count, wall.drain + course.size / 2.0 + lean)
            for (east, north), level in zip(places, grid.sample(ground, places), strict=True):
                yield _Laid((float(east), float(north), float(level) + course.foot + course.size / 2.0), course.size)


def _row(wall: Wall, length: float, count: int, out: float) -> Array:
    """(count, 2) places along the middle of a wall's line, `out` metres before it on the low side."""
    first = (wall.line.length - length) / 2.0
    stations = first + (np.arange(count) + 0.5) / count * length
    frame = StationFrame(shapely.get_coordinates(wall.line))
    return frame.beside(stations, np.full(count, -out))


def _of_streams(subject: Subject) -> Iterator[_Laid]:
    """The stones on both banks, and those of every step."""
    bought = stream_materials(subject.site, subject.proposal)
    for stream, bed, materials in zip(subject.site.stream, subject.proposal.streams, bought, strict=True):
        size = next(stones.size for stones in materials.rocks.stones if stones.what == "edges")
        yield from _edges(subject, bed.wet, size)
        yield from _steps(stream, bed.section)


def _edges(subject: Subject, wet: Polygon, size: float) -> Iterator[_Laid]:
    """Half sunk in the banks along the water, but where it falls into its basin and where the stones of a wall are."""
    taken = shapely.union_all([filled_basins(subject), *(wall.line.buffer(wall.size) for wall in walls(subject.site))])
    ring = wet.buffer(size / 2.0).exterior.difference(taken)
    grid, elevation = subject.ground.grid, subject.proposal.elevation
    for part in shapely.get_parts(shapely.line_merge(ring)):
        count = int(part.length / (CLOSE * size))
        if count == 0:
            continue
        shares = (np.arange(count) + 0.5) / count
        places = shapely.get_coordinates(shapely.line_interpolate_point(part, shares, normalized=True))
        for (east, north), level in zip(places, grid.sample(elevation, places), strict=True):
            yield _Laid((float(east), float(north), float(level) - SUNK * size), size)


def _steps(stream: Stream, section: LongSection) -> Iterator[_Laid]:
    """Side by side across the lip of every step, a little under its water."""
    frame = StationFrame(np.array(stream.line))
    for drop in section.drops:
        size = key_stone(drop.height)
        count = max(1, round(stream.width / size))
        away = (np.arange(count) - (count - 1) / 2.0) * size
        for east, north in frame.beside(np.full(count, drop.station), np.asarray(away, dtype=np.float64)):
            yield _Laid((float(east), float(north), drop.sill - LIP - size / 2.0), size)
