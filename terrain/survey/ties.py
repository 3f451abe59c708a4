"""Tape ties: the table that a crew writes at the tape, one row a point or one row a tape.

    point,from,distance,from 2,distance 2,side
    P1,A,30,B,40,left of A to B
    P2,A,20,B,35,
    P2,P1,24,,,

Rows of one point add up; three tapes or more need no side unless they leave it open. Distances are level ones.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from terrain.errors import Faults, InputError
from terrain.survey.headings import CODE, ELEVATION, POINT, Columns
from terrain.survey.measured import Hints
from terrain.survey.points import Place, PlacedPoint, point_key
from terrain.survey.table import Table, column_lengths, read_table
from terrain.survey.tapes import Fix, fix_by_tapes, gap, side_of
from terrain.units import Units, show_length

# Tapes on rough ground agree to this; common practice, no published source.
TIE_BOUND = 0.1 * 0.3048
# Tapes that cross at less than about 20 degrees: a slip in one moves the point by four times as much.
WEAK = 4.0
_MOST_PAIRS = 4
_SIDE = re.compile(r"(?P<side>left|right|l|r)(?:\s+of\s+(?P<start>.+?)\s+to\s+(?P<end>.+))?", re.IGNORECASE)
_FROM = {
    f"from {k}": (f"from {k}", f"from{k}", f"from_{k}", *(("from",) if k == 1 else ()))
    for k in range(1, _MOST_PAIRS + 1)
}
_DISTANCES = {
    f"distance {k}": tuple(
        spelling
        for word in ("distance", "dist", "tape")
        for spelling in (f"{word} {k}", f"{word}{k}", f"{word}_{k}", *((word,) if k == 1 else ()))
    )
    for k in range(1, _MOST_PAIRS + 1)
}
TIES = Columns(
    {"point": POINT, **_FROM, **_DISTANCES, "side": ("side",), "elevation": ELEVATION, "code": CODE},
    lengths=(*_DISTANCES, "elevation"),
    sparse=True,
)


@dataclass(frozen=True)
class Side:
    """Which side of a line a point lies on: `left` or right of the line between two points, by their names."""

    left: bool
    start: str
    end: str


@dataclass(frozen=True)
class Tie:
    """A point taped to known ones.

    `tapes` are (name, metres) as written, `where` opens a message; `elevation` in metres, where the table gives it.
    """

    name: str
    where: str
    tapes: tuple[tuple[str, float], ...]
    side: Side | None = None
    elevation: float | None = None
    code: str = ""

    @property
    def needs(self) -> tuple[str, ...]:
        """Names of the points that must be known first."""
        sides = (self.side.start, self.side.end) if self.side else ()
        return (*(name for name, _ in self.tapes), *sides)


def read_ties(path: Path, label: str, units: Units, hints: Hints | None = None) -> Ties:
    """Read a table of tape ties; `InputError` names file, row and column of all that cannot be read."""
    table = read_table(path, label, ("point", "from 1", "distance 1"), TIES, hints)
    faults = Faults()
    lengths: dict[str, list[float]] = {}
    for column in (*_DISTANCES, "elevation"):
        with faults.kept():
            lengths[column] = column_lengths(table, column, units, math.nan)
    faults.refuse()
    ties: dict[str, Tie] = {}
    for i in range(len(table.rows)):
        with faults.kept():
            tie = _with_row(table, i, lengths, ties)
            ties[point_key(tie.name)] = tie
    faults.refuse()
    return Ties(map(_side_by_order, ties.values()), table.notes)


class Ties(tuple[Tie, ...]):
    """The ties of a table, in its order; `notes` say what was guessed of the file."""

    notes: tuple[str, ...]

    def __new__(cls, ties: Iterable[Tie], notes: tuple[str, ...] = ()) -> Ties:
        """A tuple with notes."""
        made = super().__new__(cls, ties)
        made.notes = notes
        return made


def _with_row(table: Table, i: int, lengths: Mapping[str, list[float]], ties: Mapping[str, Tie]) -> Tie:
    """The tie of a row, with what earlier rows of the point have of it."""
    name, row = table.cells["point"][i], table.rows[i]
    if not name:
        raise InputError(f"{table.label} row {row}", "the point has no name.", "Name the point that was taped.")
    tapes = tuple(_tapes(table, i, lengths))
    where = f'{table.label} row {row} "{name}"'
    before = ties.get(point_key(name)) or Tie(name, where, ())
    whole = replace(before, tapes=before.tapes + tapes)
    side = _side(table.texts("side")[i], whole, where)
    if side and before.side and side != before.side:
        raise InputError(where, "two rows name two sides.", "Keep the right one.")
    elevation = lengths["elevation"][i]
    return replace(
        whole,
        side=side or before.side,
        elevation=before.elevation if math.isnan(elevation) else elevation,
        code=before.code or table.texts("code")[i],
    )


def _tapes(table: Table, i: int, distances: Mapping[str, list[float]]) -> list[tuple[str, float]]:
    """The pairs of one row."""
    found: list[tuple[str, float]] = []
    for starts, column in zip(_FROM, _DISTANCES, strict=True):
        start, metres = table.texts(starts)[i].strip("-–—"), distances[column][i]
        where = f"{table.label} row {table.rows[i]}"
        if bool(start) == math.isnan(metres):
            missing = "distance" if start else "point it was taped from"
            raise InputError(where, f"a tape has no {missing}.", "Write both, or neither.")
        if start and metres <= 0.0:
            raise InputError(where, f"the tape from {start} is not above zero.", "Accepted: more than 0.")
        found += [(start, metres)] if start else []
    return found


def _side(text: str, tie: Tie, where: str) -> Side | None:
    """The side as written; a bare "left" or "right" waits for the order of the tapes."""
    if not text.strip("-–—"):
        return None
    match = _SIDE.fullmatch(text)
    if match is None:
        raise InputError(where, f'"{text}" is not a side.', 'Accepted: such as "left of A to B" or "right of A to B".')
    return Side(match["side"].lower().startswith("l"), match["start"] or "", match["end"] or "")


def _side_by_order(tie: Tie) -> Tie:
    """A bare side is that of the first tape's point to the second's."""
    if tie.side is None or tie.side.start or len(tie.tapes) < 2:
        return tie
    return replace(tie, side=Side(tie.side.left, tie.tapes[0][0], tie.tapes[1][0]))


@dataclass(frozen=True)
class TiedPoint:
    """A placed point and the fix that placed it; `note` says where its tapes cross too flat (empty otherwise)."""

    placed: PlacedPoint
    fix: Fix
    note: str = ""


def place_tie(tie: Tie, places: Mapping[str, Place], units: Units, bound: float = TIE_BOUND) -> TiedPoint:
    """Place one tied point.

    Parameters
    ----------
    tie
        Its tapes, all from points in `places`.
    places
        Known places by key, metres.
    units
        For the words.
    bound
        Largest residual that three or more tapes may leave, metres.

    Raises
    ------
    InputError
        For fewer than two tapes, tapes that do not meet (with the gap), a residual over the bound (with all of
        them), and a side that is missing where it is needed.
    """
    if len(tie.tapes) < 2:
        raise InputError(tie.where, "one tape alone places no point.", "Tape it from a second known point.")
    anchors = [places[point_key(name)] for name, _ in tie.tapes]
    distances = [metres for _, metres in tie.tapes]
    for (i, a), (j, b) in _pairs(anchors):
        if math.dist(a, b) < 1e-6:
            names = f"{tie.tapes[i][0]} and {tie.tapes[j][0]}"
            raise InputError(tie.where, f"its tapes start from one place, {names}.", "Tape from different points.")
    fixes = fix_by_tapes(anchors, distances)
    if not fixes:
        raise _no_meeting(tie, anchors, units)
    fits = [fix for fix in fixes if fix.worst <= bound + 1e-9]
    if not fits:
        raise _residuals(tie, fixes[0], bound, units)
    fix = _on_the_side(tie, fits, places)
    source = PlacedPoint(tie.name, fix.at, tie.where, tie.elevation, tie.code)
    return TiedPoint(source, fix, _weak(tie, fix, bound, units))


def _pairs(anchors: list[Place]) -> list[tuple[tuple[int, Place], tuple[int, Place]]]:
    numbered = list(enumerate(anchors))
    return [(numbered[i], numbered[j]) for i in range(len(anchors)) for j in range(i)]


def _on_the_side(tie: Tie, fits: list[Fix], places: Mapping[str, Place]) -> Fix:
    """The one place on the side given; refused where the tapes leave two and no side tells them apart."""
    if tie.side is None:
        return _the_only(tie, fits)
    start, end = (places[point_key(name)] for name in (tie.side.start, tie.side.end))
    word, turn = ("left", 1.0) if tie.side.left else ("right", -1.0)
    line = f"{tie.side.start} to {tie.side.end}"
    if start == end:
        raise InputError(tie.where, f"there is no line from {line}.", "Name two different points.")
    least = 0.0 if len(fits) > 1 else -1e-6
    chosen = [fix for fix in fits if turn * side_of(start, end, fix.at) > least]
    if len(chosen) == 1:
        return chosen[0]
    where = "neither place" if not chosen else "more than one place"
    raise InputError(
        tie.where,
        f"{where} where the tapes meet lies {word} of {line}.",
        "Check the side, or name the line between two points that the tapes start from.",
    )


def _the_only(tie: Tie, fits: list[Fix]) -> Fix:
    """The one place where the tapes meet, where no side is needed to tell two apart."""
    if len(fits) == 1:
        return fits[0]
    a, b = tie.tapes[0][0], tie.tapes[1][0]
    raise InputError(
        tie.where,
        "the tapes meet at two places, and no side says which.",
        f'Add a side, such as "left of {a} to {b}".',
    )


def _no_meeting(tie: Tie, anchors: list[Place], units: Units) -> InputError:
    (a, from_a), (b, from_b) = tie.tapes[:2]
    short = gap(anchors[0], anchors[1], from_a, from_b)
    apart = show_length(math.dist(*anchors[:2]), units, "elevation")
    far = "pass each other by" if abs(from_a - from_b) > math.dist(*anchors[:2]) else "fall short of each other by"
    shown = [show_length(metres, units, "elevation") for metres in (from_a, from_b)]
    return InputError(
        tie.where,
        f"the tapes do not meet: {shown[0]} from {a} and {shown[1]} from {b} {far} "
        f"{show_length(short, units, 'elevation')}; {a} and {b} are {apart} apart.",
        "Tape it again.",
    )


def _residuals(tie: Tie, fix: Fix, bound: float, units: Units) -> InputError:
    off = ", ".join(
        f"{name} {show_length(residual, units, 'elevation')}"
        for (name, _), residual in zip(tie.tapes, fix.residuals, strict=True)
    )
    return InputError(
        tie.where,
        f"the tapes disagree by up to {show_length(fix.worst, units, 'elevation')}, more than "
        f"{show_length(bound, units, 'elevation')} (measured less worked out: {off}).",
        "Tape it again, or state a wider tie_bound under [survey].",
    )


def _weak(tie: Tie, fix: Fix, bound: float, units: Units) -> str:
    if fix.dilution <= WEAK:
        return ""
    much = (
        f"a slip of {show_length(bound, units, 'elevation')} in them moves the point by "
        f"{show_length(bound * fix.dilution, units, 'elevation')}"
        if fix.dilution < 1e3
        else "they barely hold the point sideways"
    )
    return f"{tie.where}: the tapes run nearly along one line: {much}."
