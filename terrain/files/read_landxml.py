"""LandXML surfaces read back: the triangles of each, in metres."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from terrain.errors import InputError, OutputError
from terrain.files.bodies import Body
from terrain.survey import surfaces_of
from terrain.units import unit_length

DIGITS = 1e-6  # of the file's unit: the last digit of a coordinate


def read_landxml(path: Path) -> tuple[Mapping[str, Body], float]:
    """The surfaces of a file of ours by name, east, north and up in metres, and the metres of its last digit.

    Raises
    ------
    OutputError
        If it cannot be read as such a file.
    """
    try:
        found = surfaces_of(path.read_bytes(), path.name)
    except (InputError, OSError) as error:
        raise OutputError(f"{path.name}: the file was read back and could not be understood ({error}).") from error
    # A survey in US survey feet counts as one in feet, number for number.
    unit = unit_length("m" if found.unit == 1.0 else "ft")
    bodies = {one.name: Body(one.name, one.points * unit, one.faces, closed=False) for one in found.surfaces}
    return bodies, DIGITS * unit
