"""Levelling: from rod readings to elevations, misclosures and what is allowed of them. Pure figures, no files.

A set-up reads one backsight on a point of known elevation; its height of instrument is that elevation plus the reading.
Every other reading of the set-up, taken off the height of instrument, gives an elevation: intermediate sights on the
ground, and one foresight on the point that the next set-up looks back to.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import chain, pairwise
from typing import Literal

import numpy as np

from terrain.errors import InputError

Sight = Literal["backsight", "intermediate", "foresight"]

# Allowed misclosure in mm for the square root of the loop's length in km: Federal Geodetic Control Committee, Standards
# and Specifications for Geodetic Control Networks, 1984, loop misclosures (values from memory; that of third order is
# the 0.05 ft for the square root of the miles of ITCM 410, Construction Surveying, lab 1, and stands in an article on
# third-order levelling). Construction: 0.10 ft for the square root of the miles, same lab (fourth order).
CLASSES: Mapping[str, float] = {
    "first order class I": 4.0,
    "first order class II": 5.0,
    "second order class I": 6.0,
    "second order class II": 8.0,
    "third order": 12.0,
    "construction": 24.0,
}


@dataclass(frozen=True)
class Reading:
    """One rod reading, metres: which sight on which point (its key), written on which row of the book."""

    point: str
    sight: Sight
    rod: float
    row: int


@dataclass(frozen=True)
class Visit:
    """One elevation that the book gives a point, metres; from the `setup`-th set-up of its run, counted from 1.

    `turn` marks the foresight that the book goes on from or ends on.
    """

    point: str
    elevation: float
    setup: int
    row: int
    turn: bool = False


@dataclass(frozen=True)
class LevelRun:
    """Set-ups in a row from one benchmark, to another or back to it where the run closes.

    Parameters
    ----------
    start, end
        Keys of the first point and of the last foresight's point.
    known_start, known_end
        Their elevations, metres: the start's as given or as an earlier run carried it, the end's as given; None: the
        run ends on no benchmark.
    instrument
        Height of instrument of each set-up, metres.
    visits
        Elevations of all points sighted, in order, metres.
    turns
        Keys of the points between set-ups, `start` first; what a length can be measured along.
    levels
        Their elevations, metres.
    backsights, foresights
        Sums of the rod readings, metres. Intermediate sights take no part.
    """

    start: str
    end: str
    known_start: float
    known_end: float | None
    instrument: tuple[float, ...]
    visits: tuple[Visit, ...]
    turns: tuple[str, ...]
    levels: tuple[float, ...]
    backsights: float
    foresights: float

    @property
    def setups(self) -> int:
        """Number of set-ups."""
        return len(self.instrument)

    @property
    def misclosure(self) -> float | None:
        """Elevation carried to the closing benchmark less its own, metres; None for a run that does not close."""
        if self.known_end is None:
            return None
        return self.known_start + self.backsights - self.foresights - self.known_end


def allowance(length: float | None, level_class: str, floor: float) -> float:
    """Allowed misclosure in metres of a run of some length (metres), never less than `floor`.

    coefficient * sqrt(km), by `CLASSES`. A run of unknown length is allowed the floor only.
    """
    return floor if length is None else max(floor, CLASSES[level_class] / 1000.0 * math.sqrt(length / 1000.0))


def adjusted(runs: Sequence[LevelRun], known: Mapping[str, float]) -> tuple[LevelRun, ...]:
    """The runs of one book, adjusted together by least squares.

    Parameters
    ----------
    runs
        As read.
    known
        Elevation of each benchmark by its key, metres: these are held.

    Returns
    -------
    tuple of LevelRun
        With adjusted elevations. Where runs share no point but benchmarks, each run's misclosure is shared out equally
        among its set-ups; a run that nothing closes stays as read.

    Notes
    -----
    Parametric adjustment of a level net (W. F. Mahun, Open access surveying library, Least squares lite, chapter E:
    weights are inverse to the number of set-ups): the unknowns are the elevations of the points between set-ups, every
    set-up gives one observed difference, and all have one weight. The height of instrument takes the mean of the two
    corrections beside it, so that the intermediate sights of the i-th of k set-ups of a single run take (i - 1/2)/k of
    its misclosure: half of what the set-up itself takes.
    """
    levels = _net_levels(runs, known)
    return tuple(_moved(run, [levels[turn] for turn in run.turns]) for run in runs)


def _net_levels(runs: Sequence[LevelRun], known: Mapping[str, float]) -> dict[str, float]:
    """Elevation of every point between set-ups by its key, metres; benchmarks as they are given."""
    first: dict[str, float] = dict(known)
    for turn, level in (pair for run in runs for pair in zip(run.turns, run.levels, strict=True)):
        first.setdefault(turn, level)
    unknown = {key: i for i, key in enumerate(key for key in first if key not in known)}
    rows, right = _normal_equations(runs, first, unknown)
    corrections = _solved(unknown, rows, right)
    return {key: level + corrections.get(key, 0.0) for key, level in first.items()}


def _normal_equations(
    runs: Sequence[LevelRun], first: Mapping[str, float], unknown: Mapping[str, int]
) -> tuple[list[tuple[int, int, float]], list[float]]:
    """Those of the corrections to the first elevations: small numbers, so that nothing is lost to rounding."""
    rows: list[tuple[int, int, float]] = []
    right = [0.0] * len(unknown)
    for a, b, rise in chain.from_iterable(map(_steps, runs)):
        off = rise - (first[b] - first[a])
        ends = [(unknown[key], sign) for key, sign in ((a, -1.0), (b, 1.0)) if key in unknown]
        for i, sign in ends:
            right[i] += sign * off
            rows += [(i, j, sign * other) for j, other in ends]
    return rows, right


def _steps(run: LevelRun) -> Iterator[tuple[str, str, float]]:
    """Both points of each set-up of a run, and the rise from one to the other, metres."""
    for (a, b), (low, high) in zip(pairwise(run.turns), pairwise(run.levels), strict=True):
        yield a, b, high - low


def _solved(unknown: Mapping[str, int], rows: list[tuple[int, int, float]], right: list[float]) -> dict[str, float]:
    """Corrections by key, from the entries of sparse normal equations."""
    if not unknown or not any(right):
        return {}
    from scipy.sparse import csc_array
    from scipy.sparse.linalg import spsolve

    at, across, value = zip(*rows, strict=True)
    size = (len(unknown), len(unknown))
    corrections = np.atleast_1d(spsolve(csc_array((value, (at, across)), shape=size), np.array(right)))
    return {key: float(corrections[i]) for key, i in unknown.items()}


def _moved(run: LevelRun, levels: Sequence[float]) -> LevelRun:
    """The run with the given elevations (metres) of its points between set-ups."""
    moves = [level - before for level, before in zip(levels, run.levels, strict=True)]
    # A last set-up without a foresight to go on from moves with the point that it looks back to.
    beside = [0.5 * (a + b) for a, b in pairwise(moves)] + moves[len(moves) - 1 :] * (run.setups >= len(moves))
    visits = tuple(
        replace(visit, elevation=visit.elevation + (moves if visit.turn else beside)[visit.setup - (not visit.turn)])
        for visit in run.visits
    )
    instrument = tuple(height + move for height, move in zip(run.instrument, beside, strict=True))
    return replace(run, levels=tuple(levels), instrument=instrument, visits=visits)


def shared_turns(runs: Sequence[LevelRun], known: Mapping[str, float]) -> tuple[str, ...]:
    """Keys of the points, benchmarks aside, that several runs turn on: what makes one net of them."""
    seen: dict[str, int] = {}
    for run in runs:
        for turn in dict.fromkeys(run.turns):
            seen[turn] = seen.get(turn, 0) + 1
    return tuple(turn for turn, count in seen.items() if count > 1 and turn not in known)


@dataclass(frozen=True)
class _SetUp:
    """One set-up: its backsight, what else it read, and the foresight that the book goes on from or ends on."""

    backsight: Reading
    sights: tuple[Reading, ...]
    turn: Reading | None


def reduce_levels(readings: Iterable[Reading], known: Mapping[str, float]) -> tuple[LevelRun, ...]:
    """Work a book through, set-up by set-up.

    Parameters
    ----------
    readings
        In the order of the book. On a turning point the foresight comes before the backsight. Foresights that the
        book does not go on from are taken as intermediate sights, since many books have no column for those.
    known
        Elevation of each benchmark by its key, metres.

    Returns
    -------
    tuple of LevelRun
        As read, not adjusted. A run ends on a foresight on a benchmark, and where the next set-up looks back to a
        benchmark or to another point turned on before.

    Raises
    ------
    InputError
        (its `where` names the row) for a reading before any backsight, and for a backsight on a point that neither
        is a benchmark nor was turned on before.
    """
    runs: list[list[_SetUp]] = []
    turned_on: set[str] = set(known)
    at: str | None = None
    for setup in _set_ups(list(readings), known):
        point = setup.backsight.point
        if runs and point == at and point not in known:
            runs[-1].append(setup)
        elif point in turned_on:
            runs.append([setup])
        else:
            raise InputError(
                f"row {setup.backsight.row}",
                "this backsight stands neither on a benchmark nor on a point that a set-up before it went on from.",
                "Turn on one point: a foresight on it from the old set-up, then a backsight on it from the new one.",
            )
        at = setup.turn.point if setup.turn else None
        turned_on |= {at} if at else set()
    carried = dict(known)
    found: list[LevelRun] = []
    for setups in runs:
        found.append(_run(setups, carried[setups[0].backsight.point], known))
        for turn, level in zip(found[-1].turns, found[-1].levels, strict=True):
            carried.setdefault(turn, level)
    return tuple(found)


def _set_ups(readings: list[Reading], known: Mapping[str, float]) -> Iterator[_SetUp]:
    """The readings, parted before each backsight."""
    starts = [i for i, reading in enumerate(readings) if reading.sight == "backsight"]
    if readings and starts[:1] != [0]:
        raise InputError(
            f"row {readings[0].row}",
            "there is a reading before any backsight.",
            "Start the book with a backsight on a benchmark.",
        )
    for start, end in pairwise((*starts, len(readings))):
        sights = tuple(readings[start + 1 : end])
        following = {readings[end].point} if end < len(readings) else set()
        yield _SetUp(readings[start], sights, _turn(sights, following, known))


def _turn(sights: Sequence[Reading], following: set[str], known: Mapping[str, float]) -> Reading | None:
    """The foresight on the next backsight's point, or else the last one on a benchmark, or else the last one."""
    foresights = [sight for sight in reversed(sights) if sight.sight == "foresight"]
    for wanted in (following, known):
        found = next((sight for sight in foresights if sight.point in wanted), None)
        if found:
            return found
    return foresights[0] if foresights else None


def _run(setups: Sequence[_SetUp], at: float, known: Mapping[str, float]) -> LevelRun:
    """One run of set-ups that starts on a point of an elevation in metres."""
    start, last = setups[0].backsight.point, setups[-1].turn
    levels, heights, visits = [at], list[float](), list[Visit]()
    turns = [setup.turn for setup in setups if setup.turn]
    for i, setup in enumerate(setups, start=1):
        height = at + setup.backsight.rod
        heights.append(height)
        visits += _visits(setup, i, height)
        if setup.turn:
            at = height - setup.turn.rod
            levels.append(at)
    return LevelRun(
        start=start,
        end=last.point if last else start,
        known_start=levels[0],
        known_end=known.get(last.point) if last else None,
        instrument=tuple(heights),
        visits=tuple(visits),
        turns=(start, *(turn.point for turn in turns)),
        levels=tuple(levels),
        backsights=math.fsum(setup.backsight.rod for setup in setups),
        foresights=math.fsum(turn.rod for turn in turns),
    )


def _visits(setup: _SetUp, number: int, height: float) -> list[Visit]:
    """What a set-up at a height of instrument in metres gives each point that it sights."""
    return [Visit(s.point, height - s.rod, number, s.row, s is setup.turn) for s in setup.sights]
