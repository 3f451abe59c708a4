"""How the figures of a storm are written in a site file, and the SI value of each."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Any

from terrain.errors import InputError
from terrain.limits import FASTEST_INTAKE, LONGEST_STORM, MOST_RAIN
from terrain.site.soil_fields import Within, above_zero
from terrain.site.storm import HOUR, MM_PER_HOUR
from terrain.units import as_written, parse_length, parse_time, show_length

_PER_HOUR = re.compile(r"\s*(?:/|\bper\b)\s*(?:h|hr|hour)\.?\s*$", re.IGNORECASE)


def _rain(value: Any, at: Within) -> float:
    metres = above_zero(parse_length(value, at.units, ""), value)
    if metres > MOST_RAIN.value:
        example = '"2 in"' if at.units == "ft" else '"50 mm"'
        raise InputError(
            "",
            f"{as_written(value)} of rain is {show_length(metres, at.units, 'distance')}, more than any storm brings.",
            f"Accepted: up to {show_length(MOST_RAIN.value, at.units)}; a bare number is in {at.units}, a text may "
            f"name its unit, such as {example}.",
        )
    return metres


def _hours(value: Any, at: Within) -> float:
    number = isinstance(value, int | float) and not isinstance(value, bool)
    hours = float(value) if number else parse_time(value, "") / HOUR
    if not 0.0 < hours <= LONGEST_STORM.value:
        raise InputError(
            "", f"{as_written(value)} is no length of a storm.", f"Accepted: up to {LONGEST_STORM.value:.0f} hours."
        )
    return hours


def _intake(value: Any, at: Within) -> float:
    accepted = 'Accepted: a depth an hour, such as "0.5 in/h" or "12 mm/h"; 0 where nothing soaks in.'
    if value == 0 and not isinstance(value, bool):
        return 0.0
    depth, found = _PER_HOUR.subn("", value) if isinstance(value, str) else ("", 0)
    try:
        rate = parse_length(depth, at.units, "") / HOUR if found else -1.0
    except InputError:
        rate = -1.0
    if not 0.0 <= rate <= FASTEST_INTAKE.value:
        most = f" At most {FASTEST_INTAKE.value / MM_PER_HOUR:.0f} mm/h." if rate > 0.0 else ""
        raise InputError("", f"{as_written(value)} is no rate at which ground takes water.", accepted + most)
    return rate


STORM_READERS: Mapping[str, Callable[[Any, Within], object]] = {"rain": _rain, "hours": _hours, "intake": _intake}
