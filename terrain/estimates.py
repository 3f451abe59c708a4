"""Figures that are no better than an estimate, as people read them: never more than two figures, and a range where
there is one.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from terrain.limits import FOOT, INCH, POUND, YARD
from terrain.spellings import SI
from terrain.units import Units

_GALLON = SI["gallon"]
_MINUTE = 60.0
TON = 900.0  # kg: short of either ton, so that neither is shown as 2,000 lb or 1,000 kg
Kind = Literal["water", "thin", "head", "speed", "flow", "area", "cube", "weight", "load", "power", "energy", "days"]

# What one of the unit is in SI, and its name; by kind of figure and by the site's units.
_UNITS: Mapping[Kind, Mapping[Units, tuple[float, str]]] = {
    "water": {"ft": (_GALLON, "gal"), "m": (0.001, "L")},
    "thin": {"ft": (INCH, "in"), "m": (0.01, "cm")},
    "head": {"ft": (FOOT, "ft"), "m": (1.0, "m")},
    "speed": {"ft": (FOOT, "ft/s"), "m": (1.0, "m/s")},
    "flow": {"ft": (_GALLON / _MINUTE, "gal/min"), "m": (0.001 / _MINUTE, "L/min")},
    "area": {"ft": (FOOT**2, "sq ft"), "m": (1.0, "m2")},
    "cube": {"ft": (YARD**3, "cu yd"), "m": (1.0, "m3")},
    "weight": {"ft": (POUND, "lb"), "m": (1.0, "kg")},
    "load": {"ft": (2000.0 * POUND, "tons"), "m": (1000.0, "t")},
    "power": {"ft": (1.0, "W"), "m": (1.0, "W")},
    "energy": {"ft": (1.0, "kWh"), "m": (1.0, "kWh")},
    "days": {"ft": (1.0, "days"), "m": (1.0, "days")},
}


@dataclass(frozen=True)
class Figure:
    """A figure in SI units, and the least and the most that it may be."""

    value: float
    low: float
    high: float

    def __add__(self, other: Figure) -> Figure:
        """The sum, both at their least and both at their most."""
        return Figure(self.value + other.value, self.low + other.low, self.high + other.high)


def exactly(value: float) -> Figure:
    """A figure without a range."""
    return Figure(value, value, value)


def two_figures(number: float, up: bool = False) -> str:
    """A number rounded to two figures: "37", "0.82", "1,400"; `up`: never down, for what is needed at least."""
    if not number or not math.isfinite(number):
        return "0" if number == 0.0 else str(number)
    step = 10.0 ** (math.floor(math.log10(abs(number))) - 1)
    rounded = (math.ceil(number / step - 1e-6) if up else round(number / step)) * step
    size = math.floor(math.log10(abs(rounded)) + 1e-9)  # 9.96 has become 10
    return f"{rounded:,.{max(0, 1 - size)}f}"


def show_about(value: float, kind: Kind, units: Units, up: bool = False) -> str:
    """An SI value by its kind, in the site's units: "37 gal", "21 cm"; `up`: rounded up."""
    unit, name = _UNITS[kind][units]
    return f"{two_figures(value / unit, up)} {name}"


def show_mass(kg: float, units: Units) -> str:
    """A mass in pounds or kilograms up to about a ton, in tons from there."""
    return show_about(kg, "load" if kg >= TON else "weight", units)


def show_figure(figure: Figure, kind: Kind, units: Units) -> str:
    """The same with its range where that shows: "37 gal (29 to 49)"."""
    unit, name = _UNITS[kind][units]
    value, low, high = (two_figures(one / unit) for one in (figure.value, figure.low, figure.high))
    return f"{value} {name}" if low == high else f"{value} {name} ({low} to {high})"
