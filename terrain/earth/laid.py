"""A yard's plane laid on the map: by its own numbers, by one point and a bearing, or by points known on both."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from terrain.earth.located import Located, own_plane
from terrain.earth.proj import EARTH, between, code_of, refuse_elsewhere, system_of, unit_of
from terrain.errors import InputError
from terrain.grid import Array
from terrain.units import Units, show_length, show_place, unit_length

_MOST_STRETCH = 0.005  # of a length: more is a slip of units or of points; common practice, no published source
_TOLD_STRETCH = 3e-4  # what height over the ellipsoid and the scale of a grid do not come to together
_MOST_MISS = 0.02  # of the points' spread; common practice, no published source
_NEAREST = 1.0  # metres: points closer together say nothing of a turn


@dataclass(frozen=True)
class MapFix:
    """A point known on both: its name, its place in the survey (metres), and its longitude and latitude."""

    name: str
    at: tuple[float, float]
    lonlat: tuple[float, float]


def named_system(code: str, units: Units, where: str) -> Located:
    """The plane of a survey whose x and y are coordinates of a registered system, such as "EPSG:2264".

    Raises
    ------
    InputError
        For a number that is none, a system in degrees, with other axes than east and north, or in another unit than the
        site's: bare numbers can be in one of them only.
    """
    known = code_of(code, where)
    system = system_of(known)
    if {axis.direction for axis in system.axis_info} != {"east", "north"}:
        ways = " and ".join(axis.direction for axis in system.axis_info)
        raise InputError(
            where, f"{known} counts to the {ways}.", "Accepted: a system that counts to the east and north."
        )
    metres, word = unit_of(known), str(system.axis_info[0].unit_name)
    own = unit_length(units)
    if abs(metres / own - 1.0) > 1e-5:
        raise InputError(
            where,
            f"{known} counts in {_plural(word)}, and the site in {units}: x and y can be in one of them only.",
            f'Accepted: units = "{"ft" if metres < 1.0 else "m"}"; or place, by points known on both.',
        )
    if metres == own:
        return Located(known, own)
    said = f"{known} counts in {_plural(word)}, and so do x and y, number for number; in a length of 100 ft that is "
    return Located(known, own, (f"{said}0.0002 ft beside feet of 0.3048 m.",))


def _plural(unit: str) -> str:
    return {"foot": "feet", "US survey foot": "US survey feet", "metre": "metres"}.get(unit, f"units of a {unit}")


def check_there(located: Located, place: tuple[float, float], units: Units, where: str) -> None:
    """Refuse a yard about a place (metres) that the registered system is not made for."""
    if located.registered:
        numbers = np.array(place) / located.unit
        refuse_elsewhere(located.system, numbers, show_place(*place, units), where)


def laid_by_bearing(fix: MapFix, turn: float, units: Units) -> Located:
    """The plane by one point and the azimuth of the survey's y, radians clockwise from true north."""
    return own_plane(EARTH, (np.array(fix.lonlat), np.array(fix.at)), turn, 1.0, units)


def laid_by_points(fixes: Sequence[MapFix], base: str, units: Units, where: str) -> Located:
    """The plane by two points or more: turned, shifted and stretched to lie on them as near as can be.

    Least squares in a plane about their middle: Horn 1987, Closed-form solution of absolute orientation using unit
    quaternions, JOSA A 4(4), whose plane case is one complex factor.

    Parameters
    ----------
    fixes
        Their longitude and latitude are in `base`.

    Raises
    ------
    InputError
        For points on one place, and where survey and map disagree by more than any grid and height explain.
    """
    survey = np.array([fix.at for fix in fixes])
    lonlat = np.array([fix.lonlat for fix in fixes])
    middle = survey.mean(axis=0)
    from_middle = survey - middle
    spread = float(np.hypot(*from_middle.T).max()) * 2.0
    if spread < _NEAREST:
        raise InputError(where, "its points stand on one place.", "Accepted: points as far apart as the bed is long.")
    centre, factor, misses = lonlat.mean(axis=0), 1.0 + 0.0j, np.zeros(len(fixes))
    for _ in range(3):  # the first plane lies about a middle that is not yet the survey's
        plane = own_plane(base, (centre, middle), 0.0, 1.0, "m")
        seen = between(base, plane.system, lonlat) - middle
        factor, misses, off = _similar(from_middle, seen)
        centre = between(plane.system, base, (middle + off)[None])[0]
    _refuse_apart(fixes, factor, misses, spread, units, where)
    way = factor * 1j
    turn = math.atan2(way.real, way.imag)
    laid = own_plane(base, (centre, middle), turn, 1.0 / abs(factor), units)
    return replace(laid, notes=_notes(fixes, abs(factor), misses, spread, units))


def _similar(places: Array, seen: Array) -> tuple[complex, Array, Array]:
    """What turns and stretches (n, 2) places about their mean onto others, what each misses by, the shift."""
    a, b = places[:, 0] + 1j * places[:, 1], seen[:, 0] + 1j * seen[:, 1]
    off = b.mean()
    factor = complex((a.conj() @ (b - off)) / (a.conj() @ a).real)
    return factor, np.abs(b - off - factor * a), np.array([off.real, off.imag])


def _refuse_apart(
    fixes: Sequence[MapFix], factor: complex, misses: Array, spread: float, units: Units, where: str
) -> None:
    stretch, worst = abs(factor), int(np.argmax(misses))
    if abs(stretch - 1.0) > _MOST_STRETCH:
        names = " and ".join(fix.name for fix in fixes[:2])
        here, there = (show_length(length, units, "distance") for length in (spread, spread * stretch))
        raise InputError(
            where,
            f"{names} lie {here} apart in the survey and {there} on the map, {stretch:.4g} times as far.",
            "Accepted: within 0.5 %; look for another unit or a wrong point, or give one point and a bearing.",
        )
    if misses[worst] > _MOST_MISS * spread:
        raise InputError(
            where,
            f"{fixes[worst].name} is {show_length(float(misses[worst]), units, 'distance')} from where the others put "
            "it on the map.",
            "Look for points exchanged, or east and north.",
        )


def _notes(fixes: Sequence[MapFix], stretch: float, misses: Array, spread: float, units: Units) -> tuple[str, ...]:
    """How well survey and map agree."""
    names = ", ".join(fix.name for fix in fixes)
    longer = (stretch - 1.0) * 100.0
    kind = "longer" if longer >= 0.0 else "shorter"
    about = f"The map is laid by {names}: it is {abs(longer):.3g} {units} {kind} in 100 {units} than the survey"
    if len(fixes) > 2:
        worst = int(np.argmax(misses))
        off = show_length(float(misses[worst]), units, "elevation")
        about += f", and off by up to {off}, at {fixes[worst].name}"
    else:
        about += "; two points leave nothing else that would check them"
    notes = [about + "."]
    if abs(stretch - 1.0) > _TOLD_STRETCH:
        apart = show_length(spread * abs(stretch - 1.0), units, "elevation")
        notes.append(f"Height and grid do not make such a difference ({apart} over these points): measure one again.")
    return tuple(notes)
