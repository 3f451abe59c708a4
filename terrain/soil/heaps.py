"""Room that a heap of loose soil takes at its angle of repose."""

from __future__ import annotations

import math


def conical_heap(volume: float, repose: float) -> tuple[float, float]:
    """Base diameter and height in metres of a cone of `volume` loose m3 at an angle of `repose` radians.

    D = (24 V / (pi tan a))^(1/3), H = D/2 tan a (Nunnally, Construction Methods and Management, ch. 2).
    """
    diameter = (24.0 * volume / (math.pi * math.tan(repose))) ** (1.0 / 3.0)
    return diameter, diameter / 2.0 * math.tan(repose)


def long_heap(volume: float, repose: float, length: float) -> tuple[float, float]:
    """Base width and height in metres of a three-sided bank of `volume` loose m3 and `length` metres.

    B = (4 V / (L tan a))^(1/2), H = B/2 tan a (Nunnally, Construction Methods and Management, ch. 2).
    """
    width = math.sqrt(4.0 * volume / (length * math.tan(repose)))
    return width, width / 2.0 * math.tan(repose)
