"""Streams on a map: the water in bed and pools, the rim of the bed, its drops, which way it runs, and its words."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from terrain.shape import Proposal, StreamBed
from terrain.site import Site
from terrain.units import Units, show_length
from viewer.page import INK, NUMBER, WATER, WATER_EDGE, Label, Page, Pen, Sheet, Type, marks, seats_along, seats_led

WATER_PEN = Pen(WATER_EDGE, 0.9)
RIM_PEN = Pen(WATER_EDGE, 0.6, (1.5, 1.8))
SILL_PEN = Pen(WATER_EDGE, 2.4)


def draw_streams(page: Page, sheet: Sheet, proposal: Proposal) -> None:
    """Every stream of a proposal."""
    for bed in proposal.streams:
        page.area(sheet.clipped(bed.wet), WATER)
        page.lines(sheet.clipped(bed.wet.exterior), WATER_PEN)
        page.lines(sheet.clipped(bed.dig.rim.exterior), RIM_PEN)
        page.lines([sheet.clipped(sill) for sill in sills(bed)], SILL_PEN)
        line = sheet.clipped(LineString(bed.section.places))
        for head in _heads(line):
            page.area(head, WATER_EDGE)


def sills(bed: StreamBed) -> list[BaseGeometry]:
    """The sill of each drop, as a line across bed or pool, metres."""
    wide = bed.wet.buffer(1e-6)
    places, stations = bed.section.places, bed.section.stations
    found = []
    for drop in bed.section.drops:
        here, below = (
            np.array([np.interp(s, stations, places[:, k]) for k in (0, 1)])
            for s in (drop.station, drop.station + 0.02)
        )
        way = (below - here) / max(float(np.hypot(*(below - here))), 1e-9)
        aside = bed.section.width * np.array([-way[1], way[0]])
        found.append(LineString([here + aside, here - aside]).intersection(wide))
    return found


def _heads(line: BaseGeometry) -> list[Polygon]:
    """Arrow heads along a line on paper, pointing down it, one to each stretch of some length."""
    if line.is_empty or line.geom_type != "LineString" or line.length < 20.0:
        return []
    stops = np.linspace(0.0, line.length, max(2, round(line.length / 70.0)) + 1)
    found = []
    for start, end in pairwise(stops):
        middle = (start + end) / 2.0
        back, tip = shapely.get_coordinates(
            shapely.line_interpolate_point(line, np.array([middle - 4.0, middle + 4.0]))
        )
        way = (tip - back) / max(float(np.hypot(*(tip - back))), 1e-9)
        aside = 3.0 * np.array([-way[1], way[0]])
        found.append(Polygon([back + aside, back - aside, tip]))
    return found


def stream_labels(sheet: Sheet, proposal: Proposal, units: Units) -> list[Label]:
    """What each stream is called, and its drops."""
    kind = Type(NUMBER, INK, bold=True)
    labels = []
    for bed in proposal.streams:
        text = f"{bed.section.name}, {drop_words(bed, units)}"
        rim = sheet.shape(bed.dig.rim)
        outside = rim.buffer(9.0).exterior
        spot = sheet.shape(LineString(bed.section.places)).interpolate(0.0)
        seats = (*seats_along(outside, text, kind)[:60], *seats_led(spot.x, spot.y, text, kind, 3.0))
        labels.append(Label(text, seats, kind, 1))
    return labels


def drop_words(bed: StreamBed, units: Units) -> str:
    """ "4 drops of 3 1/2 in to 7 in", or how far the bed falls where it has none."""
    heights = [drop.height for drop in bed.section.drops]
    if not heights:
        return f"falls {show_length(bed.section.fall, units)}"
    least, most = show_length(min(heights), units), show_length(max(heights), units)
    span = most if least == most else f"{least} to {most}"
    return f"{len(heights)} drop{'s' if len(heights) > 1 else ''} of {span}"


def stream_legend(site: Site) -> list[tuple[marks.Swatch, str]]:
    """Legend entries of what streams draw; none without streams."""
    if not site.stream:
        return []
    return [
        (marks.area_swatch(WATER, WATER_PEN), "stream, arrow with the water"),
        (marks.line_swatch(RIM_PEN), "top of its banks"),
        (marks.line_swatch(SILL_PEN), "drop of its bed"),
    ]
