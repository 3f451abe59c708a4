"""The type of the drawings: one family, few sizes, and how much paper a line of text takes."""

from __future__ import annotations

import re
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Any

from terrain.in_one_piece import in_one_piece
from viewer.page.palette import INK
from viewer.page.tongue import as_lines, as_spoken

FAMILY = "DejaVu Sans"  # comes with the drawing library, so every machine sets the same type
TITLE_FAMILY = "DejaVu Serif"

PAIRS = 0.05  # of a line's width: what the space between pairs of letters makes at most
FIGURE_HEIGHT = 0.73  # of the size: how tall capitals and figures stand

TITLE = 17.0
HEADING = 10.5
BODY = 9.0
NUMBER = 8.0
SMALL = 7.5
_HELD = "\ue000"  # for private use: a blank at which no line ends, until lines are broken
LEAST = 7.0  # points: no letter of any sheet is smaller


@dataclass(frozen=True)
class Type:
    """How a text is set: size in points, colour, bold or not, serif (titles) or not."""

    size: float = BODY
    colour: str = INK
    bold: bool = False
    title: bool = False

    @property
    def family(self) -> str:
        """Name of the type family."""
        return TITLE_FAMILY if self.title else FAMILY

    @property
    def weight(self) -> str:
        """Weight by the drawing library's names."""
        return "bold" if self.bold else "normal"


@cache
def _font(family: str, weight: str, size: float) -> Any:
    from matplotlib.font_manager import FontProperties

    return FontProperties(family=family, weight=weight, size=size)


def font_of(kind: Type) -> Any:
    """The drawing library's font value for a type."""
    return _font(kind.family, kind.weight, kind.size)


@contextmanager
def boxes_for_missing_letters() -> Iterator[None]:
    """A letter that the type does not have is set as a box, without a word on standard error for each."""
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", message=r"Glyph .* missing from")
        yield


def text_size(text: str, kind: Type) -> tuple[float, float]:
    """Width and height in points that one line of text covers; the height is that of capitals and figures."""
    return width_of(as_spoken(text), kind), FIGURE_HEIGHT * kind.size


def width_of(text: str, kind: Type) -> float:
    """Width in points of one line of text that is in the language of the page already."""
    return kind.size * _width(text, kind.family, kind.weight)


@lru_cache(maxsize=4096)
def _width(text: str, family: str, weight: str) -> float:
    """Width of one line of text set at a size of 1, shaped as it will be drawn."""
    from matplotlib.textpath import text_to_path

    with boxes_for_missing_letters():
        width, _, _ = text_to_path.get_text_width_height_descent(text, _font(family, weight, 1.0), ismath=False)
    return float(width)


@cache
def _step(letter: str, family: str, weight: str) -> float:
    """How much wider one more letter makes a line set at a size of 1, whatever stands beside it."""
    return _width(f"n{letter}n", family, weight) - _width("nn", family, weight)


@lru_cache(maxsize=4096)
def _steps(word: str, family: str, weight: str) -> float:
    """How much wider the letters of a word make a line set at a size of 1."""
    return sum(_step(letter, family, weight) for letter in word)


def _fits(text: str, kind: Type, width: float) -> bool:
    """Whether a line is no wider than `width` points: shaped only where the sum of its letters leaves that open."""
    words = text.split(" ")
    letters = sum(_steps(word, kind.family, kind.weight) for word in words)
    about = kind.size * (letters + (len(words) - 1) * _step(" ", kind.family, kind.weight))
    # Letters that stand closer or wider in pairs, and the white before the first and after the last.
    if abs(about - width) > PAIRS * about + kind.size:
        return about < width
    return width_of(text, kind) <= width


def wrap(text: str, kind: Type, width: float) -> list[str]:
    """Break a text into lines no wider than `width` points; a single word that is wider stands alone.

    What a no-break space joins stays together, and so does a measure that fits in a line.
    """
    lines: list[str] = []
    for word in _pieces(as_spoken(text), kind, width):
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and _fits(longer, kind, width):
            lines[-1] = longer
        else:
            lines.append(word)
    return as_lines(lines)


def _pieces(text: str, kind: Type, width: float) -> Iterator[str]:
    """What no line may break, one after the other: words, and measures no wider than `width`."""
    for piece in re.findall(r"[^ \t\r\n]+", in_one_piece(text, _HELD)):
        whole = piece.replace(_HELD, " ")
        yield from [whole] if _fits(whole, kind, width) else piece.split(_HELD)


def fit_size(text: str, kind: Type, width: float, least: float) -> Type:
    """The same type, made smaller (to `least` points at most) until the text fits in `width` points."""
    needed = text_size(text, kind)[0]
    if needed <= width:
        return kind
    return Type(max(least, kind.size * width / needed), kind.colour, kind.bold, kind.title)


def heading_lines(text: str, kind: Type, width: float, least: float) -> tuple[list[str], Type]:
    """A heading in one line, smaller where it must be; where it is too long even then, in several of `least` points."""
    fitting = fit_size(text, kind, width, least)
    return (wrap(text, fitting, width) if fitting.size <= least else [text]), fitting
