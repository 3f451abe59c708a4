"""How thick a trunk is, as plans write it: in an attribute, with or without a unit, or in a label beside the tree."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence

from terrain.errors import InputError
from terrain.units import Units, parse_length, written_units

_THICKEST, _THINNEST = 4.0, 0.03  # metres: thicker is no tree, thinner none that is checked
_MIDDLING = (0.08, 2.5)  # metres: the middle one of a plan's trunks lies between
_IN_TEXT = re.compile(
    r"(?P<figure>\d+(?:[.,]\d+)?)\s*(?P<unit>\"|''|in\b\.?|inch(?:es)?\b|cm\b|mm\b|m\b|ft\b|')?"
    r"\s*(?P<dbh>dbh\b|cal\b|dia\b)?",
    re.IGNORECASE,
)
_BEFORE = ("dbh", "trunk", "ø", "dia", "cal")


def is_bare(text: str) -> bool:
    """Whether a text is a figure without a unit."""
    try:
        return math.isfinite(float(text.replace(",", ".")))
    except ValueError:
        return False


def written_length(text: str, units: Units, where: str, unit: str = "") -> float:
    """Metres of a length as a plan writes it; a bare figure is in `unit`, or in the yard's where that is "".

    Raises `InputError` for what is no length.
    """
    text = text.replace(",", ".").replace("''", '"').lower().removeprefix("ø").strip()
    return parse_length(f"{text} {unit}" if unit and is_bare(text) else text, units, where)


def unit_of_trunks(label: str, texts: Sequence[str], units: Units) -> str:
    """The unit that makes trees of all bare trunk figures of a plan; refused where none or several do."""
    figures = sorted(float(text.replace(",", ".")) for text in texts if is_bare(text))
    usual = ("in", "ft") if units == "ft" else ("cm", "m", "mm")
    if not figures:
        return usual[0]
    middle, (least, most) = figures[len(figures) // 2], _MIDDLING
    fits = [unit for unit in usual if least <= middle * parse_length(f"1 {unit}", units, "") <= most]
    if len(fits) != 1:
        raise InputError(
            f"{label} trunks",
            f"bare figures about {middle:g}: their unit cannot be told.",
            "State it: --trunk in, --trunk cm, --trunk mm, --trunk ft or --trunk m.",
        )
    return fits[0]


def trunk_in(text: str, units: Units, unit: str) -> float | None:
    """The trunk in metres that a label names: `24" OAK`, "oak DBH 24", "Quercus 60 cm"; None where it names none."""
    for found in _IN_TEXT.finditer(text):
        before = text[: found.start()].lower().rstrip(" :=")
        if not (found["unit"] or found["dbh"] or before.endswith(_BEFORE)):
            continue
        length = found["figure"].replace(",", ".") + " " + (found["unit"] or unit).replace("''", '"')
        metres = parse_length(length, units, f"label {text}") if written_units(length) else 0.0
        if _THINNEST <= metres <= _THICKEST:
            return metres
    return None


def without_trunk(text: str) -> str:
    """What a label says besides: "OAK" of `24" OAK`."""
    rest = re.sub(r"\b(dbh|trunk|dia|cal)\b", "", _IN_TEXT.sub("", text), flags=re.IGNORECASE)
    return " ".join(rest.split()).strip(" ,;:-/()") or text
