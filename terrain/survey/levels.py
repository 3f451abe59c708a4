"""Levelling: from rod readings to elevations, misclosures and what is allowed of them. Pure figures, no files.

A set-up reads one backsight on a point of known elevation; its height of instrument is that elevation plus the reading.
Every other reading of the set-up, taken off the height of instrument, gives an elevation: intermediate sights on the
ground, and one foresight on the point that the next set-up looks back to.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Literal

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
    """One elevation that the book gives a point, metres; from the `setup`-th set-up of its run, counted from 1."""

    point: str
    elevation: float
    setup: int
    row: int


@dataclass(frozen=True)
class LevelRun:
    """Set-ups in a row from one benchmark, to another or back to it where the run closes.

    Parameters
    ----------
    start, end
        Keys of the first point and of the last foresight's point.
    known_start, known_end
        Their elevations as given, metres; `known_end` None: the run ends on no benchmark.
    instrument
        Height of instrument of each set-up, metres.
    visits
        Elevations of all points sighted, in order, metres.
    turns
        Keys of the points between set-ups, `start` first; what a length can be measured along.
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


def adjusted(run: LevelRun) -> LevelRun:
    """The run with its misclosure shared out equally, set-up by set-up; as it stands where it does not close.

    Every sight of the i-th of k set-ups takes i/k of the correction (common practice, no published source for
    intermediate sights).
    """
    if run.misclosure is None:
        return run
    step = run.misclosure / run.setups
    return replace(
        run,
        instrument=tuple(height - step * i for i, height in enumerate(run.instrument, start=1)),
        visits=tuple(replace(visit, elevation=visit.elevation - step * visit.setup) for visit in run.visits),
    )


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
        benchmark.

    Raises
    ------
    InputError
        (its `where` names the row) for a reading before any backsight, and for a backsight on a point that neither
        is a benchmark nor was the foresight of the set-up before.
    """
    runs: list[list[_SetUp]] = []
    at: str | None = None
    for setup in _set_ups(list(readings), known):
        point = setup.backsight.point
        if runs and point == at and point not in known:
            runs[-1].append(setup)
        elif point in known:
            runs.append([setup])
        else:
            raise InputError(
                f"row {setup.backsight.row}",
                "this backsight stands neither on a benchmark nor on the point of a foresight of the set-up before.",
                "Turn on one point: a foresight on it from the old set-up, then a backsight on it from the new one.",
            )
        at = setup.turn.point if setup.turn else None
    return tuple(_run(setups, known) for setups in runs)


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


def _run(setups: Sequence[_SetUp], known: Mapping[str, float]) -> LevelRun:
    """One run of set-ups that starts on a benchmark."""
    start, last = setups[0].backsight.point, setups[-1].turn
    at = known[start]
    heights: list[float] = []
    visits: list[Visit] = []
    for i, setup in enumerate(setups, start=1):
        height = at + setup.backsight.rod
        heights.append(height)
        visits += [Visit(sight.point, height - sight.rod, i, sight.row) for sight in setup.sights]
        at = height - setup.turn.rod if setup.turn else at
    turns = [setup.turn for setup in setups if setup.turn]
    return LevelRun(
        start=start,
        end=last.point if last else start,
        known_start=known[start],
        known_end=known.get(last.point) if last else None,
        instrument=tuple(heights),
        visits=tuple(visits),
        turns=(start, *(turn.point for turn in turns)),
        backsights=math.fsum(setup.backsight.rod for setup in setups),
        foresights=math.fsum(turn.rod for turn in turns),
    )
