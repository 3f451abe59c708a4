"""What a yard has and a mound must respect: streets, hydrants, lines in the ground and in the air, and the like."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal, get_args

from shapely.geometry import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from terrain.site.features import Line
from terrain.site.ranges import Checked
from terrain.site.written import Outline, Size, Text, WrittenAs, YesNo

Kind = Literal[
    "street",
    "corner",
    "hydrant",
    "meter",
    "septic",
    "fence",
    "wall",
    "window well",
    "buried line",
    "overhead line",
]
KINDS: tuple[Kind, ...] = get_args(Kind)
AREAS = ("hydrant", "meter", "septic", "window well")  # three places or more of these go round it


@dataclass(frozen=True)
class Thing(Checked):
    """One thing in the yard.

    Parameters
    ----------
    kind
        One of `KINDS`.
    name
        As it stands on the plan.
    line
        Places in metres: one for a thing that stands in one place, its line, or its corners for one of `AREAS`.
    height
        Metres over the ground: of a wall or a fence, of the lowest wire of an overhead line, of the plants at a
        corner; None where nobody said.
    """

    kind: Annotated[Kind, WrittenAs("thing kind")]
    name: Text
    line: Annotated[tuple[tuple[float, float], ...], WrittenAs("thing line")]
    height: Size | None = None

    @property
    def shape(self) -> BaseGeometry:
        """The place, line or area of it, metres."""
        if len(self.line) == 1:
            return Point(self.line[0])
        return Polygon(self.line) if self.kind in AREAS and len(self.line) > 2 else LineString(self.line)


@dataclass(frozen=True)
class Walk(Checked):
    """A walk that people take: its middle line and its width, metres. It may cross the mound.

    `stepping`: it is laid as stepping stones, which is how plans draw it.
    """

    name: Text
    line: Line
    width: Size
    paved: YesNo = False
    stepping: YesNo = False


@dataclass(frozen=True)
class Heap(Checked):
    """Where soil is tipped or spoil stands until it is used: outline in metres."""

    name: Text
    outline: Outline
