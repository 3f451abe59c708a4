"""The jobs that an order must be enough for: every doubt drawn at once, and the soil that each such job would need.

Each of ten thousand jobs takes every cause from another ten-thousandth of its range (a Latin hypercube: McKay, Beckman
and Conover, Technometrics 21, 1979). What goes with what follows the multiples of the roots of primes, which fill a
cube evenly (Richtmyer's sequence), so that the same yard always draws the same jobs: beside a million jobs drawn at
random, the chances read from these are good to 0.2 %.

The ground errs in all places at once. Of its full covariance a job needs two figures: the deviation of the mean over
the bed, and, for a toe that is not cut, that of every place (`toe`). Surfaces drawn whole take the same fill, within
8 % of its deviation on a surveyed yard (tests/soil/test_drawn_ground.py).
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from functools import cache

import numpy as np

from terrain.grid import Array, frozen
from terrain.numerics import quantile, share_below
from terrain.soil.among import JOBS, SCORES
from terrain.soil.chain import evaluated
from terrain.soil.model import TOE_AT
from terrain.soil.ranges import GROUND

MANY = 10_000
# Each cause and its prime.
_CAUSES = {"ground": 2, "swell": 3, "shrink": 5, "own": 7, "settlement": 11, "sod": 13, "lost": 17, "reuse": 19}
_SIDES = 3.0**0.5  # half the width of an even range, in its standard deviations


def drawn(given: Mapping[str, float]) -> dict[str, float]:
    """What the drawn jobs need, as the chain keeps it: deviations from the balance, at its scores.

    Parameters
    ----------
    given
        The figures that the order follows from (`terrain.soil.given`), each at its middle.
    """
    v = evaluated(given)
    deviation = float(v.deviation)
    if not deviation > 0.0:
        return dict.fromkeys(JOBS, 0.0)
    needed = needs(given, _strata())
    at = np.quantile(needed, share_below(np.array(SCORES)), method="hazen")
    place = np.asarray((at - float(v.balance)) / deviation)
    return {name: float(place[number]) for number, name in enumerate(JOBS)}


def needs(given: Mapping[str, float], drawn_at: Mapping[str, Array]) -> Array:
    """Balance of the site's soil in every job, loose m3 (n,).

    Parameters
    ----------
    given
        The figures at their middles.
    drawn_at
        For each cause, where in its range every job stands: (n,) shares from 0 to 1.
    """
    g = given
    error = quantile(drawn_at["ground"])
    ground, sod = -error * g["ground_deviation"], (2.0 * drawn_at["sod"] - 1.0) * _SIDES * g["sod_spread"]
    swell, shrink = (_even(g, name, name, drawn_at[name]) for name in ("swell", "shrink"))
    alike = g["one_soil"] > 0.0
    settling = np.maximum(_even(g, "settlement", "settling", drawn_at["settlement"]), 0.0)
    changed = {
        "fill_placed": g["fill_placed"] + ground + sod * g["sod_in_bed"] + toe_at(g, error),
        "rise": g["rise"] + ground,
        "sod_in_bed": g["sod_in_bed"] * (1.0 + sod),
        "swell": swell,
        "shrink": shrink,
        "ground_shrink": shrink if alike else _even(g, "ground_shrink", "own", drawn_at["own"]),
        "settlement": settling if g["settlement"] > 0.0 else np.zeros(1),
        "lost": np.maximum(g["lost_low"] + (g["lost_high"] - g["lost_low"]) * drawn_at["lost"], 0.0),
        "reuse": np.clip(_even(g, "reuse", "reuse", drawn_at["reuse"]), 0.0, 1.0),
    }
    return np.asarray(np.broadcast_to(evaluated({**g, **changed}).balance, error.shape))


def order_range(given: Mapping[str, float]) -> tuple[float, float]:
    """Ends of the central 90 % range of the soil that the jobs need from outside, loose m3."""
    v = evaluated({**given, **drawn(given)})
    return float(v.low), float(v.high)


def bought_of(given: Mapping[str, float]) -> float:
    """Soil that the order of some figures buys, loose m3."""
    return float(evaluated({**given, **drawn(given)}).soil_order)


def surer(given: Mapping[str, float], causes: Collection[str], factor: float) -> dict[str, float]:
    """The figures with the doubt of some causes, as `Share.cause` has them, times a factor."""
    changed = dict(given)
    for cause in causes:
        for name, middle in _DOUBTS_OF[cause]:
            at = given[middle] if middle else 0.0
            changed[name] = at + factor * (given[name] - at)
    return changed


# The figures that hold each cause's doubt, and the figure that they lie about; "": about nothing.
_DOUBTS_OF = {
    GROUND: (("ground_deviation", ""),),
    "sod depth": (("sod_spread", ""),),
    "swell": (("swell_low", "swell"), ("swell_high", "swell")),
    "shrink": (("shrink_low", "shrink"), ("shrink_high", "shrink")),
    "settlement": (("settling_low", "settlement"), ("settling_high", "settlement")),
}


def toe_at(given: Mapping[str, float], error: Array) -> Array:
    """Fill that a toe left uncut takes, placed m3, where the ground stands high by some deviations."""
    return np.interp(error, TOE_AT, [given[f"toe_{number}"] for number in range(len(TOE_AT))])


def _even(given: Mapping[str, float], name: str, ends: str, share: Array) -> Array:
    """A factor anywhere in a range about its middle."""
    return given[name] + (share - 0.5) * (given[f"{ends}_high"] - given[f"{ends}_low"])


@cache
def _strata() -> dict[str, Array]:
    """Where every job stands in the range of every cause."""
    number, middles = np.arange(1, MANY + 1), (np.arange(MANY) + 0.5) / MANY
    ranks = {cause: np.argsort(np.argsort(np.sqrt(prime) * number % 1.0)) for cause, prime in _CAUSES.items()}
    return {cause: frozen(middles[rank]) for cause, rank in ranks.items()}
