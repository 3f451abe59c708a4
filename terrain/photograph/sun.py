"""Where the sun stands, by the low-accuracy formulas of the United States' NOAA solar calculation sheets.

They follow Meeus, Astronomical Algorithms, 2nd ed., Willmann-Bell 1998, ch. 25, and are good to 0.01 degrees.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import UTC, datetime

_J2000 = 2451545.0  # Julian day
_UNIX = 2440587.5


@dataclass(frozen=True)
class Sun:
    """Degrees: clockwise from north, and over the horizon (as seen, refraction counted)."""

    bearing: float
    height: float


def sun_at(when: datetime, north: float, east: float) -> Sun:
    """The sun at a time and place.

    Parameters
    ----------
    when
        With its offset from universal time.
    north, east
        Latitude and longitude, degrees.
    """
    instant = when.astimezone(UTC)
    century = (_UNIX + instant.timestamp() / 86400.0 - _J2000) / 36525.0
    declination, equation = _declination_and_equation(century)
    minutes = instant.hour * 60.0 + instant.minute + instant.second / 60.0
    hour_angle = ((minutes + equation + 4.0 * east) / 4.0 - 180.0 + 540.0) % 360.0 - 180.0
    lat, hour = math.radians(north), math.radians(hour_angle)
    up = math.sin(lat) * math.sin(declination) + math.cos(lat) * math.cos(declination) * math.cos(hour)
    height = math.degrees(math.asin(max(-1.0, min(1.0, up))))
    west = math.cos(declination) * math.sin(hour)
    toward_north = math.sin(declination) * math.cos(lat) - math.cos(declination) * math.cos(hour) * math.sin(lat)
    return Sun(math.degrees(math.atan2(-west, toward_north)) % 360.0, height + _refraction(height))


def _declination_and_equation(century: float) -> tuple[float, float]:
    """Declination in radians and the equation of time in minutes."""
    mean = math.radians((280.46646 + century * (36000.76983 + century * 0.0003032)) % 360.0)
    anomaly = math.radians(357.52911 + century * (35999.05029 - 0.0001537 * century))
    eccentricity = 0.016708634 - century * (0.000042037 + 0.0000001267 * century)
    centre = (
        math.sin(anomaly) * (1.914602 - century * (0.004817 + 0.000014 * century))
        + math.sin(2.0 * anomaly) * (0.019993 - 0.000101 * century)
        + math.sin(3.0 * anomaly) * 0.000289
    )
    node = math.radians(125.04 - 1934.136 * century)
    longitude = mean + math.radians(centre - 0.00569 - 0.00478 * math.sin(node))
    seconds = 21.448 - century * (46.8150 + century * (0.00059 - century * 0.001813))
    tilt = math.radians(23.0 + (26.0 + seconds / 60.0) / 60.0 + 0.00256 * math.cos(node))
    y = math.tan(tilt / 2.0) ** 2
    equation = (
        y * math.sin(2.0 * mean)
        - 2.0 * eccentricity * math.sin(anomaly)
        + 4.0 * eccentricity * y * math.sin(anomaly) * math.cos(2.0 * mean)
        - 0.5 * y * y * math.sin(4.0 * mean)
        - 1.25 * eccentricity**2 * math.sin(2.0 * anomaly)
    )
    return math.asin(math.sin(tilt) * math.sin(longitude)), 4.0 * math.degrees(equation)


def _refraction(height: float) -> float:
    """By how much the air lifts the sun, degrees."""
    if height > 85.0:
        return 0.0
    slope = math.tan(math.radians(height))
    if height > 5.0:
        seconds = 58.1 / slope - 0.07 / slope**3 + 0.000086 / slope**5
    elif height > -0.575:
        seconds = 1735.0 + height * (-518.2 + height * (103.4 + height * (-12.79 + height * 0.711)))
    else:
        seconds = -20.774 / slope
    return seconds / 3600.0
