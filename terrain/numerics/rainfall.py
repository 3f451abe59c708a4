"""How much of a storm runs off, and how fast at its height.

The rain rises evenly from nothing to twice its mean and falls evenly back: the triangular storm of Yen and Chow, Design
hyetographs for small drainage structures, J. Hydraulics Division ASCE 106 (1980), with its height in the middle. The
ground takes water at a steady rate; what falls faster runs off.
"""

from __future__ import annotations


def peak_rain(rain: float, lasts: float) -> float:
    """Rate of the rain at its height, m/s, of `rain` metres in `lasts` seconds."""
    return 2.0 * rain / lasts


def runoff_depth(rain: float, lasts: float, intake: float) -> float:
    """Depth that runs off, metres: the part of the triangle above the rate at which the ground takes water.

    Parameters
    ----------
    rain
        Depth that falls, metres.
    lasts
        Seconds, above 0.
    intake
        Rate at which the ground takes water, m/s.
    """
    return rain * (1.0 - _taken(rain, lasts, intake)) ** 2


def peak_runoff(rain: float, lasts: float, intake: float) -> float:
    """Rate at which water runs off at the height of the rain, m/s (m3/s for each m2); names as in `runoff_depth`."""
    return peak_rain(rain, lasts) * (1.0 - _taken(rain, lasts, intake))


def _taken(rain: float, lasts: float, intake: float) -> float:
    """Share of the highest rate that the ground takes."""
    peak = peak_rain(rain, lasts)
    return min(1.0, intake / peak) if peak > 0.0 else 1.0
