"""Texts of a sheet said again in another language: each by the message that it is an instance of.

The words of set-out, trees and cautions are put together far from any sheet, in the site's own units. A sheet that
speaks another language asks here: a text that is a message of the catalogue `sheets.po`, or an instance of one with
{blanks}, comes back as its translation, what stands in the blanks said again likewise. Names of the yard stay as they
are; measures get the language's units and decimal mark. `tests/test_sheets_in_languages.py` lets no English be left.
"""

from __future__ import annotations

import gettext
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache

from terrain.language import CATALOGUES, Language

SHEETS = "sheets"  # the catalogue's name
_BLANK = re.compile(r"\{(\w+)\}")
# Blanks of these names take figures or a measure only, so that a message is not taken for one that it is not.
_FIGURES = r"[-+−]?\d[\d.,]*(?: \d+/\d+)?"
_LENGTH = r"\d+(?:[.,]\d+)?(?: \d+/\d+)? (?:ft|in|m|cm)(?: \d+(?: \d+/\d+)? in)?"
_SENTENCE = re.compile(r"(?<=[.!?])\s+(?=[A-Z\"(])|(?<=[a-z]{3}\.)\s+(?=\d)")
_JOINTS = ("; ", ", ", " and ")
_DEEPEST = 6  # blanks within blanks
_TELLING = 6  # letters by which a message is known for certain, whatever stands in its blanks
_CORNER = re.compile(r" (?:[NS]?[EW]|[NS]|\d+)$")  # behind the name of what has it: "house SW", "front walk 2"
_OWN = re.compile(r"[\w-]+\.(?:csv|toml|geojson|dxf)|[A-Z]{1,3}\d*")  # a file, a point as surveyors name them
_LETTERS = re.compile(r"[A-Za-z]{2}")
_UNIT = r"(?:gal/min|gal/h|gal|L/s|L/h|m/s|ft/s|ft|in|cm|mm|m2|m3|m|sq ft|cu yd|cu ft|L|h|lb|kg|%)"
# What holds figures and units only: nothing to say again but the units.
_MEASURE = re.compile(rf"(?:[\W\d]*\d[\d.,/ ]*{_UNIT}?(?!\w)[\W\d]*)+")


@dataclass(frozen=True)
class _Pattern:
    """A message with blanks: what an instance of it looks like, its translation, its letters outside the blanks.

    `longest` is the longest piece between blanks: what lacks it need not be searched.
    """

    form: re.Pattern[str]
    told: str
    letters: int
    longest: str


@dataclass(frozen=True)
class _Told:
    """A text said again, and the words in it that fit no message and stay as they are."""

    text: str
    left: tuple[str, ...] = ()


@dataclass(frozen=True)
class Retold:
    """Says texts again in a language; `names` stay as they are, and `left` holds words that fit no message."""

    language: Language
    names: frozenset[str] = frozenset()
    left: set[str] = field(default_factory=set, compare=False)
    _known: dict[str, str] = field(default_factory=dict, compare=False, repr=False)
    _sought: dict[tuple[str, int], _Told | None] = field(default_factory=dict, compare=False, repr=False)

    def told(self, text: str) -> str:
        """The text in this language; what no message fits keeps its words."""
        if self.language.code == "en":
            return text
        if text not in self._known:
            found = self._found(text, 0) or _Told(self.language.measure(text), (text,))
            self._known[text] = found.text
            self.left.update(found.left)
        return self._known[text]

    def keep(self, lines: Iterable[str]) -> None:
        """Take lines for what is said again already."""
        self._known.update({line: line for line in lines})

    def _found(self, text: str, depth: int) -> _Told | None:
        """The text by a message, or sentence by sentence; None where something in it fits none."""
        if (text, depth) not in self._sought:
            self._sought[text, depth] = self._told_anew(text, depth)
        return self._sought[text, depth]

    def _told_anew(self, text: str, depth: int) -> _Told | None:
        plain = text.strip()
        if self._is_name(plain):
            return _Told(text)
        if not _LETTERS.search(plain) or _MEASURE.fullmatch(plain):
            return _Told(self.language.measure(text))
        told = self._by_message(plain, depth, loose=False) or self._by_sentence(plain, depth)
        told = told or self._by_list(plain, depth) or self._by_message(plain, depth, loose=True)
        return None if told is None else _Told(text.replace(plain, told.text), told.left)

    def _is_name(self, plain: str) -> bool:
        return plain.rstrip(".;") in self.names or _CORNER.sub("", plain) in self.names or bool(_OWN.fullmatch(plain))

    def _by_sentence(self, text: str, depth: int) -> _Told | None:
        return self._of_pieces(_SENTENCE.split(text), " ", depth)

    def _by_list(self, text: str, depth: int) -> _Told | None:
        """Several texts in a row: "a; b", "a, b and c"."""
        joints = ((joint, self._joint(joint)) for joint in _JOINTS if joint in text)
        return next((told for joint, own in joints if (told := self._of_pieces(text.split(joint), own, depth))), None)

    def _joint(self, joint: str) -> str:
        return _catalogue(self.language.code)[0].get(joint, joint)

    def _of_pieces(self, pieces: Sequence[str], joint: str, depth: int) -> _Told | None:
        """Pieces said one by one; None where there is but one, or one of them fits no message."""
        if len(pieces) < 2 or depth >= _DEEPEST:
            return None
        told = [self._found(piece, depth + 1) for piece in pieces]
        return None if None in told else _joined([one for one in told if one is not None], joint)

    def _by_message(self, text: str, depth: int, loose: bool) -> _Told | None:
        """By the first message that fits; only a `loose` one leaves words in its blanks that fit none."""
        messages, patterns = _catalogue(self.language.code)
        if text in messages:
            return _Told(messages[text])
        told = (self._filled(pattern, text, depth, loose) for pattern in patterns)
        return next((one for one in told if one is not None), None) if depth < _DEEPEST else None

    def _filled(self, pattern: _Pattern, text: str, depth: int, loose: bool) -> _Told | None:
        """The translation of one message with its blanks said again; None where the text is no instance of it."""
        if pattern.longest not in text or (loose and pattern.letters < _TELLING):
            return None
        match = pattern.form.fullmatch(text)
        if match is None:
            return None
        blanks = {name: self._in_blank(name, value, depth) for name, value in match.groupdict().items()}
        if not loose and any(told is None or told.left for told in blanks.values()):
            return None
        return self._with_blanks(pattern, match, blanks)

    def _in_blank(self, name: str, value: str, depth: int) -> _Told | None:
        return _Told(value) if name == "code" else self._found(value, depth + 1)  # keys of the site file are no words

    def _with_blanks(self, pattern: _Pattern, match: re.Match[str], blanks: Mapping[str, _Told | None]) -> _Told:
        """A translation with its blanks; what fits no message stands there as it is."""
        kept = {
            name: told or _Told(self.language.measure(match[name]), (match[name],)) for name, told in blanks.items()
        }
        filled = pattern.told.format(**{name: told.text for name, told in kept.items()})
        return _Told(filled, tuple(word for told in kept.values() for word in told.left))


def _joined(told: Sequence[_Told], joint: str) -> _Told:
    return _Told(joint.join(one.text for one in told if one.text), tuple(word for one in told for word in one.left))


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
    return messages, tuple(_Pattern(_form(text), messages[text], _letters(text), _longest(text)) for text in blank)


def _letters(message: str) -> int:
    return sum(map(str.isalpha, _BLANK.sub("", message)))


def _longest(message: str) -> str:
    return max(re.split(r"\{\w+\}", message), key=len)


def _form(message: str) -> re.Pattern[str]:
    """What an instance of a message looks like: blanks take as little as they can, {n...} figures, {measure} one."""
    parts, at = [], 0
    for blank in _BLANK.finditer(message):
        taken = _LENGTH if blank[1] == "measure" else _FIGURES if re.fullmatch(r"n\d*", blank[1]) else ".+?"
        parts += [re.escape(message[at : blank.start()]), f"(?P<{blank[1]}>{taken})"]
        at = blank.end()
    return re.compile("".join([*parts, re.escape(message[at:])]))
