"""The survey, put together from every file that [survey] names."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from shapely.geometry import Polygon

from terrain.earth import Located, check_there
from terrain.errors import Faults, InputError
from terrain.grid import Array, frozen
from terrain.site.fields import FieldReader
from terrain.site.join import join_by_name, look_through
from terrain.site.on_earth import located, stated_places
from terrain.site.scanned import ScanSetting, ScanYard, with_cells
from terrain.site.survey import as_points
from terrain.site.survey_keys import SurveyKeys
from terrain.survey import (
    MAPS,
    POINT,
    SHOTS,
    Coded,
    Columns,
    Folder,
    Measured,
    Place,
    PlacedPoint,
    ReadOptions,
    collect_codes,
    column_lengths,
    is_ground,
    named_by,
    nearest_name,
    point_key,
    read_measured,
    read_table,
    slips_of,
    with_elevations,
)

_NO_YARD = ScanYard()  # nothing is known of it
_LEAST = 3  # shots that carry a surface
BREAKLINES = Columns(
    {**SHOTS.names, "point": POINT, "line": ("line", "breakline", "string")},
    lengths=SHOTS.lengths,
)
_DRAWN = (".dxf", ".geojson", ".json", ".xml", ".landxml", *MAPS)  # files that hold lines as well as points


@dataclass(frozen=True)
class Gathered:
    """Fields of `Survey` but accuracy and notes; notes; places of points by key, metres, None where several have one
    name; what codes mark.
    """

    survey: Mapping[str, object]
    notes: tuple[str, ...]
    places: Mapping[str, Place | None]
    coded: Coded


def gather_survey(
    keys: SurveyKeys,
    at: FieldReader,
    where: str,
    window: Polygon | None = None,
    yard: ScanYard = _NO_YARD,
) -> Gathered:
    """Read and join all that a crew measured.

    Parameters
    ----------
    keys
        The [survey] table, each value checked by itself.
    at
        The site's units and folder.
    where
        The table in the site file, for messages.
    window
        Ground outside which clouds and height grids are not read, metres.
    yard
        What a scan is held against.

    Raises
    ------
    InputError
        From the readers, the level book, the tapes and the codes; where fewer than three points have both a place and
        an elevation.
    """
    asked = _asked(keys, at, window)
    faults = Faults()
    with faults.kept():
        measured, source = _measured(keys, at.folder, asked, where)
    if faults.found:  # what else is wrong with the files
        with faults.kept():
            look_through(keys, at, where)
        faults.refuse()
    points, notes = _points(measured, source, keys, at, where)
    coded = collect_codes(points, measured.lines, source)
    drawn, said = _breaklines(keys, at.folder, asked, points, where)
    coded = replace(coded, breaklines=(*coded.breaklines, *drawn))
    notes = (*notes, *said, *_slips(points, source))
    shots = [i for i, point in enumerate(points) if _is_shot(point)]
    if keys.joined:
        _refuse_few(len(shots), where, notes)
    survey = _fields(points, shots, coded) | {"known": _known(keys, points)}
    if not keys.joined:
        survey["rows"] = tuple(measured.rows[i] for i in shots if measured.rows)
        survey["file"] = source if isinstance(keys.shots, str) else ""
    scanned = with_cells(survey, keys.scan, points, ScanSetting(at.folder, asked, yard, f"{where} scan"))
    survey, notes = scanned.survey, (*notes, *scanned.notes)
    places = _places(points)
    found = _on_earth(keys, points, places, at, where)
    notes = (*notes, *(found.notes if found is not None else ()), *_off_the_ground(points))
    return Gathered(survey | {"located": found, "picture": keys.picture}, notes, places, coded)


def _asked(keys: SurveyKeys, at: FieldReader, window: Polygon | None) -> ReadOptions:
    """How the files of a survey are to be read."""
    return ReadOptions(
        site=at.units,
        units=keys.file_units or at.units,
        stated=keys.file_units is not None,
        layers=keys.layers,
        classes=keys.classes,
        most=keys.thin_to,
        window=window,
        hints=keys.hints,
        located=at.folder.located,
    )


def _on_earth(
    keys: SurveyKeys,
    points: Sequence[PlacedPoint],
    places: Mapping[str, Place | None],
    at: FieldReader,
    where: str,
) -> Located | None:
    """Where on earth the points lie, now that all are known; refused where their system is not made for that."""
    found = at.folder.located or located(keys, {**places, **stated_places(keys)}, at.units, where)
    placed = np.array([point.at for point in points if all(map(math.isfinite, point.at))]).reshape(-1, 2)
    if found is not None and len(placed):
        east, north = placed.mean(axis=0).tolist()
        check_there(found, (east, north), at.units, f"{where} crs")
    return found


def _places(points: Sequence[PlacedPoint]) -> dict[str, Place | None]:
    """Where each name is, metres; None where several points have it."""
    return {key: None if point is None else point.at for key, point in _by_name(points).items()}


def _is_shot(point: PlacedPoint) -> bool:
    """Whether a point carries the ground."""
    return point.elevation is not None and is_ground(point)


def _points(
    measured: Measured, source: str, keys: SurveyKeys, at: FieldReader, where: str
) -> tuple[tuple[PlacedPoint, ...], tuple[str, ...]]:
    """The points, joined by name where the survey lies in several files, and notes."""
    if not keys.joined:
        return _as_they_stand(measured, source), measured.notes
    joined = join_by_name(measured, source, keys, at, where)
    return joined.points, (*measured.notes, *joined.notes)


def _refuse_few(shots: int, where: str, notes: Sequence[str]) -> None:
    """Refuse too few points to carry a surface."""
    if shots < _LEAST:
        count = "1 point has" if shots == 1 else f"{shots or 'no'} points have"
        problem = f"{count} both a place and an elevation. {' '.join(notes)}"
        raise InputError(where, problem, "Give a point the same name in every file.")


def _off_the_ground(points: Sequence[PlacedPoint]) -> tuple[str, ...]:
    """A note on the points that are coded as not on the ground, where there are any."""
    aside = [point.name for point in points if not is_ground(point)]
    verb = "are" if len(aside) > 1 else "is"
    return (f"{', '.join(aside)} {verb} coded as not on the ground, and {verb} left out of it.",) if aside else ()


def _known(keys: SurveyKeys, points: Sequence[PlacedPoint]) -> tuple[tuple[str, Place], ...]:
    """Stated points and benchmarks with a place: what tapes can start from again."""
    marked = {point.name: point.at for point in points if point.name and not is_ground(point)}
    return tuple({**marked, **keys.points}.items())


def _by_name(points: Sequence[PlacedPoint]) -> dict[str, PlacedPoint | None]:
    """Points by key; None where several have one name, so that no one of them is taken for the other."""
    found: dict[str, PlacedPoint | None] = {}
    for point in points:
        if point.name:
            found[point.key] = None if point.key in found else point
    return found


def _slips(points: Sequence[PlacedPoint], source: str) -> tuple[str, ...]:
    """A note on each code that reads much like a mark and is none."""
    slips = slips_of([point.code for point in points])
    return tuple(
        f'{source}: the code "{code}" is taken for a remark; for a mark, write "{meant}".'
        for code, meant in slips.items()
    )


def _fields(points: Sequence[PlacedPoint], shots: list[int], coded: Coded) -> dict[str, object]:
    return {
        "shots": as_points([(*points[i].at, points[i].elevation or 0.0) for i in shots]),
        "names": tuple(points[i].name or f"point {i + 1}" for i in shots),
        "codes": tuple(points[i].code for i in shots),
        "breaklines": tuple(frozen(line) for line in coded.breaklines),
    }


def _measured(keys: SurveyKeys, folder: Folder, asked: ReadOptions, where: str) -> tuple[Measured, str]:
    """The shots and what messages call them; none where only the other files give any."""
    if keys.shots is None:
        return Measured(np.empty((0, 3)), (), ()), where
    if isinstance(keys.shots, str):
        if isinstance(keys.breaklines, str):  # they have a file, and their layers, of their own
            asked = replace(asked, layers={use: names for use, names in asked.layers.items() if use != "breaklines"})
        with named_by(f"{where} shots"):
            measured = read_measured(folder.file(keys.shots), keys.shots, asked, whole=not keys.joined)
        if not (keys.joined or len(measured.shots)) and Path(keys.shots).suffix.lower() in _DRAWN:
            raise _without_points(keys.shots, measured, asked)
        return measured, keys.shots
    shots = np.asarray(keys.shots, dtype=float)
    count = len(shots)
    return Measured(shots, tuple(str(i) for i in range(1, count + 1)), ("",) * count), f"{where} shots"


def _without_points(label: str, measured: Measured, asked: ReadOptions) -> InputError:
    """The refusal of a file of points and lines that gives no shot."""
    count = len(measured.lines)
    lines = f", though it holds {count} marked line{'s' if count > 1 else ''}" if count else ""
    if Path(label).suffix.lower() != ".dxf":
        return InputError(label, f"it holds no points{lines}.", "Accepted: points, each with its elevation.")
    on = f" on the layers {', '.join(asked.layers['shots'])}" if "shots" in asked.layers else ""
    return InputError(
        label,
        f"it holds no points and no symbols with an elevation{on}{lines}; figures that are only written are not read.",
        'Accepted: points, symbols with an elevation, or corners of lines, by layers = { shots = ["SPOTS"] }.',
    )


def _as_they_stand(measured: Measured, source: str) -> tuple[PlacedPoint, ...]:
    """The points of one complete file; a point without a name is called by its row."""
    points = []
    for i, (name, code) in enumerate(zip(measured.names, measured.codes, strict=True)):
        easting, northing, elevation = (float(value) for value in measured.shots[i])
        row = f"row {measured.rows[i]}" if measured.rows else f"point {i + 1}"
        if math.isnan(elevation):
            raise InputError(f"{source} {row}", "the point has no elevation.", "Give every shot its elevation.")
        points.append(PlacedPoint(name or row, (easting, northing), f"{source} {row}", elevation, code))
    return tuple(points)


def _breaklines(
    keys: SurveyKeys, folder: Folder, asked: ReadOptions, points: Sequence[PlacedPoint], where: str
) -> tuple[tuple[Array, ...], tuple[str, ...]]:
    """Breaklines of the key of that name, from its file or by the points that it lists, and notes of its file."""
    key, known = f"{where} breaklines", _by_name(points)
    if not isinstance(keys.breaklines, str):
        lines = keys.breaklines if isinstance(keys.breaklines, Sequence) else ()
        return tuple(as_points([_spot(point, known, key) for point in line]) for line in lines), ()
    asked = replace(asked, units=asked.site, stated=False, lines_only=True)
    with named_by(key):
        path = folder.file(keys.breaklines)
        if path.suffix.lower() not in _DRAWN:
            return _from_table(path, keys.breaklines, asked, known), ()
        measured = read_measured(path, keys.breaklines, asked)
    if not measured.lines:
        raise InputError(keys.breaklines, "it holds no lines.", "Accepted: lines with an elevation at each point.")
    return tuple(with_elevations(line) for line in measured.lines), measured.notes


def _from_table(
    path: Path, label: str, asked: ReadOptions, known: Mapping[str, PlacedPoint | None]
) -> tuple[Array, ...]:
    """Lines of a table: rows with the same text under `line` make one; a point by its name or by its place."""
    table = read_table(path, label, ("line",), BREAKLINES, asked.hints)
    columns = [column_lengths(table, column, asked.units, math.nan) for column in ("x", "y", "elevation")]
    lines: dict[str, list[tuple[float, ...]]] = {}
    for i, (row, line) in enumerate(zip(table.rows, table.cells["line"], strict=True)):
        spot = tuple(column[i] for column in columns)
        if not all(map(math.isfinite, spot)):
            name = table.texts("point")[i]
            if not name:
                raise InputError(
                    f"{label} row {row}", "the point has no x, y and elevation, and no name.", "Give either."
                )
            spot = _spot(name, known, f"{label} row {row}")
        lines.setdefault(point_key(line), []).append(spot)
    for line, spots in lines.items():
        if len(spots) < 2:
            raise InputError(label, f'the line "{line}" has one point.', "Accepted: two points or more.")
    return tuple(as_points(spots) for spots in lines.values())  # type: ignore[arg-type]


def _spot(point: object, known: Mapping[str, PlacedPoint | None], where: str) -> tuple[float, float, float]:
    """Easting, northing and elevation of a point by its name, or as they are given."""
    if not isinstance(point, str):
        assert isinstance(point, Sequence)
        easting, northing, elevation = point
        return float(easting), float(northing), float(elevation)
    found = known.get(point_key(point))
    if found is None:
        if point_key(point) in known:
            raise InputError(where, f'"{point}" is the name of several points.', "Give two points two names.")
        hint = nearest_name(point, [other.name for other in known.values() if other])
        raise InputError(where, f'"{point}" is no point of the survey.{hint}', "Name points of the survey.")
    if found.elevation is None:
        raise InputError(where, f'"{point}" has no elevation.', "Level it, or leave it out.")
    return (*found.at, found.elevation)
