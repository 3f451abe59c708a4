"""The ground of a scan beside the shots of a survey: laid by marks, its height set by shots, worth what those make it.

Ten thousand points of a scan that drifts are not ten thousand shots. Each cell of its ground is a shot of its shape;
the error that all of them share is held apart, and only what was measured otherwise makes it smaller.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import shapely
from shapely.geometry import MultiPoint, Polygon

from terrain.errors import InputError
from terrain.grid import Array, Mask, frozen
from terrain.numerics import FEWEST_CONTROLS, Controls, SetSurface, set_by
from terrain.site.scan_keys import ScanKey
from terrain.site.survey import SCANNED, ScanTaken, SharedError, Survey
from terrain.survey import (
    Folder,
    PlacedPoint,
    ReadOptions,
    ScanFit,
    ScanRead,
    ScanWay,
    is_ground,
    lay_scan,
    named_by,
    read_scan,
    read_scan_marks,
)
from terrain.units import Units, show_length

# Standard deviations that are assumed where nothing shows them, metres; common practice, no published source.
_DRIFT_NEAR, _DRIFT_FAR, _NEAR = 0.015, 0.050, 20.0  # what near points share, up to so far across and beyond
_GRASS = 0.020  # a lawn over its soil
_PLUMB = math.radians(0.3)  # of what a scan takes for plumb
_LEAST_ERROR = 0.005  # of what a scan's ground reads at a shot
_LEFT = 0.004  # what plants leave in the mean of a bed, measured on labelled yards (tests/survey/test_soil_of_scans.py)
_BESIDE = 0.05  # metres: a cell this near a shot is left to it
_BREAST = {"ft": 1.3716, "m": 1.3}  # 4.5 ft in the United States, 1.3 m elsewhere


@dataclass(frozen=True)
class ScanShots:
    """What a scan adds to a survey: (n, 3) shots in metres, the record of it, and notes."""

    shots: Array
    taken: ScanTaken
    notes: tuple[str, ...]


@dataclass(frozen=True)
class ScanYard:
    """What a site file says of the yard that is scanned.

    `bed` is the outline of the bed, metres, None where it is not known yet; `built` the outlines of buildings, whose
    roofs are wider than the filter can tell from ground; `accuracy` that of a shot, metres.
    """

    bed: Polygon | None = None
    built: tuple[Polygon, ...] = ()
    accuracy: float = Survey.accuracy


@dataclass(frozen=True)
class ScanSetting:
    """What a scan is read beside: the site's folder, how files are read, the yard, and what messages call the key."""

    folder: Folder
    asked: ReadOptions
    yard: ScanYard
    where: str


@dataclass(frozen=True)
class Scanned:
    """The fields of `Survey` with those of a scan, and notes."""

    survey: dict[str, object]
    notes: tuple[str, ...]


def take_scan(key: ScanKey, points: Sequence[PlacedPoint], setting: ScanSetting) -> ScanShots:
    """Read a scan, lay it on the survey and set its height.

    Parameters
    ----------
    key
        As [survey] names it.
    points
        The survey's own points; those on the ground set the scan's height.

    Raises
    ------
    InputError
        From the reader and the marks; where the scan does not reach the bed.
    """
    shots = _ground_shots(points)
    fit = None if not key.marks else _laid(key, points, shots, setting)
    way = ScanWay(
        laid=() if fit is None else tuple(_matrix(fit).reshape(-1).tolist()),
        unit=key.unit,
        up=key.up,
        breast=_BREAST[setting.asked.site],
        controls=tuple((float(east), float(north)) for east, north, _ in shots),
    )
    with named_by(setting.where):
        read = read_scan(setting.folder.file(key.file), key.file, replace(setting.asked, scan=way))
    targets = _targets(read, key, setting)
    drift = key.drift or (_DRIFT_NEAR if _across(targets) <= _NEAR else _DRIFT_FAR)
    cells, shared, said = _set(read, shots, drift, targets, fit, key, setting)
    units = setting.asked.site
    kept = cells[_apart(cells, shots) & _outside(cells, setting.yard.built)]
    taken = ScanTaken(
        file=key.file,
        points=read.points,
        share=read.share,
        cells=len(kept),
        seen=frozen(read.seen),
        trunks=read.trunks,
        shared=shared,
        stretch=None if fit is None else fit.stretch,
        misses=() if fit is None else fit.alone or fit.misses,
    )
    fitted = () if fit is None else fit.notes
    return ScanShots(kept, taken, (*fitted, *read.notes, _ground_words(read, len(kept), key, units), *said))


def _ground_shots(points: Sequence[PlacedPoint]) -> Array:
    """(n, 3) of the points that carry the ground, metres."""
    found = [(*point.at, point.elevation) for point in points if point.elevation is not None and is_ground(point)]
    return np.array(found, dtype=float).reshape(-1, 3)


def _laid(key: ScanKey, points: Sequence[PlacedPoint], shots: Array, setting: ScanSetting) -> ScanFit:
    """The scan laid on its marks, which must hold the bed, or the shots where the bed is not known."""
    places: dict[str, tuple[str, Array | None]] = {}
    for point in points:
        place = None if point.elevation is None or point.key in places else np.array([*point.at, point.elevation])
        if point.name:
            places[point.key] = (point.name, place)
    with named_by(setting.where):
        marks = read_scan_marks(setting.folder.file(key.marks), key.marks, places)
    held = setting.yard.bed if setting.yard.bed is not None else MultiPoint(shots[:, :2]).convex_hull
    west, south, east, north = held.bounds
    corners = np.array([(west, south), (east, south), (east, north), (west, north)])
    return lay_scan(marks, key.unit, corners, setting.asked.site, key.file, key.marks)


def _matrix(fit: ScanFit) -> Array:
    """(3, 4) what takes (x, y, z, 1) of the scan to the survey."""
    laid = fit.similarity
    return np.column_stack([laid.stretch * laid.turn, laid.shift])


def _targets(read: ScanRead, key: ScanKey, setting: ScanSetting) -> Array:
    """(m, 2) of the scan's ground in the bed, over which its worth is asked; all of it where the bed is not known."""
    places = read.cells[:, :2]
    if setting.yard.bed is None:
        return places
    inside = shapely.contains_xy(setting.yard.bed, places[:, 0], places[:, 1])
    if not inside.any():
        how = "marks lay it there" if key.marks else "without marks its axes are taken as the survey's own"
        raise InputError(
            key.file,
            f"none of its ground lies in the bed; {how}.",
            'Accepted: a scan of the bed; lay it by marks: scan = { file = "yard.ply", marks = "marks.csv" }.',
        )
    there: Array = places[inside]
    return there


def _across(places: Array) -> float:
    return float(np.hypot(*np.ptp(places, axis=0)))


def _set(
    read: ScanRead,
    shots: Array,
    drift: float,
    targets: Array,
    fit: ScanFit | None,
    key: ScanKey,
    setting: ScanSetting,
) -> tuple[Array, SharedError, tuple[str, ...]]:
    """The cells with their heights set by the shots that stand on them, what they share, and notes."""
    cells, units = read.cells[:, :3], setting.asked.site
    there = np.isfinite(read.controls[:, 0])
    differences = np.column_stack([shots[there, :2], shots[there, 2] - read.controls[there, 0]])
    error = np.sqrt(setting.yard.accuracy**2 + read.controls[there, 1] ** 2 + _LEAST_ERROR**2)
    controls = Controls(differences[:, :2], error, drift, math.hypot(setting.yard.accuracy, _LEAST_ERROR))
    if not controls.set_plane:
        whole = _unset(drift, targets, fit)
        shared = SharedError(whole, whole, _LEFT, controls)
        return cells, shared, (_unset_words(len(differences), shared, key, units),)
    found = set_by(differences, error, drift, cells[:, :2], targets)
    moved = np.column_stack([cells[:, :2], cells[:, 2] + found.moved])
    shared = SharedError(math.hypot(found.mean, _LEFT), found.place, _LEFT, found.controls)
    return moved, shared, _set_words(found, differences, shots[there], shared, key, units)


def _unset(drift: float, targets: Array, fit: ScanFit | None) -> float:
    """What a scan shares whose height no shot sets: drift, the lawn, and the marks or what it takes for plumb."""
    laid = _PLUMB * _across(targets) / 2.0 if fit is None else fit.deviation * fit.factor / math.sqrt(len(fit.misses))
    return math.sqrt(drift**2 + _GRASS**2 + laid**2)


def _unset_words(count: int, shared: SharedError, key: ScanKey, units: Units) -> str:
    stand = "no shot stands" if count == 0 else "1 shot stands" if count == 1 else f"only {count} shots stand"
    doubt = show_length(shared.mean, units, "elevation")
    return (
        f"{key.file}: {stand} on its ground, which {FEWEST_CONTROLS} and more, not in line, would set to the soil "
        f"under the grass; until then all of it may be off by {doubt} (one standard deviation), however many points "
        "it has."
    )


def _set_words(
    found: SetSurface, controls: Array, shots: Array, shared: SharedError, key: ScanKey, units: Units
) -> tuple[str, ...]:
    """How far the shots move the scan, what is left, and shots that are too far off it."""
    heeded = [i for i in range(len(controls)) if i not in found.unheeded]
    mean = float(controls[heeded, 2].mean())
    way = "up" if mean >= 0.0 else "down"
    notes = [
        f"{key.file}: {len(heeded)} shots on its ground set its height, {way} by "
        f"{show_length(abs(mean), units, 'elevation')} on average; near points share an error of "
        f"{show_length(found.controls.drift, units, 'elevation')} (one standard deviation), and their mean over the "
        f"bed one of {show_length(shared.mean, units, 'elevation')}, however many they are."
    ]
    for i in found.unheeded:
        off, side = float(controls[i, 2]) - mean, "above" if controls[i, 2] > mean else "below"
        notes.append(
            f"{key.file}: the shot at elevation {show_length(float(shots[i, 2]), units, 'elevation')} stands "
            f"{show_length(abs(off), units, 'elevation')} {side} the scan where the others set it, and did not help to "
            "set it; check it."
        )
    return tuple(notes)


def _ground_words(read: ScanRead, count: int, key: ScanKey, units: Units) -> str:
    how = "by the file itself" if read.by_file else "by what lies low and flat among its neighbours"
    cell = show_length(read.cell, units, "elevation")
    return (
        f"{key.file}: {100.0 * read.share:.0f} % of {read.points:,} points are ground, {how}; it gives {count:,} "
        f"shots, the middle heights in squares of {cell}."
    )


def _apart(cells: Array, shots: Array) -> Mask:
    """(n,) True for the cells that do not lie at a shot."""
    from scipy.spatial import cKDTree

    if not len(shots):
        return np.ones(len(cells), dtype=bool)
    return np.asarray(cKDTree(shots[:, :2]).query(cells[:, :2])[0] > _BESIDE)


def _outside(cells: Array, built: Sequence[Polygon]) -> Mask:
    """(n,) True for the cells that lie in no building."""
    inside = shapely.contains_xy(shapely.union_all(list(built)), cells[:, 0], cells[:, 1])
    return ~np.asarray(inside, dtype=bool)


def with_cells(
    survey: dict[str, object], key: ScanKey | None, points: Sequence[PlacedPoint], setting: ScanSetting
) -> Scanned:
    """The fields of `Survey` with the shots of a scan, if there is one, after its own; they stand in no row of a file.

    Raises `InputError` as `take_scan`.
    """
    if key is None:
        return Scanned({**survey, "scan": None}, ())
    scan = take_scan(key, points, setting)
    count = len(scan.shots)
    fields: Mapping[str, Any] = survey
    shots = {
        "shots": np.vstack([fields["shots"], scan.shots]),
        "names": (*fields["names"], *(f"scan {number}" for number in range(1, count + 1))),
        "codes": (*fields["codes"], *(SCANNED,) * count),
        "rows": (),
        "scan": scan.taken,
    }
    return Scanned({**survey, **shots}, scan.notes)
