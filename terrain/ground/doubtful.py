"""Shots that do not agree with their neighbours.

A bust inflates the covariance that is fitted to it, and so hides itself; so shots are set aside one by one,
the worst first, the covariance fitted to the rest each time, and only then is each of them judged against the
rest. Nothing leaves the survey: the shots stay in the surface, the doubtful ones are named.
"""

from __future__ import annotations

import numpy as np

from terrain.grid import Array, Mask
from terrain.ground.creased_doubts import creased_misses
from terrain.ground.misses import FEWEST, WORTH_ASIDE, Miss, doubtful_from, most_aside
from terrain.ground.model import DoubtfulShot
from terrain.ground.shots import LocalShots, Rows
from terrain.numerics import ENOUGH_TO_FIT, Covariance, Kriging, fit_covariance, krige_with, kriged, shot_table
from terrain.site import Survey
from terrain.units import Units, show_length

_REFIT_EACH = 150  # shots up to which several suspects are tried in turn, the covariance fitted anew each time


def doubtful_shots(survey: Survey, units: Units, shots: LocalShots, process: Kriging) -> tuple[DoubtfulShot, ...]:
    """Shots that stand out of the surface through the others, the farthest first, each with a sentence."""
    missed = find_doubtful(shots, process)
    return tuple(_named(survey, units, shots, miss) for miss in missed)


def find_doubtful(shots: LocalShots, process: Kriging) -> tuple[Miss, ...]:
    """Rows of the shots that miss the surface through the rest by more than the rest lead one to expect."""
    if shots.free < FEWEST:
        return ()
    if len(shots.edges):
        return creased_misses(shots, process)
    many = shots.free > ENOUGH_TO_FIT
    aside = _set_many_aside(process, shots.free) if many else _set_aside(shots, process)
    while aside:
        kept = np.ones(len(shots.places), dtype=bool)
        kept[aside] = False
        misses, bound = _judge(shots, kept, aside, process.covariance if many else None)
        doubtful = [miss for miss in misses if miss.score > bound]
        if len(doubtful) == len(aside):
            return tuple(sorted(doubtful, key=lambda miss: -miss.score))
        aside = [miss.row for miss in doubtful]
    return ()


def _set_aside(shots: LocalShots, process: Kriging) -> list[int]:
    """Rows worth judging, the worst first."""
    most = most_aside(shots.free)
    kept, rest, aside = np.ones(len(shots.places), dtype=bool), process, list[int]()
    while len(aside) < most:
        trials = [_without(shots, kept, row) for row in _suspects(kept, rest, shots.free)]
        worst, without = max(trials, key=lambda trial: trial[0].score)
        if worst.score < WORTH_ASIDE:
            break
        aside.append(worst.row)
        kept[worst.row] = False
        rest = without
    return aside


def _set_many_aside(process: Kriging, free: int) -> list[int]:
    """The worst rows of a large survey, whose covariance a few busts do not move."""
    score = (np.abs(process.residuals) / np.maximum(process.expected, 1e-12))[:free]
    worst = np.argsort(-score)[: most_aside(free)]
    return [int(row) for row in worst if score[row] >= WORTH_ASIDE]


def _suspects(kept: Mask, rest: Kriging, free: int) -> Rows:
    """Rows of the kept shots that miss most, in deviations and in metres; points of breaklines are no suspects."""
    count = int(kept[:free].sum())
    off, expected = np.abs(rest.residuals[:count]), rest.expected[:count]
    score = off / np.maximum(expected, 1e-12)
    most = 3 if count <= _REFIT_EACH else 1
    chosen = np.concatenate([np.argsort(-score)[:most], np.argsort(-off)[: most - 1]])
    return np.asarray(np.flatnonzero(kept)[np.unique(chosen)])


def _without(shots: LocalShots, kept: Mask, row: int) -> tuple[Miss, Kriging]:
    """The process through the kept shots but one, fitted anew, and how far that one misses it."""
    others = kept.copy()
    others[row] = False
    process = _through(shots, others)
    return _miss(shots, process, [row])[0], process


def _through(shots: LocalShots, kept: Mask, known: Covariance | None = None) -> Kriging:
    """The process through the kept shots alone, its covariance fitted anew where it is not known.

    From the start, not from the covariance of all shots: a bust leaves a short reach behind, which a search
    from there does not leave again.
    """
    places, heights, error = shots.places[kept], shots.heights[kept], shots.error[kept]
    free = int(kept[: shots.free].sum())
    covariance = known or fit_covariance(shot_table(places[:free], heights[:free], error[:free] ** 2))
    return krige_with(places, heights, error, covariance)


def _judge(shots: LocalShots, kept: Mask, aside: list[int], known: Covariance | None) -> tuple[list[Miss], float]:
    """How far each shot set aside misses the surface through the kept ones, and the doubtful score."""
    rest = _through(shots, kept, known)
    free = int(kept[: shots.free].sum())
    scores = (np.abs(rest.residuals) / np.maximum(rest.expected, 1e-12))[:free]
    return _miss(shots, rest, aside), doubtful_from(scores[np.isfinite(scores)])


def _miss(shots: LocalShots, process: Kriging, rows: list[int]) -> list[Miss]:
    """How far shots that took no part in a process miss it."""
    height, deviation = kriged(process, shots.places[rows])
    expected = np.hypot(deviation, shots.error[rows])
    residual = shots.heights[rows] - height
    return [Miss(row, float(miss), float(wide)) for row, miss, wide in zip(rows, residual, expected, strict=True)]


def _named(survey: Survey, units: Units, shots: LocalShots, miss: Miss) -> DoubtfulShot:
    """What is said of one shot; of shots averaged in one place, the one that is farthest off."""
    together = np.flatnonzero(shots.groups == miss.row)
    mean = shots.heights[miss.row] - miss.residual
    off: Array = survey.shots[together, 2] - shots.base - mean
    shot = int(together[np.argmax(np.abs(off))])
    residual = float(off[np.argmax(np.abs(off))])
    side = "above" if residual > 0 else "below"
    size = show_length(abs(residual), units, "elevation")
    return DoubtfulShot(
        name=survey.names[shot],
        at=(float(survey.shots[shot, 0]), float(survey.shots[shot, 1])),
        residual=residual,
        deviation=miss.deviation,
        text=f"Shot {survey.names[shot]} stands {size} {side} its neighbours.",
    )
