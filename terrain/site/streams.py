"""A stream over the mound, its pools, and what drives it: pipe, pump and the water in its basin, in SI units."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Annotated, Literal, get_args

import numpy as np
from shapely.geometry import LineString, Point as Spot

from terrain.limits import BANK_EDGE, STREAM_DROP
from terrain.site.features import Drop, Line, Slope, Span
from terrain.site.ranges import Checked
from terrain.site.written import Point, Size, Text, WrittenAs

PipeKind = Literal["smooth", "corrugated"]
PIPE_KINDS: tuple[PipeKind, ...] = get_args(PipeKind)
Flow = Annotated[float, WrittenAs("flow")]
Width = Annotated[float, WrittenAs("width")]
Places = tuple[tuple[float, float], ...]

_PER_INCH_OF_LIP = 231.0 * 0.0254**2 / 3600.0  # m2/s in one US gallon (231 cubic inches) an hour for an inch of lip
# What a fall looks like, and the flow for each metre of its lip, m2/s: common practice, no published source.
LOOKS: Mapping[str, float] = {
    "wet rock": 25.0 * _PER_INCH_OF_LIP,
    "broken sheet": 50.0 * _PER_INCH_OF_LIP,
    "full sheet": 100.0 * _PER_INCH_OF_LIP,
    "rushing": 150.0 * _PER_INCH_OF_LIP,
    "loud": 200.0 * _PER_INCH_OF_LIP,
}
# Manning's n of a stony garden bed, where none is stated; it is known within a factor of two: common practice, beside
# the low flows of USDA RMRS-GTR-323 (2014), 0.057 to 0.96.
USUAL_ROUGHNESS = 0.10


@dataclass(frozen=True)
class Pool(Checked):
    """Standing water in a stream.

    Parameters
    ----------
    at
        Its middle, on the stream's line, metres. A pool that would reach over a drop lies at the drop's foot.
    size
        Of the water's surface, metres: the width of a round pool and 0, or length along the stream and width across.
    depth
        Of its floor under the bed where the water leaves it, metres.
    """

    at: Point
    size: Span
    depth: Size

    @property
    def length(self) -> float:
        """Along the stream, metres."""
        return self.size[0]

    @property
    def width(self) -> float:
        """Across the stream, metres."""
        return self.size[1] or self.size[0]


@dataclass(frozen=True)
class Stream(Checked):
    """A stream whose bed is cut into the finished ground, from its top down.

    Parameters
    ----------
    line
        From the top down, metres.
    width
        Of its bed, metres.
    depth
        Least depth of the bed under the finished ground on either side, metres.
    side_slope
        Of its sides, rise/run.
    drops
        Where the bed steps down, and how far; None: proposed from the fall that the ground has.
    pools
        Where its water stands level; None: proposed where the line turns, if the drops are left out too, else none.
    basin
        Name of the `Basin` that it ends in; "" where it ends in none.
    edge
        Bank over the running water, at least, metres.
    roughness
        Manning's n of its bed.
    highest_drop
        No drop that is proposed is higher than this, metres.
    flow
        What it runs with, m3/s; None: that of `StreamWater`.
    """

    name: Text
    line: Line
    width: Size
    depth: Size
    side_slope: Slope = 1.0
    drops: tuple[Annotated[Drop, WrittenAs("drop")], ...] | None = None
    pools: tuple[Pool, ...] | None = None
    basin: Text = ""
    edge: Width = BANK_EDGE.value
    roughness: Annotated[float, WrittenAs("roughness")] = USUAL_ROUGHNESS
    highest_drop: Annotated[float, WrittenAs("drop height")] = STREAM_DROP.value
    flow: Flow | None = None


@dataclass(frozen=True)
class Pipe(Checked):
    """The pipe from the pump up to the top: its whole length and bore in metres.

    `fittings` is the sum of the loss factors of its bends, valves and ends, each times the speed's head.
    """

    length: Size
    size: Size
    kind: Annotated[PipeKind, WrittenAs("pipe kind")] = "smooth"
    fittings: Annotated[float, WrittenAs("fittings")] = 0.0


@dataclass(frozen=True)
class PumpPoint(Checked):
    """One point of a pump's curve: flow in m3/s against head in metres."""

    flow: Flow
    head: Width


@dataclass(frozen=True)
class StreamWater(Checked):
    """What the streams run with, each with a pump and a pipe of its own that are alike.

    Parameters
    ----------
    flow
        m3/s; None where a look is stated, or nothing.
    look
        A key of `LOOKS`, over a lip of `lip` metres.
    lip
        Width of the lips that the water falls over, metres; None: the width of the bed.
    pipe
        None where nothing is said of it.
    voids
        Share of the basin that is water, of what fills it.
    intake
        Least depth of water over the basin's floor, metres; None: not stated.
    pump
        Points of its curve, from no flow up, from its highest head down; () where none is stated.
    """

    flow: Flow | None = None
    look: Annotated[str, WrittenAs("look")] | None = None
    lip: Size | None = None
    pipe: Pipe | None = None
    voids: Annotated[float, WrittenAs("voids")] = 0.40
    intake: Width | None = None
    pump: tuple[Annotated[PumpPoint, WrittenAs("pump point")], ...] = ()


@dataclass(frozen=True)
class PoolReach:
    """Where a pool lies along its stream: from station to station in metres from the top."""

    pool: Pool
    start: float
    end: float


def pool_reaches(stream: Stream, drops: tuple[float, ...]) -> tuple[PoolReach, ...]:
    """The stretch of every pool, from the top down.

    Parameters
    ----------
    stream
        Its line and pools.
    drops
        Stations of its drops, metres. A pool that would reach over one is moved down to begin at its foot, because
        water stands level.
    """
    line = LineString(stream.line)
    found = []
    for pool in stream.pools or ():
        middle = float(line.project(Spot(pool.at)))
        start, end = middle - pool.length / 2.0, middle + pool.length / 2.0
        inside = [at for at in drops if start < at < end]
        if inside:
            nearest = inside[int(np.argmin([abs(at - middle) for at in inside]))]
            start, end = nearest, nearest + pool.length
        found.append(PoolReach(pool, start, end))
    return tuple(sorted(found, key=lambda reach: reach.start))


def moved_along(old: Places, new: Places, place: tuple[float, float]) -> tuple[float, float]:
    """Where a place on one line lies on another with as many points: on the same leg, at the same share of it."""
    line = LineString(old)
    ends = np.cumsum([0.0, *np.hypot(*np.diff(np.array(old), axis=0).T)])
    at = float(line.project(Spot(place)))
    leg = int(np.clip(np.searchsorted(ends, at, side="right") - 1, 0, len(old) - 2))
    share = (at - ends[leg]) / (ends[leg + 1] - ends[leg])
    (x0, y0), (x1, y1) = new[leg], new[leg + 1]
    return float(x0 + share * (x1 - x0)), float(y0 + share * (y1 - y0))


def led_along(stream: Stream, line: Places) -> Stream:
    """The stream along another line with as many points, metres; drops and pools go with their legs."""
    if line == stream.line:
        return stream

    def moved(place: tuple[float, float]) -> tuple[float, float]:
        return moved_along(stream.line, line, place)

    drops = stream.drops and tuple(Drop(*moved((drop.x, drop.y)), drop.height) for drop in stream.drops)
    pools = stream.pools and tuple(replace(pool, at=moved(pool.at)) for pool in stream.pools)
    return replace(stream, line=line, drops=drops, pools=pools)
