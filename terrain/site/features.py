"""What shapes the one surface beside the crest: basins, channels, terraces and retained edges, in SI units."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from shapely.geometry import Polygon

from terrain.site.ranges import Checked
from terrain.site.written import Layer, Length, Outline, Point, Size, Text, WrittenAs

Line = Annotated[tuple[tuple[float, float], ...], WrittenAs("line")]
Slope = Annotated[float, WrittenAs("dig slope")]
Span = Annotated[tuple[float, float], WrittenAs("span")]


@dataclass(frozen=True)
class Basin(Checked):
    """A unit to be set in the ground: its outline, or its centre and size; the dig goes round it.

    Parameters
    ----------
    outline
        The unit's own outline, metres; `check_site` works it out from `center` and `size` where it is not given.
    center, size
        Middle of the unit, and its length (east) and width (north) in metres; one figure is a round unit's diameter.
    depth
        Depth of the dig under the lowest ground along its edge, metres.
    clearance
        Room dug round the unit for backfill, metres.
    side_slope
        Sides of the dig, rise/run.
    gravel
        Gravel laid on the floor of the dig, within its depth, metres.
    """

    name: Text
    depth: Size
    outline: Outline | None = None
    center: Point | None = None
    size: Span | None = None
    clearance: Annotated[float, WrittenAs("width")] = 0.1
    side_slope: Slope = 2.0
    gravel: Layer = 0.0


@dataclass(frozen=True)
class Drop(Checked):
    """A step in a channel's bed, held by a stone or a board: its place and its height in metres."""

    x: Length
    y: Length
    height: Annotated[float, WrittenAs("drop height")]


@dataclass(frozen=True)
class Channel(Checked):
    """A dug channel that falls along its line from first to last point.

    `width` is that of its bed, `depth` the least depth of the bed under the ground, both metres; `side_slope` is that
    of its sides, rise/run. At each of `drops` the bed steps down by the drop's height. Over its last `taper` metres the
    depth runs out to nothing, so that the end comes out on a slope.
    """

    name: Text
    line: Line
    width: Size
    depth: Size
    side_slope: Slope = 0.5
    drops: tuple[Annotated[Drop, WrittenAs("drop")], ...] = ()
    taper: Annotated[float, WrittenAs("width")] = 0.0


@dataclass(frozen=True)
class Terrace(Checked):
    """Level ground in the bed, at a height over existing grade or at an elevation, metres (one of the two)."""

    name: Text
    outline: Outline
    height: Size | None = None
    elevation: Annotated[float, WrittenAs("length")] | None = None


@dataclass(frozen=True)
class RetainedEdge(Checked):
    """A line along which stones hold a step of soil of stated height, metres; the higher side is the crest's."""

    name: Text
    line: Line
    height: Size


def basin_outline(basin: Basin) -> Polygon | None:
    """The unit's outline: as given, or a rectangle or circle round its centre; None where neither is stated."""
    if basin.outline is not None or basin.center is None or basin.size is None:
        return basin.outline
    from shapely.geometry import Point as Spot, box

    (east, north), (length, width) = basin.center, basin.size
    if width == 0.0:
        return Spot(east, north).buffer(length / 2.0, quad_segs=32)
    return box(east - length / 2.0, north - width / 2.0, east + length / 2.0, north + width / 2.0)
