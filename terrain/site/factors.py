"""Swell, shrink and settlement as ranges from what is published; a job is worked with their middles.

Swell, loose over bank: Peurifoy, Construction Planning, Equipment, and Methods, Table 4-1 (as quoted on a structural
engineers' mailing list, 1998). A soil of another name is as unsure as common earth.

Shrink, by machine: 80 to 90 % of the bank volume is left after compaction (Moving the Earth: The Workbook of
Excavation, p. 2.51); sand and gravel shrink by 5 % (US Army FM 5-434, Table 1-1) to 12 % (weights by state in Nunnally,
Construction Methods and Management, ch. 2, from memory).

Shrink, by hand: soil that is tamped by hand comes to 85 % of full density where a plate brings it to 95 % (a list of
labour yields for backfill in layers of 0.20 m, 2013 to 2018), so that it keeps 95 / 85 of the volume that a machine
leaves, and no more than it had in the bank.

Settlement, over the height as built: 5 % laid in compacted layers, 10 % where not rolled (USDA-NRCS, Ponds, Agriculture
Handbook 590). Laid by hand it lies between the two; by machine it is the first, as unsure either way as these two are
apart. The voids that a machine takes out while it packs are charged as shrink, those that hand-laid soil keeps are
charged as settlement, and neither is charged twice.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

from terrain.site.soils import SoilFactors, row_of, soil_factors

Placing = Literal["by hand", "by machine"]
Range = tuple[float, float]

SWELL_RANGES: Mapping[str, Range] = {
    "sand": (0.05, 0.15),
    "gravel": (0.05, 0.15),
    "sand and gravel": (0.05, 0.15),
    "topsoil": (0.10, 0.25),
    "loam": (0.10, 0.35),
    "common earth": (0.20, 0.45),
    "earth": (0.20, 0.45),
    "clay": (0.30, 0.60),
}
PACKED = (0.10, 0.20)  # shrink by machine
PACKED_SAND = (0.05, 0.12)
_COARSE = ("sand", "gravel", "sand and gravel")
HAND_TAMPED, PLATE = 0.85, 0.95  # of full density
SETTLEMENT_RANGES: Mapping[Placing, Range] = {"by hand": (0.05, 0.10), "by machine": (0.025, 0.075)}
# A figure that somebody states is taken as twice as sure as the published range: common practice, no published source.
STATED = 0.5


def middle(ends: Range) -> float:
    """The middle of a range."""
    return round((ends[0] + ends[1]) / 2.0, 12)


def half(ends: Range) -> float:
    """Half the width of a range."""
    return (ends[1] - ends[0]) / 2.0


def swell_range(kind: str) -> Range:
    """Published range of swell of a kind of soil, as shares of the bank volume."""
    return SWELL_RANGES.get(row_of(kind), SWELL_RANGES["common earth"])


def shrink_range(kind: str, placing: Placing | None) -> Range:
    """Range of shrink of a kind of soil, shares of the bank volume; None: as a machine packs it."""
    low, high = PACKED_SAND if row_of(kind) in _COARSE else PACKED
    if placing != "by hand":
        return low, high
    looser = PLATE / HAND_TAMPED
    return max(0.0, 1.0 - (1.0 - low) * looser), max(0.0, 1.0 - (1.0 - high) * looser)


def settlement_range(placing: Placing | None) -> Range:
    """Range of settlement; None: from compacted layers to soil that is not rolled."""
    return SETTLEMENT_RANGES["by hand" if placing is None else placing]


def job_factors(kind: str, placing: Placing | None) -> SoilFactors:
    """Swell and shrink that a job is worked with: the middles of their ranges.

    Raises
    ------
    InputError
        For a kind that the tables do not name (its `where` is left empty).
    """
    soil_factors(kind)
    return SoilFactors(1.0 + middle(swell_range(kind)), 1.0 - middle(shrink_range(kind, placing)))


def factors_source(placing: Placing | None) -> str:
    """Whose ranges the factors are the middles of."""
    packed = "Moving the Earth, p. 2.51"
    told = f"{packed}, less what hand tamping leaves open" if placing == "by hand" else packed
    return f"middles of the published ranges: swell Peurifoy, Table 4-1; shrink {told}"


# Most of the soil from outside that is lost where nobody says: from nothing to this. A heap on a lawn leaves half an
# inch of itself behind, which is 1.5 % of 30 cubic yards on 300 square feet: common practice, no published source.
LOST_MOST = 0.02


def with_factors(table: Mapping[str, object]) -> dict[str, object]:
    """The [soil] table with what it does not give itself filled in from its kind and its placing.

    The field "stated" says which of swell and shrink it gives itself.
    """
    kind, placing = table.get("kind", "loam"), table.get("placing")
    if not isinstance(kind, str) or placing not in (None, *SETTLEMENT_RANGES):
        return dict(table)
    way: Placing | None = placing
    stated = tuple(key for key in ("swell", "shrink") if key in table)
    filled: dict[str, object] = {**table, "stated": stated}
    if way is not None:
        filled.setdefault("settlement", middle(settlement_range(way)))
    if {"swell", "shrink"} <= table.keys():
        return filled
    factors = job_factors(kind, way)
    # The table's own shrink is a share of the bank volume, whatever the file says of a shrink that it does not give.
    untouched = "shrink" in table or table.get("shrink_of") != "placed"
    convention = {} if untouched else {"shrink_of": "bank"}
    return {"swell": factors.swell, "shrink": factors.shrink, **filled, **convention}
