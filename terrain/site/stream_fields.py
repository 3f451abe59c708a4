"""How a stream, and the water in it, is written in a site file, and the SI value of each figure."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from terrain.errors import InputError
from terrain.estimates import show_about
from terrain.limits import FITTINGS_MOST, MOST_FLOW, ROUGHNESS, VOIDS
from terrain.site.choice import one_of
from terrain.site.soil_fields import Within
from terrain.site.streams import LOOKS, PIPE_KINDS, PumpPoint
from terrain.spellings import SI
from terrain.units import as_written, parse_length, parse_share, parse_time, parse_volume

# Litres in a gallon: 231 cubic inches (NIST Handbook 44, app. C), and the imperial one (UK Weights and Measures Act).
_US_GALLON, _IMPERIAL_GALLON = 1000.0 * SI["gallon"], 4.54609
_PER = re.compile(r"\s*(?:/|\bper\b)\s*")
_SHORT = {"gph": "gal/h", "gpm": "gal/min"}
_GALLONS = re.compile(r"(?P<number>\d{1,9}(?:\.\d{1,9})?) ?(?:us )?(?P<kind>imp |imperial )?gal(?:lons?)?\.?")
_EXAMPLES = {"ft": '"2400 gal/h" or "40 gpm"', "m": '"9 m3/h" or "150 L/min"'}


def _number(value: Any) -> float | None:
    """The value where it is a number; None for a text, a truth and all else."""
    return float(value) if isinstance(value, int | float) and not isinstance(value, bool) else None


def _volume_and_time(value: Any, at: Within) -> float:
    """m3/s of a volume over a time; a bare number would leave it open which, and "gal" is the US gallon."""
    text = " ".join(value.lower().split()) if isinstance(value, str) else ""
    for short, long in _SHORT.items():
        text = text.replace(short, long)
    amount, _, time = _PER.sub("/", text).rpartition("/")
    gallons = _GALLONS.fullmatch(amount)
    try:
        if gallons:
            litres = _IMPERIAL_GALLON if gallons["kind"] else _US_GALLON
            amount = f"{litres * float(gallons['number']):.15g} L"
        if not any(sign.isalpha() and sign != "e" for sign in amount) or not time.isalpha():
            raise InputError("", "", "")
        return parse_volume(amount, at.units, "") / parse_time(f"1 {time}", "")
    except InputError:
        raise InputError(
            "", f"{as_written(value)} is not a flow.", f"Accepted: a volume over a time, such as {_EXAMPLES[at.units]}."
        ) from None


def _flow(value: Any, at: Within) -> float:
    flow = _volume_and_time(value, at)
    if not 0.0 < flow <= MOST_FLOW.value:
        raise InputError(
            "",
            f"{as_written(value)} is no flow of a stream on a mound.",
            f"Accepted: more than 0 and up to {show_about(MOST_FLOW.value, 'flow', at.units)}.",
        )
    return flow


def _named(value: Any, names: Sequence[str], noun: str) -> str:
    word = " ".join(value.lower().split()) if isinstance(value, str) else ""
    return one_of(word, value, names, noun)


def _roughness(value: Any, at: Within) -> float:
    number = _number(value)
    if number is None or not ROUGHNESS[0].value <= number <= ROUGHNESS[1].value:
        raise InputError(
            "",
            f"{as_written(value)} is no roughness of a bed.",
            f"Accepted: Manning's n from {ROUGHNESS[0].value:g} to {ROUGHNESS[1].value:g}; a stony bed has about 0.10.",
        )
    return number


def _fittings(value: Any, at: Within) -> float:
    number = _number(value)
    if number is None or not 0.0 <= number <= FITTINGS_MOST.value:
        raise InputError(
            "",
            f"{as_written(value)} is no sum of loss factors.",
            f"Accepted: from 0 to {FITTINGS_MOST.value:g}; a bend counts about 0.9, an open valve 0.1, the way out 1.",
        )
    return number


def _voids(value: Any, at: Within) -> float:
    share = parse_share(value, "", whole=True)
    if not VOIDS[0].value <= share:
        raise InputError(
            "",
            f"{as_written(value)} leaves no room for water.",
            f'Accepted: from {VOIDS[0].value:.0%} to 100 %, the share of the basin that water fills, such as "40 %" of '
            "clean stone.",
        )
    return share


def _pump_point(value: Any, at: Within) -> PumpPoint:
    if isinstance(value, PumpPoint):
        return value
    if not isinstance(value, Sequence) or isinstance(value, str) or len(value) != 2:
        raise InputError(
            "",
            f"{as_written(value)} is no point of a pump's curve.",
            'Accepted: [flow, head], such as ["2100 gal/h", "13.5 ft"].',
        )
    flow = 0.0 if _number(value[0]) == 0.0 else _flow(value[0], at)
    head = parse_length(value[1], at.units, "")
    if head < 0.0:
        raise InputError("", f"the head {as_written(value[1])} is negative.", "Accepted: 0 or more.")
    return PumpPoint(flow, head)


STREAM_READERS: Mapping[str, Callable[[Any, Any], object]] = {
    "flow": _flow,
    "look": lambda value, at: _named(value, tuple(LOOKS), "look of falling water"),
    "pipe kind": lambda value, at: _named(value, PIPE_KINDS, "kind of pipe"),
    "roughness": _roughness,
    "fittings": _fittings,
    "voids": _voids,
    "pump point": _pump_point,
}
