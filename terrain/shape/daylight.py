"""Where the sides of a dig come out of the ground, and what stands in their way before they do."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import LineString, MultiPolygon, Polygon, box
from shapely.geometry.base import BaseGeometry

from terrain.grid import Array, Grid
from terrain.ground import Ground
from terrain.numerics import area_between

Surface = Callable[[Array], Array]  # (m,) elevations in metres at (m, 2) points

STEP = 0.08  # metres between the places where dug surface and ground are compared, less on a finer grid
SMOOTH = 0.02  # of a step: the daylight line may be straightened by this much
# A side that is still this far under the ground where it has to stop is a step that something must hold: common
# practice, no published source.
LEAST_STEP = 0.02
# Ground that changes by more than this, rise/run, across a breakline stands as a wall there.
WALL, ACROSS = 1.0, 0.1
STATION = 0.1  # metres between the places of a line that are looked at
OPEN_END = "the end of the measured ground"
# Sides stop this short of what stops them, metres: lines of the mesh that all but touch would leave slivers between
# them, and no spade cuts closer.
GAP = 0.02
CLOSE = 1e-3  # metres; a place this near to what stops a side lies on it


@dataclass(frozen=True)
class Stop:
    """Something that a dig's side may not run into: its name as a person would say it, and its ground in metres."""

    name: str
    area: BaseGeometry


@dataclass(frozen=True)
class SideStep:
    """Where a side stops short of daylight: at what, and the place and height of the highest step, metres."""

    stop: str
    at: tuple[float, float]
    height: float


def daylight(floor: Polygon, bottom: Surface, ground: Ground, start: float) -> BaseGeometry:
    """The ground round a floor that lies over the dug surface, as far as the sides run, within the measured ground.

    Parameters
    ----------
    floor
        Metres; sides rise from its edge.
    bottom
        The dug surface, floor and sides.
    start
        Width of the sides on level ground, metres: half as much again is tried first, and doubled until they come out.
    """
    grid = ground.grid
    yard = box(grid.x[0], grid.y[0], grid.x[-1], grid.y[-1])
    step, width = min(STEP, grid.cell), max(1.5 * start, 4.0 * min(STEP, grid.cell))
    while True:
        window = box(*floor.bounds).buffer(width, join_style="mitre").intersection(yard)
        if window.is_empty:
            return MultiPolygon()
        lattice = _lattice(window.bounds, step)
        under = bottom(lattice.nodes) - ground.grid.sample(ground.elevation, lattice.nodes)
        dug = area_between(lattice, under.reshape(lattice.shape), -np.inf, 0.0)
        dug = touching(shapely.simplify(dug, SMOOTH * step).intersection(window), floor)
        inner = window.exterior.difference(yard.exterior.buffer(CLOSE))
        if dug.distance(inner) > step or inner.is_empty:
            return dug
        width *= 2.0


def _lattice(bounds: tuple[float, float, float, float], step: float) -> Grid:
    """Nodes `step` apart, or four to the longer side, that cover some bounds."""
    west, south, east, north = bounds
    longer = max(east - west, north - south)
    step = min(step, longer / 4.0)
    nx, ny = (max(2, math.ceil(span / step - 1e-9) + 1) for span in (east - west, north - south))
    return Grid(west, south, step, nx, ny)


def touching(shape: BaseGeometry, floor: Polygon) -> BaseGeometry:
    """The parts of a shape that meet a floor."""
    parts = [part for part in shapely.get_parts(shape) if part.area > 0.0 and part.intersects(floor)]
    return shapely.union_all(parts)


def held_back(floor: Polygon, dug: BaseGeometry, stops: tuple[Stop, ...]) -> Polygon:
    """The ground that a dig takes: its floor, and its sides as far as nothing stops them.

    What the floor itself lies on stops nothing. Islands that the sides leave stay only where they are a stop.
    """
    near = [stop.area for stop in stops if dug.distance(stop.area) < GAP and not overlaps(stop.area, floor)]
    apart = [area.buffer(GAP, quad_segs=16) for area in near]
    free = touching(shapely.difference(_filled(dug.union(floor)), shapely.union_all(apart)), floor)
    return max(shapely.get_parts(free.union(floor)), key=lambda part: float(part.area))


def overlaps(one: BaseGeometry, other: BaseGeometry) -> bool:
    """Whether two shapes share any ground."""
    return float(one.intersection(other).area) > 0.0


def _filled(shape: BaseGeometry) -> BaseGeometry:
    """A shape without its holes: an island in a dig is too small to stand."""
    return shapely.union_all([Polygon(part.exterior) for part in shapely.get_parts(shape)])


def steps_of(rim: Polygon, bottom: Surface, ground: Ground, stops: tuple[Stop, ...]) -> tuple[SideStep, ...]:
    """The highest step at each thing that stops the sides of a dig, and at the end of the measured ground."""
    edge = shapely.get_coordinates(shapely.segmentize(rim.boundary, STEP))
    height = ground.grid.sample(ground.elevation, edge) - bottom(edge)
    edge, height = edge[height > LEAST_STEP], height[height > LEAST_STEP]
    grid = ground.grid
    end = box(grid.x[0], grid.y[0], grid.x[-1], grid.y[-1]).exterior
    found = []
    for stop in (*stops, Stop(OPEN_END, end)):
        near = shapely.distance(stop.area, shapely.points(edge)) < GAP + CLOSE
        if near.any():
            k = int(np.argmax(np.where(near, height, -np.inf)))
            found.append(SideStep(stop.name, (float(edge[k, 0]), float(edge[k, 1])), float(height[k])))
    return tuple(found)


def walls_along(breaklines: tuple[Array, ...], ground: Ground) -> Iterator[Stop]:
    """The stretches of breaklines, (n, 3) metres each, where the ground stands as a wall."""
    for number, breakline in enumerate(breaklines, start=1):
        line = LineString(breakline[:, :2])
        stations = np.arange(STATION / 2.0, line.length, STATION)
        if not len(stations):
            continue
        ahead, behind = (
            shapely.get_coordinates(shapely.line_interpolate_point(line, np.clip(stations + by, 0.0, line.length)))
            for by in (STATION / 2.0, -STATION / 2.0)
        )
        way = (ahead - behind) / np.maximum(np.hypot(*(ahead - behind).T), 1e-9)[:, None]
        aside, middle = ACROSS * np.column_stack([-way[:, 1], way[:, 0]]), (ahead + behind) / 2.0
        left, right = (ground.grid.sample(ground.elevation, middle + by) for by in (aside, -aside))
        steep = np.abs(left - right) > 2.0 * ACROSS * WALL
        if steep.any():
            pieces = shapely.linestrings(np.stack([behind[steep], ahead[steep]], axis=1))
            yield Stop(f"the wall along breakline {number}", shapely.union_all(pieces).buffer(CLOSE / 2.0))
