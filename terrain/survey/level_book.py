"""A level book: the table that a crew writes at the level, worked out, checked against its allowance and adjusted.

    point,backsight,intermediate,foresight,note
    BM,4.00,,,nail in the walk
    1,,3.10,,
    TP1,4.50,,5.00,
    BM,,,3.49,

Headings may be bs, is (or ifs) and fs; a hand-worked elevation or height of instrument may stand beside the readings
and is compared with what they give.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import chain
from pathlib import Path

from terrain.errors import Faults, InputError
from terrain.limits import ROD
from terrain.survey.headings import CODE, ELEVATION, POINT, Columns
from terrain.survey.levels import LevelRun, Reading, Sight, adjusted, allowance, reduce_levels, shared_turns
from terrain.survey.measured import Hints
from terrain.survey.points import Place, nearest_name, point_key
from terrain.survey.table import Table, column_lengths, read_table
from terrain.units import Units, show_length, unit_length

# What a small loop may miss whatever its class says: the rule gives a 200 ft loop 0.0097 ft at third order, less than a
# rod is read to. 0.02 ft stands on one web page as the tolerance of simple construction; no better source is known.
FLOOR = 0.02 * 0.3048
_HAND_WORKED = 0.0016  # metres: half of the last digit of figures in 0.01 ft, or in mm
_EVEN = 1e-6  # metres: a share this small is rounding
_SIGHTS: tuple[Sight, ...] = ("intermediate", "foresight", "backsight")
LEVELS = Columns(
    {
        "point": (*POINT, "station", "sta"),
        "backsight": ("backsight", "back sight", "bs", "b.s.", "bs (+)", "bs+", "bs(+)"),
        "intermediate": ("intermediate", "intermediate sight", "is", "ifs", "i.s.", "side shot", "ss"),
        "foresight": ("foresight", "fore sight", "fs", "f.s.", "fs (-)", "fs-", "fs(-)"),
        "instrument": ("hi", "h.i.", "height of instrument"),
        "elevation": (*ELEVATION, "reduced level", "r.l."),
        "code": CODE,
    },
    lengths=("backsight", "intermediate", "foresight", "instrument", "elevation"),
    sparse=True,
)


@dataclass(frozen=True)
class LevelRules:
    """What a book is worked out with.

    Parameters
    ----------
    benchmarks
        Elevation of each benchmark by its name, metres; none: the elevation on the book's first row.
    level_class
        Key of `levels.CLASSES`.
    length
        Length levelled, metres, all runs together; None: taken from the places of the turning points where all are
        known.
    floor
        Least allowance, metres.
    hints
        Encoding and headings of the book.
    """

    benchmarks: Mapping[str, float]
    level_class: str = "third order"
    length: float | None = None
    floor: float = FLOOR
    hints: Hints = field(default_factory=Hints)


@dataclass(frozen=True)
class LevelBook:
    """A worked book.

    Adjusted elevation in metres, name as written and code, where the book has one, by the point's key; runs as read;
    notes.
    """

    elevations: Mapping[str, float]
    names: Mapping[str, str]
    runs: tuple[LevelRun, ...]
    notes: tuple[str, ...]
    codes: Mapping[str, str] = field(default_factory=dict)


def read_level_book(
    path: Path, label: str, units: Units, rules: LevelRules, places: Mapping[str, Place] | None = None
) -> LevelBook:
    """Read a level book and work it out.

    Parameters
    ----------
    path, label
        The file, and its name as the site file writes it.
    units
        The site's units, which bare readings are in.
    rules
        Benchmarks and allowance.
    places
        Places of points by key, metres, where they are known.

    Raises
    ------
    InputError
        For a table that cannot be read or worked out, a benchmark that the book does not use, and a misclosure over
        the allowance, with both figures.
    """
    table = read_table(path, label, ("point", "backsight"), LEVELS, rules.hints)
    readings = _readings(table, units)
    names = {point_key(name): name for name in reversed(table.cells["point"]) if name}
    written = {column: column_lengths(table, column, units, math.nan) for column in ("elevation", "instrument")}
    known = _benchmarks(table, rules, names, written["elevation"])
    try:
        runs = reduce_levels(readings, known)
    except InputError as error:
        raise InputError(f"{label} {error.where}", error.problem, error.accepted) from None
    lengths = _lengths(runs, rules.length, places or {})
    allowed = [allowance(length, rules.level_class, rules.floor) for length in lengths]
    words = _Words(label, units, names, rules.level_class)
    notes = [words.run(run, length, most) for run, length, most in zip(runs, lengths, allowed, strict=True)]
    notes += _compared(table, runs, written, units)
    settled = adjusted(runs, known)
    notes += words.net(runs, settled, shared_turns(runs, known), allowed)
    elevations = _elevations(settled, known, max(allowed, default=rules.floor), words)
    codes: dict[str, str] = {}
    for name, code in zip(table.cells["point"], table.texts("code"), strict=True):
        if code:
            codes.setdefault(point_key(name), code)
    return LevelBook(elevations, names, runs, (*table.notes, *notes), codes)


def _readings(table: Table, units: Units) -> list[Reading]:
    """All readings in the order of the book; on one row the foresight comes before the backsight."""
    faults = Faults()
    columns: dict[Sight, list[float]] = {}
    for sight in _SIGHTS:
        with faults.kept():
            columns[sight] = column_lengths(table, sight, units, math.nan)
    faults.refuse()
    readings: list[Reading] = []
    for i in range(len(table.rows)):
        with faults.kept():
            readings += _readings_of_row(table, i, [(sight, columns[sight][i]) for sight in _SIGHTS], units)
    faults.refuse()
    if not any(reading.sight == "backsight" for reading in readings):
        raise InputError(table.label, "the book has no backsight.", "Start it with a backsight on a benchmark.")
    return readings


def _readings_of_row(table: Table, i: int, rods: Sequence[tuple[Sight, float]], units: Units) -> list[Reading]:
    """The readings of one row, from what stands under each kind of sight (nan: nothing)."""
    name, row = table.cells["point"][i], table.rows[i]
    where = f"{table.label} row {row}"
    read = [(sight, rod) for sight, rod in rods if not math.isnan(rod)]
    if read and not name:
        raise InputError(where, "a reading stands beside no point.", "Name the point that the rod stood on.")
    if not read and name and not table.texts("elevation")[i]:
        raise InputError(where, f'"{name}" has no reading.', "Write one, or leave the row out.")
    for sight, rod in read:
        _refuse_long(rod, f"{where} {table.titles[sight]}", units)
    return [Reading(point_key(name), sight, rod, row) for sight, rod in read]


def _refuse_long(rod: float, where: str, units: Units) -> None:
    """Refuse a reading in metres that no rod has."""
    if abs(rod) > ROD.value:
        raise InputError(
            where,
            f"a rod reading of {show_length(rod, units, 'elevation')} is longer than any rod.",
            f"Accepted: up to {show_length(ROD.value, units, 'elevation')}.",
        )


def _benchmarks(table: Table, rules: LevelRules, names: Mapping[str, str], written: list[float]) -> Mapping[str, float]:
    """Known elevations by key, from the site file or from the first row of the book."""
    known = {point_key(name): elevation for name, elevation in rules.benchmarks.items()}
    unused = [name for name in rules.benchmarks if point_key(name) not in names]
    if unused:
        raise InputError(
            table.label,
            f'no row is of the benchmark "{unused[0]}".{nearest_name(unused[0], names.values())}',
            f'The book\'s first point is "{table.cells["point"][0]}".',
        )
    if known:
        _agree(table, known, written)
        return known
    if not written or math.isnan(written[0]):
        raise InputError(
            table.label,
            "no benchmark is given.",
            'Add benchmark = { point = "BM", elevation = 100.0 } under [survey], or an elevation on the first row.',
        )
    return {point_key(table.cells["point"][0]): written[0]}


def _agree(table: Table, known: Mapping[str, float], written: list[float]) -> None:
    """Refuse a book that gives a benchmark, where it looks back to it, another elevation than the site file."""
    for i, row in enumerate(table.rows):
        name, level = table.cells["point"][i], written[i]
        looks_back = bool(table.cells["backsight"][i]) and not table.texts("foresight")[i]
        if looks_back and abs(known.get(point_key(name), level) - level) > _HAND_WORKED:
            raise InputError(
                f"{table.label} row {row} {table.titles['elevation']}",
                f'"{table.texts("elevation")[i]}" is not the elevation that benchmark gives "{name}" under [survey].',
                "Keep the right one.",
            )


def _lengths(runs: tuple[LevelRun, ...], stated: float | None, places: Mapping[str, Place]) -> list[float | None]:
    """Length of each run in metres: its share of the stated one, by set-ups, or along its turning points.

    The straight lines between turning points are shorter than the sights, so the allowance from them is the stricter.
    """
    if stated is not None:
        setups = sum(run.setups for run in runs)
        return [stated * run.setups / setups for run in runs]
    return [
        sum(math.dist(places[a], places[b]) for a, b in zip(run.turns[:-1], run.turns[1:], strict=True))
        if len(run.turns) > 1 and all(turn in places for turn in run.turns)
        else None
        for run in runs
    ]


def _elevations(runs: Sequence[LevelRun], known: Mapping[str, float], most: float, words: _Words) -> dict[str, float]:
    """One elevation a point: a benchmark's own, that of the net, or the mean of intermediate sights that agree."""
    found: dict[str, list[tuple[int, float]]] = {}
    net: dict[str, float] = {}
    for run in runs:
        net |= dict(zip(run.turns, run.levels, strict=True))
        for visit in run.visits:
            found.setdefault(visit.point, []).append((visit.row, visit.elevation))
    for key, visits in found.items():
        levels = [level for _, level in visits] + ([known[key]] if key in known else [])
        if max(levels) - min(levels) > most + 1e-9:
            raise words.disagree(key, [row for row, _ in visits], levels, most)
    means = {key: math.fsum(level for _, level in visits) / len(visits) for key, visits in found.items()}
    return {**means, **net, **known}


def _compared(table: Table, runs: tuple[LevelRun, ...], written: Mapping[str, list[float]], units: Units) -> list[str]:
    """A note for each elevation or height of instrument in the book that its readings do not give."""
    worked = {visit.row: visit.elevation for run in runs for visit in run.visits}
    backsights = [row for row, cell in zip(table.rows, table.cells["backsight"], strict=True) if cell.strip("-–—")]
    instruments = chain.from_iterable(run.instrument for run in runs)
    heights = dict(zip(backsights, instruments, strict=True))
    return [
        _differs(table, column, row, figure, figures[row], units)
        for column, figures in (("elevation", worked), ("instrument", heights))
        for row, figure in zip(table.rows, written[column], strict=True)
        if row in figures and abs(figure - figures[row]) > _HAND_WORKED
    ]


def _differs(table: Table, column: str, row: int, said: float, given: float, units: Units) -> str:
    """A figure of the book beside the one that its readings give, metres."""
    shown = [show_length(level, units, "elevation") for level in (said, given)]
    return (
        f"{table.label} row {row}: the book's {table.titles[column]} says {shown[0]}, its readings give {shown[1]}; "
        "the readings were taken."
    )


@dataclass(frozen=True)
class _Words:
    """What is said of a run, in the site's units."""

    label: str
    units: Units
    names: Mapping[str, str]
    level_class: str

    def run(self, run: LevelRun, length: float | None, most: float) -> str:
        """The note on one run; `InputError` where its misclosure is over the allowance."""
        start, end = self.names[run.start], self.names[run.end]
        setups = f"{run.setups} set-up{'s' if run.setups > 1 else ''}"
        if run.misclosure is None:
            return (
                f"{self.label}: the run from {start} ({setups}) closes on no benchmark: nothing checks its elevations."
            )
        closes = f"the run from {start} to {end} ({setups}) closes at {self._figure(run.misclosure, '+')}"
        allowed = f"{self._figure(most)} allowed ({self._rule(length, most)})"
        if abs(run.misclosure) > most + 1e-9:
            sums = [show_length(total, self.units, "elevation") for total in (run.backsights, run.foresights)]
            raise InputError(
                self.label,
                f"{closes}, more than the {allowed}; backsights add up to {sums[0]}, foresights to {sums[1]}.",
                "Level it again, or state another level_class or the level_run under [survey].",
            )
        share = -run.misclosure / run.setups
        added = f"; {self._figure(share, '+')} was added at each set-up" if abs(share) > _EVEN else ""
        return f"{self.label}: {closes}, within the {allowed}{added}."

    def net(
        self, runs: Sequence[LevelRun], settled: Sequence[LevelRun], shared: Sequence[str], allowed: Sequence[float]
    ) -> list[str]:
        """The note on runs that share points; `InputError` where one of them is off the others by too much."""
        joint = [i for i, run in enumerate(runs) if set(run.turns) & set(shared)]
        worst = 0.0
        for i in joint:
            run, ends = runs[i], settled[i].levels
            off = (run.levels[-1] - run.levels[0]) - (ends[-1] - ends[0])
            worst = max(worst, abs(off) / max(1, len(run.turns) - 1))
            if abs(off) > allowed[i] + 1e-9:
                start, end = self.names[run.start], self.names[run.end]
                raise InputError(
                    self.label,
                    f"the run from {start} to {end} ({run.setups} set-ups) is {self._figure(off, '+')} off what the "
                    f"runs give together, more than the {self._figure(allowed[i])} allowed.",
                    "Level it again, or state another level_class or the level_run under [survey].",
                )
        if not joint:
            return []
        names = ", ".join(self.names[key] for key in shared)
        return [
            f"{self.label}: {len(joint)} runs share {names} and were adjusted together by least squares, every set-up "
            f"alike; a set-up took up to {self._figure(worst)}."
        ]

    def disagree(self, key: str, rows: list[int], levels: list[float], most: float) -> InputError:
        """The refusal of a point whose elevations differ."""
        ends = " to ".join(show_length(level, self.units, "elevation") for level in (min(levels), max(levels)))
        return InputError(
            f"{self.label} row{'s' if len(rows) > 1 else ''} {' and '.join(map(str, rows))}",
            f'the elevations of "{self.names[key]}" differ, {ends}, by more than {self._figure(most)}.',
            "Level the point again, or give two points two names.",
        )

    def _figure(self, metres: float, sign: str = "") -> str:
        value, places, unit = (
            (metres / unit_length("ft"), 3, "ft") if self.units == "ft" else (1000.0 * metres, 1, "mm")
        )
        return f"{round(value, places) + 0.0:{sign}.{places}f} {unit}"  # + 0.0: no sign before a zero that is one

    def _rule(self, length: float | None, most: float) -> str:
        if length is None:
            return "the least for small sites; the length of the run is not known"
        if most > allowance(length, self.level_class, 0.0):
            return "the least for small sites"
        return f"{self.level_class} over {length / unit_length(self.units):.0f} {self.units}"
