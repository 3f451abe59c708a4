"""Digs: basins and channels cut into the existing ground.

A dig takes no soil fill; its edge holds the berm back as a keep-clear area does. Its spoil is counted by the earthwork.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LineString, Point, Polygon

from terrain.errors import InputError
from terrain.grid import Array, Mask
from terrain.ground import Ground
from terrain.shape.daylight import SideStep, Stop, Surface, daylight, held_back, overlaps, steps_of, walls_along
from terrain.shape.retained import retained_edges, stone_holds
from terrain.shape.worked import Hold, holds_of
from terrain.site import Basin, Channel, Site, basin_outline

# A channel's bed falls at least this much along its line, rise/run, where the ground does not fall faster: a flat bed
# holds water. GSA Facilities Standards P100 (2003) sec. 2.5 asks 1 % of grassed swales.
LEAST_FALL = 0.01
STATION_STEP = 0.05  # metres between the stations at which a channel's bed is worked out
BEYOND = 1e3  # metres; further than any dig reaches over a lot line


@dataclass(frozen=True)
class Dig:
    """One dig.

    Parameters
    ----------
    name
        As the site file names it.
    floor
        Level or falling bottom, metres in plan.
    rim
        Ground that the dig takes: the floor, and its sides up to where they meet the ground; metres in plan.
    bottom
        Elevation of the dug surface at (m, 2) points, floor and sides, as if it went on up for ever; metres.
    steps
        Where something stops a side before it meets the ground, and how high the ground stands there.
    """

    name: str
    floor: Polygon
    rim: Polygon
    bottom: Surface
    steps: tuple[SideStep, ...]

    def dug(self, points: Array, existing: Array) -> Array:
        """(m,) elevation after the dig: the lower of ground and dug surface inside the rim, ground elsewhere."""
        shapely.prepare(self.rim)
        inside = shapely.contains_xy(self.rim, points[:, 0], points[:, 1])
        result = existing.copy()
        if inside.any():
            result[inside] = np.minimum(existing[inside], self.bottom(points[inside]))
        return result


def digs_of(site: Site, ground: Ground) -> tuple[Dig, ...]:
    """All digs of a site, basins first."""
    stops = stops_of(site, ground) if site.basin or site.channel else ()
    return (
        *(_basin(basin, ground, stops) for basin in site.basin),
        *(_channel(channel, ground, stops) for channel in site.channel),
    )


def stops_of(site: Site, ground: Ground) -> tuple[Stop, ...]:
    """All that the side of a dig may not run into: ground that takes no cut, stones, walls, and other people's land."""
    stops = [Stop(hold.name, hold.area) for hold in holds_of(site, ground.grid.cell / 2.0)]
    stops += [Stop(hold.name, hold.area) for hold in stone_holds(retained_edges(site))]
    stops += walls_along(site.survey.breaklines, ground)
    if site.boundary is not None:
        beyond = site.boundary.buffer(BEYOND).difference(site.boundary)
        stops.append(Stop("the lot line", beyond))
    return tuple(stops)


def _dig(name: str, floor: Polygon, bottom: Surface, start: float, ground: Ground, stops: tuple[Stop, ...]) -> Dig:
    """The dig with this floor and dug surface; `start` is the width of its sides on level ground, metres."""
    rim = held_back(floor, daylight(floor, bottom, ground, start), stops)
    return Dig(name, floor, rim, bottom, steps_of(rim, bottom, ground, stops))


def _basin(basin: Basin, ground: Ground, stops: tuple[Stop, ...]) -> Dig:
    """A pit round a unit: its floor is level, `depth` under the lowest ground along the unit's edge."""
    unit = basin_outline(basin)
    if unit is None:
        raise InputError(f'[[basin]] "{basin.name}"', "has no place.", "Give its outline, or its center and size.")
    floor = _polygon(unit.buffer(basin.clearance, join_style="mitre"))
    along = ground.grid.sample(ground.elevation, shapely.get_coordinates(shapely.segmentize(floor.exterior, 0.1)))
    level = float(along.min()) - basin.depth
    room = (float(along.max()) - level) / basin.side_slope
    return _dig(basin.name, floor, partial(_pit, floor, level, basin.side_slope), room, ground, stops)


# The surface of a dig is a function of this file with its measures given, so that a yard can go to another process.
def _pit(floor: Polygon, level: float, slope: float, points: Array) -> Array:
    """(m,) elevation of a pit with a level floor."""
    return np.asarray(level + slope * shapely.distance(floor, shapely.points(points)))


def channel_bed(channel: Channel, ground: Ground) -> tuple[Array, Array]:
    """Stations along a channel's line and its bed elevation there, metres; the bed never rises along the line.

    At every station the bed lies at least `depth` under the ground (less over the last `taper`) and no higher than it
    lay before, less the least fall; where the ground drops the bed drops with it. At each of the channel's own drops it
    steps down by the drop's height, and runs on from there at the least fall until it meets the bed that the ground
    asks for.
    """
    line = LineString(channel.line)
    stations = np.linspace(0.0, line.length, max(2, int(line.length / STATION_STEP) + 1))
    places = shapely.get_coordinates(shapely.line_interpolate_point(line, stations))
    left = line.length - stations
    share = np.minimum(1.0, left / channel.taper) if channel.taper > 0.0 else 1.0
    wished = ground.grid.sample(ground.elevation, places) - channel.depth * share
    bed = np.minimum.accumulate(wished + LEAST_FALL * stations) - LEAST_FALL * stations
    for at, height in sorted((line.project(Point(drop.x, drop.y)), drop.height) for drop in channel.drops):
        below = stations > at
        foot = float(np.interp(at, stations, bed)) - height
        bed[below] = np.minimum(bed[below], foot - LEAST_FALL * (stations[below] - at))
    return stations, bed


def _channel(channel: Channel, ground: Ground, stops: tuple[Stop, ...]) -> Dig:
    line = LineString(channel.line)
    stations, bed = channel_bed(channel, ground)
    floor = _polygon(line.buffer(channel.width / 2.0, cap_style="flat", join_style="round", quad_segs=16))
    room = channel.depth / channel.side_slope
    return _dig(
        channel.name, floor, partial(_ditch, line, stations, bed, floor, channel.side_slope), room, ground, stops
    )


def _ditch(line: LineString, stations: Array, bed: Array, floor: Polygon, slope: float, points: Array) -> Array:
    """(m,) elevation of a ditch whose bed follows stations along a line."""
    spots = shapely.points(points)
    at = np.interp(shapely.line_locate_point(line, spots), stations, bed)
    return np.asarray(at + slope * shapely.distance(floor, spots))


def _polygon(shape: Polygon) -> Polygon:
    """The outer ring alone: a ring-shaped line would leave an island too small to stand."""
    return Polygon(shape.exterior)


def check_digs(digs: tuple[Dig, ...], holds: tuple[Hold, ...]) -> None:
    """Refuse a dig whose floor reaches into ground that takes no cut. Digs may meet: a channel often ends in a basin.

    Sides stop there (`terrain.shape.daylight`), and the review says what must hold the ground.

    Raises
    ------
    InputError
        Naming both, and what to move.
    """
    for dig in digs:
        for hold in holds:
            if overlaps(dig.floor, hold.area):
                raise InputError(
                    f'the dig of "{dig.name}"',
                    f"reaches into {hold.name}, which takes no cut.",
                    "Move it or make it smaller.",
                )


def dug_out(digs: tuple[Dig, ...], points: Array, existing: Array) -> Array:
    """(m,) elevation at (m, 2) points after all digs, metres."""
    for dig in digs:
        existing = dig.dug(points, existing)
    return existing


def dug_triangles(digs: tuple[Dig, ...], points: Array, triangles: NDArray[np.int64]) -> Mask | None:
    """(m,) whether each triangle lies in the ground of a dig; None without digs."""
    if not digs:
        return None
    middle = points[triangles].mean(axis=1)
    inside = np.zeros(len(triangles), dtype=bool)
    for dig in digs:
        inside |= shapely.contains_xy(dig.rim, middle[:, 0], middle[:, 1])
    return inside
