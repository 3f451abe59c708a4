"""The unit of length that a coordinate reference names, from its well-known text or its registry number.

Well-known text: OGC 01-009 and ISO 19162, where PROJCS (PROJCRS) holds the unit of easting and northing, VERT_CS
(VERTCRS) that of heights.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from importlib import import_module

_TOKEN = re.compile(r'"(?:[^"]|"")*"|[\[\](),]|[^\s\[\](),"]+')
_PLANE = ("PROJCS", "PROJCRS", "LOCAL_CS", "ENGCRS")
_HEIGHT = ("VERT_CS", "VERTCRS")
_ROUND = ("GEOGCS", "GEOGCRS", "GEODCRS", "GEODETICCRS", "GEOGRAPHICCRS")


@dataclass(frozen=True)
class ReferenceUnits:
    """Metres in one unit of the places and of the heights; None where not named. `degrees`: places are angles."""

    plane: float | None = None
    height: float | None = None
    degrees: bool = False


@dataclass
class _Node:
    word: str
    parts: list[_Node] = field(default_factory=list)

    def below(self) -> Iterator[_Node]:
        """This node and all under it."""
        yield self
        for part in self.parts:
            yield from part.below()


def units_of_text(text: str) -> ReferenceUnits:
    """The units that a well-known text names; all None for a text that is none."""
    root = _parsed(text)
    nodes = list(root.below())
    plane = next((node for node in nodes if node.word in _PLANE), None)
    height = next((node for node in nodes if node.word in _HEIGHT), None)
    rounded = any(node.word in _ROUND for node in nodes)
    return ReferenceUnits(_unit(plane), _unit(height), degrees=plane is None and rounded)


def unit_of_number(number: int) -> ReferenceUnits:
    """The units of a reference by its EPSG number, where the library that knows them is installed; else None."""
    try:
        rasterio = import_module("rasterio")
        with rasterio.Env():  # outside it, the library writes what it does not know on standard error
            return units_of_text(rasterio.crs.CRS.from_epsg(number).to_wkt())
    except (ImportError, ValueError):  # the library's errors for an unknown number are ValueErrors
        return ReferenceUnits()


def _unit(node: _Node | None) -> float | None:
    """The factor of the node's own unit, or of its axes' where it has none."""
    if node is None:
        return None
    axes = [part for part in node.parts if part.word == "AXIS"]
    for holder in (node, *axes):
        for part in holder.parts:
            if part.word in ("UNIT", "LENGTHUNIT") and len(part.parts) > 1:
                return _number(part.parts[1].word)
    return None


def _number(word: str) -> float | None:
    try:
        value = float(word)
    except ValueError:
        return None
    return value if value > 0.0 else None


def _parsed(text: str) -> _Node:
    """The text as a tree; a word and the bracket after it make a node."""
    root = _Node("")
    path = [root]
    for token in _TOKEN.findall(text):
        if token in "[(":
            path.append(path[-1].parts[-1] if path[-1].parts else path[-1])
        elif token in "])":
            path = path[:-1] or [root]
        elif token != ",":
            path[-1].parts.append(_Node(token.upper() if not token.startswith('"') else token))
    return root
