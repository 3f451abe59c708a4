"""The order of walking: from stake to stake without crossing the yard twice."""

from __future__ import annotations

import numpy as np

from terrain.grid import Array
from terrain.survey import Place

_ENOUGH = 1e-9  # metres that a change must save


def walking_order(places: Array, start: Place) -> list[int]:
    """The numbers of (n, 2) places, metres, along a short walk that begins near a start.

    The nearest is taken next, and then stretches of the walk are turned round as long as that shortens it (2-opt).
    """
    left = list(range(len(places)))
    order: list[int] = []
    here = np.asarray(start, dtype=float)
    while left:
        nearest = min(left, key=lambda k: (float(np.hypot(*(places[k] - here))), k))
        left.remove(nearest)
        order.append(nearest)
        here = places[nearest]
    return _untangled(places, order)


def _untangled(places: Array, order: list[int]) -> list[int]:
    walk, better = np.array(order), True
    while better:
        better = False
        for first in range(len(walk) - 2):
            at = places[walk]
            legs = np.hypot(*np.diff(at, axis=0).T)
            across = np.hypot(*(at[first + 2 :] - at[first]).T)
            onward = np.zeros(len(across))
            onward[:-1] = np.hypot(*(at[first + 3 :] - at[first + 1]).T)
            old = legs[first] + np.append(legs[first + 2 :], 0.0)
            saved = old - across - onward
            last = int(np.argmax(saved))
            if saved[last] > _ENOUGH:
                end = first + 2 + last
                walk[first + 1 : end + 1] = walk[first + 1 : end + 1][::-1]
                better = True
    return [int(k) for k in walk]


def along_stations(stations: Array, offsets: Array) -> list[int]:
    """The numbers of stakes by their stations, over at one station and back at the next."""
    order: list[int] = []
    for number, station in enumerate(np.unique(np.round(stations, 3))):
        here = np.flatnonzero(np.abs(stations - station) < 1e-3)
        order += here[np.argsort(offsets[here] * (-1) ** number, kind="stable")].tolist()
    return order
