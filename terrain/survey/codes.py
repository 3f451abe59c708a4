"""Field codes: the few words beside a shot that mark what stands there, so that one survey can carry the whole yard.

    outline                   the bed outline, its points in the order of the file
    BL1, breakline kerb       a breakline, by number or word, its points in the order of the file
    tree bur oak 26 in        a tree with its trunk's diameter; the size may stand in the site file instead
    building corner house     a corner of a building, by its name, in order around it
    keep clear front walk     a corner of ground that takes no fill or cut
    benchmark, control        measured, but not on the ground

A "+" joins two marks on one shot. Small or capital letters mean the same. Every other code is a remark.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Literal

from terrain.units import written_units

MarkKind = Literal["outline", "breakline", "tree", "building", "keep_clear", "no ground"]

_BREAKLINE = re.compile(r"(?:bl(?=[\d\s_-]|$)|breakline)[\s_-]*(?P<name>\S*).*", re.IGNORECASE)
_PATTERNS: tuple[tuple[MarkKind, re.Pattern[str]], ...] = (
    ("outline", re.compile(r"(?:bed )?outline", re.IGNORECASE)),
    ("breakline", _BREAKLINE),
    ("tree", re.compile(r"tree[\s:]+(?P<name>.+)", re.IGNORECASE)),
    ("building", re.compile(r"(?:building|bldg)(?:[\s:]+corner)?(?:[\s:]+(?P<name>.+))?", re.IGNORECASE)),
    ("keep_clear", re.compile(r"keep[\s_-]?clear(?:[\s:]+(?P<name>.+))?", re.IGNORECASE)),
    ("no ground", re.compile(r"(?:bench ?mark|bm)(?:\s.*)?|control(?: point)?|not ground", re.IGNORECASE)),
)
_WORDS = ("outline", "breakline", "building", "bldg", "benchmark", "control")
_ALIKE = 0.8  # by difflib: "brakeline" and "outlne", but not "outlet"


@dataclass(frozen=True)
class Mark:
    """One mark: its kind, the name (or number) in it, and a tree's trunk diameter as written."""

    kind: MarkKind
    name: str = ""
    size: str = ""


def marks_of(code: str) -> tuple[Mark, ...]:
    """The marks in a field code; none where it is a remark."""
    return tuple(mark for part in code.split("+") if (mark := _mark(" ".join(part.split()))) is not None)


def slip_of(code: str) -> str:
    """What a code was probably meant to be, where a part of it is a remark but reads much like a mark; else empty."""
    for part in code.split("+"):
        words = part.casefold().split()
        if not words or _mark(" ".join(words)) is not None:
            continue
        word = words[0].rstrip("-_:0123456789")
        if word == "tree":
            return "tree bur oak 26 in"
        near = get_close_matches(word, _WORDS, n=1, cutoff=_ALIKE)
        if near:
            return near[0]
    return ""


def slips_of(codes: Sequence[str]) -> dict[str, str]:
    """Each code that is probably a slip, with what was meant, in the order in which they first stand."""
    return {code: meant for code in dict.fromkeys(codes) if code and (meant := slip_of(code))}


def _mark(text: str) -> Mark | None:
    for kind, pattern in _PATTERNS:
        match = pattern.fullmatch(text)
        if match is None:
            continue
        name = match.groupdict().get("name") or ""
        return Mark(kind, *_trunk(name)) if kind == "tree" else Mark(kind, name)
    return None


def _trunk(text: str) -> tuple[str, str]:
    """A tree's name and the length with a unit that ends it, in brackets or not, where one does."""
    words = text.split()
    for i in range(1, len(words)):
        size = " ".join(words[i:]).strip("()[]")
        if size[0].isdigit() and written_units(size):
            return " ".join(words[:i]).rstrip(",;:"), size
    return text, ""
