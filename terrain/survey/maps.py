"""Map files and GeoJSON in the survey's own plane: places of another system are brought there, and the cost is told."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path
from sys import float_info
from typing import Any

import numpy as np

from terrain.earth import EARTH, Located, between, cost, system_of, unit_of
from terrain.errors import InputError
from terrain.grid import Array
from terrain.survey.geojson import read_json
from terrain.survey.measured import ReadOptions
from terrain.survey.readers.apart import GPKG, GPX, KML, SHP, Foreign, read_parts_apart
from terrain.units import Units, unit_length

MAPS: Mapping[str, Foreign] = {".kml": KML, ".kmz": KML, ".gpx": GPX, ".gpkg": GPKG, ".shp": SHP}
_DEGREES = 0.01  # a yard in degrees is smaller than this, a yard in feet or metres is not
_A_DEGREE = 111_320.0  # metres of latitude, and of longitude on the equator
_COARSEST = 1.0  # metres between two places that a file tells apart: coarser is no outline of anything in a yard
_FINE = 0.001  # metres: finer steps are not told
_SAME_FOOT = 1e-5  # share by which the two feet differ, and more
_NAMED = re.compile(r"(?:EPSG:{1,2}|/EPSG/0/)(\d+)$", re.IGNORECASE)
_CRS84 = re.compile(r"CRS:?84$", re.IGNORECASE)
_NOWHERE = (
    'Accepted: crs = "EPSG:..." or place = { point, lat, lon, bearing } under [survey], its point [x, y] or one of '
    "points, since those of this file come after it; or survey coordinates in feet or metres."
)
Collection = Mapping[str, Any]


def is_map(path: Path) -> bool:
    """Whether a file is read as a map, by its ending."""
    return path.suffix.lower() in MAPS


def read_map(path: Path, label: str, located: Located | None, units: Units) -> tuple[Collection, tuple[str, ...]]:
    """A file of features in survey coordinates, as bare numbers in `units`, and what there is to say of it.

    Parameters
    ----------
    path, label
        The file, and its name as the site file writes it.
    located
        Where on earth the survey lies; None where nobody said.
    units
        Of the numbers.

    Raises
    ------
    InputError
        From the reader; for longitude and latitude where nobody said where on earth the survey lies; for places that
        its system does not reach, and for a file too coarse for a yard.
    """
    if not is_map(path):
        return in_plane(read_json(path, label), label, located, units)
    found = read_parts_apart(MAPS[path.suffix.lower()], path, label)
    thing = {"type": "FeatureCollection", "features": found["features"]}
    moved, said = _Bringing(label, found["system"], located, units).brought(thing)
    return moved, (*(str(note) for note in found["notes"]), *said)


def map_features(path: Path, label: str) -> list[Any]:
    """The features of a map file as they stand in it, read in this very process: one that is bounded already."""
    read = import_module(f"terrain.survey.readers.{MAPS[path.suffix.lower()].reader}").read
    return list(read(path, label, ReadOptions("m", "m"))["features"])


def in_plane(
    thing: Collection, label: str, located: Located | None, units: Units
) -> tuple[Collection, tuple[str, ...]]:
    """A GeoJSON object likewise. Without a word of its own it is longitude and latitude if it looks like that."""
    system, degrees = _named_system(thing), looks_like_degrees(_places(thing))
    if degrees and (not system or located is None):
        system = EARTH
    if not system or (located is None and system != EARTH):
        said = f"{label}: the file names the reference {_written_system(thing)}; its coordinates were taken in {units}."
        return thing, ((said,) if system else ())
    return _Bringing(label, system, located, units).brought(thing)


def looks_like_degrees(places: Array) -> bool:
    """Whether (n, 2) numbers are longitude and latitude of a yard: so small a spread is none in feet or metres."""
    if len(places) < 2 or not np.isfinite(places).all():
        return False
    spread, farthest = float(np.ptp(places, axis=0).max()), np.abs(places).max(axis=0)
    return 0.0 < spread < _DEGREES and bool(farthest[0] <= 180.0 and farthest[1] <= 90.0)


@dataclass(frozen=True)
class _Bringing:
    """How the places of one file come to the survey's plane: from which system, to where, in which unit."""

    label: str
    system: str
    located: Located | None
    units: Units

    def brought(self, thing: Collection) -> tuple[Collection, tuple[str, ...]]:
        """The collection in survey coordinates, and notes."""
        places = _places(thing)
        if not self.system or not len(places):
            return thing, ()
        degrees = _is_round(self.system, self.label)
        if self.located is not None:
            return self._moved(thing, places, self.located, degrees=degrees)
        if degrees:
            middle = ", ".join(f"{value:.5f}" for value in places.mean(axis=0))
            problem = f"the coordinates, near {middle}, look like degrees of longitude and latitude"
            raise InputError(self.label, f"{problem}, and the site does not say where on earth it lies.", _NOWHERE)
        return self._as_they_are(thing)

    def _moved(
        self, thing: Collection, places: Array, located: Located, *, degrees: bool
    ) -> tuple[Collection, tuple[str, ...]]:
        own = unit_length(self.units)
        up = (1.0 if degrees else unit_of(self.system)) / own
        moved = between(self.system, located.system, places) * (located.unit / own)
        if not np.isfinite(moved).all():
            problem = f"{located.name} does not reach its places."
            raise InputError(self.label, problem, "Look for another yard's file.")
        said = self._cost(thing, located)
        rows = iter(moved.tolist())
        return _with_places(thing, lambda place: [*next(rows), *(float(value) * up for value in place[2:3])]), said

    def _as_they_are(self, thing: Collection) -> tuple[Collection, tuple[str, ...]]:
        """Plane coordinates of a site that is nowhere on earth: their lengths in the site's unit."""
        factor = unit_of(self.system) / unit_length(self.units)
        factor = 1.0 if abs(factor - 1.0) < _SAME_FOOT else factor
        said = (
            f"{self.label}: its coordinates are of {system_of(self.system).name}, and were taken as the survey's, as "
            "the site does not say where on earth it lies."
        )
        return _with_places(thing, lambda place: [float(value) * factor for value in place]), (said,)

    def _cost(self, thing: Collection, located: Located) -> tuple[str, ...]:
        """What it costs to bring a file to the survey's plane; one too coarse for a yard is refused."""
        source = system_of(self.system)
        if source == system_of(located.system):
            return ()
        known = cost(self.system, located.system)
        words = [f"{self.label}: places of {source.name} were brought to {located.name}"]
        words += [f"which may cost {known:g} m by the register of systems"] if known else []
        step = _A_DEGREE * 10.0 ** -_decimals(thing) if source.is_geographic else 0.0
        if step > _COARSEST:
            problem = f"its longitude and latitude stand in steps of {step:.2g} m."
            raise InputError(self.label, problem, "Accepted: seven decimals and more, steps of 1 cm.")
        words += [f"its steps are of {step:.2g} m"] if step >= _FINE else []
        return (", ".join(words) + ".",)


def _decimals(thing: Collection) -> int:
    """How many decimals the finest place of a collection has."""
    most = 0
    for place in _walk(thing):
        for value in place[:2]:
            text = repr(float(value))
            most = max(most, 17 if "e" in text else len(text.partition(".")[2]))
    return most


def _written_system(thing: Collection) -> str:
    """The system that a GeoJSON object names (format of 2008), as it stands there; "" for none."""
    crs = thing.get("crs")
    properties = crs.get("properties") if isinstance(crs, Mapping) else None
    return str(properties.get("name", "")) if isinstance(properties, Mapping) else ""


def _named_system(thing: Collection) -> str:
    """The same as a registered number, where it is one."""
    name = _written_system(thing)
    if _CRS84.search(name):
        return EARTH
    found = _NAMED.search(name)
    return f"EPSG:{found[1]}" if found else name


def _is_round(system: str, label: str) -> bool:
    """Whether a system counts in degrees. Raises `InputError` for a text that names none."""
    try:
        return bool(system_of(system).is_geographic)
    except InputError:
        raise
    except Exception as error:  # the library's own error, whose module is not imported here
        if type(error).__name__ != "CRSError":
            raise
        raise InputError(label, f"it names a system that is not known: {system[:60]}.", _NOWHERE) from None


def _places(thing: Collection) -> Array:
    """(n, 2) of every position in a GeoJSON object, in its order."""
    return np.array([place[:2] for place in _walk(thing)], dtype=float).reshape(-1, 2)


def _is_place(value: Any) -> bool:
    return isinstance(value, list) and len(value) >= 2 and all(_is_number(part) for part in value)


def _is_number(value: Any) -> bool:
    """Whether a value can stand in a place; a whole number of hundreds of digits is refused by who reads the places."""
    return isinstance(value, int | float) and not isinstance(value, bool) and not abs(value) > float_info.max


def _walk(thing: Any, under: bool = False) -> Iterator[list[Any]]:
    """Every position under a member called coordinates; properties hold none."""
    if under and _is_place(thing):
        yield thing
    elif isinstance(thing, Mapping):
        for key, value in thing.items():
            if key != "properties":
                yield from _walk(value, under or key == "coordinates")
    elif isinstance(thing, list):
        for value in thing:
            yield from _walk(value, under)


def _with_places(thing: Any, changed: Callable[[list[Any]], list[float]], under: bool = False) -> Any:
    """The same object with other positions."""
    if under and _is_place(thing):
        return changed(thing)
    if isinstance(thing, Mapping):
        return {
            key: value if key == "properties" else _with_places(value, changed, under or key == "coordinates")
            for key, value in thing.items()
        }
    return [_with_places(value, changed, under) for value in thing] if isinstance(thing, list) else thing
