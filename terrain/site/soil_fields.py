"""How the figures of soil, its transport and its price are written in a site file, and the SI value of each."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any, Protocol

from terrain.errors import InputError
from terrain.limits import BAG, BARROW, LARGEST_LOSS, LOOSE_WEIGHTS, PRICE_MOST, SOLD_IN_MOST, TRUCK, Limit
from terrain.site.ranges import KG_PER_TONNE
from terrain.units import (
    Units,
    as_written,
    parse_share,
    parse_time,
    parse_unit_weight,
    parse_volume,
    parse_weight,
    show_span,
    show_volume,
    unit_length,
    unit_mass,
    unit_volume,
)


class Within(Protocol):
    """What a reader of a figure must know of the site."""

    @property
    def units(self) -> Units:
        """The site's units, which a bare number is in."""


def above_zero(metres: float, value: Any) -> float:
    """The measure, refused where it is not above 0."""
    if metres <= 0.0:
        raise InputError("", f"{as_written(value)} is not above zero.", "Accepted: more than 0.")
    return metres


def _loss(value: Any, at: Within) -> float:
    share = parse_share(value, "")
    if share > LARGEST_LOSS.value:
        raise InputError("", f"{as_written(value)} loses more than half of the soil.", "Accepted: from 0 to 50 %.")
    return share


def _volume(value: Any, at: Within) -> float:
    return above_zero(parse_volume(value, at.units, ""), value)


def _held(noun: str, bounds: tuple[Limit, Limit]) -> Callable[[Any, Within], float]:
    """A reader of the volume that one vehicle or bag holds."""
    least, most = bounds

    def read(value: Any, at: Within) -> float:
        volume = _volume(value, at)
        if not least.value <= volume <= most.value:
            example = '"10 cu yd"' if at.units == "ft" else '"8 m3"'
            raise InputError(
                "",
                f"{as_written(value)} is {show_volume(volume, at.units)}, which no {noun} holds.",
                f"Accepted: {show_span(least.value, most.value, at.units)}; a bare number is in "
                f"{'cubic yards' if at.units == 'ft' else 'm3'}, a text may name its unit, such as {example}.",
            )
        return volume

    return read


def _sold_in(value: Any, at: Within) -> float:
    volume = _volume(value, at)
    if volume > SOLD_IN_MOST.value:
        most = show_volume(SOLD_IN_MOST.value, at.units)
        raise InputError("", f"{as_written(value)} is a step of more than {most}.", f"Accepted: up to {most}.")
    return volume


def _amount(value: Any, per: str, size: float = 1.0, dearest: float = PRICE_MOST.value) -> float:
    number = isinstance(value, int | float) and not isinstance(value, bool)
    if not number or not 0.0 < value < math.inf:
        raise InputError(
            "", f"{as_written(value)} is not a price.", f"Accepted: a number above 0, in your money per {per}."
        )
    if value / size > dearest:
        most = f"Accepted: up to {dearest * size:,.0f}."
        raise InputError("", f"{as_written(value)} is no price per {per}.", most)
    return float(value) / size


def _price(value: Any, at: Within) -> float:
    return _amount(value, "loose cubic yard" if at.units == "ft" else "loose m3", unit_volume(at.units))


def _price_by_weight(value: Any, at: Within) -> float:
    per = "ton of 2,000 lb" if at.units == "ft" else "tonne"
    return _amount(value, per, unit_mass(at.units), PRICE_MOST.value / KG_PER_TONNE)


def _price_by_area(value: Any, at: Within) -> float:
    return _amount(value, "square foot" if at.units == "ft" else "m2", unit_length(at.units) ** 2)


def _unit_weight(value: Any, at: Within) -> float:
    weight = parse_unit_weight(value, at.units, "")
    least, most = (limit.value for limit in LOOSE_WEIGHTS)
    if not least <= weight <= most:
        raise InputError(
            "",
            f"{as_written(value)} is {weight:.0f} kg/m3, which no loose soil weighs.",
            f"Accepted: {least:.0f} to {most:.0f} kg/m3; a bare number is in "
            f"{'lb per cubic yard' if at.units == 'ft' else 'kg/m3'}.",
        )
    return weight


def _weight_spread(value: Any, at: Within) -> float:
    return parse_unit_weight(value, at.units, "")


def _placing(value: Any, at: Within) -> str:
    if value not in ("by hand", "by machine"):
        problem = f"{as_written(value)} is no way of placing soil."
        raise InputError("", problem, 'Accepted: "by hand" (wheeled in and raked) or "by machine" (spread and packed).')
    return str(value)


def _shrink_of(value: Any, at: Within) -> str:
    if value not in ("bank", "placed"):
        raise InputError(
            "",
            f"{as_written(value)} is not what a shrink is a share of.",
            'Accepted: "bank" (25 % leaves 0.75 of the bank volume) or "placed" (25 % leaves 0.80 of it).',
        )
    return str(value)


SOIL_READERS: Mapping[str, Callable[[Any, Within], object]] = {
    "volume": _volume,
    "truck": _held("truck", TRUCK),
    "barrow": _held("barrow", BARROW),
    "bag": _held("bag", BAG),
    "sold in": _sold_in,
    "weight": lambda value, at: above_zero(parse_weight(value, at.units, ""), value),
    "unit weight": _unit_weight,
    "time": lambda value, at: above_zero(parse_time(value, ""), value),
    "price": _price,
    "price by weight": _price_by_weight,
    "price by area": _price_by_area,
    "money": lambda value, at: _amount(value, "load, bag or hour"),
    "loss": _loss,
    "shrink of": _shrink_of,
    "placing": _placing,
    "weight spread": _weight_spread,
}
