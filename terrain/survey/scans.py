"""Scans that people hand in, laid on the survey by marks: points of it that were touched in the scan.

    point,x,y,z
    A,-1.178,0.000,3.362
    B,13.027,0.395,-7.342

x, y and z are as the scan has them, in its own unit and axes.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from terrain.errors import Faults, InputError
from terrain.grid import Array
from terrain.numerics import Similarity, laid_upon, layout_factor, left_out_misses, stretch_deviation
from terrain.plain import plain
from terrain.site import ScanTrunk
from terrain.survey.headings import POINT, Columns
from terrain.survey.measured import ReadOptions, unit_name
from terrain.survey.points import nearest_name, point_key
from terrain.survey.readers.apart import SCAN, read_body_apart
from terrain.survey.table import read_table
from terrain.units import Units, as_written, show_length, show_place

MARKS = Columns(
    {"point": POINT, **{axis: (axis, f"{axis} coord", f"scan {axis}", f"{axis} scan") for axis in "xyz"}},
    lengths=("x", "y", "z"),
)
TIE_ERROR = 0.010  # metres along each axis: one mark touched in a scan; common practice, no published source
_LEAST_MARKS = 3
# Beyond these a scan is asked about, not worked with; common practice, no published source.
_MOST_STRETCH = 0.05  # of a length
_MOST_MISS = 0.02  # of the marks' spread
_MOST_FACTOR = 3.0  # times less sure at the bed than in the middle of the marks
_TOLD_STRETCH, _TOLD_SIGMAS = 0.005, 3.0
_TOLD_LEAN = math.radians(5.0)
# Marks tell a yard from a metre, which the size of a scan alone cannot: `scan_axes` tries no yard.
_UNITS = (1.0, 0.3048, 0.9144, 0.0254, 0.01, 0.001)
_UPWARD = 0.8  # of the scan's upward axis that must point up


@dataclass(frozen=True)
class ScanMarks:
    """Points known on both: names, (n, 3) as the scan has them, and (n, 3) in the survey, metres."""

    names: tuple[str, ...]
    seen: Array
    places: Array


@dataclass(frozen=True)
class ScanFit:
    """How a scan is laid on its marks.

    Parameters
    ----------
    similarity
        Takes places of the scan to the survey, metres.
    unit
        Metres in the scan's unit.
    stretch
        The size of the scan beside the survey, by the marks alone: 1.02 for one that is 2 % too small.
    misses
        (n,) metres by which each mark misses its point, the marks being laid together.
    alone
        (n,) the same once the other marks lay it; () for three marks, which nothing checks.
    deviation
        Standard deviation along one axis of a mark, metres.
    factor
        How many times less surely than their middle the marks hold the worst corner that was asked for.
    notes
        All that in sentences.
    """

    similarity: Similarity
    unit: float
    stretch: float
    misses: tuple[float, ...]
    alone: tuple[float, ...]
    deviation: float
    factor: float
    notes: tuple[str, ...]


@dataclass(frozen=True)
class ScanRead:
    """What was read of a scan.

    Parameters
    ----------
    cells
        (n, 4) of its ground: easting, northing, median height, spread about it, metres.
    controls
        (k, 2) height of its ground at each place that was asked for, and the deviation of that; nan where it has none.
    seen
        (m, 4) middle and size of cells with points, and the share of these that is ground.
    trunks
        The round things that stand higher than a person.
    points, share, by_file, cell
        Points in all, the share that is ground, whether the file itself said which, and the size of a cell of `cells`.
    notes
        What was found.
    """

    cells: Array
    controls: Array
    seen: Array
    trunks: tuple[ScanTrunk, ...]
    points: int
    share: float
    by_file: bool
    cell: float
    notes: tuple[str, ...]


def read_scan(path: Path, label: str, asked: ReadOptions) -> ScanRead:
    """Read a scan in a process with bounds, as `asked.scan` says. Raises `InputError` where that cannot be done."""
    told, body = read_body_apart(SCAN, path, label, asked)
    numbers = np.frombuffer(body, dtype="<f8").astype(float).reshape(-1, 4)
    cells, controls, seen = np.split(numbers, np.cumsum([int(count) for count in told["rows"]])[:-1])
    strayed = int(told["strayed"])
    notes = [plain(str(note)) for note in told["notes"]]
    if strayed:
        notes.append(f"{label}: {strayed:,} points lie farther off than any yard, and were left out.")
    return ScanRead(
        cells=cells,
        controls=controls[:, 2:],
        seen=seen,
        trunks=tuple(_trunk(one) for one in told["trunks"]),
        points=int(told["points"]),
        share=float(told["ground_share"]),
        by_file=bool(told["by_file"]),
        cell=float(told["cell"]),
        notes=tuple(notes),
    )


def _trunk(told: Mapping[str, Any]) -> ScanTrunk:
    east, north = (float(number) for number in told["at"])
    flare = None if told["flare"] is None else float(told["flare"])
    diameter, deviation, arc, lean = (float(told[name]) for name in ("diameter", "deviation", "arc", "lean"))
    return ScanTrunk((east, north), diameter, deviation, arc, lean, flare)


def read_scan_marks(path: Path, label: str, places: Mapping[str, tuple[str, Array | None]]) -> ScanMarks:
    """The marks of a table.

    Parameters
    ----------
    path, label
        The table, and its name as the site file writes it.
    places
        Points of the survey by key: the name, and (3,) metres; None where it has no elevation or several have the name.

    Raises
    ------
    InputError
        For a table that cannot be read, every cell that is no number, every name that is no such point, and a point
        that is marked twice.
    """
    table = read_table(path, label, ("point", "x", "y", "z"), MARKS)
    faults, names, seen, found = Faults(), list[str](), list[list[float]](), list[Array]()
    for k, row in enumerate(table.rows):
        name, where = table.cells["point"][k], f"{label} row {row}"
        with faults.kept():
            numbers = [_number(table.cells[axis][k], f"{where} {table.titles[axis]}") for axis in "xyz"]
            if point_key(name) in map(point_key, names):
                raise InputError(where, f"{as_written(name)} is marked twice.", "Keep the better one.")
            found.append(_place(name, places, where))
            names.append(name)
            seen.append(numbers)
    faults.refuse()
    return ScanMarks(tuple(names), np.array(seen).reshape(-1, 3), np.array(found).reshape(-1, 3))


def _number(cell: str, where: str) -> float:
    try:
        value = float(cell)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise InputError(where, f"{as_written(cell)} is no number.", "Accepted: the scan's own figure, without a unit.")
    return value


def _place(name: str, places: Mapping[str, tuple[str, Array | None]], where: str) -> Array:
    if point_key(name) not in places:
        hint = nearest_name(name, [known for known, _ in places.values()])
        problem = f"{as_written(name)} is no point of the survey.{hint}"
        raise InputError(where, problem, "Mark points that were shot.")
    _, place = places[point_key(name)]
    if place is None:
        problem = f"{as_written(name)} has no elevation, or several points have that name."
        raise InputError(where, problem, "Mark points that were shot, each with a name of its own.")
    return place


def lay_scan(marks: ScanMarks, unit: float, corners: Array, units: Units, label: str, table: str) -> ScanFit:
    """Lay a scan on its marks by turn and shift, and check its size by them.

    Parameters
    ----------
    marks
        Three and more.
    unit
        Metres in its unit, where that is stated; 0.0 where the marks shall tell.
    corners
        (m, 2) places that the marks must hold, metres.
    units
        The site's, for words.
    label, table
        The scan and the table of marks, for messages.

    Raises
    ------
    InputError
        For too few marks, marks that do not hold the bed, a size that no unit explains, a mark far from where the
        others put it, and a scan that stands on its head.
    """
    count = len(marks.names)
    if count < _LEAST_MARKS:
        problem = f"{count} mark{'s' * (count != 1)} cannot lay a scan."
        raise InputError(table, problem, "Accepted: three that do not stand in line; five round the bed are better.")
    targets = np.column_stack([corners, np.full(len(corners), marks.places[:, 2].mean())])
    factor = layout_factor(marks.places, targets)
    if factor > _MOST_FACTOR:
        raise _weak(marks, targets, factor, units, table)
    free = laid_upon(marks.seen, marks.places)
    unit = unit or min(_UNITS, key=lambda one: abs(math.log(free.stretch / one)))
    stretch = free.stretch / unit
    if abs(stretch - 1.0) > _MOST_STRETCH:
        problem = f"by its marks one of its units is {free.stretch:.4g} m, which is {stretch:.3g} {unit_name(unit)}."
        raise InputError(table, problem, "Look for a wrong mark, or state another unit of the scan.")
    _refuse_upside_down(free, table)
    deviation = _axis_deviation(marks, free, 3 * count - 7)
    sure = stretch_deviation(marks.places, deviation)
    off = abs(stretch - 1.0) > max(_TOLD_STRETCH, _TOLD_SIGMAS * sure)
    fit = free if off else laid_upon(marks.seen, marks.places, unit)
    misses = np.linalg.norm(fit.of(marks.seen) - marks.places, axis=1)
    _refuse_far(marks, misses, fit, units, table)
    alone: tuple[float, ...] = ()
    if count > _LEAST_MARKS:
        held = None if off else unit
        alone = tuple(np.linalg.norm(left_out_misses(marks.seen, marks.places, held), axis=1).tolist())
    deviation = _axis_deviation(marks, fit, 3 * count - (7 if off else 6))
    laid = ScanFit(fit, unit, stretch, tuple(misses.tolist()), alone, deviation, factor, ())
    notes = (_laid_words(marks, laid, units, label), *_size_words(laid, sure, off, label), *_lean_words(fit, label))
    return ScanFit(fit, unit, stretch, laid.misses, alone, deviation, factor, notes)


def _weak(marks: ScanMarks, targets: Array, factor: float, units: Units, table: str) -> InputError:
    """The refusal of marks that do not hold the bed, with the place where one more would do most."""
    where = min(targets, key=lambda place: layout_factor(np.vstack([marks.places, place]), targets))
    times = "not at all" if math.isinf(factor) else f"{factor:.0f} times less surely than their middle"
    return InputError(
        table,
        f"the marks stand nearly in line, close together or far from the bed: they hold its far corner {times}.",
        f"Add a mark far from the others, such as about {show_place(float(where[0]), float(where[1]), units)}.",
    )


def _axis_deviation(marks: ScanMarks, fit: Similarity, freedom: int) -> float:
    """Standard deviation of a mark along one axis, never better than marks are touched."""
    rest = float(((fit.of(marks.seen) - marks.places) ** 2).sum())
    return max(TIE_ERROR, math.sqrt(rest / freedom))


def _refuse_upside_down(fit: Similarity, table: str) -> None:
    """A mirrored list of coordinates cannot be turned upon the survey but by standing it on its head."""
    if fit.turn[2, 1:].max() < _UPWARD:
        raise InputError(
            table,
            "by its marks the scan stands on its head or on its side.",
            "Look for x and y exchanged (north before east), in the marks or in the survey, or for marks exchanged.",
        )


def _refuse_far(marks: ScanMarks, misses: Array, fit: Similarity, units: Units, table: str) -> None:
    """Refuse a mark far from where the others put it; of three and four nobody can say which."""
    spread = float(np.linalg.norm(np.ptp(marks.places, axis=0)))
    if misses.max() <= _MOST_MISS * spread:
        return
    rows = np.arange(len(misses))
    worst = int(np.argmax(misses))
    if len(misses) > _LEAST_MARKS + 1:
        rest = []
        for i in rows:
            part = laid_upon(marks.seen[rows != i], marks.places[rows != i], fit.stretch)
            rest.append(float(((part.of(marks.seen[rows != i]) - marks.places[rows != i]) ** 2).sum()))
        worst = int(np.argmin(rest))
        misses = np.linalg.norm(left_out_misses(marks.seen, marks.places, fit.stretch), axis=1)
    off = show_length(float(misses[worst]), units, "distance")
    raise InputError(
        table, f"the mark {marks.names[worst]} is {off} from where the others put it.", "Look for points exchanged."
    )


def _laid_words(marks: ScanMarks, fit: ScanFit, units: Units, label: str) -> str:
    """What each mark misses by."""
    shown = fit.alone or fit.misses
    each = ", ".join(
        f"{name} {show_length(miss, units, 'elevation')}" for name, miss in zip(marks.names, shown, strict=True)
    )
    start = f"{label}: laid on {len(marks.names)} marks"
    if fit.alone:
        return f"{start}; each, laid by the others alone, misses by {each}."
    return f"{start}, which miss by {each}; of three marks that says little: a fourth would check them."


def _size_words(fit: ScanFit, sure: float, off: bool, label: str) -> tuple[str, ...]:
    """How its size agrees with the survey, and which unit it is in."""
    percent, doubt = abs(fit.stretch - 1.0) * 100.0, 100.0 * sure
    side = "small" if fit.stretch > 1.0 else "large"
    unit = unit_name(fit.unit)
    if off:
        return (
            f"{label}: in {unit} the scan is {percent:.1f} % too {side} by its marks (sure to {doubt:.1g} %); it was "
            "brought to their size. Scan again with less walking to and fro, or look for a wrong mark.",
        )
    return (f"{label}: in {unit} its size agrees with the marks within {max(percent, doubt):.1g} %, and was kept.",)


def _lean_words(fit: Similarity, label: str) -> tuple[str, ...]:
    """A scan knows what is plumb to about a degree."""
    lean = math.acos(min(1.0, float(fit.turn[2, 1:].max())))
    if lean <= _TOLD_LEAN:
        return ()
    return (f"{label}: by its marks it leans {math.degrees(lean):.0f} degrees from plumb; look for a wrong mark.",)
