"""The surface that a crew strings between its stakes: straight over the triangles between neighbours."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from terrain.grid import Array, Mask

APART = 0.1  # metres: stakes nearer than this would be one
_BETWEEN = 0.05  # metres: the same for stakes that only the error asks for
_TRIED = 12  # places for a stake about the worst one
_TOGETHER = 3  # stakes that go at once


@dataclass(frozen=True)
class Aim:
    """What the stakes shall carry: heights over existing grade, metres.

    Parameters
    ----------
    places, heights
        (n, 2) and (n,): where the strung surface is held against the grade.
    spots, tops
        (m, 2) and (m,): where a stake may be driven, and the height there.
    """

    places: Array
    heights: Array
    spots: Array
    tops: Array

    def held_at(self, places: Array, heights: Array) -> Aim:
        """The same, held against the grade at more places."""
        return replace(self, places=np.vstack([self.places, places]), heights=np.append(self.heights, heights))

    def staked_at(self, places: Array, heights: Array) -> Aim:
        """The same with more places in which stakes may stand."""
        return replace(self, spots=np.vstack([self.spots, places]), tops=np.append(self.tops, heights))

    def where(self, kept: Mask) -> Aim:
        """The same, held against the grade at some of its places only."""
        return replace(self, places=self.places[kept], heights=self.heights[kept])


@dataclass(frozen=True)
class Staked:
    """Stakes: (k, 2) places and (k,) heights over existing grade, metres; the first `fixed` of them stay."""

    at: Array
    heights: Array
    fixed: int

    def with_one(self, at: Array, height: float) -> Staked:
        """These and one more."""
        return Staked(np.vstack([self.at, at]), np.append(self.heights, height), self.fixed)

    def without(self, numbers: NDArray[np.integer]) -> Staked:
        """These less some, by their numbers."""
        return Staked(np.delete(self.at, numbers, axis=0), np.delete(self.heights, numbers), self.fixed)


def strung(at: Array, heights: Array, places: Array) -> Array:
    """Height of the strung surface over existing grade, metres: linear over the Delaunay triangles of the stakes.

    Parameters
    ----------
    at, heights
        (k, 2) and (k,) stakes, metres; three or more, not all in one line.
    places
        (n, 2) metres. Beyond the outermost stakes nothing is strung: 0.0.
    """
    from scipy.spatial import Delaunay

    middle = at.mean(axis=0)  # survey coordinates may be large
    mesh = Delaunay(at - middle)
    facet = mesh.find_simplex(places - middle)
    found, over = np.zeros(len(places)), facet >= 0
    turn = mesh.transform[facet[over]]
    first = np.einsum("nij,nj->ni", turn[:, :2], places[over] - middle - turn[:, 2])
    shares = np.column_stack([first, 1.0 - first.sum(axis=1)])
    found[over] = (shares * heights[mesh.simplices[facet[over]]]).sum(axis=1)
    return found


def strings(at: Array, step: float) -> Array:
    """(n, 2) places along the edges of the Delaunay triangles of (k, 2) stakes, at most a step apart; metres."""
    import shapely
    from scipy.spatial import Delaunay

    corners = Delaunay(at - at.mean(axis=0)).simplices
    pairs = np.unique(np.sort(np.vstack([corners[:, [0, 1]], corners[:, [1, 2]], corners[:, [2, 0]]]), axis=1), axis=0)
    lines = shapely.segmentize(shapely.linestrings(at[pairs]), step)
    return np.asarray(shapely.get_coordinates(lines))


def strays(staked: Staked, aim: Aim) -> Array:
    """(n,) how far the strung surface stands off the grade at the places, metres, never negative."""
    return np.asarray(np.abs(strung(staked.at, staked.heights, aim.places) - aim.heights))


def filled_up(staked: Staked, aim: Aim, most: float, count: int) -> Staked | None:
    """Stakes added one by one where the surface is worst, until nowhere off by more than `most` metres.

    Where the worst place has its stake already, the next worst that can be mended is. None where `count` stakes do not
    do; places that no stake can mend stay as they are.
    """
    mended = np.ones(len(aim.places), dtype=bool)
    while True:
        off = np.where(mended, strays(staked, aim), 0.0)
        worst = int(np.argmax(off))
        if off[worst] <= most:
            return staked
        if len(staked.at) >= count:
            return None
        spot = nearest_spot(aim, staked, aim.places[worst])
        if spot is None:
            mended[worst] = False
        else:
            staked = staked.with_one(aim.spots[spot], float(aim.tops[spot]))


def nearest_spot(aim: Aim, staked: Staked, place: Array) -> int | None:
    """The nearest place for a stake that has none yet; None where all about it have."""
    away = np.hypot(*(aim.spots - place).T)
    near = np.argsort(away, kind="stable")[:_TRIED]
    for spot in near.tolist():
        if np.hypot(*(staked.at - aim.spots[spot]).T).min() >= _BETWEEN:
            return int(spot)
    return None


def fewest(staked: Staked, aim: Aim, most: float) -> Staked:
    """The same with as few stakes as a plain search finds.

    First each stake that is not needed goes, then every stake goes with its two nearest neighbours, to be replaced by
    fewer where the surface is worst without them (a local search; it has no bound, a test holds it against all ways).
    """
    staked = _pruned(staked, aim, most)
    number = staked.fixed
    while number < len(staked.at):
        away = np.hypot(*(staked.at[staked.fixed :] - staked.at[number]).T)
        taken = staked.fixed + np.argsort(away, kind="stable")[:_TOGETHER]
        fewer = filled_up(staked.without(taken), aim, most, len(staked.at) - 1)
        if fewer is None or strays(fewer, aim).max() > most:
            number += 1
        else:
            staked = fewer
    return staked


def _pruned(staked: Staked, aim: Aim, most: float) -> Staked:
    number = staked.fixed
    while number < len(staked.at):
        fewer = staked.without(np.array([number]))
        if strays(fewer, aim).max() <= most:
            staked = fewer
        else:
            number += 1
    return staked


def apart(at: Array) -> Mask:
    """(k,) True for stakes that stand clear of every earlier one."""
    keep = np.ones(len(at), dtype=bool)
    for k in range(1, len(at)):
        keep[k] = not (np.hypot(*(at[:k][keep[:k]] - at[k]).T) < APART).any()
    return keep
