"""The site: what was measured and what is wanted, in SI units, one frozen dataclass a table of the site file.

Field names are those of the site file (DESIGN: part 4), so that a `Site` built in Python reads the same.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal

import numpy as np
from shapely.geometry import Polygon

from terrain.grid import Array


@dataclass(frozen=True)
class Survey:
    """Spot elevations: `shots` is (n, 3) easting, northing, elevation in metres; names and codes match its rows."""

    shots: Array
    names: tuple[str, ...]
    codes: tuple[str, ...]
    accuracy: float = 0.006  # one standard deviation of a single shot, metres


@dataclass(frozen=True)
class Bed:
    """The bed outline (metres; may have holes), sod stripped before filling and mulch laid after, in metres."""

    outline: Polygon
    sod: float = 0.0
    mulch: float = 0.0


@dataclass(frozen=True)
class Tree:
    """A standing tree: trunk diameter, flare radius and keep-off radius in metres, all about `at` (metres)."""

    name: str
    at: tuple[float, float]
    trunk: float
    flare: float = 0.0
    keep_off: float | None = None  # None: the root protection zone by `TreeRule` stands in


@dataclass(frozen=True)
class TreeRule:
    """Which published rule sizes the root protection zone."""

    rule: str = "1 ft per inch"


@dataclass(frozen=True)
class KeepClear:
    """Other ground that takes no fill or cut."""

    name: str
    outline: Polygon


@dataclass(frozen=True)
class Building:
    """A building's outline in metres and its floor elevation in metres, where given."""

    name: str
    outline: Polygon
    floor: float | None = None


@dataclass(frozen=True)
class CrestPoint:
    """A high point of the crest: place in metres and wished height over existing grade in metres."""

    x: float
    y: float
    height: float


@dataclass(frozen=True)
class Berm:
    """The designer's wish: side slope limit (rise/run), crest, soil on hand (loose m3), toe width, gentle side."""

    max_slope: float
    crest: tuple[CrestPoint, ...]
    soil: float | None = None
    toe: float | None = None
    gentle_side: Literal["north", "south", "east", "west"] | None = None


@dataclass(frozen=True)
class Soil:
    """Soil factors.

    `swell` is loose/bank - 1 and `shrink` is 1 - placed/bank (the fraction-of-bank convention); `settlement` is the
    share of the built height that is lost after building. Truck and barrow in loose m3, price per loose m3.
    """

    kind: str = "loam"
    swell: float = 0.25
    shrink: float = 0.10
    settlement: float = 0.0
    truck: float | None = None
    barrow: float | None = None
    price: float | None = None


@dataclass(frozen=True)
class GridSpec:
    """Cell size of the grid in metres; None lets the ground model choose."""

    cell: float | None = None


@dataclass(frozen=True)
class Site:
    """One yard: everything the site file says, validated, lengths in metres."""

    name: str
    units: Literal["ft", "m"]
    survey: Survey
    bed: Bed
    berm: Berm
    tree: tuple[Tree, ...] = ()
    trees: TreeRule = field(default_factory=TreeRule)
    keep_clear: tuple[KeepClear, ...] = ()
    building: tuple[Building, ...] = ()
    soil: Soil = field(default_factory=Soil)
    grid: GridSpec = field(default_factory=GridSpec)
    path: Path | None = None


def as_points(rows: list[tuple[float, float, float]]) -> Array:
    """Rows of easting, northing, elevation as an (n, 3) array."""
    return np.asarray(rows, dtype=float).reshape(-1, 3)
