"""The plane of a site on the earth, from what [survey] says of it and where its points are."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from terrain.earth import (
    EARTH,
    Located,
    MapFix,
    between,
    code_of,
    laid_by_bearing,
    laid_by_points,
    named_system,
    system_of,
)
from terrain.errors import InputError
from terrain.site.earth_keys import PlaceKey
from terrain.site.survey_keys import SurveyKeys
from terrain.survey import Place, nearest_name, point_key
from terrain.units import Units, show_place


def located(keys: SurveyKeys, places: Mapping[str, Place | None], units: Units, where: str) -> Located | None:
    """Where on earth the survey lies; None where [survey] does not say.

    Parameters
    ----------
    keys
        [survey] as written.
    places
        Where each named point is, metres, by its key; None where several have one name.
    where
        The table, for messages.

    Raises
    ------
    InputError
        For a system that cannot be taken, points that are not known, and a map that survey and points disagree on.
    """
    if not keys.place:
        return named_system(keys.crs, units, f"{where} crs") if keys.crs else None
    here = f"{where} place"
    if keys.crs and not keys.place[0].grid:
        problem = f"by crs, x and y are coordinates of {keys.crs} already, and place says where they lie as well."
        raise InputError(here, problem, "Leave one out; or give the points east and north in that system.")
    if keys.place[0].grid:
        return _by_grid(keys, places, units, where)
    if len(keys.place) == 1:
        return _by_bearing(keys.place[0], places, units, here)
    fixes = [MapFix(_called(key, units), _place(key.point, places, here), key.on_map) for key in keys.place]
    return laid_by_points(fixes, EARTH, units, here)


def located_so_far(keys: SurveyKeys, units: Units, where: str) -> Located | None:
    """As `located`, before any file is read: None as well where `place` names a point that only a file has."""
    stated = stated_places(keys)
    named = [name for key in keys.place for name in (key.point, key.toward) if isinstance(name, str)]
    return located(keys, stated, units, where) if all(point_key(name) in stated for name in named) else None


def stated_places(keys: SurveyKeys) -> dict[str, Place]:
    """The places of `points`, metres, by key."""
    return {point_key(name): place for name, place in keys.points.items()}


def _by_grid(keys: SurveyKeys, places: Mapping[str, Place | None], units: Units, where: str) -> Located:
    """By points known in a registered system."""
    here = f"{where} place"
    if not keys.crs:
        raise InputError(here, "east and north of which system?", 'Add crs, such as crs = "EPSG:26915".')
    code = code_of(keys.crs, f"{where} crs")
    base = system_of(code).geodetic_crs.to_wkt()
    lonlats = between(code, base, np.array([key.on_map for key in keys.place]))
    for key, lonlat in zip(keys.place, lonlats, strict=True):
        if not np.isfinite(lonlat).all():
            east, north = key.on_map
            raise InputError(here, f"{code} does not reach east {east:g}, north {north:g}.", "Look for digits lost.")
    fixes = [
        MapFix(_called(key, units), _place(key.point, places, here), (float(lon), float(lat)))
        for key, (lon, lat) in zip(keys.place, lonlats, strict=True)
    ]
    return laid_by_points(fixes, base, units, here)


def _by_bearing(key: PlaceKey, places: Mapping[str, Place | None], units: Units, where: str) -> Located:
    """By one point and the bearing of a line, or of the survey's y."""
    at, turn = _place(key.point, places, where), key.bearing or 0.0
    if key.toward is not None:
        east, north = np.subtract(_place(key.toward, places, where), at)
        if not math.hypot(east, north):
            raise InputError(where, "toward is the point itself.", "Accepted: another point of the survey.")
        turn -= math.atan2(east, north)
    return laid_by_bearing(MapFix(_called(key, units), at, key.on_map), turn, units)


def _called(key: PlaceKey, units: Units) -> str:
    return key.point if isinstance(key.point, str) else show_place(*key.point, units)


def _place(point: str | Place, places: Mapping[str, Place | None], where: str) -> Place:
    if not isinstance(point, str):
        return point
    found = places.get(point_key(point))
    if found is None:
        known = point_key(point) in places
        hint = "" if known else nearest_name(point, places)
        problem = (
            f'"{point}" is the name of several points.' if known else f'"{point}" is no point of the survey.{hint}'
        )
        raise InputError(where, problem, "Accepted: a point of the shots, of points under [survey], or [x, y].")
    return found
