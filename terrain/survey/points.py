"""Points by name: one spelling for a lookup, and what is known of each point while a survey is put together."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches

Place = tuple[float, float]


def point_key(name: str) -> str:
    """The name as points are looked up: small letters, single blanks."""
    return " ".join(name.split()).casefold()


def nearest_name(name: str, known: Iterable[str]) -> str:
    """A hint ' Did you mean "TP 1"?' where a known name looks like this one; empty otherwise."""
    names = {point_key(other): other for other in known}
    near = get_close_matches(point_key(name), names, n=1)
    return f' Did you mean "{names[near[0]]}"?' if near else ""


@dataclass(frozen=True)
class PlacedPoint:
    """A point that measurements have placed: easting and northing in metres, and its elevation where that came along.

    `source` is the file and row it came from, `code` its field code.
    """

    name: str
    at: Place
    source: str
    elevation: float | None = None
    code: str = ""

    @property
    def key(self) -> str:
        """As `point_key` of its name."""
        return point_key(self.name)
