"""The spine of a bed: the line along its length that stands furthest from every edge, whatever its bends."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from scipy import ndimage
from shapely.geometry import MultiPolygon, Polygon

from terrain.errors import InputError
from terrain.grid import Array
from terrain.numerics import longest_path

STATIONS = 81
NODES = 2500  # over the rectangle round the bed, on which the spine is sought
ENDS = 0.4  # share of the greatest room on all sides under which the spine's ends are left out


@dataclass(frozen=True)
class Spine:
    """Points along the middle of a bed.

    Parameters
    ----------
    points
        (n, 2) metres, from one end of the bed to the other.
    clearance
        (n,) distance of each to the nearest edge, metres.
    across
        (n, 2) unit vectors across it, to its left.
    """

    points: Array
    clearance: Array
    across: Array

    @property
    def stations(self) -> Array:
        """(n,) distance of each point along the spine, metres."""
        return np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(self.points, axis=0).T))])

    def place(self, along: float, off: float) -> tuple[float, float]:
        """A place at a share 0..1 of the spine's length and a share -1..1 of the way to the edge beside it, metres."""
        stations = self.stations
        at = along * stations[-1]
        east, north, aside, up, reach = (
            float(np.interp(at, stations, one)) for one in (*self.points.T, *self.across.T, self.clearance)
        )
        return east + off * reach * aside, north + off * reach * up

    def left_of(self, place: tuple[float, float]) -> bool:
        """Whether a place lies to the left of the point of the spine that is nearest to it."""
        away = np.array(place) - self.points
        nearest = int(np.argmin(np.hypot(*away.T)))
        return float(away[nearest] @ self.across[nearest]) > 0.0


def spine_of(worked: Polygon | MultiPolygon) -> Spine:
    """The spine of the largest part of the ground that may take fill.

    It runs between the two places farthest from each other by a path inside the part, keeps to where there is most room
    on all sides, and leaves out the ends, where there is next to none. It runs to the east, or to the north where it
    lies so.

    Raises
    ------
    InputError
        Where the part is too small or too thin for any.
    """
    part = max(shapely.get_parts(worked), key=lambda one: one.area)
    west, south, east, north = part.bounds
    step = float(np.sqrt((east - west) * (north - south) / NODES))
    x, y = np.meshgrid(np.arange(west, east + step, step), np.arange(south, north + step, step))
    spots = shapely.points(x, y)
    shapely.prepare(part)
    room = np.where(shapely.contains(part, spots), shapely.distance(part.boundary, spots), 0.0)
    bodies, _ = ndimage.label(room > 0.0, structure=np.ones((3, 3)))
    body = (bodies == bodies.flat[int(np.argmax(room))]) & (room > 0.0)
    line = longest_path(body, room / max(float(room.max()), 1e-9), STATIONS)
    if line is None:
        raise InputError("[bed] outline", "has no room for a high point.", "Accepted: a wider bed.")
    points = np.array([west, south]) + step * line
    clearance = shapely.distance(part.boundary, shapely.points(points))
    wide = np.flatnonzero(clearance > ENDS * clearance.max())
    points, clearance = points[wide[0] : wide[-1] + 1], clearance[wide[0] : wide[-1] + 1]
    run = points[-1] - points[0]
    if run[0] < -1e-9 or (abs(run[0]) <= 1e-9 and run[1] < 0.0):
        points, clearance = points[::-1], clearance[::-1]
    lean = np.gradient(points, axis=0) if len(points) > 1 else np.array([[1.0, 0.0]])
    lean /= np.maximum(np.hypot(*lean.T), 1e-9)[:, None]
    return Spine(points, clearance, np.column_stack([-lean[:, 1], lean[:, 0]]))
