"""Lines that wind for streams that run straight: longer, so that they fall less steeply, within the same limits."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass, replace

import numpy as np
from shapely.geometry import LineString

from terrain.errors import InputError
from terrain.ground import Ground
from terrain.limits import FOOT
from terrain.shape import LongSection, Proposal, shape_berm
from terrain.site import Places, Site, Stream
from terrain.units import Units, show_length, unit_length

# A stream that is no longer than this, over the way from its first point to its last, runs straight: rivers are called
# straight under about as much (common practice, no published source).
STRAIGHT = 1.1
# One bend to either side in so many widths of the bed: Leopold and Wolman (1960), 10.9 widths (to the power of 1.01, in
# feet). Of a small bed more is drawn, else no crew could lay it.
BEND, LEAST_BEND = 11.0, 6.0 * FOOT
# How far it swings to either side, in lengths of such a double bend, from wide to narrow: the first that can be built
# is taken. The widest makes a line a fifth longer. Our own choice.
SWINGS = (0.14, 0.11, 0.08)
QUARTERS = 8  # places in a double bend
STEP: dict[Units, float] = {"ft": 0.1 * FOOT, "m": 0.05}  # what a crew sets out by tape


@dataclass(frozen=True)
class WindingLine:
    """A line for a stream that runs straight: its places in metres, and the stream by it and as it is."""

    name: str
    line: Places
    section: LongSection
    straight: LongSection


def winding_lines(site: Site, ground: Ground, drawn: Proposal) -> Iterator[WindingLine]:
    """A line that winds for every stream that runs straight, where one can be built; `drawn` is the site's proposal."""
    for k, (stream, bed) in enumerate(zip(site.stream, drawn.streams, strict=True)):
        if _sinuosity(stream.line) > STRAIGHT:
            continue
        for line in _lines(stream, site.units):
            wound = replace(stream, line=line, drops=None, pools=None)
            streams = (*site.stream[:k], wound, *site.stream[k + 1 :])
            with suppress(InputError):
                done = shape_berm(replace(site, stream=streams), ground)
                yield WindingLine(stream.name, line, done.streams[k].section, bed.section)
                break


def winding_words(one: WindingLine, units: Units) -> str:
    """What it changes, and the line to copy."""
    lengths = [show_length(section.length, units, "distance") for section in (one.straight, one.section)]
    falls = [f"{100.0 * section.fall / section.length:.0f} %" for section in (one.straight, one.section)]
    unit = unit_length(units)
    places = ", ".join(f"[{east / unit:.2f}, {north / unit:.2f}]" for east, north in one.line)
    return (
        f"{one.name} runs straight, {lengths[0]} long, and falls {falls[0]}. It can wind, {lengths[1]} long, and fall "
        f"{falls[1]}: line = [{places}], its drops and pools left out and proposed anew."
    )


def _sinuosity(line: Places) -> float:
    """Length of a line over the way from its first place to its last."""
    return float(LineString(line).length / np.hypot(*(np.array(line[-1]) - np.array(line[0]))))


def _lines(stream: Stream, units: Units) -> Iterator[Places]:
    """Lines from the same first to the same last place, that swing out to either side first, ever less."""
    start, end = np.array(stream.line[0]), np.array(stream.line[-1])
    whole = float(np.hypot(*(end - start)))
    bends = max(1.0, round(2.0 * whole / max(BEND * stream.width, LEAST_BEND)) / 2.0)
    along = np.linspace(0.0, 1.0, int(QUARTERS * bends) + 1)
    square = np.array([start[1] - end[1], end[0] - start[0]]) / whole
    for swing in SWINGS:
        for side in (1.0, -1.0):
            # It leaves and arrives along the straight line.
            ease = np.minimum(1.0, 4.0 * bends * np.minimum(along, 1.0 - along))
            out = side * swing * whole / bends * np.sin(2.0 * np.pi * bends * along) * ease
            places = start + along[:, None] * (end - start) + out[:, None] * square
            places[1:-1] = np.round(places[1:-1] / STEP[units]) * STEP[units]
            yield tuple((float(east), float(north)) for east, north in places)
