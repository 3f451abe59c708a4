"""Channels: steep enough beside a building to carry its water off, and clear of the high points of the mound."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LineString

from terrain.findings import Finding
from terrain.grid import Array
from terrain.ground import Ground
from terrain.limits import CREST_SHORT, EROSION_SLOPE, FALL_WITHIN, SWALE_SLOPE
from terrain.review.water import Place
from terrain.shape import BuiltCrest, Dig, Proposal, channel_bed, edge_hold, ridge_hold
from terrain.site import Building, Channel, Site
from terrain.units import show_length, show_place

OVER = 1.0  # metres of bed over which its fall is taken: common practice, no published source


def least_fall(channel: Channel, building: Building, ground: Ground, within: float) -> tuple[float, Place] | None:
    """Least slope of a channel's bed within a distance (metres) of a building and its place, or None if it is not near.

    The slope is rise/run over a metre of bed, or over all of a shorter channel.
    """
    fall, places, half = _falls_along(channel, ground)
    near = shapely.distance(building.outline, places) < within
    if not near.any():
        return None
    least = int(np.argmin(np.where(near, fall, np.inf)))
    x, y = shapely.get_coordinates(places[least])[0]
    return float(fall[least] / (2.0 * half)), (float(x), float(y))


def _falls_along(channel: Channel, ground: Ground) -> tuple[Array, NDArray[np.object_], float]:
    """Fall of a channel's bed about each station, metres, their places, and half the stretch that it is taken over."""
    stations, bed = channel_bed(channel, ground)
    line = LineString(channel.line)
    half = min(OVER, line.length) / 2.0
    middle = np.clip(stations, half, line.length - half)
    fall = np.interp(middle - half, stations, bed) - np.interp(middle + half, stations, bed)
    return fall, shapely.line_interpolate_point(line, middle), half


def swale_findings(site: Site, ground: Ground) -> Iterator[Finding]:
    """The channel with the least fall beside a building, where that is less than the code for swales asks."""
    found = [
        (*near, channel, building)
        for channel in site.channel
        for building in site.building
        if (near := least_fall(channel, building, ground, FALL_WITHIN.value)) is not None
    ]
    if not found:
        return
    fall, at, channel, building = min(found, key=lambda one: one[0])
    if fall >= SWALE_SLOPE.value - 1e-6:
        return
    within = show_length(FALL_WITHIN.value, site.units, "distance")
    text = (
        f"{channel.name} falls only {100 * fall:.1f} % near {show_place(*at, site.units)}, within {within} of "
        f"{building.name}. Dig it deeper toward its end: a swale there falls {100 * SWALE_SLOPE.value:.0f} % or more."
    )
    yield Finding("caution", "drainage", text, fall, SWALE_SLOPE.value, SWALE_SLOPE.source, at)


def lining_findings(site: Site, ground: Ground) -> Iterator[Finding]:
    """The channel that falls most steeply, where running water takes bare soil with it; drops are held by stones."""
    found = [(*steepest_fall(channel, ground), channel) for channel in site.channel if not channel.drops]
    if not found:
        return
    fall, at, channel = max(found, key=lambda one: one[0])
    if fall <= EROSION_SLOPE.value + 1e-6:
        return
    text = (
        f"{channel.name} falls {100 * fall:.0f} % near {show_place(*at, site.units)}: line it with stone or a mat "
        "there, or break its fall with drops."
    )
    yield Finding("caution", "drainage", text, fall, EROSION_SLOPE.value, EROSION_SLOPE.source, at)


def steepest_fall(channel: Channel, ground: Ground) -> tuple[float, Place]:
    """Greatest slope of a channel's bed over a metre, or over all of a shorter one, rise/run, and its place."""
    fall, places, half = _falls_along(channel, ground)
    most = int(np.argmax(fall))
    x, y = shapely.get_coordinates(places[most])[0]
    return float(fall[most] / (2.0 * half)), (float(x), float(y))


def cut_crest_findings(site: Site, proposal: Proposal) -> Iterator[Finding]:
    """The high points that channels take from: a channel is dug into existing ground and rides on no fill."""
    for dig in proposal.digs[len(site.basin) :]:
        for number, point in enumerate(proposal.crest, start=1):
            if point.short and held_by_dig(point, dig):
                yield _cut_crest(site, proposal.toe, dig, number, point)


def held_by_dig(point: BuiltCrest, dig: Dig) -> bool:
    """Whether a dig is what keeps a high point down: it runs through it or its ridge, or its edge holds it."""
    return bool(dig.rim.intersects(shapely.Point(point.at))) or point.held_by in (
        edge_hold(dig.name),
        ridge_hold(dig.name),
    )


def _cut_crest(site: Site, toe: float, dig: Dig, number: int, point: BuiltCrest) -> Finding:
    units, lacks = site.units, point.wished - point.built
    away = dig.rim.distance(shapely.Point(point.at))
    # From the edge of the dig the face starts half a toe in, and rises at the limit.
    needed = point.wished / site.berm.max_slope + toe / 2.0
    text = (
        f"{dig.name} is dug into the existing ground and cannot ride on fill: it cuts high point {number} by "
        f"{show_length(lacks, units)}, to {show_length(point.built, units)} of {show_length(point.wished, units)}. "
        f"Lead it round the mound, {show_length(max(needed, away), units, 'distance')} from the high point."
    )
    return Finding("caution", "shape", text, lacks, CREST_SHORT.value, "the site file", point.at)
