"""How sure a figure is: written with its spread, as "18 % +- 3 %", or as the tables have it."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

from terrain.errors import InputError
from terrain.site.factors import STATED, half, middle, settlement_range, shrink_range, swell_range
from terrain.site.model import Site, Soil
from terrain.units import as_written

_SIGN = re.compile(r"\s*(?:\+\s*/?\s*[-−–]|±)\s*")
_UNIT = re.compile(r"[^\d\s.,/+−-].*$")
# The keys whose doubt the order is drawn from, or a weight's two ends.
OF_SOIL = ("swell", "shrink", "settlement", "reuse", "lost", "unit_weight")
OF_BED = ("sod",)
# Sod is stripped by eye: common practice, no published source.
SOD_DEVIATION = 0.25  # of the depth
_SIDES = 3.0**0.5  # half the width of an even range, in its standard deviations


def with_spreads(table: Mapping[str, object], keys: Iterable[str], where: str) -> dict[str, object]:
    """A table in which each figure written with a spread stands apart from it, as `key` and `key_spread`.

    Raises
    ------
    InputError
        For a spread that is no spread, and at a key whose doubt says nothing.
    """
    apart = dict(table)
    for key, value in table.items():
        if not isinstance(value, str) or not _SIGN.search(value):
            continue
        if key not in keys:
            accepted = f"Accepted: one figure; a spread may stand at {', '.join(keys)}."
            raise InputError(
                f"{where} {key}", f"{as_written(value)} has a spread, which changes nothing here.", accepted
            )
        apart[key], apart[f"{key}_spread"] = _parted(value, f"{where} {key}")
    return apart


def _parted(value: str, where: str) -> tuple[str, str]:
    """Figure and spread of "18 % +- 3 %", "18 +- 3 %" or "0.18 +- 0.03"."""
    figure, spread, *more = (part.strip() for part in _SIGN.split(value))
    accepted = 'Accepted: a figure, +- and half the width of its range, such as "18 % +- 3 %" or "2 in +- 1/4 in".'
    if more or not figure or not spread:
        raise InputError(where, f"{as_written(value)} is not a figure and its spread.", accepted)
    if spread[0] in "-+−":
        raise InputError(where, f"{as_written(value)} has a spread under nothing.", accepted)
    unit, own = _UNIT.search(figure), _UNIT.search(spread)
    if unit and not own:
        raise InputError(where, f"{as_written(value)} does not say what its spread is in.", accepted)
    return (f"{figure} {own.group()}" if own and not unit else figure), spread


def soil_spreads(soil: Soil) -> dict[str, float]:
    """Half the width of the range that each figure of the soil lies in, evenly.

    What is stated without a spread is taken as `STATED` of the table's range; what nobody states is the table's.
    """
    ranges = {"swell": swell_range(soil.kind), "shrink": shrink_range(soil.kind, soil.placing)}
    usual = {key: min(getattr(soil, key), _of_table(soil, key, ends)) for key, ends in ranges.items()}
    usual["settlement"] = min(soil.settlement, half(settlement_range(soil.placing)))
    usual |= {"lost": soil.lost or 0.0, "reuse": 0.0}
    return {key: spread if (own := getattr(soil, f"{key}_spread")) is None else own for key, spread in usual.items()}


def sod_deviation(sod: float, spread: float | None) -> float:
    """Standard deviation in metres of the depth of sod that is stripped."""
    return SOD_DEVIATION * sod if spread is None else spread / _SIDES


def _of_table(soil: Soil, key: str, ends: tuple[float, float]) -> float:
    """Half the width of a published range, of it `STATED` where the figure is somebody's own."""
    as_published = key not in soil.stated and abs(getattr(soil, key) - middle(ends)) < 1e-9
    return half(ends) * (1.0 if as_published else STATED)


def check_spreads(site: Site, label: str) -> None:
    """Refuse a spread that reaches below nothing, and one that makes a factor less sure than the table has it."""
    soil = site.soil
    _reaches(site.bed.sod, site.bed.sod_spread, f"{label} [bed] sod")
    for key in OF_SOIL:
        _reaches(getattr(soil, key), getattr(soil, f"{key}_spread"), f"{label} [soil] {key}")
    for key, ends in (("swell", swell_range(soil.kind)), ("shrink", shrink_range(soil.kind, soil.placing))):
        spread = getattr(soil, f"{key}_spread")
        if spread is not None and spread >= half(ends):
            low, high = (f"{100.0 * end:.3g}" for end in ends)
            raise InputError(
                f"{label} [soil] {key}",
                f"give or take {100.0 * spread:.3g} % is less sure than the published range of {soil.kind}, "
                f"{low} to {high} %.",
                f"Accepted: a spread under {100.0 * half(ends):.3g} %, or {key} left out.",
            )


def _reaches(figure: float | None, spread: float | None, where: str) -> None:
    if spread is not None and figure is not None and spread > figure + 1e-12:
        raise InputError(where, "the spread reaches below nothing.", "Accepted: a spread no larger than its figure.")
