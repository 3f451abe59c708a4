"""Trunks in a scan: round things that stand, their circle at breast height and their flare at the ground.

Slices of the scan about breast height are parted into things, and a circle is laid through each slice of a thing
(`terrain.numerics.circle_through`). A trunk is round in most slices, in about one place, and goes on over a person's
head. Its flare is the largest reach, below 0.15 m, of the farthest twentieth of the points in each of 24 directions:
common practice, no published source. The unfiltered cloud is asked: a ground filter cuts flares off.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from terrain.grid import Array, Index
from terrain.numerics import FittedCircle, circle_through

_SLICE = 0.10  # metres thick
_SLICES = np.arange(-3, 4) * _SLICE  # about breast height
_BAND = 0.03  # metres about the circle that bark, noise and lean may take: common practice, no published source
_RADII = 0.04, 1.0
_CELL = 0.05
_WIDEST = 2.2  # metres: things wider are none
_FEWEST = 40  # points of a thing
_LEAST_ARC = math.radians(90.0)  # of the circle: on less a radius is off by 3 % and more
_LEAST_ON = 0.7  # of a slice's points
_LEAST_ROUND = 4  # slices
_AGREE = 0.2  # of the radius, between slices
_OVER_HEAD = 0.55  # metres over breast height: people end there
_MOST = 200  # trunks
_FLARE_UP, _FLARE_SLICE, _SECTORS = 0.15, 0.05, 24
_REACH = 3.0  # radii within which a flare is looked for


def standing_trunks(points: Array, ground: Array, breast: float) -> list[dict[str, Any]]:
    """The trunks of a scan.

    Parameters
    ----------
    points
        (n, 3) of the scan, what stands included, metres.
    ground
        (m, 3) of its ground.
    breast
        Height over the mean ground about a trunk at which its diameter is taken, metres.

    Returns
    -------
    list
        Of plain values: `at`, `diameter`, `deviation` of the diameter, `arc` (radians), `lean` (rise/run), `flare`
        (radius, None where the ground about it is hidden), metres.
    """
    height = points[:, 2] - _ground_at(ground, points[:, :2])
    about = np.abs(height - breast) <= -_SLICES[0] + _SLICE / 2.0
    found = []
    for thing in _parted(points[about, :2]):
        trunk = _trunk(points, height, points[about][thing], height[about][thing], breast)
        if trunk is not None:
            found.append(trunk)
    return found[:_MOST]


def _ground_at(ground: Array, places: Array) -> Array:
    """The height of the ground at places: what the three nearest cells have, by their nearness."""
    from scipy.spatial import cKDTree

    off, near = cKDTree(ground[:, :2]).query(places, k=min(3, len(ground)))
    off, near = off.reshape(len(places), -1), near.reshape(len(places), -1)
    weight = 1.0 / (off + 0.05)
    return np.asarray((ground[near, 2] * weight).sum(axis=1) / weight.sum(axis=1))


def _parted(places: Array) -> list[Index]:
    """Rows of the places of each thing: cells that touch, of things that are neither too wide nor too faint."""
    from scipy.ndimage import find_objects, label

    if len(places) < _FEWEST:
        return []
    across = np.floor((places - places.min(axis=0)) / _CELL).astype(np.int64) + 1
    if float(np.prod(across.max(axis=0) + 2.0)) > 3e7:
        return []
    raster = np.zeros(across.max(axis=0) + 2, dtype=bool)
    raster[across[:, 0], across[:, 1]] = True
    kinds, count = label(raster, structure=np.ones((3, 3)))
    own = kinds[across[:, 0], across[:, 1]]
    wide = [max(part.stop - part.start for part in box) * _CELL for box in find_objects(kinds)]
    sizes = np.bincount(own, minlength=count + 1)
    order = np.argsort(own, kind="stable")
    ends = np.cumsum(sizes)
    return [
        order[ends[k] - sizes[k] : ends[k]]
        for k in range(1, count + 1)
        if sizes[k] >= _FEWEST and wide[k - 1] <= _WIDEST
    ]


def _trunk(points: Array, height: Array, thing: Array, up: Array, breast: float) -> dict[str, Any] | None:
    """The thing as a trunk; None where it is none."""
    rounds = [_round(thing[np.abs(up - breast - level) <= _SLICE / 2.0, :2]) for level in _SLICES]
    middle = rounds[len(rounds) // 2]
    if middle is None:
        return None
    pairs = [(level, one) for level, one in zip(_SLICES, rounds, strict=True) if one and _alike(one, middle)]
    if len(pairs) < _LEAST_ROUND:
        return None
    near = np.hypot(*(points[:, :2] - middle.centre).T)
    if not np.any((near < 1.5 * middle.radius) & (height > breast + _OVER_HEAD)):
        return None
    lean = _lean(np.array([(level, *one.centre) for level, one in pairs]))
    upright = 1.0 / math.sqrt(1.0 + lean * lean)  # a level slice of a leaning trunk is longer along its lean
    return {
        "at": list(middle.centre),
        "diameter": middle.radius * (1.0 + upright),
        "deviation": 2.0 * middle.deviation,
        "arc": middle.arc,
        "lean": lean,
        "flare": _flare(points, height, near, middle),
    }


def _round(places: Array) -> FittedCircle | None:
    """The circle of a slice, where most of it lies on one and enough of that is seen."""
    found = circle_through(places, _BAND, _RADII)
    if found is None or found.arc < _LEAST_ARC or float(found.on.mean()) < _LEAST_ON:
        return None
    return found


def _alike(one: FittedCircle, other: FittedCircle) -> bool:
    """Whether two slices are of one trunk."""
    bound = _AGREE * other.radius + 0.01
    return abs(one.radius - other.radius) <= bound and math.dist(one.centre, other.centre) <= 2.0 * bound


def _lean(centres: Array) -> float:
    """How far the axis runs out on the way up: rows of level, easting, northing."""
    level = centres[:, 0] - centres[:, 0].mean()
    away = level @ (centres[:, 1:] - centres[:, 1:].mean(axis=0)) / float(level @ level)
    return float(np.hypot(*away))


def _flare(points: Array, height: Array, near: Array, trunk: FittedCircle) -> float | None:
    """The radius of the flare at the ground; None where fewer than half of its directions are seen."""
    reach: list[float] = []
    around = near < _REACH * trunk.radius
    angle = np.arctan2(*(points[around, :2] - trunk.centre).T[::-1])
    sector = np.floor((angle / math.tau + 0.5) * _SECTORS).astype(int) % _SECTORS
    up, away = height[around], near[around]
    for level in np.arange(0.04, _FLARE_UP, _FLARE_SLICE):
        slice_ = (up >= level) & (up < level + _FLARE_SLICE)
        far = [np.quantile(away[slice_ & (sector == k)], 0.95) for k in np.unique(sector[slice_])]
        if len(far) >= _SECTORS / 2:
            reach.append(float(np.median(far)))
    return max(reach) if reach else None
