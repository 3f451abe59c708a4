"""Which shots the others disown: the odds that each is a blunder, and those set aside as such.

A bust inflates the covariance that is fitted to it, and two hide each other; so the worst is set aside, all is weighed
anew without it, and so on; then each of those set aside is judged once more against the rest.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from terrain.grid import Array
from terrain.ground.leave_one_out import most_aside
from terrain.ground.shots import LocalShots, Rows
from terrain.ground.weighing import Shape, Weighed, log_odds, weigh
from terrain.numerics import Kriging, ShotTable, left_out_together

# Odds from which a shot is doubtful: more likely a blunder than not. At them one of 200 sound surveys of hidden ground
# was called, none of 100 of open terrain, and 13 of 100 of a real yard with bumps of half a foot (tests/ground); of
# 0.5 ft busts among 40 random shots 52 % were, of 0.75 ft ones 72 % (tests/benchmarks).
DOUBTFUL_ODDS = 1.0
_WORTH_ASIDE = 0.3  # odds from which a shot is set aside for judgement: beside other busts its own hide
_MOST_LOG_ODDS = 500.0


@dataclass(frozen=True)
class Judged:
    """Odds (n,) that each shot is a blunder; rows set aside, the worst first; what the rows kept leave likely."""

    odds: Array
    aside: tuple[int, ...]
    kept: Rows
    weighed: Weighed


def judge(table: ShotTable, shapes: Sequence[Shape], size: float, chance: float) -> Judged:
    """Set aside the shots that are doubtful; arguments as for `weigh`."""

    def without(rows: Sequence[int]) -> tuple[Rows, Weighed]:
        kept = np.setdiff1d(np.arange(len(table.heights)), rows)
        return kept, weigh(_part(table, kept), shapes, size, chance)

    aside = list[int]()
    kept, weighed = without(aside)
    while len(aside) < most_aside(len(table.heights)) and weighed.odds.max() > _WORTH_ASIDE:
        aside.append(int(kept[np.argmax(weighed.odds)]))
        kept, weighed = without(aside)
    again = dict[int, float]()
    while aside:
        again = {row: _odds_of(row, *without([other for other in aside if other != row])) for row in aside}
        least = min(aside, key=lambda row: again[row])
        if again[least] > DOUBTFUL_ODDS:
            break
        aside.remove(least)
        kept, weighed = without(aside)
    odds = np.array([again.get(row, 0.0) for row in range(len(table.heights))])
    odds[kept] = weighed.odds
    return Judged(odds, tuple(aside), kept, weighed)


def judge_many(shots: LocalShots, process: Kriging, chance: float) -> tuple[Array, tuple[int, ...]]:
    """Odds and rows set aside of a large survey, whose covariance a few busts do not move."""
    free = shots.free
    if not chance:
        return np.zeros(free), ()
    odds = _odds(shots, process.residuals[:free], process.expected[:free], chance)
    worst = np.argsort(-odds)[: most_aside(free)]
    aside = worst[odds[worst] > DOUBTFUL_ODDS]
    if len(aside):
        residuals, expected = left_out_together(process, aside)
        odds = _odds(shots, residuals[:free], expected[:free], chance)
        aside = aside[odds[aside] > DOUBTFUL_ODDS]
    return odds, tuple(aside.tolist())


def _odds(shots: LocalShots, residuals: Array, expected: Array, chance: float) -> Array:
    """Odds by the misses of the others and what was expected of them; none where a shot cannot be left out."""
    expected = np.where(np.isfinite(expected), np.maximum(expected, 1e-12), 1.0)
    own = shots.error[: shots.free] / expected if shots.error.any() else np.ones_like(expected)
    return np.exp(np.minimum(log_odds((np.nan_to_num(residuals) / expected) ** 2, own, chance), _MOST_LOG_ODDS))


def _odds_of(row: int, kept: Rows, weighed: Weighed) -> float:
    return float(weighed.odds[int(np.searchsorted(kept, row))])


def _part(table: ShotTable, rows: Rows) -> ShotTable:
    """The table of some of the shots."""
    return ShotTable(table.separation[np.ix_(rows, rows)], table.terms[rows], table.heights[rows], table.noise[rows])
