"""Where somebody stands and looks at the bed: the places that the site file names, or plain ones that are invented."""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Point, Polygon

from terrain.grid import Array
from terrain.ground import Ground
from terrain.site import Building, Site
from viewer.page import long_axis

EYE = 1.6  # metres over the ground: somebody who stands
WINDOW_EYE = 1.5  # metres over a floor: somebody who stands at a window
LEAST_TRUNK = 0.1  # metres: a trunk hides what lies within this of its middle, a wall what a sight crosses for as long
ROOM = 0.4  # metres that somebody needs beside a wall or a trunk
ALIKE = 0.05  # shares of the bed in sight that are as good as each other
LEAST_STREET, LEAST_PATH = 6.0, 3.0  # metres from the bed to the invented street and path


@dataclass(frozen=True)
class Standpoint:
    """A place to look from.

    Parameters
    ----------
    name
        In plain words.
    at
        Metres, survey coordinates.
    eye
        Height of the eyes over the ground there, metres.
    invented
        True where the site file names no place and this one stands in.
    """

    name: str
    at: tuple[float, float]
    eye: float
    invented: bool = False

    @property
    def stem(self) -> str:
        """The name as part of a file's name."""
        return re.sub(r"[^a-z0-9]+", "_", self.name.lower()).strip("_") or "place"


def standpoints(site: Site, ground: Ground) -> tuple[Standpoint, ...]:
    """The places of `[[view_from]]`; where there are none, a window of the nearest house, the street and a path.

    The street lies on the side of the bed away from that window (where there is no house, off the bed's broad side to
    the south-west), the path a quarter turn from it on the western or southern side; all are invented, outside walls
    and trunks, and where of the places near by the least of the bed is hidden.
    """
    if site.view_from:
        return tuple(Standpoint(view.name, view.at, view.eye) for view in site.view_from)
    bed = site.bed.outline
    axis, length = long_axis(bed)
    found = []
    house = min(site.building, key=lambda one: one.outline.distance(bed), default=None)
    across = np.array([-axis[1], axis[0]])
    front = -across if float(across @ [1.0, 1.0]) >= 0.0 else across
    if house is not None:
        found.append(_window(house, site, ground))
        away = np.array(bed.centroid.coords[0]) - np.array(found[0].at)
        front = away / np.hypot(*away) if np.any(away) else front
    side = np.array([-front[1], front[0]])
    side = -side if float(side @ [1.0, 1.0]) > 0.0 else side
    found.append(Standpoint("street", _off(site, front, max(0.7 * length, LEAST_STREET)), EYE, True))
    found.append(Standpoint("path", _off(site, side, max(0.3 * length, LEAST_PATH)), EYE, True))
    return tuple(found)


def clear_of(site: Site, at: tuple[float, float], targets: Array) -> float:
    """Share of places (n, 2) that somebody at a place sees past the trunks and houses of a yard, 0 to 1."""
    sights = shapely.linestrings(np.stack([np.broadcast_to(at, targets.shape), targets], axis=1))
    blocked = np.zeros(len(targets), dtype=bool)
    for tree in site.tree:
        blocked |= shapely.distance(sights, Point(tree.at)) < max(tree.trunk / 2.0, tree.flare, LEAST_TRUNK)
    for house in site.building:
        # A window stands in its own wall, which hides nothing.
        blocked |= shapely.length(shapely.intersection(sights, house.outline)) > LEAST_TRUNK
    return 1.0 - float(blocked.mean())


def bed_places(bed: Polygon) -> Array:
    """(n, 2) places over a bed, and along its edge."""
    west, south, east, north = bed.bounds
    x, y = np.meshgrid(np.linspace(west, east, 12), np.linspace(south, north, 12))
    lattice = np.column_stack([x.ravel(), y.ravel()])
    edge = shapely.get_coordinates(shapely.segmentize(bed.exterior, max(bed.length / 40.0, 1e-3)))
    return np.vstack([lattice[shapely.contains_xy(bed, *lattice.T)], edge])


def _window(house: Building, site: Site, ground: Ground) -> Standpoint:
    """The place on a house's wall from which trunks hide least of the bed, the nearest of those that come near it."""
    bed = site.bed.outline
    wall = shapely.get_coordinates(shapely.segmentize(house.outline.exterior, 0.5))
    targets = bed_places(bed)
    seen = np.array([clear_of(site, (float(x), float(y)), targets) for x, y in wall])
    best = wall[int(np.lexsort((shapely.distance(shapely.points(wall), bed), -np.round(seen / ALIKE)))[0])]
    level = float(ground.grid.sample(ground.elevation, best[None])[0])
    floor = level if house.floor is None else max(house.floor, level)
    name = house.name if "window" in house.name.lower() else f"{house.name} window"
    return Standpoint(name, (float(best[0]), float(best[1])), floor - level + WINDOW_EYE, True)


def _off(site: Site, way: Array, away: float) -> tuple[float, float]:
    """A place off the bed's middle: beyond its edge by `away` metres in the unit direction `way`, or a little beside.

    Of the places beside it the one from which most of the bed is seen, the nearest of those that come near it.
    """
    bed = site.bed.outline
    middle = np.array(bed.centroid.coords[0])
    reach = float(((shapely.get_coordinates(bed) - middle) @ way).max())
    across = np.array([-way[1], way[0]])
    steps = [0.0, *(sign * step for step in np.linspace(0.1, 0.6, 6) for sign in (1.0, -1.0))]
    spots = np.array([middle + (reach + away) * way + step * away * across for step in steps])
    solid = [house.outline.buffer(ROOM) for house in site.building]
    solid += [Point(tree.at).buffer(max(tree.flare, tree.trunk / 2.0) + ROOM) for tree in site.tree]
    free = ~shapely.contains_xy(shapely.union_all(solid), *spots.T) if solid else np.ones(len(spots), dtype=bool)
    targets = bed_places(bed)
    seen = np.array([clear_of(site, (float(x), float(y)), targets) for x, y in spots])
    best = spots[int(np.lexsort((np.arange(len(spots)), -np.round(seen / ALIKE), ~free))[0])]
    return float(best[0]), float(best[1])


def stands_in(stand: Standpoint, walls: Polygon) -> bool:
    """Tell whether somebody stands within walls, and not at their outer face as one does at a window."""
    return bool(walls.contains(Point(stand.at)) and walls.exterior.distance(Point(stand.at)) > ROOM)


def inside(bed: Polygon, stand: Standpoint) -> bool:
    """Tell whether somebody stands in the bed itself."""
    return bool(bed.contains(Point(stand.at)))
