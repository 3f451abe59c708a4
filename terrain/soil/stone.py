"""Stones for a retained edge: weight of one, number in a row, weight of all, and who may lift them."""

from __future__ import annotations

import math
from dataclasses import dataclass

from shapely.geometry import LineString

from terrain.site.model import Site

POUND = 0.45359237  # kg
# Unit weight of rock: 150 to 175 lb/ft3 (US Army Corps of Engineers, EM 1110-2-1601, 1 July 1991, ch. 3); 165
# is usual for granite and limestone.
ROCK = 165.0 * POUND / 0.3048**3
# NIOSH Publication 94-110 (rev. Sept 2021): the most that one person should lift even in ideal conditions.
ONE_PERSON = 51.0 * POUND


@dataclass(frozen=True)
class StoneRow:
    """Stones side by side along an edge; weights in kg.

    `each` takes a stone as a ball, `each_as_box` as a block of the same three diameters: lifting gear is
    chosen from the second, and more. `machine_lift` is True where one person must not lift a stone. `caution`
    says so in words.
    """

    count: int
    each: float
    each_as_box: float
    total: float
    machine_lift: bool
    caution: str


def boulder_weight(diameter: float, unit_weight: float = ROCK) -> float:
    """Weight in kg of a boulder of a mean diameter in metres, as a ball: unit weight * pi * D^3 / 6.

    Source: EM 1110-2-1601, ch. 3. `unit_weight` in kg/m3. Estimates by this are good to about a quarter
    (common practice, no published source).
    """
    return unit_weight * math.pi * diameter**3 / 6.0


def bulk_weight(unit_weight: float, voids: float) -> float:
    """Weight in kg of one m3 of broken stone: that of the rock in kg/m3 less the share of voids between stones."""
    return unit_weight * (1.0 - voids)


def stone_row(length: float, diameter: float, unit_weight: float = ROCK) -> StoneRow:
    """Stones of a mean diameter (metres) that stand side by side along an edge of some length (metres)."""
    count = math.ceil(length / diameter - 1e-9)
    each = boulder_weight(diameter, unit_weight)
    heavy = each > ONE_PERSON
    caution = (
        "Each stone is more than one person may lift: use a machine or a team, and choose gear from the weight as a "
        "block. Weights are estimates, good to about a quarter."
        if heavy
        else "Weights are estimates, good to about a quarter. A rough stone is neither steady nor easy to grip."
    )
    return StoneRow(count, each, unit_weight * diameter**3, count * each, heavy, caution)


@dataclass(frozen=True)
class EdgeStones:
    """The stones of one retained edge: its name, its length and the size of a stone in metres, and their row."""

    name: str
    length: float
    size: float
    row: StoneRow


def edge_stones(site: Site) -> tuple[EdgeStones, ...]:
    """Stones for every retained edge of a site: one row, each stone as wide as it shows high."""
    return tuple(
        EdgeStones(edge.name, length, edge.height, stone_row(length, edge.height))
        for edge in site.retained_edge
        for length in [LineString(edge.line).length]
    )
