"""What lies on the ground once a yard is built, as pictures show it: water in pools, stone in basins, and boulders."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from terrain.grid import Array, Mask
from terrain.numerics import StationFrame
from terrain.shape import BATTER, LongSection
from terrain.site import Stream
from terrain.soil import Wall, walls
from terrain.waterworks import key_stone, stream_materials
from viewer.page import Subject
from viewer.pictures.solids import boulder

STONE = "#a39c90"
CLOSE = 0.95  # of a stone's size: how far apart two in a row stand
SUNK = 0.15  # of a stone's size: how deep the middle of one beside the water lies in its bank
LIP = 0.02  # metres of water over the stone of a step


@dataclass(frozen=True)
class _Laid:
    """A stone: its middle (x, y, elevation) and its size, metres."""

    at: tuple[float, float, float]
    size: float


def filled_basins(subject: Subject) -> BaseGeometry:
    """Ground in plan of the buried basins that streams end in; metres."""
    ends = {stream.basin for stream in subject.site.stream}
    return shapely.union_all([dig.rim for dig in subject.proposal.digs if dig.name in ends])


def as_built(subject: Subject) -> Array:
    """(ny, nx) the surface that is seen, metres: the finished ground, level water in pools, basins full of stone."""
    grid, seen = subject.ground.grid, np.array(subject.proposal.elevation)
    flat = seen.ravel()
    for stream, bed in zip(subject.site.stream, subject.proposal.streams, strict=True):
        section, frame = bed.section, StationFrame(np.array(stream.line))
        inside = np.flatnonzero(_within(bed.wet, grid.nodes))
        still = np.interp(frame.stations(grid.nodes[inside]), section.stations, section.bed)
        flat[inside] = np.maximum(flat[inside], still)
        for dig in subject.proposal.digs:
            if dig.name == section.basin:
                hollow = np.flatnonzero(_within(dig.rim, grid.nodes))
                ground = subject.ground.elevation.ravel()[hollow]
                flat[hollow] = np.maximum(flat[hollow], np.minimum(ground, section.bed[-1]))
    return seen


def boulders(subject: Subject) -> Iterator[Array]:
    """The stones of walls and streams, triangles (n, 3, 3) each, in survey coordinates."""
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


def _within(area: BaseGeometry, places: Array) -> Mask:
    """(m,) whether each place lies in an area."""
    shapely.prepare(area)
    return np.asarray(shapely.contains_xy(area, places[:, 0], places[:, 1]))
