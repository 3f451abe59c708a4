"""Nails that the crew drives first where the yard has too few points to tape from, and what they are checked by."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from terrain.errors import InputError
from terrain.field.setout.known import NAIL, TREE
from terrain.field.setout.model import Known, Nail, TapeCheck
from terrain.field.setout.pairs import LONGEST, POOR, best_tapes
from terrain.grid import Array
from terrain.site import Site
from terrain.survey import Place, point_key

_BESIDE = (1.0, 2.0, 4.0, 7.0)  # metres from the bed
_EVERY = 16  # places round the bed at which a nail may stand
_CHECKS = 2  # known points that each nail is measured to as well
_SHOTS = 3  # shots that a nail is placed by where nothing better is there


def nail_places(site: Site, stakes: Array, obstacles: BaseGeometry, closed: BaseGeometry) -> tuple[Place, Place]:
    """Two places beside the bed from which most stakes are taped well.

    Parameters
    ----------
    site
        The yard.
    stakes
        (n, 2) metres.
    obstacles, closed
        What no tape crosses, and where no nail is driven, metres.

    Raises
    ------
    InputError
        Where the ground all round the bed is closed.
    """
    best: tuple[float, tuple[Place, Place]] | None = None
    for beside in _BESIDE:
        ring = site.bed.outline.convex_hull.buffer(beside).exterior
        spots = [ring.interpolate(k / _EVERY, normalized=True) for k in range(_EVERY)]
        places = [(float(spot.x), float(spot.y)) for spot in spots if not closed.intersects(spot)]
        if len(places) < 2:
            continue
        found = min(_pairs(places, stakes, obstacles))
        if best is None or found[0] < best[0] - 1e-9:
            best = found
    if best is None:
        raise InputError(
            "set-out",
            "the site has no two known points, and no ground beside the bed for nails.",
            "Give a building, a walk, or [survey] points.",
        )
    return best[1]


def _pairs(
    places: Sequence[Place], stakes: Array, obstacles: BaseGeometry
) -> Iterator[tuple[float, tuple[Place, Place]]]:
    """Every pair of places with what it costs: the mean weakness of its tapes, much for each that cannot be used."""
    at = np.array(places)
    away = stakes[None] - at[:, None]
    far = np.hypot(away[..., 0], away[..., 1])
    along = away / np.maximum(far, 1e-9)[..., None]
    lines = shapely.linestrings(np.stack(np.broadcast_arrays(at[:, None], stakes[None]), axis=-2))
    shapely.prepare(obstacles)
    blocked = shapely.intersects(obstacles, lines)
    for a in range(len(places)):
        for b in range(a + 1, len(places)):
            cosine = np.abs((along[a] * along[b]).sum(axis=-1))
            weak = np.minimum(1.0 / np.sqrt(np.maximum(1.0 - cosine, 1e-9)), 4.0 * POOR)
            cost = weak + 40.0 * (blocked[a] | blocked[b]) + 20.0 * (np.maximum(far[a], far[b]) > LONGEST)
            yield float(cost.mean()), (places[a], places[b])


def driven(
    names: Sequence[str], places: Sequence[Place], known: Sequence[Known], obstacles: BaseGeometry
) -> tuple[Nail, ...]:
    """The nails at some places, each with the tapes that place it where two known points do."""
    points = [Known(name, at, NAIL) for name, at in zip(names, places, strict=True)]
    if len(known) < 2:
        return tuple(Nail(point, None) for point in points)
    tapes = best_tapes(known, np.array(places), obstacles)
    return tuple(Nail(point, one) for point, one in zip(points, tapes, strict=True))


def checks(nails: Sequence[Nail], known: Sequence[Known], site: Site) -> tuple[TapeCheck, ...]:
    """What to measure before any stake is taped: between the first two, and to points that did not place them."""
    ends = nails[:2]
    found = [TapeCheck(a.point.name, b.point.name, math.dist(a.point.at, b.point.at)) for a, b in pairwise(ends)]
    for nail in ends:
        used = set() if nail.tapes is None else {nail.tapes.start.name, nail.tapes.end.name}
        near = sorted(known, key=lambda point: math.dist(point.at, nail.point.at))
        others = [(point.name, point.at) for point in near if point.name not in used and point.rank != TREE]
        if nail.tapes is None:
            others += _shots_beside(site, nail.point.at)
        found += [TapeCheck(nail.point.name, name, math.dist(at, nail.point.at)) for name, at in others[:_CHECKS]]
    return tuple(found)


def _shots_beside(site: Site, at: Place) -> list[tuple[str, Place]]:
    shots = site.survey.shots[:, :2]
    away = np.where(site.survey.scanned, np.inf, np.hypot(*(shots - np.array(at)).T))
    near = [i for i in np.argsort(away, kind="stable")[:_SHOTS] if np.isfinite(away[i])]
    return [(f"shot {site.survey.names[i]}", (float(shots[i, 0]), float(shots[i, 1]))) for i in near]


def free_names(letters: str, count: int, taken: Sequence[str]) -> list[str]:
    """As many names as asked for, a letter and a number, none of which is taken already.

    Parameters
    ----------
    letters
        Letters to try, the first that gives free names is used for all.
    count
        How many.
    taken
        Names of points, shots and other stakes.
    """
    used = {point_key(name) for name in taken}
    for letter in [*letters, *(f"{letter}{letter}" for letter in letters)]:
        names = [f"{letter}{number}" for number in range(1, count + 1)]
        if not used & {point_key(name) for name in names}:
            return names
    numbers = (k for k in range(1, count + len(used) + 1) if point_key(f"{letters[0]}{k}") not in used)
    return [f"{letters[0]}{next(numbers)}" for _ in range(count)]
