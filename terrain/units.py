"""The edge between what people write and the SI inside: lengths, volumes, slopes and shares, read and shown.

Reading takes a bare number in the site's own units or a text that carries its unit; showing gives the words
a crew reads off a tape. Everything between works in metres, m3, rise/run and fractions.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from fractions import Fraction
from functools import cache
from itertools import pairwise
from typing import Literal

from terrain.errors import InputError
from terrain.spellings import LENGTHS, SI, TIMES, TON, VOLUMES, WEIGHTS

Units = Literal["ft", "m"]
Written = float | int | str

_LONGEST = 80  # characters of a value that a message repeats
_LARGEST = 1e12  # metres or m3: no yard holds more, and geometry overflows long after
STEEPEST_SLOPE = 1.0  # rise/run: loose soil does not stand steeper; common practice, no published source

_NUMBER = r"\d+[ -]\d+/\d+|\d+/\d+|(?:\d+\.?\d*|\.\d+)(?:e[+-]?\d+)?"
_VULGAR = {"½": " 1/2", "¼": " 1/4", "¾": " 3/4", "⅛": " 1/8", "⅜": " 3/8", "⅝": " 5/8", "⅞": " 7/8"}


def unit_length(units: Units) -> float:
    """Metres in the site's unit of length: 0.3048 for "ft", 1.0 for "m"."""
    return SI["foot" if units == "ft" else "metre"]


def unit_volume(units: Units) -> float:
    """Cubic metres in the site's unit of volume: a cubic yard for "ft" sites, 1.0 for "m" sites."""
    return SI["yard ** 3" if units == "ft" else "metre ** 3"]


def unit_mass(units: Units) -> float:
    """Kilograms in the site's ton: the short ton of 2,000 lb for "ft" sites, the tonne for "m" sites."""
    return SI["short_ton" if units == "ft" else "metric_ton"]


def as_written(value: object) -> str:
    """A value as it stands in the file, for a message: texts in double quotes, true and false in small letters.

    What is longer than a line is cut.
    """
    if isinstance(value, bool):
        return "true" if value else "false"
    try:
        text = f'"{value}"' if isinstance(value, str) else str(value)
    except (ValueError, RecursionError):  # thousands of digits, lists in lists without end
        return "a value too large to show"
    return text if len(text) <= _LONGEST else f"{text[:_LONGEST]}..."


def parse_length(value: Written, units: Units, where: str) -> float:
    """Length in metres of a bare number in the site's units or a text with its unit.

    >>> round(parse_length("2 ft 4 1/2 in", "m", "[bed] sod"), 4), parse_length(2, "m", "[bed] sod")
    (0.7239, 2.0)

    Parameters
    ----------
    value
        31.5, "31.5", "18 in", "2 ft 4 1/2 in", "2' 4 1/2\\"", "0.45 m", "45 cm"; a sign may lead.
    units
        The site's units, which a bare number is in.
    where
        File and key or row, for the message.

    Raises
    ------
    InputError
        Where the value is not a finite length.

    """
    examples = '"18 in", "2 ft 4 1/2 in" or "0.45 m"'
    accepted = f"Accepted: a number in {units}, or a number with its unit, such as {examples}."
    return _quantity(value, unit_length(units), LENGTHS, (where, "a length", accepted))


def parse_volume(value: Written, units: Units, where: str) -> float:
    """Volume in m3 of a bare number (cubic yards for "ft" sites, m3 for "m" sites) or a text with its unit.

    Accepts "4 cu yd", "10 yd3", "3 cu ft", "0.5 m3", "80 L". Raises `InputError` where the value is not a
    finite volume.
    """
    bare = "cubic yards" if units == "ft" else "m3"
    examples = '"4 cu yd", "3 cu ft", "0.5 m3" or "80 L"'
    accepted = f"Accepted: a number in {bare}, or a number with its unit, such as {examples}."
    return _quantity(value, unit_volume(units), VOLUMES, (where, "a volume", accepted))


def parse_weight(value: Written, units: Units, where: str) -> float:
    """Weight in kg of a bare number (pounds for "ft" sites, kg for "m" sites) or a text with its unit.

    Accepts "20,000 lb" written without the comma, "10 ton" (2,000 lb each; "ft" sites only), "9 t", "9000 kg". Raises
    `InputError` where the value is not a finite weight.
    """
    bare, spellings, example = ("pound", WEIGHTS | TON, '"10 ton"') if units == "ft" else ("kilogram", WEIGHTS, '"9 t"')
    accepted = f'Accepted: a number in {bare}, or a number with its unit, such as {example} or "9000 kg".'
    return _quantity(value, SI[bare], spellings, (where, "a weight", accepted))


def parse_unit_weight(value: Written, units: Units, where: str) -> float:
    """Weight of a volume in kg/m3, from "2200 lb/cu yd", "80 lb/ft3", "1300 kg/m3", "1.3 t/m3" or a bare number.

    A bare number is in lb per cubic yard for "ft" sites and in kg/m3 for "m" sites. Raises `InputError` where the value
    is neither.
    """
    bare = "lb per cubic yard" if units == "ft" else "kg/m3"
    accepted = f'Accepted: a number in {bare}, or a text such as "2200 lb/cu yd", "80 lb/cu ft" or "1300 kg/m3".'
    weight, _, volume = re.sub(r"\s*(?:/|\bper\b)\s*", "/", _tidy(value)).partition("/")
    if _plain_number(weight) is None and volume not in VOLUMES:
        raise InputError(where, f"{as_written(value)} is not a weight of a volume.", accepted)
    size = SI[VOLUMES[volume]] if volume in VOLUMES else unit_volume(units)
    try:
        return parse_weight(weight, units, where) / size
    except InputError:
        raise InputError(where, f"{as_written(value)} is not a weight of a volume.", accepted) from None


def parse_time(value: Written, where: str) -> float:
    """Time in seconds of a bare number of minutes or a text with its unit: "3 min", "2 min 30 s", "90 s"."""
    accepted = 'Accepted: a number of minutes, or a number with its unit, such as "3 min" or "90 s".'
    return _quantity(value, 60.0, TIMES, (where, "a time", accepted))


def parse_slope(value: Written, where: str, steepest: float = STEEPEST_SLOPE) -> float:
    """Slope as rise/run from "4:1" (run:rise), "25 %", "14 deg" or a bare rise/run number.

    Raises `InputError` where the value is not a slope, is not above zero, or is over `steepest`.
    """
    accepted = 'Accepted: run:rise such as "4:1", "25 %", "14 deg", or rise/run as a number such as 0.25.'
    slope = _slope(value)
    if slope is None or math.isnan(slope):
        raise InputError(where, f"{as_written(value)} is not a slope.", accepted)
    if slope <= 0.0:
        raise InputError(where, f"a slope of {as_written(value)} leaves no room to rise; it must be above 0.", accepted)
    if slope > steepest:
        size = f"a slope of {100 * slope:.0f} %" if math.isfinite(slope) else "upright"
        raise InputError(
            where,
            f"{as_written(value)} is {size}, steeper than loose soil stands "
            f"(at most {100 * steepest:.0f} %). A slope is run:rise: 4 across for 1 up is written 4:1.",
            accepted,
        )
    return slope


def parse_share(value: Written, where: str, whole: bool = False) -> float:
    """Share as a fraction, 0 <= share < 1, from "8 %" or 0.08; `whole` takes 100 % too.

    Raises `InputError` for anything else.
    """
    end = "1" if whole else "under 1"
    accepted = f'Accepted: a percentage such as "8 %" or a fraction such as 0.08, from 0 to {end}.'
    text = _tidy(value)
    number = _plain_number(text.removesuffix("%").rstrip())
    if number is None:
        raise InputError(where, f"{as_written(value)} is not a share.", accepted)
    share = number / 100.0 if text.endswith("%") else number
    if not 0.0 <= share < 1.0 and not (whole and share == 1.0):
        raise InputError(where, f"{as_written(value)} is {100 * share:g} %, out of range.", accepted)
    return share


def written_units(text: str) -> Units | None:
    """The system of the unit that a written length carries: "ft" for "18 in", "m" for "45 cm", else None."""
    terms = _terms(_unsigned_text(text), LENGTHS)
    if not terms:
        return None
    return "ft" if terms[-1][1] in ("inch", "foot", "yard") else "m"


def show_length(metres: float, units: Units, kind: Literal["depth", "distance", "elevation", "sill"] = "depth") -> str:
    """Length as a crew reads it.

    >>> show_length(0.5588, "ft"), show_length(3.2766, "ft", "distance"), show_length(0.222, "m")
    ('22 in', '10 ft 9 in', '22 cm')

    "ft" sites: a depth in inches to 1/4 in, a distance in feet and inches to 1/2 in, an elevation in decimal
    feet, that of a sill to 0.005 ft.
    "m" sites: a depth in cm to 0.5 cm, a distance in m to 1 cm, an elevation in m to 1 mm.
    """
    if kind == "sill" and units == "ft":
        return f"{_unsigned(round(metres / unit_length(units) * 200.0) / 200.0, 3)} {units}"
    if kind in ("elevation", "sill"):
        return f"{_unsigned(metres / unit_length(units), 2 if units == 'ft' else 3)} {units}"
    if units == "m":
        return f"{_halves(metres)} cm" if kind == "depth" else f"{_unsigned(metres, 2)} m"
    inches = metres / SI["inch"]
    return _inches(inches, 4) if kind == "depth" else _feet_inches(inches)


def show_volume(m3: float, units: Units, kind: Literal["", "loose", "placed", "bank"] = "") -> str:
    """Volume in cubic yards or m3 with one decimal, with its measure (loose, placed, bank) where named.

    A volume that would read 0.0 is shown in the next smaller unit (cu ft or L): little never reads as none.
    """
    big, small, small_unit = ("cu yd", "cu ft", "foot ** 3") if units == "ft" else ("m3", "L", "litre")
    value, unit = m3 / unit_volume(units), big
    if 0.0 < abs(value) < 0.05:
        value, unit = m3 / SI[small_unit], small
    return f"{_unsigned(value, 1)} {unit} {kind}".rstrip()


def show_span(low: float, high: float, units: Units, joint: str = "to") -> str:
    """Two volumes in m3 as "25.6 to 34.1 cu yd", the unit said once where both have it."""
    first, second = show_volume(low, units), show_volume(high, units)
    number, _, unit = first.partition(" ")
    return f"{number if second.endswith(unit) else first} {joint} {second}"


def show_area(m2: float, units: Units) -> str:
    """Area in whole square feet, or in m2 with one decimal."""
    return f"{m2 / unit_length('ft') ** 2:.0f} sq ft" if units == "ft" else f"{_unsigned(m2, 1)} m2"


def show_place(easting: float, northing: float, units: Units) -> str:
    """A place in metres as the coordinates that stand in the site's files: "x 31.00, y 22.50"."""
    unit = unit_length(units)
    return f"x {_unsigned(easting / unit, 2)}, y {_unsigned(northing / unit, 2)}"


def show_side(east: float, north: float) -> str:
    """The nearest of the eight sides that a way on the plan points to: "north-east"."""
    return _SIDES[round(math.atan2(north, east) / (math.pi / 4.0)) % 8]


_SIDES = ("east", "north-east", "north", "north-west", "west", "south-west", "south", "south-east")


def show_slope(rise_run: float) -> str:
    """Slope as "4.0:1 (25 %)", run:rise first; "level" where it would show as 0 %."""
    slope = abs(rise_run)
    if slope < 0.0005:
        return "level"
    percent = f"{100 * slope:.1f}".removesuffix(".0")
    return f"{1 / slope:.1f}:1 ({percent} %)"


def _tidy(value: object) -> str:
    """The value as one lower-case text with single blanks; "" for what is neither number nor text, or is too long.

    What is longer than a line holds no measure, and patterns and fractions take their time over it.
    """
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        return ""
    if isinstance(value, int) and abs(value) > _LARGEST * 1e9:  # in no unit a measure; may have thousands of digits
        return ""
    text = str(value)
    if len(text) > _LONGEST:
        return ""
    for mark, fraction in _VULGAR.items():
        text = text.replace(mark, fraction)
    return " ".join(text.lower().split())


def _plain_number(text: str) -> float | None:
    """A finite decimal number, or None."""
    try:
        number = float(text)
    except ValueError:
        return None
    # float() also takes "1_000", which is a slip in a measurement.
    return number if math.isfinite(number) and "_" not in text else None


def _mixed_number(text: str) -> float:
    """ "4", "4.5", "1/2", "4 1/2" or "4-1/2" as a number; the caller's pattern has checked the form."""
    if "/" not in text:
        return float(text)
    parts = text.replace("-", " ").split()
    if any(part.endswith("/0") for part in parts):
        return math.nan
    return float(sum(Fraction(part) for part in parts))


@cache
def _term_pattern(spellings: tuple[str, ...]) -> re.Pattern[str]:
    """A number followed by one of the spellings; longest first, so that "in." is not read as "in"."""
    units = "|".join(re.escape(s) for s in sorted(spellings, key=len, reverse=True))
    return re.compile(rf"(?P<number>{_NUMBER})[ -]?(?P<unit>{units})(?![a-z^])")


def _unsigned_text(value: object) -> str:
    """The tidied text without its sign."""
    text = _tidy(value)
    return (text[1:] if text.startswith(("-", "+")) else text).lstrip()


def _terms(text: str, spellings: Mapping[str, str]) -> list[tuple[float, str]] | None:
    """(number, unit) for each "number unit" of the text, or None where any of it cannot be read."""
    pattern = _term_pattern(tuple(spellings))
    terms: list[tuple[float, str]] = []
    at = 0
    while at < len(text):
        match = pattern.match(text, at)
        if match is None:
            return None
        terms.append((_mixed_number(match["number"]), spellings[match["unit"]]))
        at = match.end()
        while at < len(text) and text[at] in " ,-":
            at += 1
    return terms


def _quantity(value: Written, bare: float, spellings: Mapping[str, str], words: tuple[str, str, str]) -> float:
    """SI value of a bare number times `bare`, or of a sum ("2 ft 4 in") whose units must grow smaller."""
    where, noun, accepted = words
    text = _tidy(value)
    number = _plain_number(text)
    if number is not None:
        total: float | None = number * bare
    else:
        total = _sum(_terms(_unsigned_text(value), spellings) or [])
    if total is None or not abs(total) < _LARGEST:  # also false for nan
        raise InputError(where, f"{as_written(value)} is not {noun}.", accepted)
    return -total if number is None and text.startswith("-") else total


def _sum(terms: list[tuple[float, str]]) -> float | None:
    """The sum of the terms in SI units; None where there are none or their units do not grow smaller."""
    factors = [SI[unit] for _, unit in terms]
    if not terms or any(later >= earlier for earlier, later in pairwise(factors)):
        return None
    return sum(number * factor for (number, _), factor in zip(terms, factors, strict=True))


def _slope(value: Written) -> float | None:
    """Rise/run as written, without judging its size; None where it cannot be read."""
    text = _tidy(value)
    if ":" in text:
        run, _, rise = text.partition(":")
        numbers = _plain_number(run), _plain_number(rise)
        if numbers[0] is None or numbers[1] is None:
            return None
        return numbers[1] / numbers[0] if numbers[0] != 0.0 else math.inf * (numbers[1] or math.nan)
    for ending in ("%", "degrees", "deg", "°"):
        if text.endswith(ending):
            number = _plain_number(text.removesuffix(ending))
            if number is None:
                return None
            return number / 100.0 if ending == "%" else _tangent(number)
    return _plain_number(text)


def _tangent(degrees: float) -> float:
    """Rise/run of an angle; past the upright counts as endlessly steep, not as negative."""
    return math.tan(math.radians(degrees)) if abs(degrees) < 90.0 else math.copysign(math.inf, degrees)


def _unsigned(value: float, places: int) -> str:
    """Fixed decimals without a minus sign before a zero."""
    text = f"{value:.{places}f}"
    return text.removeprefix("-") if float(text) == 0.0 else text


def _halves(metres: float) -> str:
    """Centimetres to the nearest half."""
    return _unsigned(round(200.0 * metres) / 2.0, 1).removesuffix(".0")


def _inches(inches: float, parts: int) -> str:
    """Inches to the nearest 1/`parts`, the rest as a fraction: "22 1/4 in"."""
    count = round(abs(inches) * parts)
    whole, rest = divmod(count, parts)
    fraction = str(Fraction(rest, parts)) if rest else ""
    number = " ".join(part for part in (str(whole) if whole or not rest else "", fraction) if part)
    return f"{'-' if inches < 0 and count else ''}{number} in"


def _feet_inches(inches: float) -> str:
    """Feet and inches to the nearest half inch: "31 ft 6 1/2 in"."""
    halves = round(abs(inches) * 2)
    feet, rest = divmod(halves, 24)
    words = [f"{feet} ft"] if feet or not rest else []
    words += [_inches(rest / 2.0, 2)] if rest else []
    return ("-" if inches < 0 and halves else "") + " ".join(words)
