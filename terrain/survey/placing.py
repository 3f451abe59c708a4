"""Places for every tied point and every station, in the order in which they can be worked out."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from terrain.errors import InputError
from terrain.survey.offsets import Offset, place_offset
from terrain.survey.points import Place, PlacedPoint, nearest_name, point_key
from terrain.survey.ties import Tie, TiedPoint, place_tie
from terrain.units import Units, show_length

_KNOWN = "Name a point of the shots, of points under [survey], or one that is tied to such."


@dataclass(frozen=True)
class Measures:
    """Tape ties, and stations with offsets from a baseline between two points (names or places, metres)."""

    ties: Sequence[Tie] = ()
    offsets: Sequence[Offset] = ()
    baseline: Sequence[str | Place] = ()


def place_all(
    known: Mapping[str, PlacedPoint], measures: Measures, units: Units, bound: float, where: str
) -> tuple[dict[str, PlacedPoint], tuple[str, ...]]:
    """Place all points that tapes and offsets give.

    Parameters
    ----------
    known
        Placed points by key.
    measures
        What was measured; a point may be tied to one that is itself tied, in any order of the rows.
    units
        For the words.
    bound
        What two places of one point, or three tapes, may differ by, metres.
    where
        The [survey] table of the site file, for faults of the baseline.

    Returns
    -------
    dict of PlacedPoint, tuple of str
        Known and new points by key, and notes on weak fixes and on residuals.

    Raises
    ------
    InputError
        For a point that is tied to nothing known, and where two measurements place one point apart.
    """
    placed = dict(known)
    waiting: list[Tie | Offset] = [*measures.ties, *measures.offsets]
    tied: list[TiedPoint] = []
    while waiting:
        places = {key: point.at for key, point in placed.items()}
        ready = [item for item in waiting if not _missing(item, measures, places)]
        if not ready:
            raise _unknown(waiting, measures, places, placed, where)
        for item in ready:
            if isinstance(item, Tie):
                tied.append(place_tie(item, places, units, bound))
                _put(placed, tied[-1].placed, units, bound)
            else:
                start, end = _ends(measures.baseline, places, where)
                _put(placed, place_offset(item, start, end), units, bound)
        waiting = [item for item in waiting if item not in ready]
    return placed, _notes(tied, units)


def _missing(item: Tie | Offset, measures: Measures, places: Mapping[str, Place]) -> list[str]:
    """Names that the item needs and that have no place yet."""
    needs = item.needs if isinstance(item, Tie) else [end for end in measures.baseline if isinstance(end, str)]
    return [name for name in needs if point_key(name) not in places]


def _ends(baseline: Sequence[str | Place], places: Mapping[str, Place], where: str) -> tuple[Place, Place]:
    if len(baseline) != 2:
        raise InputError(
            f"{where} baseline", "stations and offsets have no baseline.", 'Add its ends: baseline = ["A", "B"].'
        )
    start, end = (places[point_key(end)] if isinstance(end, str) else end for end in baseline)
    if start == end:
        raise InputError(f"{where} baseline", "it starts and ends at one place.", "Accepted: two different points.")
    return start, end


def _put(placed: dict[str, PlacedPoint], point: PlacedPoint, units: Units, bound: float) -> None:
    """Add a point; of one that was placed before, keep the first place where the two agree."""
    before = placed.get(point.key)
    if before is None:
        placed[point.key] = point
        return
    apart = math.dist(before.at, point.at)
    if apart > bound + 1e-9:
        raise InputError(
            point.source,
            f"this place is {show_length(apart, units, 'elevation')} from the one by {before.source}.",
            f"Accepted: within {show_length(bound, units, 'elevation')}; measure again, or keep one of the two.",
        )


def _unknown(
    waiting: Sequence[Tie | Offset],
    measures: Measures,
    places: Mapping[str, Place],
    placed: Mapping[str, PlacedPoint],
    where: str,
) -> InputError:
    """The refusal of the first item that cannot be placed, by what it lacks."""
    pending = {point_key(item.name) for item in waiting}
    item, lacks = next(
        (
            (item, name)
            for item in waiting
            for name in _missing(item, measures, places)
            if point_key(name) not in pending
        ),
        (waiting[0], ""),
    )
    if not lacks:
        names = ", ".join(item.name for item in waiting)
        return InputError(item.where, f"{names} are tied to each other and to no known point.", _KNOWN)
    place = item.where if isinstance(item, Tie) else f"{where} baseline"
    hint = nearest_name(lacks, [point.name for point in placed.values()])
    return InputError(place, f'"{lacks}" is no known point.{hint}', _KNOWN)


def _notes(tied: Sequence[TiedPoint], units: Units) -> tuple[str, ...]:
    """Weak fixes, and the worst of the tapes that check each other."""
    notes = [point.note for point in tied if point.note]
    checked = [point for point in tied if len(point.fix.residuals) > 2]
    if checked:
        worst = max(checked, key=lambda point: point.fix.worst)
        off = show_length(worst.fix.worst, units, "elevation")
        count = f"{len(checked)} point{'s have' if len(checked) > 1 else ' has'}"
        notes.append(f"{count} three tapes or more; the worst of these is off by {off}, at {worst.placed.name}.")
    return tuple(notes)
