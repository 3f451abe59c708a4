"""The ground that the shots cover: near enough to one of them to be told; beyond, nothing is known."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from terrain.field.asbuilt.model import BuiltShot
from terrain.grid import Array

_REACH = 1.5  # times the distance between neighbouring shots: common practice, no published source
_NEAREST, _FARTHEST = 0.5, 2.0  # metres that a shot tells of, at least and at most: common practice too


def on_work(shots: Sequence[BuiltShot]) -> list[BuiltShot]:
    """The shots on the mound and in digs."""
    return [shot for shot in shots if shot.where in ("mound", "dig")]


def spacing(places: Array) -> float:
    """The middle distance in metres from one of (n, 2) places to the next; needs two."""
    from scipy.spatial import KDTree

    return float(np.median(KDTree(places).query(places, k=2)[0][:, 1]))


def covered_ground(worked: BaseGeometry, shots: Sequence[BuiltShot]) -> BaseGeometry:
    """The part of the mound that lies near enough to a shot on the work, metres."""
    places = np.array([shot.at for shot in on_work(shots)]).reshape(-1, 2)
    if len(places) < 2:
        return shapely.Polygon()
    reach = float(np.clip(_REACH * spacing(places), _NEAREST, _FARTHEST))
    return worked.intersection(shapely.union_all(shapely.buffer(shapely.points(places), reach)))
