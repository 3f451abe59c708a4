"""The library of coordinate systems, as everything here asks it: x before y, no network, nothing in silence.

The library follows each system's own order of axes (EPSG:4326 has latitude first) unless it is told otherwise, and
answers infinity for places that a system does not reach; here the first is always told and the second always refused.
"""

from __future__ import annotations

import re
from functools import cache
from typing import Any

import numpy as np

from terrain.errors import InputError
from terrain.extras import library
from terrain.grid import Array

EARTH = "EPSG:4326"  # WGS 84: what GeoJSON, KML and a phone's receiver are in
_CODE = re.compile(r"(?:([A-Za-z]{3,5}):)?(\d{4,6})(?:\+(\d{4,6}))?")
_OFF_GRID = 0.01  # of a length: the scale of no measuring grid is further from 1 on the ground it is made for
_OFF_AREA = 0.5  # degrees about the area that a system is made for in which it is still taken


def proj(where: str = "[survey] crs") -> Any:
    """The library; `InputError` says how to install it where it is not there."""
    found: Any = library("pyproj", where, "a place on earth", "maps")
    library("pyproj.network", where, "a place on earth", "maps")
    found.network.set_network_enabled(active=False)
    return found


@cache
def system_of(text: str) -> Any:
    """The system that a number ("EPSG:2264") or a well-known text names; of one with heights, the plan alone.

    Raises the library's `CRSError` for a text that is neither.
    """
    system = proj().CRS.from_user_input(text)
    return system.sub_crs_list[0] if system.is_compound else system


@cache
def _transformer(source: str, target: str) -> Any:
    return proj().Transformer.from_crs(system_of(source), system_of(target), always_xy=True)


def between(source: str, target: str, places: Array) -> Array:
    """(n, 2) places of one system in another, x or longitude first; nan where the other does not reach."""
    if not len(places):
        return np.empty((0, 2))
    moved = np.column_stack(_transformer(source, target).transform(places[:, 0], places[:, 1]))
    moved[~np.isfinite(moved).all(axis=1)] = np.nan
    return moved


def cost(source: str, target: str) -> float | None:
    """Metres that going from one system to the other may cost, as the library's register states; None: not stated."""
    metres = float(_transformer(source, target).accuracy)
    return metres if metres >= 0.0 else None


def code_of(text: str, where: str) -> str:
    """The registered number that a person wrote, as "EPSG:2264"; `InputError` for what is none.

    Nothing but a number passes: the library would open files that a longer text names.
    """
    accepted = 'Accepted: the number of a plane system, such as crs = "EPSG:2264".'
    found = _CODE.fullmatch(text.strip())
    if found is None:
        raise InputError(where, f'"{text}" is no number of a coordinate system.', accepted)
    register, number, heights = (found[1] or "EPSG").upper(), found[2], found[3]
    code = f"{register}:{number}" + (f"+{heights}" if heights else "")
    try:
        system = system_of(code)
    except proj(where).exceptions.CRSError:
        raise InputError(where, f"{code} is not in the register of coordinate systems.", accepted) from None
    if not system.is_projected:
        kind = "counts in degrees" if system.is_geographic else "is no plane"
        place = "Accepted: a plane system; or place = { ... lat, lon ... } beside local x and y."
        raise InputError(where, f"{code} ({system.name}) {kind}, and x and y are lengths.", place)
    return f"{register}:{number}"


def unit_of(system: str) -> float:
    """Metres in one unit of a plane system, by its axis: its name may say otherwise."""
    return float(system_of(system).axis_info[0].unit_conversion_factor)


def scale_at(code: str, lonlat: Array) -> float:
    """How long one metre on the ellipsoid is in a plane system, at (2,) longitude and latitude."""
    factors = proj().Proj(system_of(code)).get_factors(*(float(value) for value in lonlat))
    return float(factors.meridional_scale)


def refuse_elsewhere(code: str, place: Array, shown: str, where: str) -> None:
    """Refuse a place (2,), in the system's own unit, that the system is not made for; `shown` is how it was written."""
    system = system_of(code)
    (lonlat,) = between(code, EARTH, place[None])
    area = system.area_of_use
    west, south, east, north = area.bounds if area is not None else (-180.0, -90.0, 180.0, 90.0)
    across = west - _OFF_AREA <= lonlat[0] <= east + _OFF_AREA or (
        west > east and (lonlat[0] >= west or lonlat[0] <= east)  # over the date line
    )
    if not (across and south - _OFF_AREA <= lonlat[1] <= north + _OFF_AREA):
        there = "" if np.isnan(lonlat).any() else f" ({lonlat[1]:.3f}, {lonlat[0]:.3f})"
        raise InputError(
            where,
            f"{shown} lies{there} off the ground that {code} ({system.name}) is made for.",
            "Accepted: x and y in that system; or place, beside local x and y.",
        )
    scale = scale_at(code, lonlat)
    if abs(scale - 1.0) > _OFF_GRID:
        raise InputError(
            where,
            f"{code} ({system.name}) is no measuring grid: there a length of 100 on the ground is {100 * scale:.1f}.",
            "Accepted: a system for surveys, such as the state's or the zone's.",
        )
