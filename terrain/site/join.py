"""Shots put together by point name: places from the file, tapes and offsets, elevations from the file and the level."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from operator import itemgetter

from terrain.errors import Faults, InputError
from terrain.site.fields import FieldReader
from terrain.site.survey_keys import SurveyKeys
from terrain.survey import (
    LevelBook,
    LevelRules,
    Measured,
    Measures,
    Offset,
    PlacedPoint,
    Tie,
    is_ground,
    named_by,
    place_all,
    point_key,
    read_level_book,
    read_offsets,
    read_ties,
)
from terrain.units import Units, show_length


@dataclass(frozen=True)
class Joined:
    """Points with a place, in the order of their files, and notes on what was joined and what could not be."""

    points: tuple[PlacedPoint, ...]
    notes: tuple[str, ...]


def join_by_name(measured: Measured, source: str, keys: SurveyKeys, at: FieldReader, where: str) -> Joined:
    """Bring places and elevations together.

    Parameters
    ----------
    measured, source
        The file of shots, whose rows may lack a place or an elevation, and what messages call it.
    keys
        The other files and the known points.
    at
        The site's units and folder.
    where
        The [survey] table of the site file, for messages.

    Raises
    ------
    InputError
        From the files; for a point with two places or two elevations that disagree.
    """
    unnamed, placed, levels = _parted(measured, source, keys, at.units)
    for name, place in keys.points.items():
        _refuse_second(placed, name, f"{where} points")
        placed[point_key(name)] = PlacedPoint(name, place, f'{where} points "{name}"')
    measures = _measures(keys, at, where)
    placed, said = place_all(placed, measures, at.units, keys.tie_bound, where)
    for key, point in placed.items():
        if point.elevation is not None and key not in levels.found:
            levels.give(point.name, point.elevation, point.source)
    book = _book(keys, placed, at, where)
    for key, elevation in (book.elevations if book else {}).items():
        levels.give(book.names[key] if book else key, elevation, str(keys.level_book))
    points = _with_codes([replace(point, elevation=levels.of(key)) for key, point in placed.items()], book)
    notes = (
        *getattr(measures.ties, "notes", ()),
        *(book.notes if book else ()),
        *said,
        *_incomplete(points, levels, keys),
    )
    return Joined((*unnamed, *points), notes)


def _with_codes(points: list[PlacedPoint], book: LevelBook | None) -> list[PlacedPoint]:
    """The points with the codes of the level book where they have none; those come last, in the order of the book."""
    codes = {} if book is None else dict(filter(itemgetter(1), book.codes.items()))
    own = [point for point in points if point.code or point.key not in codes]
    named = {point.key: point for point in points if not point.code}
    return own + [replace(named[key], code=code) for key, code in codes.items() if key in named]


def look_through(keys: SurveyKeys, at: FieldReader, where: str) -> None:
    """Read the files beside the shots for what is wrong with them alone; `InputError` tells all of it."""
    faults = Faults()
    with faults.kept():
        _measures(keys, at, where)
    with faults.kept():
        _book(keys, {}, at, where)
    faults.refuse()


@dataclass(frozen=True)
class _Levels:
    """Elevations by key, each with the name as written and its source; two of one point must agree within `bound`."""

    found: dict[str, tuple[str, float, str]]
    bound: float
    units: Units

    def of(self, key: str) -> float | None:
        return self.found[key][1] if key in self.found else None

    def give(self, name: str, elevation: float, source: str) -> None:
        key = point_key(name)
        if key in self.found and abs(self.found[key][1] - elevation) > self.bound + 1e-9:
            _, other, before = self.found[key]
            shown = " and ".join(show_length(level, self.units, "elevation") for level in (other, elevation))
            raise InputError(
                source,
                f'"{name}" has two elevations, {shown}; the first is by {before}.',
                "Keep the right one, or give two points two names.",
            )
        self.found[key] = (name, elevation, source)


def _parted(
    measured: Measured, source: str, keys: SurveyKeys, units: Units
) -> tuple[list[PlacedPoint], dict[str, PlacedPoint], _Levels]:
    """Complete points without a name, places by key, and elevations by key, as the file of shots gives them."""
    unnamed: list[PlacedPoint] = []
    placed: dict[str, PlacedPoint] = {}
    levels = _Levels({}, keys.level_floor, units)
    for i, (name, code) in enumerate(zip(measured.names, measured.codes, strict=True)):
        easting, northing, elevation = (float(value) for value in measured.shots[i])
        row = f"{source} row {measured.rows[i]}" if measured.rows else f"{source} point {i + 1}"
        has_place, has_level = math.isfinite(easting + northing), math.isfinite(elevation)
        point = PlacedPoint(name, (easting, northing), row, elevation if has_level else None, code)
        if not name:
            if not (has_place and has_level):
                problem = "a point without a name has no place or no elevation."
                raise InputError(row, problem, "Name it, or measure the rest.")
            unnamed.append(point)
            continue
        if has_place:
            _refuse_second(placed, name, row)
            placed[point.key] = point
        if has_level:
            levels.give(name, elevation, row)
    return unnamed, placed, levels


def _refuse_second(placed: dict[str, PlacedPoint], name: str, where: str) -> None:
    before = placed.get(point_key(name))
    if before is not None:
        raise InputError(where, f'"{name}" has a place already, by {before.source}.', "Give two points two names.")


def _measures(keys: SurveyKeys, at: FieldReader, where: str) -> Measures:
    ties: tuple[Tie, ...] = ()
    offsets: tuple[Offset, ...] = ()
    faults = Faults()
    if keys.ties:
        with faults.kept(), named_by(f"{where} ties"):
            ties = read_ties(at.folder.file(keys.ties), keys.ties, at.units, keys.hints)
    if keys.offsets:
        with faults.kept(), named_by(f"{where} offsets"):
            offsets = read_offsets(at.folder.file(keys.offsets), keys.offsets, at.units, keys.hints)
    faults.refuse()
    return Measures(ties, offsets, keys.baseline)


def _book(keys: SurveyKeys, placed: dict[str, PlacedPoint], at: FieldReader, where: str) -> LevelBook | None:
    if not keys.level_book:
        return None
    rules = LevelRules(keys.benchmark, keys.level_class, keys.level_run, keys.level_floor, keys.hints)
    places = {key: point.at for key, point in placed.items()}
    with named_by(f"{where} level_book"):
        return read_level_book(at.folder.file(keys.level_book), keys.level_book, at.units, rules, places)


def _incomplete(points: Sequence[PlacedPoint], levels: _Levels, keys: SurveyKeys) -> list[str]:
    """Points with only one of place and elevation, by name; known points that only carry tapes are none of these."""
    control = {point_key(name) for name in keys.points}
    flat = [p.name for p in points if p.elevation is None and p.key not in control and is_ground(p)]
    there = {point.key for point in points}
    nowhere = [name for key, (name, _, _) in levels.found.items() if key not in there]
    return [*_no_shots(flat, "place", "elevation"), *_no_shots(nowhere, "elevation", "place")]


def _no_shots(names: Sequence[str], has: str, lacks: str) -> list[str]:
    """A sentence on points that have one of place and elevation only, where there are any."""
    verb, shots = ("has", "is no shot") if len(names) == 1 else ("have", "are no shots")
    return [f"{', '.join(names)} {verb} {_article(has)} but no {lacks}, and {shots}."] if names else []


def _article(noun: str) -> str:
    return f"an {noun}" if noun[0] in "aeiou" else f"a {noun}"
