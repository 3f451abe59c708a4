"""How the rates of a crew are written in a site file, and the SI value of each."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Any

from terrain.errors import InputError
from terrain.limits import AREA_RATE_MOST, VOLUME_RATE_MOST, Limit
from terrain.site.soil_fields import Within
from terrain.site.storm import HOUR
from terrain.units import Units, as_written, parse_length, parse_volume, unit_length

_PER_HOUR = re.compile(r"\s*(?:/|\bper\b|\ban?\b)\s*(?:h|hr|hour)\.?\s*$", re.IGNORECASE)
_SQUARES: tuple[tuple[re.Pattern[str], Units], ...] = (
    (re.compile(r"\s*(?:sq\.?\s*ft|ft2|ft²|square feet)\s*$", re.IGNORECASE), "ft"),
    (re.compile(r"\s*(?:sq\.?\s*m|m2|m²|square metres)\s*$", re.IGNORECASE), "m"),
)


def _an_hour(value: Any, at: Within, parse: Callable[[Any, Units], float], most: Limit, example: str) -> float:
    """SI value a second of an amount an hour, "0.85 cu yd/h" or a bare number in the site's units."""
    accepted = f"Accepted: what one person does in an hour, such as {example}."
    amount = _PER_HOUR.sub("", value) if isinstance(value, str) else value
    try:
        rate = parse(amount, at.units) / HOUR
    except InputError:
        rate = -1.0
    if not 0.0 < rate <= most.value:
        raise InputError("", f"{as_written(value)} is no rate of work by hand.", accepted)
    return rate


def _area(value: Any, units: Units) -> float:
    for pattern, named in _SQUARES:
        number, found = pattern.subn("", value) if isinstance(value, str) else ("", 0)
        if found:
            return parse_length(number, named, "") * unit_length(named)
    return parse_length(value, units, "") * unit_length(units)


def _volume_rate(value: Any, at: Within) -> float:
    example = '"0.85 cu yd/h"' if at.units == "ft" else '"0.65 m3/h"'
    return _an_hour(value, at, lambda amount, units: parse_volume(amount, units, ""), VOLUME_RATE_MOST, example)


def _area_rate(value: Any, at: Within) -> float:
    return _an_hour(value, at, _area, AREA_RATE_MOST, '"125 sq ft/h"' if at.units == "ft" else '"12 m2/h"')


CREW_READERS: Mapping[str, Callable[[Any, Within], object]] = {
    "volume an hour": _volume_rate,
    "area an hour": _area_rate,
}
