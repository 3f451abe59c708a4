"""Texts of a sheet said again in another language: each by the message that it is an instance of.

The words of set-out, trees and cautions are put together far from any sheet, in the site's own units. A sheet that
speaks another language asks here: a text that is a message of the catalogue `sheets.po`, or an instance of one with
{blanks}, comes back as its translation, what stands in the blanks said again likewise. Names of the yard stay as they
are; measures get the language's units and decimal mark. `tests/test_sheets_in_languages.py` lets no English be left.
"""

from __future__ import annotations

import gettext
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache

from terrain.language import CATALOGUES, Language

SHEETS = "sheets"  # the catalogue's name
_BLANK = re.compile(r"\{(\w+)\}")
# A blank of these names takes figures only, so that a message is not taken for one that it is not.
_FIGURES = r"[-+−]?\d[\d.,]*(?: \d+/\d+)?"
_SENTENCE = re.compile(r"(?<=[.!?])\s+(?=[A-Z\"(])")
_DEEPEST = 6  # blanks within blanks
_TELLING = 8  # letters by which a message is known for certain, whatever stands in its blanks
_CORNER = re.compile(r" (?:[NS]?[EW]|[NS]|\d+)$")  # behind the name of what has it: "house SW", "front walk 2"
_LETTERS = re.compile(r"[A-Za-z]{2}")
_UNIT = r"(?:ft|in|cm|mm|m2|m3|m|sq ft|cu yd|cu ft|L|h|lb|kg|%)"
# What holds figures and units only: nothing to say again but the units.
_MEASURE = re.compile(rf"(?:[\W\d]*\d[\d.,/ ]*{_UNIT}?(?!\w)[\W\d]*)+")


@dataclass(frozen=True)
class _Pattern:
    """A message with blanks: what an instance of it looks like, its translation, its letters outside the blanks."""

    form: re.Pattern[str]
    told: str
    letters: int


@dataclass(frozen=True)
class Retold:
    """Says texts again in a language; `names` stay as they are, and `left` holds what fits no message."""

    language: Language
    names: frozenset[str] = frozenset()
    left: set[str] = field(default_factory=set, compare=False)
    _known: dict[str, str] = field(default_factory=dict, compare=False, repr=False)

    def told(self, text: str) -> str:
        """The text in this language; what no message fits keeps its words."""
        if self.language.code == "en":
            return text
        if text not in self._known:
            found = self._found(text, 0)
            self._known[text] = self.language.measure(text) if found is None else found
            self.left.update([text] if found is None else [])
        return self._known[text]

    def keep(self, lines: Iterable[str]) -> None:
        """Take lines for what is said again already."""
        self._known.update({line: line for line in lines})

    def _found(self, text: str, depth: int) -> str | None:
        """The text by a message, or sentence by sentence; None where something in it fits none."""
        plain = text.strip()
        if plain.rstrip(".;") in self.names or _CORNER.sub("", plain) in self.names:
            return text
        if not _LETTERS.search(plain) or _MEASURE.fullmatch(plain):
            return self.language.measure(text)
        told = self._by_message(plain, depth, loose=False) or self._by_sentence(plain, depth)
        told = told or self._by_message(plain, depth, loose=True)
        return None if told is None else text.replace(plain, told)

    def _by_sentence(self, text: str, depth: int) -> str | None:
        sentences = _SENTENCE.split(text)
        told = [self._found(sentence, depth) for sentence in sentences] if len(sentences) > 1 else [None]
        return None if None in told else " ".join(filter(None, told))

    def _by_message(self, text: str, depth: int, loose: bool) -> str | None:
        """By the first message that fits; only a `loose` one leaves words in its blanks that fit none."""
        messages, patterns = _catalogue(self.language.code)
        if text in messages:
            return messages[text]
        told = (self._filled(pattern, text, depth, loose) for pattern in patterns)
        return next((one for one in told if one is not None), None) if depth < _DEEPEST else None

    def _filled(self, pattern: _Pattern, text: str, depth: int, loose: bool) -> str | None:
        """The translation of one message with its blanks said again; None where the text is no instance of it."""
        match = None if loose and pattern.letters < _TELLING else pattern.form.fullmatch(text)
        if match is None:
            return None
        blanks = {name: self._found(value, depth + 1) for name, value in match.groupdict().items()}
        if None in blanks.values() and not loose:
            return None
        kept = {name: told or self.language.measure(match[name]) for name, told in blanks.items()}
        return pattern.told.format(**kept)


def names_in(*lists: Iterable[object]) -> frozenset[str]:
    """The names of things of a yard."""
    return frozenset(str(getattr(one, "name", one)) for things in lists for one in things)


@cache
def _catalogue(code: str) -> tuple[Mapping[str, str], tuple[_Pattern, ...]]:
    """Messages without blanks, and those with blanks, the most particular first."""
    found = gettext.translation(SHEETS, CATALOGUES, [code])
    messages = {text: told for text, told in vars(found)["_catalog"].items() if text}
    blank = [text for text in messages if _BLANK.search(text)]
    blank.sort(key=lambda text: -_letters(text))
    return messages, tuple(_Pattern(_form(text), messages[text], _letters(text)) for text in blank)


def _letters(message: str) -> int:
    return sum(map(str.isalpha, _BLANK.sub("", message)))


def _form(message: str) -> re.Pattern[str]:
    """What an instance of a message looks like: blanks take as little as they can, {n...} only figures."""
    parts, at = [], 0
    for blank in _BLANK.finditer(message):
        taken = _FIGURES if re.fullmatch(r"n\d*", blank[1]) else ".+?"
        parts += [re.escape(message[at : blank.start()]), f"(?P<{blank[1]}>{taken})"]
        at = blank.end()
    return re.compile("".join([*parts, re.escape(message[at:])]))
