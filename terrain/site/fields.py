"""How each kind of field is written in a site file, and the SI value it stands for."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any, get_args

import numpy as np

from terrain.errors import InputError
from terrain.grid import frozen
from terrain.limits import (
    ACCURACY_MOST,
    HIGHEST_CREST,
    HIGHEST_DROP,
    NAME_LONGEST,
    SLOPE_LEAST,
    STEEPEST_DIG,
    THICKEST_LAYER,
    THICKEST_TRUNK,
)
from terrain.plain import plain
from terrain.site.crew_fields import CREW_READERS
from terrain.site.features import Drop
from terrain.site.model import Compass, CrestPoint
from terrain.site.outline import read_outline
from terrain.site.soil_fields import SOIL_READERS, above_zero
from terrain.site.soils import soil_factors
from terrain.site.storm_fields import STORM_READERS
from terrain.site.stream_fields import STREAM_READERS
from terrain.site.survey import SURFACES, as_points
from terrain.site.thing_fields import THING_READERS
from terrain.survey import Folder, NoFileError, read_line
from terrain.units import (
    STEEPEST_SLOPE,
    Units,
    as_written,
    parse_length,
    parse_share,
    parse_slope,
    show_length,
)

_CREST = ("x", "y", "height")
_HIGHEST_COUNT = 1_000_000
_BREAKLINES = "Accepted: a list of lines, each of two or more [x, y, elevation]."


@dataclass(frozen=True)
class FieldReader:
    """Turns (kind, written value) into an SI value; passed to the validation of a `Site` as its context.

    Parameters
    ----------
    units
        The site's units, which a bare number is in.
    folder
        Where the paths in the site file start, and which files they may name.
    readers
        The function that reads each kind.
    """

    units: Units
    folder: Folder
    readers: Mapping[str, Callable[[Any, FieldReader], object]] = field(default_factory=lambda: READERS)

    def __call__(self, kind: str, value: object) -> object:
        """Return the SI value.

        A fault becomes a validation error, which carries its key; one inside a file that the value names keeps its own
        place.
        """
        from pydantic_core import PydanticCustomError

        try:
            return self.readers[kind](value, self)
        except InputError as error:
            fault = error.of_key("") if isinstance(error, NoFileError) else error
            raise PydanticCustomError("site", "{problem}", {"problem": fault.problem, "fault": fault}) from None


def _text(value: Any, at: FieldReader) -> str:
    text = plain(value).strip() if isinstance(value, str) else ""
    if not text:
        raise InputError("", f"{as_written(value)} is not a text.", 'Accepted: a text in quotes, such as "bur oak".')
    if len(text) > NAME_LONGEST.value:
        problem = f"{as_written(text)} has {len(text):,} signs."
        raise InputError("", problem, f"Accepted: up to {NAME_LONGEST.value:.0f} signs.")
    return text


def _date(value: Any, at: FieldReader) -> str:
    """A day as "2026-05-04"; TOML's own dates are taken too."""
    try:
        return (value if isinstance(value, date) else date.fromisoformat(_text(value, at))).isoformat()[:10]
    except ValueError:
        raise InputError("", f"{as_written(value)} is not a date.", 'Accepted: such as "2026-05-04".') from None


def _length(value: Any, at: FieldReader) -> float:
    return parse_length(value, at.units, "")


def _length_within(value: Any, at: FieldReader, least: float, most: float, noun: str) -> float:
    """A length from `least` to `most` metres; the message of a slip names the unit that was taken."""
    metres = parse_length(value, at.units, "")
    if metres > most:
        example = '"18 in"' if at.units == "ft" else '"45 cm"'
        raise InputError(
            "",
            f"{noun} of {as_written(value)} is {show_length(metres, at.units, 'distance')}, "
            f"more than {show_length(most, at.units, 'distance')}.",
            f"A bare number is in {at.units}; a text may name its unit, such as {example}.",
        )
    if metres < least:
        raise InputError("", f"{noun} of {as_written(value)} is negative.", "Accepted: 0 or more.")
    return metres


def _size(value: Any, at: FieldReader) -> float:
    return above_zero(_length(value, at), value)


def _layer(value: Any, at: FieldReader) -> float:
    return _length_within(value, at, 0.0, THICKEST_LAYER.value, "a layer")


def _trunk(value: Any, at: FieldReader) -> float:
    return above_zero(_length_within(value, at, -math.inf, THICKEST_TRUNK.value, "a trunk diameter"), value)


def _girth(value: Any, at: FieldReader) -> float:
    return above_zero(_length_within(value, at, -math.inf, math.pi * THICKEST_TRUNK.value, "a girth"), value)


def _stems(value: Any, at: FieldReader) -> tuple[float, ...]:
    if not isinstance(value, Sequence) or isinstance(value, str) or len(value) < 2:
        example = '["8 in", "11 in"]' if at.units == "ft" else '["20 cm", "28 cm"]'
        raise InputError(
            "", f"{as_written(value)} is not a list of stems.", f"Accepted: two or more diameters, such as {example}."
        )
    return tuple(_trunk(stem, at) for stem in value)


def _width(value: Any, at: FieldReader) -> float:
    return _length_within(value, at, 0.0, math.inf, "a width")


def _accuracy(value: Any, at: FieldReader) -> float:
    metres = _size(value, at)
    if metres > ACCURACY_MOST.value:
        most = show_length(ACCURACY_MOST.value, at.units, "distance")
        raise InputError(
            "",
            f"shots that are off by {show_length(metres, at.units, 'distance')} tell nothing of a yard.",
            f"Accepted: up to {most}, the standard deviation of one shot; a bare number is in {at.units}, a text may "
            "name its unit.",
        )
    return metres


def _slope(value: Any, at: FieldReader, steepest: float = STEEPEST_SLOPE) -> float:
    slope = parse_slope(value, "", steepest)
    if slope < SLOPE_LEAST.value:
        raise InputError(
            "",
            f"sides of {as_written(value)} are all but level.",
            f'Accepted: {1.0 / SLOPE_LEAST.value:.0f}:1 and steeper, such as "4:1".',
        )
    return slope


def _chance(value: Any, at: FieldReader) -> float:
    share = parse_share(value, "")
    if share <= 0.0:
        raise InputError("", f"{as_written(value)} is no chance.", 'Accepted: between 0 and 100 %, such as "80 %".')
    return share


def _count(value: Any, at: FieldReader) -> int:
    if not isinstance(value, int) or isinstance(value, bool) or not 1 <= value <= _HIGHEST_COUNT:
        raise InputError(
            "", f"{as_written(value)} is not a count.", f"Accepted: a whole number from 1 to {_HIGHEST_COUNT:,}."
        )
    return value


def _yes_no(value: Any, at: FieldReader) -> bool:
    if not isinstance(value, bool):
        raise InputError("", f"{as_written(value)} is neither yes nor no.", "Accepted: true or false, without quotes.")
    return value


def _pair(value: Any, at: FieldReader) -> tuple[float, float]:
    if not isinstance(value, Sequence) or isinstance(value, str) or len(value) != 2:
        raise InputError(
            "",
            f"{as_written(value)} is not a place.",
            "Accepted: [x, y] in the survey's coordinates, such as [31.0, 22.5].",
        )
    return _length(value[0], at), _length(value[1], at)


def _crest_point(value: Any, at: FieldReader) -> CrestPoint:
    if isinstance(value, CrestPoint):
        return value
    if isinstance(value, Mapping) and set(value) == {"x", "y", "elevation"}:
        east, north, level = (_length(value[key], at) for key in ("x", "y", "elevation"))
        return CrestPoint(east, north, 0.0, level)
    row = _crest_row(value)
    if row is None:
        raise InputError(
            "",
            f"{as_written(value)} is not a crest point.",
            'Accepted: [x, y, height over existing grade], such as [18, 20, "22 in"], or its elevation, such as '
            "{ x = 18, y = 20, elevation = 101.5 }.",
        )
    height = _length_within(row[2], at, -math.inf, HIGHEST_CREST.value, "a height")
    if height <= 0.0:
        raise InputError(
            "", f"the height {as_written(row[2])} is not above existing grade.", "Accepted: a height of more than 0."
        )
    return CrestPoint(_length(row[0], at), _length(row[1], at), height)


def _crest_row(value: Any) -> Sequence[Any] | None:
    """The three values of a crest point, written as a list or as a table; None for anything else."""
    row = [value[key] for key in _CREST if key in value] if isinstance(value, Mapping) else value
    listed = isinstance(row, Sequence) and not isinstance(row, str)
    return row if listed and len(row) == len(value) == 3 else None


def _drop(value: Any, at: FieldReader) -> Drop:
    if isinstance(value, Drop):
        return value
    if not isinstance(value, Sequence) or isinstance(value, str) or len(value) != 3:
        raise InputError(
            "", f"{as_written(value)} is not a drop.", 'Accepted: [x, y, height of the step], such as [12, 8, "6 in"].'
        )
    return Drop(_length(value[0], at), _length(value[1], at), _drop_height(value[2], at))


def _drop_height(value: Any, at: FieldReader) -> float:
    return above_zero(_length_within(value, at, -math.inf, HIGHEST_DROP.value, "a drop"), value)


def _soil_kind(value: Any, at: FieldReader) -> str:
    kind = _text(value, at)
    soil_factors(kind)
    return kind


def _compass(value: Any, at: FieldReader) -> str:
    sides = get_args(Compass)
    word = value.lower().replace("-", "").replace(" ", "") if isinstance(value, str) else ""
    if word not in sides:
        raise InputError("", f"{as_written(value)} is not a side.", f"Accepted: {', '.join(sides)}.")
    return str(word)


def _span(value: Any, at: FieldReader) -> tuple[float, float]:
    """Length and width, or the diameter of a round thing with width 0."""
    if isinstance(value, Sequence) and not isinstance(value, str) and len(value) == 2:
        return _size(value[0], at), _size(value[1], at)
    return _size(value, at), 0.0


def _dig_slope(value: Any, at: FieldReader) -> float:
    """Sides of a dig may stand steeper than ground may be left: up to 10 to 1 upright."""
    return _slope(value, at, STEEPEST_DIG.value)


def _shots(value: Any, at: FieldReader) -> np.ndarray[Any, np.dtype[np.float64]]:
    """Shots as [[x, y, elevation], ...] in the site's units, or as an (n, 3) array in metres."""
    if isinstance(value, np.ndarray) and value.ndim == 2 and value.shape[1] == 3:
        return value.astype(float)
    rows = value
    accepted = 'Accepted: the path of a CSV file, such as "shots.csv", or a list of [x, y, elevation].'
    if not isinstance(rows, Sequence) or isinstance(rows, str):
        raise InputError("", f"{as_written(value)} is neither a file nor a list of shots.", accepted)
    points: list[tuple[float, float, float]] = []
    for i, row in enumerate(rows, start=1):
        if not isinstance(row, Sequence) or isinstance(row, str) or len(row) != 3:
            raise InputError("", f"shot {i}, {as_written(row)}, is not [x, y, elevation].", accepted)
        points.append((_length(row[0], at), _length(row[1], at), _length(row[2], at)))
    return as_points(points)


def _breaklines(value: Any, at: FieldReader) -> tuple[np.ndarray[Any, np.dtype[np.float64]], ...]:
    """Lines of [x, y, elevation] in the site's units, or (n, 3) arrays in metres."""
    if not isinstance(value, Sequence) or isinstance(value, str):
        raise InputError("", f"{as_written(value)} is not a list of breaklines.", _BREAKLINES)
    lines = tuple(frozen(_shots(line, at)) for line in value)
    for i, line in enumerate(lines, start=1):
        if len(line) < 2:
            raise InputError("", f"breakline {i} has fewer than two points.", _BREAKLINES)
    return lines


def _names(value: Any, at: FieldReader) -> tuple[str, ...]:
    """Names of shots; a bare number is one as well."""
    listed = value if isinstance(value, Sequence) and not isinstance(value, str) else [value]
    names = tuple(str(name).strip() for name in listed)
    if not all(names) or not all(isinstance(n, str | int) and not isinstance(n, bool) for n in listed):
        raise InputError("", f"{as_written(value)} is no list of shots.", 'Accepted: such as ["17", "23"].')
    return names


def _surface(value: Any, at: FieldReader) -> str:
    """One of `SURFACES`; "thin plate" is one as well."""
    word = "_".join(value.casefold().split()) if isinstance(value, str) else ""
    if word not in SURFACES:
        shown = ", ".join(name.replace("_", " ") for name in SURFACES)
        raise InputError("", f"{as_written(value)} is no surface of the ground.", f"Accepted: {shown}.")
    return word


READERS: Mapping[str, Callable[[Any, FieldReader], object]] = {
    **SOIL_READERS,
    **STORM_READERS,
    **STREAM_READERS,
    **CREW_READERS,
    **THING_READERS,
    "text": _text,
    "date": _date,
    "names": _names,
    "surface": _surface,
    "length": _length,
    "size": _size,
    "layer": _layer,
    "trunk": _trunk,
    "girth": _girth,
    "stems": _stems,
    "width": _width,
    "share": lambda value, at: parse_share(value, ""),
    "whole share": lambda value, at: parse_share(value, "", whole=True),
    "chance": _chance,
    "count": _count,
    "yes or no": _yes_no,
    "soil kind": _soil_kind,
    "slope": _slope,
    "accuracy": _accuracy,
    "point": _pair,
    "crest point": _crest_point,
    "drop": _drop,
    "drop height": _drop_height,
    "compass": _compass,
    "line": lambda value, at: read_line(value, at.units, at.folder),
    "span": _span,
    "dig slope": _dig_slope,
    "outline": lambda value, at: read_outline(value, at.units, at.folder),
    "shots": _shots,
    "breaklines": _breaklines,
    "as it is": lambda value, at: value,
}
