"""Which two known points each stake is taped from: tapes that cross well, run free, and start from few points."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from terrain.errors import InputError
from terrain.field.setout.model import Known, Tapes
from terrain.grid import Array, Mask
from terrain.survey import Place, side_of

# Tapes that cross at 41 degrees or more: a slip of one unit moves the stake by at most two. Common practice asks for
# "well-conditioned" ties without a figure; no published source.
WELL = 2.0
FAIR = 2.6  # at 33 degrees: good enough to spare the crew another pair of points
LONGEST = 30.0  # metres: a tape of 100 ft
NEAREST = 0.3  # metres between a known point and a stake, at least
_APART = 1.0  # metres between two known points of a pair, at least
_MOST_PAIRS = 3  # from points of one rank
POOR = 6.0  # dilution past which a stake is not placed at all: tapes that cross at 14 degrees


@dataclass(frozen=True)
class _Reach:
    """Pairs (p) of known points against stakes (n).

    `pairs` (p, 2), `rank` (p,): the higher of the two points'; (p, n) each: `weak`; `clear`, where both tapes run
    free; `fair` and `good`, where they also reach and cross well enough.
    """

    pairs: Array
    rank: Array
    weak: Array
    clear: Mask
    fair: Mask
    good: Mask


def choose_pairs(known: Sequence[Known], places: Array, obstacles: BaseGeometry) -> tuple[Tapes, ...]:
    """The tapes of each stake.

    Parameters
    ----------
    known
        Points to start from; those of a higher rank are taken only for stakes that the readier ones do not serve.
    places
        (n, 2) stakes, metres.
    obstacles
        Buildings and trunks, which no tape can cross, metres.

    Raises
    ------
    InputError
        Where no two known points place some stake.

    Notes
    -----
    Two tapes whose directions have the cosine c move the stake by at most 1 / sqrt(1 - |c|) for a slip of 1: the
    smallest singular value of the two directions is sqrt(1 - |c|). Pairs are taken one by one, each the one that serves
    most of the stakes still without tapes (a greedy cover), so that few points need to be found.
    """
    found = [tapes for tapes in best_tapes(known, places, obstacles) if tapes is not None]
    if len(found) < len(places):
        raise too_flat()
    return tuple(found)


def best_tapes(known: Sequence[Known], places: Array, obstacles: BaseGeometry) -> tuple[Tapes | None, ...]:
    """As `choose_pairs`, but None for a stake that no two known points place well enough."""
    reach = _reach(known, places, obstacles) if len(known) > 1 else None
    if reach is None or not len(reach.pairs):
        raise InputError("set-out", "the site has no two known points.", "Give a building, a walk, or named shots.")
    chosen = [(pair, at) for at, pair in enumerate(_chosen(reach))]
    return tuple(None if reach.weak[pair, at] > POOR else _tapes(known, reach, places, pair, at) for pair, at in chosen)


def too_flat() -> InputError:
    """What is said where two tapes cross too flat from every pair of known points."""
    return InputError(
        "set-out",
        "the known points lie so that two tapes cross too flat to place every stake.",
        "Give a building or a walk, or shoot and name a point to one side of the bed.",
    )


def _reach(points: Sequence[Known], places: Array, obstacles: BaseGeometry) -> _Reach:
    at = np.array([point.at for point in points])
    first, second = np.triu_indices(len(points), 1)
    wide = np.hypot(*(at[first] - at[second]).T) >= _APART
    first, second = first[wide], second[wide]
    away = places[None, :, :] - at[:, None, :]
    far = np.hypot(away[..., 0], away[..., 1])
    along = away / np.maximum(far, 1e-9)[..., None]
    cosine = np.abs((along[first] * along[second]).sum(axis=-1))
    weak = 1.0 / np.sqrt(np.maximum(1.0 - cosine, 1e-9))
    weak[(far[first] < NEAREST) | (far[second] < NEAREST)] = math.inf
    cores = np.array([point.core for point in points])
    starts = at[:, None, :] + np.minimum(1.01 * cores[:, None], far)[..., None] * along  # from beside a trunk
    lines = shapely.linestrings(np.stack(np.broadcast_arrays(starts, places[None, :, :]), axis=-2))
    shapely.prepare(obstacles)
    free = ~shapely.intersects(obstacles, lines)
    clear = free[first] & free[second]
    fair = clear & (weak <= FAIR) & (np.maximum(far[first], far[second]) <= LONGEST)
    ranks = np.array([point.rank for point in points])
    return _Reach(
        np.column_stack([first, second]),
        np.maximum(ranks[first], ranks[second]),
        weak,
        clear,
        fair,
        fair & (weak <= WELL),
    )


def _chosen(reach: _Reach) -> list[int]:
    """The pair of each stake: the first of a few that serve many, or, for what is left, the best there is."""
    taken = _cover(reach)
    chosen = []
    for at in range(reach.weak.shape[1]):
        fit = [pair for pair in taken if reach.fair[pair, at]]
        # A blocked tape can be walked round; it comes last.
        cost = reach.weak[:, at] + np.where(reach.good[:, at], 0.0, 10.0) + np.where(reach.clear[:, at], 0.0, 1000.0)
        chosen.append(fit[0] if fit else int(np.argmin(cost)))
    return chosen


def _cover(reach: _Reach) -> list[int]:
    """Pairs that between them serve as many stakes as they can, the readiest points first."""
    served = np.zeros(reach.weak.shape[1], dtype=bool)
    taken: list[int] = []
    for rank in np.unique(reach.rank):
        for _ in range(_MOST_PAIRS):
            new = reach.good & ~served & (reach.rank <= rank)[:, None]
            counts = new.sum(axis=1)
            if not counts.max():
                break
            mean = np.where(new, reach.weak, 0.0).sum(axis=1) / np.maximum(counts, 1)
            taken.append(int(np.lexsort((mean, -counts))[0]))
            served |= reach.fair[taken[-1]]
    return taken


def _tapes(points: Sequence[Known], reach: _Reach, places: Array, pair: int, at: int) -> Tapes:
    start, end = (points[int(i)] for i in reach.pairs[pair])
    place: Place = (float(places[at, 0]), float(places[at, 1]))
    return Tapes(
        start,
        end,
        math.dist(start.at, place),
        math.dist(end.at, place),
        side_of(start.at, end.at, place) > 0.0,
        float(reach.weak[pair, at]),
        bool(reach.clear[pair, at]),
    )
