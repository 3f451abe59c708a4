"""Where a job stands among those that were drawn: what it takes to be enough for a share of them, and the other way."""

from __future__ import annotations

import numpy as np

from terrain.numerics import Figure, along, either, least, most, quantile, share_below

# What the drawn jobs need is kept as a line through these normal scores: from 0.05 % to 99.95 % of all jobs, the ends
# and the middle of the range and the usual chances among them.
_LOWER = (0.0005, 0.0025, 0.01, 0.025, 0.05, 0.1, 0.2, 0.3, 0.4)
SCORES = tuple(float(score) for score in quantile(np.array([*_LOWER, 0.5, *(1.0 - share for share in _LOWER[::-1])])))
JOBS = tuple(f"job_{number:02}" for number in range(len(SCORES)))
# A chance of being short below this is none: what is then missing is not worked out.
NEVER_SHORT = 1e-9


def job_at(v: Figure, score: Figure) -> Figure:
    """What the job at a normal score needs, loose."""
    return v.balance + along(score, SCORES, _drawn(v)) * v.deviation


def share_of_jobs(v: Figure, volume: Figure) -> Figure:
    """Share of the jobs that need no more than a volume; 0 or 1 where nothing is in doubt."""
    place = (volume - v.balance) / either(v.deviation > 0, v.deviation, 1)
    drawn = _drawn(v)
    inside = either(place > drawn[0], share_below(along(place, drawn, SCORES)), 0)
    return either(v.deviation > 0, either(place > drawn[-1], 1, inside), either(volume >= most(0, v.balance), 1, 0))


def short_by(v: Figure, share: int) -> Figure:
    """What is missing at most in all but one of `share` of the jobs that run short."""
    beyond = 1 - (1 - v.covered) / share
    missing = job_at(v, quantile(least(beyond, 1 - NEVER_SHORT))) - v.on_hand - v.soil_order
    return either((1 - v.covered) > NEVER_SHORT, most(0, missing), 0)


def _drawn(v: Figure) -> list[Figure]:
    return [getattr(v, name) for name in JOBS]
