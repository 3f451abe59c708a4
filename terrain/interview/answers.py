"""What somebody answered about a yard, in SI units, as far as they knew."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal, get_args

import numpy as np
from shapely.geometry import Polygon

from terrain.numerics import plane_through
from terrain.survey import Place
from terrain.units import Units

Way = Literal["rod", "elevations", "string", "no"]
Side = Literal["near", "far", "left", "right", "level"]
WAYS: tuple[Way, ...] = get_args(Way)
SIDES: tuple[Side, ...] = get_args(Side)
TOWARD: dict[Side, Place] = {"near": (0.0, -1.0), "far": (0.0, 1.0), "left": (-1.0, 0.0), "right": (1.0, 0.0)}
# A bed where nobody says how large theirs is, metres, and what a shot by each way is good to (one deviation): common
# practice, no published source.
USUAL_BED: dict[Units, Place] = {"ft": (24 * 0.3048, 12 * 0.3048), "m": (7.5, 3.5)}
ACCURACY: dict[Way, float] = {"rod": 0.006, "elevations": 0.006, "string": 0.012, "no": 0.006}


@dataclass(frozen=True)
class AskedTree:
    """A tree by a tape round it and two tapes to it: girth and place, metres."""

    name: str
    girth: float
    at: Place


@dataclass(frozen=True)
class Answers:
    """Every answer; what nobody knows stands at what is taken for it.

    Parameters
    ----------
    bed
        Corners in order, metres: x along the side that one stands at, y out from it. (): the usual bed.
    measured, shots, again
        How the ground was measured; (x, y, reading) of each place, metres, and the first place read once more at the
        end; None: not read again.
    high, house
        The side of the bed that is high, and the side that the house stands on with its distance, metres.
    keep_off, top
        How near a trunk soil may come; how high the mound shall be, metres.
    slope
        As a site file has it.
    price, truck
        Of a cubic yard (or m3) loose; what one load holds, m3.
    """

    units: Units = "ft"
    bed: tuple[Place, ...] = ()
    measured: Way = "no"
    shots: tuple[tuple[float, float, float], ...] = ()
    again: float | None = None
    high: Side | None = None
    house: tuple[Side, float] | None = None
    trees: tuple[AskedTree, ...] = ()
    keep_off: float | None = None
    top: float | None = None
    slope: str = "4:1"
    price: float | None = None
    truck: float | None = None

    @property
    def corners(self) -> tuple[Place, ...]:
        """Corners of the bed, the usual ones where nobody said."""
        long, wide = USUAL_BED[self.units]
        return self.bed or ((0.0, 0.0), (long, 0.0), (long, wide), (0.0, wide))

    @property
    def outline(self) -> Polygon:
        """The bed, metres."""
        return Polygon(self.corners)

    @property
    def downward(self) -> bool:
        """Whether readings grow as the ground falls."""
        return self.measured in ("rod", "string")

    @property
    def accuracy(self) -> float:
        """One standard deviation of a shot, metres: the usual one, or more by what the first place has moved."""
        return max(ACCURACY[self.measured], abs(self.slip) / math.sqrt(2.0))

    @property
    def slip(self) -> float:
        """By how much the first place reads more at the end than at the beginning, metres."""
        return 0.0 if self.again is None or not self.shots else self.again - self.shots[0][2]


def rise_of(answers: Answers) -> tuple[float, Place]:
    """Slope of the plane through the shots, rise/run, and the unit vector up it; fewer than three have none."""
    if len(answers.shots) < 3:
        return 0.0, (0.0, 0.0)
    shots = np.array(answers.shots)
    places = shots[:, :2] - shots[:, :2].mean(axis=0)
    _, along, out = plane_through(places, -shots[:, 2] if answers.downward else shots[:, 2])
    slope = float(np.hypot(along, out))
    return slope, (float(along) / slope, float(out) / slope) if slope > 0.0 else (0.0, 0.0)


def side_of_rise(up: Place) -> Side:
    """The side of the bed that lies most in a direction."""
    return max(TOWARD, key=lambda side: TOWARD[side][0] * up[0] + TOWARD[side][1] * up[1])
