"""From a site file, or the same fields in Python, to a checked `Site` in SI units."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping, Sequence, Sized
from dataclasses import fields as fields_of
from dataclasses import replace
from difflib import get_close_matches
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from terrain.errors import InputError
from terrain.site.checks import check_site
from terrain.site.features import Basin, Channel, RetainedEdge, Terrace
from terrain.site.fields import FieldReader
from terrain.site.files import read_text
from terrain.site.model import (
    Bed,
    Berm,
    Building,
    GridSpec,
    Heap,
    KeepClear,
    Site,
    Soil,
    Survey,
    Tree,
    TreeRule,
    ViewFrom,
    Walk,
)
from terrain.site.shots import read_shots
from terrain.site.soils import with_factors
from terrain.units import Units, as_written

if TYPE_CHECKING:
    from pydantic import TypeAdapter
    from pydantic_core import ErrorDetails

Fields = Mapping[str, Any]

_TABLES = {"survey": Survey, "bed": Bed, "trees": TreeRule, "berm": Berm, "soil": Soil, "grid": GridSpec}
_LISTS = {
    "tree": Tree,
    "keep_clear": KeepClear,
    "walk": Walk,
    "heap": Heap,
    "building": Building,
    "basin": Basin,
    "channel": Channel,
    "terrace": Terrace,
    "retained_edge": RetainedEdge,
    "view_from": ViewFrom,
}
_EXAMPLES = {
    "name": 'name = "front bed"',
    "units": 'units = "ft"',
    "survey": '[survey] with shots = "shots.csv"',
    "shots": 'shots = "shots.csv"',
    "bed": '[bed] with outline = "bed.csv"',
    "outline": "outline = [[0, 0], [20, 0], [20, 12]]",
    "at": "at = [31.0, 22.5]",
    "trunk": 'trunk = "26 in"',
    "berm": '[berm] with max_slope = "4:1" and a crest',
    "max_slope": 'max_slope = "4:1"',
    "crest": 'crest = [[18, 20, "22 in"]]',
}


def read_site(path: str | Path) -> Site:
    """Read a site file (TOML) and the measurement files that it names.

    Parameters
    ----------
    path
        The site file; the paths in it start at its folder.

    Returns
    -------
    Site
        Checked, in metres, m3, rise/run and fractions.

    Raises
    ------
    InputError
        One message: file, key or row, the value that arrived, what would be accepted.
    """
    path = Path(path)
    label = str(path)
    text = read_text(path, label, 'Give the path of a site file, such as "site.toml".')
    return replace(build_site(_toml(text, label), path.parent, label), path=path)


def build_site(fields: Fields, folder: str | Path = ".", label: str = "site") -> Site:
    """Build a site from the fields of a site file, as plain Python values.

    Parameters
    ----------
    fields
        As `tomllib` reads a site file: numbers in the site's units, texts with units, lists of points.
        Arrays, polygons and parts of a site (`Survey`, `Tree`, ...) may stand in their places; those are in
        metres.
    folder
        Where the paths in `fields` start.
    label
        Opens every message.

    Raises
    ------
    InputError
        As `read_site`.
    """
    from pydantic import ValidationError

    units = _units(fields, label)
    _refuse_unknown(fields, label)
    prepared = {
        **fields,
        **_survey(fields, units, Path(folder)),
        **_soil(fields, label),
    }
    try:
        site = _adapter().validate_python(prepared, context=FieldReader(units, Path(folder)))
    except ValidationError as error:
        raise _in_words(error.errors(include_url=False)[0], fields, label) from None
    return check_site(site, label)


@cache
def _adapter() -> TypeAdapter[Site]:
    from pydantic import TypeAdapter

    return TypeAdapter(Site)


def _toml(text: str, label: str) -> Fields:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        message = str(error)
        place = re.search(r" \(at line (\d+), column (\d+)\)$", message)
        problem = message[: place.start()] if place else re.sub(r" \(.*\)$", " at the end", message)
        row = int(place[1]) if place else len(text.splitlines())
        line = text.splitlines()[row - 1].strip() if text.splitlines()[row - 1 : row] else ""
        once = "twice" in problem or "overwrite" in problem
        raise InputError(
            f"{label} line {row}",
            f"this is not valid TOML: {problem[:1].lower()}{problem[1:]}, in '{line}'.",
            "Each table and each key is written once." if once else 'Texts stand in quotes, such as toe = "2 ft".',
        ) from None


def _units(fields: Fields, label: str) -> Units:
    units = fields.get("units")
    if units == "ft" or units == "m":
        return "ft" if units == "ft" else "m"
    problem = f"{as_written(units)} is not a unit of a site." if "units" in fields else "this key is missing."
    raise InputError(f"{label} units", problem, 'Accepted: units = "ft" or units = "m".')


def _written_keys(table: type) -> list[str]:
    """The keys that a site file may use in a table."""
    return [field.name for field in fields_of(table) if field.metadata.get("written", True)]


def _refuse_unknown(fields: Fields, label: str) -> None:
    """Refuse keys that mean nothing here, at any depth, before anything is read from them."""
    _refuse_keys(fields, Site, label)
    for key, table in _TABLES.items():
        if isinstance(fields.get(key), Mapping):
            _refuse_keys(fields[key], table, f"{label} [{key}]")
    for key, table in _LISTS.items():
        for i, entry in _entries(fields.get(key)):
            _refuse_keys(entry, table, f"{label} {_entry_words(key, i, entry)}")


def _entries(tables: object) -> Iterator[tuple[int, Fields]]:
    """The tables of an array of tables, counted from 1."""
    if isinstance(tables, Sequence):
        yield from ((i, entry) for i, entry in enumerate(tables, start=1) if isinstance(entry, Mapping))


def _refuse_keys(given: Fields, table: type, where: str) -> None:
    known = _written_keys(table)
    for key in given:
        if key not in known:
            near = get_close_matches(key.lower(), known, n=1)
            hint = f' Did you mean "{near[0]}"?' if near else ""
            raise InputError(where, f'"{key}" is not a known key.{hint}', f"Known keys: {', '.join(known)}.")


def _survey(fields: Fields, units: Units, folder: Path) -> Fields:
    """The [survey] table with its file read; shots given in place are named by their number."""
    survey = fields.get("survey")
    if not isinstance(survey, Mapping):
        return {}
    shots = survey.get("shots")
    if isinstance(shots, str):
        return {"survey": {**survey, **read_shots(folder / shots, shots or '""', units)}}
    count = len(shots) if isinstance(shots, Sized) else 0
    names = tuple(str(i + 1) for i in range(count))
    return {"survey": {**survey, "names": names, "codes": ("",) * count}}


def _soil(fields: Fields, label: str) -> Fields:
    soil = fields.get("soil")
    if not isinstance(soil, Mapping):
        return {}
    try:
        return {"soil": with_factors(soil)}
    except InputError as error:
        raise InputError(f"{label} [soil] kind", error.problem, error.accepted) from None


def _in_words(fault: ErrorDetails, fields: Fields, label: str) -> InputError:
    """A validation fault as one message of our own."""
    path, value, kind = fault["loc"], fault["input"], fault["type"]
    where = f"{label} {_key_words(path, fields)}"
    key = str(path[-1])
    if kind == "site":
        return InputError(where, fault["ctx"]["problem"], fault["ctx"]["accepted"])
    if kind == "missing":
        return InputError(where, "this is missing.", f"Add {_EXAMPLES.get(key, key)}.")
    if kind == "tuple_type" and key in _LISTS:
        return InputError(where, f"{as_written(value)} is not a list of tables.", f"Write [[{key}]] above each one.")
    if kind == "tuple_type":
        return InputError(where, f"{as_written(value)} is not a list.", f"Accepted: {_EXAMPLES.get(key, 'a list')}.")
    if kind == "dataclass_type":
        return InputError(where, f"{as_written(value)} is not a table.", f"Write its keys under a line [{key}], once.")
    return InputError(
        where, f"{as_written(value)} is not accepted here.", f"Accepted: {_EXAMPLES[key]}." if key in _EXAMPLES else ""
    )


def _key_words(path: tuple[int | str, ...], fields: Fields) -> str:
    """A key as a person finds it: `[[tree]] 2 "bur oak" trunk`, `[berm] crest point 1`, `name`."""
    table, *rest = path
    if table in _LISTS and rest and isinstance(rest[0], int):
        number = rest.pop(0)
        words = [_entry_words(str(table), int(number) + 1, fields[str(table)][number])]
    elif table in _LISTS:
        words = [f"[[{table}]]"]
    else:
        words = [f"[{table}]" if table in _TABLES else str(table)]
    return " ".join(words + [f"point {step + 1}" if isinstance(step, int) else step for step in rest])


def _entry_words(key: str, number: int, entry: object) -> str:
    name = entry.get("name") if isinstance(entry, Mapping) else getattr(entry, "name", None)
    return f"[[{key}]] {number}" + (f' "{name}"' if isinstance(name, str) and name else "")
