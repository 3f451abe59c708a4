"""Swell and shrink by kind of soil: the published table, and how a site file names its rows.

US Army FM 5-434, Earthmoving Operations, 15 June 2000, Table 1-1 (as quoted, with the table's number, in a
public course on construction machines): loose and compacted volume of one volume in the bank.

    sand or gravel        1.11 loose    0.95 compacted
    common earth (loam)   1.25 loose    0.90 compacted
    clay                  1.43 loose    0.90 compacted

Topsoil is taken as common earth: common practice, no published source. The other soils of the textural triangle are
taken as the row of their group, coarse, medium or fine: USDA-NRCS, Characteristics of soil texture groups
(https://conservationdigest.com/characteristics-soil-texture-groups).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches

from terrain.errors import InputError

SOURCE = "US Army FM 5-434, Earthmoving Operations, 2000, Table 1-1"


@dataclass(frozen=True)
class SoilFactors:
    """Volume of one bank volume, loose and compacted (dimensionless)."""

    loose_per_bank: float
    compacted_per_bank: float

    @property
    def swell(self) -> float:
        """loose/bank - 1."""
        return round(self.loose_per_bank - 1.0, 12)

    @property
    def shrink(self) -> float:
        """1 - compacted/bank, the fraction-of-bank convention."""
        return round(1.0 - self.compacted_per_bank, 12)


_SAND = SoilFactors(1.11, 0.95)
_EARTH = SoilFactors(1.25, 0.90)
_CLAY = SoilFactors(1.43, 0.90)
SOILS: Mapping[str, SoilFactors] = {
    "sand": _SAND,
    "gravel": _SAND,
    "sand and gravel": _SAND,
    "loam": _EARTH,
    "common earth": _EARTH,
    "earth": _EARTH,
    "topsoil": _EARTH,
    "clay": _CLAY,
}


_SANDY = ("loamy sand", "loamy fine sand", "fine sand", "coarse sand")
_LOAMY = (
    *("sandy loam", "fine sandy loam", "silt loam", "silty loam", "silt"),
    *("clay loam", "sandy clay loam", "silty clay loam"),
)
_CLAYEY = ("sandy clay", "silty clay")
TEXTURES: Mapping[str, str] = {
    **dict.fromkeys(_SANDY, "sand"),
    **dict.fromkeys(_LOAMY, "loam"),
    **dict.fromkeys(_CLAYEY, "clay"),
}


def soil_word(kind: str) -> str:
    """A kind of soil as the tables write it: small letters, single spaces."""
    return " ".join(kind.lower().replace("/", " and ").replace("-", " ").split())


def row_of(kind: str) -> str:
    """The row of the table that a kind of soil is taken as; a kind that has none as `soil_word` has it."""
    word = soil_word(kind)
    return TEXTURES.get(word, word)


def texture_note(table: Mapping[str, object]) -> tuple[str, ...]:
    """What a reader must know of the soils of a [soil] table: the rows that stand in for them."""
    stated = {"swell", "shrink"} <= table.keys()
    kinds = [table.get("ground"), None if stated else table.get("kind")]
    return tuple(
        f"[soil]: {kind} is taken as {row_of(kind)}, the row of its texture group in {SOURCE}."
        for kind in kinds
        if isinstance(kind, str) and row_of(kind) != " ".join(kind.lower().replace("/", " and ").split())
    )


def soil_factors(kind: str) -> SoilFactors:
    """The published factors of a kind of soil; `InputError` (its `where` left empty) lists the kinds."""
    word = row_of(kind)
    if word not in SOILS:
        near = get_close_matches(word, (*SOILS, *TEXTURES), n=1)
        hint = f' Did you mean "{near[0]}"?' if near else ""
        raise InputError(
            "",
            f'"{kind}" is not a soil of the table ({SOURCE}).{hint}',
            f"Accepted: {', '.join(SOILS)}, soils of the textural triangle; or any name, with swell and shrink given.",
        )
    return SOILS[word]
