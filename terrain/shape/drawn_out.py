"""One high point alone makes a bell: its crest is drawn out along the bed, one long tail and a short one."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon

from terrain.errors import InputError
from terrain.grid import Array
from terrain.shape.form import Ridge
from terrain.shape.spine import Spine, spine_of

# How far the tails run of the way to either end of the bed, and what is left of the height there: the longer way takes
# the long tail. Ends that run out unlike each other are common practice, no published source.
LONG, SHORT = (0.8, 0.2), (0.55, 0.4)
STEPS = (1.0 / 3.0, 2.0 / 3.0, 1.0)  # of each tail at which the crest is held
BEND = 1.3  # power of the way by which a tail falls: flat at the top
SWING = 0.6  # of the room beside it by which each tail swings off the middle of the bed, to unlike sides
LEAST = 0.75  # of the room on all sides of the top that a tail must be long, or there is none: a round bed takes a bell


def drawn_out(place: Array, worked: Polygon | MultiPolygon) -> Ridge:
    """The crest of one high point at (2,) metres: held there, and along a tail to either side where the bed is longer
    than it is wide."""
    points, weights = [place], [1.0]
    spine = _spine_through(place, worked)
    if spine is None:
        return Ridge(np.array(points), np.array(weights)[:, None])
    stations = spine.stations
    # Where the spine passes the high point, between its points: a high point moved a little moves its tails a little.
    at = float(shapely.LineString(spine.points).project(shapely.Point(place))) if len(stations) > 1 else 0.0
    foot, open_round = _on(spine, at)[:2], _on(spine, at)[4]
    ahead, behind = stations[-1] - at, at
    for way, sign, (reach, left) in zip((ahead, behind), (1.0, -1.0), _tails(ahead, behind), strict=True):
        for step in STEPS if reach * way >= LEAST * open_round else ():
            east, north, *across, room = _on(spine, at + sign * step * reach * way)
            swing = sign * SWING * step * room * np.array(across)
            points.append(np.array([east, north]) + (1.0 - step) * (place - foot) + swing)
            weights.append(1.0 - (1.0 - left) * step**BEND)
    return Ridge(np.array(points), np.array(weights)[:, None])


def _on(spine: Spine, along: float) -> Array:
    """(5,) the spine at a distance along it: place, the way across it, and the room to the nearest edge, metres."""
    parts = (*spine.points.T, *spine.across.T, spine.clearance)
    return np.array([np.interp(along, spine.stations, one) for one in parts])


def _tails(ahead: float, behind: float) -> tuple[tuple[float, float], tuple[float, float]]:
    """Which way takes the long tail."""
    return (LONG, SHORT) if ahead >= behind else (SHORT, LONG)


def _spine_through(place: Array, worked: Polygon | MultiPolygon) -> Spine | None:
    """The spine of the part of the ground that a place lies in; None where there is none."""
    inside = [part for part in shapely.get_parts(worked) if part.contains(shapely.Point(place))]
    try:
        return spine_of(inside[0]) if inside else None
    except InputError:
        return None
