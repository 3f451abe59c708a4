"""What makes the order unsure, the ground apart from the soil, each with what would narrow it most."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from terrain.numerics import CENTRAL_90
from terrain.soil.draw import order_range, surer
from terrain.soil.order import Order
from terrain.soil.ranges import GROUND

PLUGS = 5  # sod plugs: common practice, no published source


@dataclass(frozen=True)
class Remedy:
    """What may be done about a part of the doubt.

    Parameters
    ----------
    of
        What is in doubt: "ground", "sod" or "soil".
    causes
        All causes that make it so, as `Share.cause` has them.
    do
        What to do, as a sentence.
    bears_on, left
        The causes that this bears on, and the part of their deviation that it leaves.
    """

    of: str
    causes: tuple[str, ...]
    do: str
    bears_on: tuple[str, ...]
    left: float


SHOOT = Remedy(
    "ground",
    (GROUND, "toe that is not cut"),
    "Shoot the places that the page of the ground lists first.",
    (GROUND,),
    0.0,
)
# The mean of five plugs, each as unsure as the depth is now, is surer by the root of five.
CUT_PLUGS = Remedy(
    "sod",
    ("sod depth",),
    "Cut five sod plugs across the bed and measure them: state their mean under [bed] sod.",
    ("sod depth",),
    PLUGS**-0.5,
)
# A figure that somebody states is twice as sure as the tables (`terrain.site.factors.STATED`).
ASK = Remedy(
    "soil",
    ("swell", "shrink", "shrink of the ground", "settlement", "soil lost on the way"),
    "Ask the supplier how his soil swells and shrinks: state it under [soil].",
    ("swell", "shrink"),
    0.5,
)


@dataclass(frozen=True)
class Doubt:
    """A part of the doubt.

    `half` is half the central 90 % range that it alone gives the order (loose m3), `part` its share of the variance,
    and `after` the range that is expected once its remedy is done; of the ground, were it known exactly.
    """

    remedy: Remedy
    half: float
    part: float
    after: tuple[float, float]


def doubts_of(order: Order) -> Iterator[Doubt]:
    """The doubt of the ground, of the sod and of the soil, each where there is any."""
    whole = sum(share.deviation**2 for share in order.shares)
    for remedy in (SHOOT, CUT_PLUGS, ASK):
        square = sum(share.deviation**2 for share in order.shares if share.cause in remedy.causes)
        if square > 0.0:
            after = order_range(surer(order.given, remedy.bears_on, remedy.left))
            yield Doubt(remedy, CENTRAL_90 * math.sqrt(square), square / whole, after)
