"""What a pump has to do, and what a pump whose curve is known will do."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from terrain.estimates import Figure
from terrain.limits import WIRE_TO_WATER
from terrain.numerics import root_between
from terrain.waterworks.lip import GRAVITY

WATER = 1000.0  # kg/m3


@dataclass(frozen=True)
class Duty:
    """What to ask of a pump: flow in m3/s against lift and friction in metres.

    Parameters
    ----------
    flow
        m3/s.
    lift
        From the water in the basin to that at the top: its value is the most, with the basin down to the least depth of
        the intake.
    friction
        In pipe and fittings.
    speed
        In the pipe, m/s.
    """

    flow: float
    lift: Figure
    friction: float
    speed: float

    @property
    def head(self) -> float:
        """Lift and friction together, metres."""
        return self.lift.value + self.friction

    @property
    def power(self) -> Figure:
        """Electrical, watts, by how well small pumps turn it into lift."""
        least, usual, most = (power(self.flow, self.head, share.value) for share in reversed(WIRE_TO_WATER))
        return Figure(usual, least, most)


def power(flow: float, head: float, efficiency: float) -> float:
    """Electrical power in watts to lift m3/s by a head in metres; `efficiency` from the wire to the water, a share."""
    return WATER * GRAVITY * flow * head / efficiency


def yearly_energy(watts: float, hours: float) -> float:
    """Kilowatt hours of a year of 365 days with so many running hours a day."""
    return watts * hours * 365.0 / 1000.0


def pump_head(curve: Sequence[tuple[float, float]], flow: float) -> float:
    """Head in metres of a pump at a flow in m3/s, from points (flow, head) in order of flow.

    Between two points the head falls in a straight line with the square of the flow, as the curve of a centrifugal
    pump does near enough; no head is made up beyond the last point.
    """
    for (low, high_head), (high, low_head) in pairwise(curve):
        if low <= flow <= high:
            share = (flow**2 - low**2) / (high**2 - low**2)
            return high_head + share * (low_head - high_head)
    return -math.inf


def operating_point(
    curve: Sequence[tuple[float, float]], needed: Callable[[float], float]
) -> tuple[float, float] | None:
    """Flow in m3/s and head in metres at which a pump meets what the pipe asks for; None where they do not meet.

    Parameters
    ----------
    curve
        Points (flow, head), flow rising, head falling; at least two.
    needed
        Head in metres that lift, friction and fittings take at a flow: rises with the flow.
    """
    least, most = curve[0][0], curve[-1][0]

    def over(flow: float) -> float:
        return pump_head(curve, flow) - needed(flow)

    if over(least) < 0.0 or over(most) > 0.0:
        return None
    flow = root_between(over, least, most)
    return flow, needed(flow)
