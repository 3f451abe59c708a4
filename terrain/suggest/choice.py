"""The choice among trials: at most one of each family, all clearly different, at the least cost together."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from terrain.grid import Array, Mask

MOST_STEPS = 20_000  # of the search; the best so far stands then


def choose(families: Sequence[int], left_out: Sequence[float], costs: Array, unlike: Mask) -> list[int]:
    """Numbers of the trials that go best together: branch and bound, the cheapest of each family first.

    Parameters
    ----------
    families
        (n,) number of the family that each trial is of.
    left_out
        What it costs to go without each family.
    costs
        (n,) cost of each trial.
    unlike
        (n, n) True where two trials are clearly different.
    """
    of = np.array(families)
    there = sorted(set(families))
    ranked = [sorted(np.flatnonzero(of == family).tolist(), key=lambda k: costs[k]) for family in there]
    paid = costs.tolist()
    without = [left_out[family] for family in there]
    # The least that the families from each on can add.
    least = [min(lost, float(costs[own[0]])) for lost, own in zip(without, ranked, strict=True)]
    ahead = [*np.cumsum(least[::-1])[::-1].tolist(), 0.0]
    fits = [_as_bits(row) for row in unlike]
    best: tuple[float, list[int]] = (float("inf"), [])
    steps = 0

    def search(number: int, taken: list[int], bits: int, cost: float) -> None:
        nonlocal best, steps
        steps += 1
        if steps > MOST_STEPS or cost + ahead[number] >= best[0]:
            return
        if number == len(ranked):
            best = cost, taken
            return
        for one in ranked[number]:
            if not bits & ~fits[one]:
                search(number + 1, [*taken, one], bits | 1 << one, cost + paid[one])
        search(number + 1, taken, bits, cost + without[number])

    search(0, [], 0, 0.0)
    return best[1]


def _as_bits(row: Mask) -> int:
    """A whole number with the bits set that are True in a row."""
    return sum(1 << int(k) for k in np.flatnonzero(row))
