"""By how much shots miss the surface through the others, and from when that is more than chance."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from terrain.grid import Array

FEWEST = 8  # shots, set aside or not, from which one can be judged by the rest
WORTH_ASIDE = 2.5  # deviations from which a shot is set aside for judgement
_MOST_ASIDE, _SHARE_ASIDE = 8, 0.1  # shots set aside at most, and as a share of the survey
# A shot is doubtful when it misses the surface through the rest by 3.5 of its deviations, and by 3.1 times as
# many as the third worst of the rest does (of many shots, the worst but one in 33). The second bound is what keeps
# rough ground, whose misses have long tails, from being called busts; both were set on random surveys of published
# and real ground (tests/ground/test_doubtful.py).
_DEVIATIONS, _TIMES_THE_REST, _OF_THE_REST, _OF_EACH = 3.5, 3.1, 3, 33


@dataclass(frozen=True)
class LeftOutShot:
    """By how much a shot misses the surface through the others: residual and its deviation in metres."""

    row: int
    residual: float
    deviation: float

    @property
    def score(self) -> float:
        """Absolute residual in deviations."""
        return abs(self.residual) / max(self.deviation, 1e-12)


def most_aside(shots: int) -> int:
    """How many of so many shots are set aside for judgement at most."""
    return min(_MOST_ASIDE, int(_SHARE_ASIDE * shots) or 1)


def doubtful_from(scores: Array) -> float:
    """The score from which a shot set aside is doubtful, by the scores (n,) of the rest among themselves."""
    ordered = np.sort(scores)
    return max(_DEVIATIONS, _TIMES_THE_REST * float(ordered[-max(_OF_THE_REST, len(ordered) // _OF_EACH)]))
