"""Papers and round scales: the sizes that drawings of either unit come on, and the scales that a rule or tape reads."""

from __future__ import annotations

from dataclasses import dataclass

from terrain.units import Units

POINT = 0.0254 / 72.0  # metres in one typographic point

_INCH = 72.0
_MM = 72.0 / 25.4
PAPERS: dict[Units, tuple[tuple[str, float, float], ...]] = {
    "ft": (("letter", 8.5 * _INCH, 11 * _INCH), ("tabloid", 11 * _INCH, 17 * _INCH)),
    "m": (("A4", 210 * _MM, 297 * _MM), ("A3", 297 * _MM, 420 * _MM)),
}
# Papers that can be asked for by name, those above and larger: short and long side in points.
NAMED: dict[str, tuple[float, float]] = {
    **{name: (short, long) for series in PAPERS.values() for name, short, long in series},
    "17x22": (17 * _INCH, 22 * _INCH),
    "22x34": (22 * _INCH, 34 * _INCH),
    "A2": (420 * _MM, 594 * _MM),
    "A1": (594 * _MM, 841 * _MM),
}
# Papers that lie: upright pages of words fill them without a rest, so that a whole set lies or stands one way.
LYING = ("tabloid", "A3", "22x34", "A1")
# Feet of ground to an inch of paper, and the plain ratios of metric drawings: scales that a tape or a rule reads.
FEET_TO_INCH = (1, 2, 4, 5, 8, 10, 20, 30, 40, 50, 60, 80, 100, 200, 300, 400, 500)
RATIOS = (10, 20, 25, 50, 100, 200, 250, 500, 1000, 2000, 2500, 5000)


@dataclass(frozen=True)
class Scale:
    """A scale: ground length over paper length, and how it is written."""

    ratio: float
    text: str

    @property
    def points(self) -> float:
        """Points on paper for one metre of ground."""
        return 1.0 / (POINT * self.ratio)


def scales(units: Units) -> tuple[Scale, ...]:
    """The round scales of a unit system, largest drawing first."""
    if units == "ft":
        return tuple(Scale(12.0 * feet, f"1 in = {feet} ft") for feet in FEET_TO_INCH)
    return tuple(Scale(float(ratio), f"1:{ratio}") for ratio in RATIOS)


def turned(name: str) -> tuple[float, float]:
    """Width and height of a paper in points, as every sheet on it lies or stands."""
    short, long = NAMED[name]
    return (long, short) if name in LYING else (short, long)
