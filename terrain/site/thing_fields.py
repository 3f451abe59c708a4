"""How a thing of the yard is written in a site file."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Protocol

from terrain.expect import is_list
from terrain.site.choice import one_of
from terrain.site.things import KINDS
from terrain.survey import Folder, read_line
from terrain.units import Units, parse_length


class PlaceReading(Protocol):
    """What a reader of a place must know of the site."""

    @property
    def units(self) -> Units:
        """The site's units, which a bare number is in."""

    @property
    def folder(self) -> Folder:
        """Where paths start."""


def _kind(value: Any, at: PlaceReading) -> str:
    word = " ".join(value.lower().replace("_", " ").replace("-", " ").split()) if isinstance(value, str) else ""
    return one_of(word, value, KINDS, "kind of thing")


def _places(value: Any, at: PlaceReading) -> tuple[tuple[float, float], ...]:
    """A line, or one place as [x, y] or [[x, y]]."""
    one = value[0] if is_list(value) and len(value) == 1 else value
    if is_list(one) and len(one) == 2 and not any(is_list(part) for part in one):
        return ((parse_length(one[0], at.units, ""), parse_length(one[1], at.units, "")),)
    return read_line(value, at.units, at.folder)


def _kinds(value: Any, at: PlaceReading) -> tuple[str, ...]:
    """Kinds in a list, or one alone."""
    return tuple(dict.fromkeys(_kind(word, at) for word in (value if is_list(value) else [value])))


THING_READERS: Mapping[str, Callable[[Any, Any], object]] = {
    "thing kind": _kind,
    "thing kinds": _kinds,
    "thing line": _places,
}
