"""The water of streams where a section crosses it: from the bed up to its level."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon

from terrain.grid import Array, Mask
from terrain.numerics import StationFrame
from terrain.shape import StreamBed
from terrain.site import Stream
from terrain.waterworks import StreamNeeds, stream_needs
from viewer.page import SectionLine, Subject

STEP = 0.02  # metres between the places of a crossing at which the bed is looked at
LEAST = 0.003  # metres of water that show


@dataclass(frozen=True)
class WaterCut:
    """Water as a section shows it: its (station, elevation) outline in metres, and the line of its surface."""

    area: Polygon
    surface: LineString


def water_cut(subject: Subject, section: SectionLine) -> tuple[WaterCut, ...]:
    """Every place where a section crosses the water of a stream, with the depth that it runs with where that is known.

    Where the flow is not known it stands as high as it does in its pools when the pump rests.
    """
    needs = {one.materials.name: one for one in stream_needs(subject.site, subject.proposal)}
    found = []
    for stream, bed in zip(subject.site.stream, subject.proposal.streams, strict=True):
        for part in shapely.get_parts(section.line.intersection(bed.wet)):
            one = _cut(stream, bed, section, shapely.get_coordinates(part), needs.get(stream.name))
            if one is not None:
                found.append(one)
    return tuple(found)


def in_streams(subject: Subject, places: Array) -> Mask:
    """(n,) whether places (n, 2) in metres lie in the bed of a stream or on its banks."""
    inside = np.zeros(len(places), dtype=bool)
    for bed in subject.proposal.streams:
        inside |= shapely.contains_xy(bed.dig.rim, places[:, 0], places[:, 1])
    return inside


def _cut(
    stream: Stream, bed: StreamBed, section: SectionLine, ends: Array, needs: StreamNeeds | None
) -> WaterCut | None:
    """The water between the two ends (2, 2) of a crossing; None where it has none to show."""
    away = np.hypot(*(ends - np.array(section.start)).T)
    if len(away) == 0 or np.ptp(away) < STEP:
        return None
    first, last = float(away.min()), float(away.max())
    along = np.linspace(first, last, int((last - first) / STEP) + 2)
    places = section.places(along)
    at = StationFrame(np.array(stream.line)).stations(places)
    floor = bed.dig.bottom(places)
    level = np.interp(at, bed.section.stations, bed.section.bed) + _depth(at, needs)
    level = np.maximum(level, floor)
    if (level - floor).max() < LEAST:
        return None
    outline = np.vstack([np.column_stack([along, floor]), np.column_stack([along, level])[::-1]])
    return WaterCut(Polygon(outline).buffer(0.0), LineString(np.column_stack([along, level])))


def _depth(at: Array, needs: StreamNeeds | None) -> Array:
    """(n,) depth of the running water over bed or sill at stations, metres."""
    depth = np.zeros(len(at))
    for one in needs.wet if needs is not None else ():
        depth[at >= one.reach.start - 1e-9] = one.depth.value
    return depth
