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
    the south-west), the path a quarter turn from it on the western or southern side; all are invented.
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
    found.append(Standpoint("street", _off(bed, front, max(0.7 * length, LEAST_STREET)), EYE, True))
    found.append(Standpoint("path", _off(bed, side, max(0.3 * length, LEAST_PATH)), EYE, True))
    return tuple(found)


def _window(house: Building, site: Site, ground: Ground) -> Standpoint:
    """The place on a house's wall that is nearest to the bed, of those from which no trunk stands before it."""
    bed = site.bed.outline
    wall = shapely.points(shapely.get_coordinates(shapely.segmentize(house.outline.exterior, 0.5)))
    middle = bed.centroid
    sight = shapely.shortest_line(wall, middle)
    trunks = shapely.union_all([Point(tree.at).buffer(max(tree.trunk, 0.2)) for tree in site.tree])
    blocked = shapely.intersects(sight, trunks) if not trunks.is_empty else np.zeros(len(wall), dtype=bool)
    hidden = shapely.crosses(sight, house.outline)
    away = shapely.distance(wall, bed)
    best = wall[int(np.lexsort((shapely.length(sight), away, blocked, hidden))[0])]
    spot = np.array([[best.x, best.y]])
    level = float(ground.grid.sample(ground.elevation, spot)[0])
    floor = level if house.floor is None else max(house.floor, level)
    name = house.name if "window" in house.name.lower() else f"{house.name} window"
    return Standpoint(name, (float(best.x), float(best.y)), floor - level + WINDOW_EYE, True)


def _off(bed: Polygon, way: Array, away: float) -> tuple[float, float]:
    """A place off the bed's middle: beyond its edge by `away` metres in the unit direction `way`."""
    middle = np.array(bed.centroid.coords[0])
    reach = float(((shapely.get_coordinates(bed) - middle) @ way).max())
    spot = middle + (reach + away) * way
    return float(spot[0]), float(spot[1])


def inside(bed: Polygon, stand: Standpoint) -> bool:
    """Tell whether somebody stands in the bed itself."""
    return bool(bed.contains(Point(stand.at)))
