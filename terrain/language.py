"""The languages of the crew's sheets and pages: messages by the catalogues beside this file, measures as they are read.

English stands in the code; `terrain/languages` holds the catalogues (gettext), one folder a language. A message that a
catalogue lacks would come out in English: `tests/test_languages.py` lets none be missing.
"""

from __future__ import annotations

import gettext
import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Literal, get_args

from terrain.errors import InputError
from terrain.units import as_written

Tongue = Literal["en", "es", "fr"]
TONGUES: tuple[Tongue, ...] = get_args(Tongue)
CATALOGUES = Path(__file__).parent / "languages"
DOMAIN = "hummock"

# Units as each language shortens them (Unicode CLDR: es_MX keeps ft and in; fr_CA has pi, po and vg3).
_UNITS: dict[str, dict[str, str]] = {
    "en": {},
    "es": {"cu yd": "yd³", "cu ft": "ft³", "sq ft": "ft²", "m3": "m³", "m2": "m²"},
    "fr": {"cu yd": "vg³", "cu ft": "pi³", "sq ft": "pi²", "m3": "m³", "m2": "m²", "ft": "pi", "in": "po"},
}
_COMMA = {"fr"}  # languages with a decimal comma; the Spanish is that of the United States and Mexico, with a point


@dataclass(frozen=True)
class Language:
    """One language: `code` names it; texts are asked for in English."""

    code: Tongue = "en"

    def say(self, message: str, **values: object) -> str:
        """A message in this language, its {names} filled in."""
        return _catalogue(self.code).gettext(message).format(**values)

    def several(self, one: str, many: str, number: int, **values: object) -> str:
        """The message for a number of things, {n} and other {names} filled in."""
        return _catalogue(self.code).ngettext(one, many, number).format(n=self.whole(number), **values)

    def word(self, context: str, message: str) -> str:
        """A word that means several things in English, by its context."""
        return _catalogue(self.code).pgettext(context, message)

    def measure(self, shown: str) -> str:
        """A measure as `terrain.units` shows it, with this language's units and decimal mark."""
        if self.code in _COMMA:
            shown = re.sub(r"(?<=\d)\.(?=\d)", ",", shown)
        units = _UNITS[self.code]
        for unit in sorted(units, key=len, reverse=True):
            shown = re.sub(rf"(?<=\d)( ?){re.escape(unit)}\b", rf"\g<1>{units[unit]}", shown)
        return shown

    def whole(self, number: int) -> str:
        """A whole number, thousands parted as the language does."""
        parted = f"{number:,}"
        return parted.replace(",", "\u00a0") if self.code in _COMMA else parted


ENGLISH = Language()


def language_named(name: str) -> Language:
    """The language of a code as people write it ("es", "es-MX", "FR"); `InputError` lists those there are."""
    code = name.strip().lower().replace("_", "-").partition("-")[0]
    for tongue in TONGUES:
        if tongue == code:
            return Language(tongue)
    raise InputError(
        "--language", f"{as_written(name)} is not a language of the sheets.", f"Accepted: {', '.join(TONGUES)}."
    )


def unit_names(language: Language) -> dict[str, str]:
    """The short units of length of a language, by the English ones, where they differ."""
    return {unit: named for unit, named in _UNITS[language.code].items() if unit in ("ft", "in")}


def page_messages(language: Language) -> dict[str, str]:
    """Every message of a catalogue that has one form, by its English: what a page carries along."""
    found = getattr(_catalogue(language.code), "_catalog", {})
    return {message: told for message, told in found.items() if isinstance(message, str) and message and told}


@cache
def _catalogue(code: str) -> gettext.NullTranslations:
    """The catalogue of a language; English needs none."""
    if code == "en":
        return gettext.NullTranslations()
    return gettext.translation(DOMAIN, CATALOGUES, [code])
