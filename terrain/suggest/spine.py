"""The spine of a bed: the places along its length that stand furthest from every edge."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon

from terrain.grid import Array

STATIONS = 41
ACROSS = 61


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
        (2,) unit vector across the bed's long axis.
    """

    points: Array
    clearance: Array
    across: Array

    def place(self, along: float, off: float) -> tuple[float, float]:
        """A place at a share 0..1 of the spine's length and a share -1..1 of the way to the edge beside it, metres."""
        steps = np.hypot(*np.diff(self.points, axis=0).T)
        stations = np.concatenate([[0.0], np.cumsum(steps)])
        at = along * stations[-1]
        east = np.interp(at, stations, self.points[:, 0])
        north = np.interp(at, stations, self.points[:, 1])
        reach = off * float(np.interp(at, stations, self.clearance))
        return float(east + reach * self.across[0]), float(north + reach * self.across[1])


def spine_of(worked: Polygon | MultiPolygon) -> Spine:
    """The spine of the largest part of the ground that may take fill.

    Cross-lines are laid along the long axis of the smallest rectangle around the part; the spine takes on each the
    place with most room on all sides, and leaves out the ends, where there is next to none.
    """
    part = max(shapely.get_parts(worked), key=lambda one: one.area)
    start, along, across, length, width = _axis(part)
    stations = (np.arange(STATIONS) + 0.5) / STATIONS * length
    offsets = np.linspace(-0.5, 0.5, ACROSS) * width
    places = start + stations[:, None, None] * along + offsets[None, :, None] * across
    spots = shapely.points(places)
    room = np.where(shapely.contains(part, spots), shapely.distance(part.boundary, spots), 0.0)
    best = np.argmax(room, axis=1)
    chosen = np.arange(STATIONS)
    clearance = room[chosen, best]
    kept = clearance > 0.4 * clearance.max()
    return Spine(places[chosen, best][kept], clearance[kept], across)


def _axis(part: Polygon) -> tuple[Array, Array, Array, float, float]:
    """Middle of one short side, unit vectors along and across, length and width of the smallest rectangle around."""
    box = shapely.minimum_rotated_rectangle(part)
    corners = shapely.get_coordinates(box)[:4]
    first, second = corners[1] - corners[0], corners[2] - corners[1]
    if np.hypot(*first) < np.hypot(*second):
        corners = np.roll(corners, -1, axis=0)
        first, second = corners[1] - corners[0], corners[2] - corners[1]
    length, width = float(np.hypot(*first)), float(np.hypot(*second))
    along, across = first / length, second / width
    # One way round for a bed however its rectangle is listed: along to the east, or to the north where it lies so.
    if along[0] < -1e-9 or (abs(along[0]) <= 1e-9 and along[1] < 0):
        return (corners[1] + corners[2]) / 2.0, -along, -across, length, width
    return (corners[0] + corners[3]) / 2.0, along, across, length, width
