"""Spot elevations: leaving out repeats, refusing what no ground can come from."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from terrain.errors import InputError
from terrain.grid import Array, frozen
from terrain.site import LeftOut, Survey
from terrain.survey.breaklines import check_breaklines
from terrain.survey.points import nearest_name, point_key
from terrain.survey.two_systems import check_one_system
from terrain.units import Units, show_length, show_place

SAME_PLACE = 0.001  # metres: closer than any rod can be set twice
# Beyond these a survey is no yard but a slip of units: common practice, no published source.
HIGHEST_SPAN = 100.0  # metres between the lowest and the highest shot
WIDEST_YARD = 2000.0  # metres across
_OWN_NAME = "Give every shot a name of its own."
_TOLD = 5  # repeated shots that are told one by one
_NARROWEST = 1e-3  # spread across the shots' line, as a share of the spread along it


def settled_survey(survey: Survey, units: Units, label: str) -> Survey:
    """The survey without repeated shots and those that `leave_out` names, checked; `notes` says which went.

    Raises
    ------
    InputError
        For fewer than three shots, numbers that are not finite, two elevations at one place, elevations of which
        some look like metres among feet, a survey too wide or too high to be a yard, shots that all lie in a line,
        breaklines that no ground can follow, or a name in `leave_out` that is no shot's or is several shots'.
    """
    where = survey.file or f"{label} [survey] shots"
    survey = _without_unwanted(survey, label)
    shots = survey.shots
    bad = np.flatnonzero(~np.isfinite(shots).all(axis=1))
    if bad.size:
        raise InputError(where, f"{_named(survey, bad[0])} holds a number that is not finite.", "Measure it again.")
    check_one_system(survey, units, where)
    settled = _with_namesakes_noted(_without_repeats(survey, units, where), where)
    count = len(settled.shots)
    if count < 3:
        raise InputError(
            where,
            f"{count} shot{'s' if count != 1 else ''} at different places cannot carry a surface.",
            "Accepted: at least 3 shots that do not lie in a line; 20 or more make a useful ground.",
        )
    _check_spans(settled, units, where)
    _check_line(settled, units, where)
    check_breaklines(settled, units, label)
    return replace(settled, shots=frozen(settled.shots))


def _without_unwanted(survey: Survey, label: str) -> Survey:
    """The survey without the shots that `leave_out` names; where they stood stays known."""
    rows: dict[int, str] = {}
    for name in survey.leave_out:
        known = any(point_key(shot.name) == point_key(name) for shot in survey.left_out)
        row = _row_called(survey, name, label, known)
        if row is not None:
            rows[row] = survey.names[row] if point_key(survey.names[row]) == point_key(name) else name
    if not rows:
        return survey
    gone = tuple(LeftOut(rows[i], (x, y), z) for i in sorted(rows) for x, y, z in [survey.shots[i].tolist()])
    names = ", ".join(shot.name for shot in gone)
    note = f"Shot {names} is left out" if len(gone) == 1 else f"Shots {names} are left out"
    kept = _only(survey, sorted(set(range(len(survey.shots))) - rows.keys()))
    notes = (*survey.notes, f"{note} of the ground, as [survey] leave_out asks.")
    return replace(kept, left_out=(*survey.left_out, *gone), notes=notes)


def _where(texts: Sequence[str], text: str) -> list[int]:
    """Indices at which a text stands."""
    return [i for i, other in enumerate(texts) if other == text]


def _row_called(survey: Survey, name: str, label: str, known: bool) -> int | None:
    """Index of the shot of a name, or of "row 17" of the file; None where it was left out before (`known`)."""
    called, rows = [point_key(other) for other in survey.names], [f"row {row}" for row in survey.rows]
    key = point_key(name)
    found = _where(called, key) or _where(rows, key)
    where = f"{label} [survey] leave_out"
    if len(found) > 1:
        shots = [_named(survey, i) for i in found]
        accepted = f'Accepted: one of them, such as "{shots[-1]}".' if survey.rows else _OWN_NAME
        raise InputError(where, f'"{name}" is the name of {len(found)} shots, {", ".join(shots)}.', accepted)
    if not found and not known:
        hint = nearest_name(name, survey.names)
        raise InputError(where, f'"{name}" is no shot of the survey.{hint}', "Accepted: names of shots.")
    return found[0] if found else None


def _with_namesakes_noted(survey: Survey, where: str) -> Survey:
    """The survey with a note where several shots have one name."""
    shots: dict[str, list[int]] = {}
    for i, name in enumerate(survey.names):
        shots.setdefault(point_key(name), []).append(i)
    several = [rows for rows in shots.values() if len(rows) > 1]
    if not several:
        return survey
    name, which = survey.names[several[0][0]], " and ".join(_named(survey, i) for i in several[0][:2])
    count = "1 name stands" if len(several) == 1 else f"{len(several)} names stand"
    note = f'{where}: {count} for more than one shot, such as "{name}"{f" ({which})" if survey.rows else ""}.'
    return survey if note in survey.notes else replace(survey, notes=(*survey.notes, note))


def _only(survey: Survey, keep: list[int]) -> Survey:
    """The survey with the given rows alone."""
    return replace(
        survey,
        shots=survey.shots[keep],
        names=tuple(survey.names[i] for i in keep),
        codes=tuple(survey.codes[i] for i in keep),
        rows=tuple(survey.rows[i] for i in keep) if survey.rows else (),
    )


def _named(survey: Survey, i: int) -> str:
    """One shot as a person finds it: by its row where there is a file, by its name otherwise."""
    return f"row {survey.rows[i]}" if survey.rows else f"shot {survey.names[i]}"


def _without_repeats(survey: Survey, units: Units, where: str) -> Survey:
    """Keep the first of the shots that stand at one place; refuse them where their elevations disagree."""
    notes: list[str] = []
    dropped = _repeats(survey.shots[:, :2])
    for second, first in dropped.items():
        levels = survey.shots[[first, second], 2]
        place = show_place(survey.shots[first, 0], survey.shots[first, 1], units)
        if abs(levels[1] - levels[0]) > 3.0 * survey.accuracy:
            shown = " and ".join(show_length(level, units, "elevation") for level in levels)
            raise InputError(
                where,
                f"{_named(survey, first)} and {_named(survey, second)} stand at the same place ({place}) "
                f"with different elevations, {shown}.",
                "Keep the right one and name the other in leave_out under [survey], or correct its place.",
            )
        notes.append(f"{where}: {_named(survey, second)} repeats {_named(survey, first)} at {place} and was left out.")
    keep = [i for i in range(len(survey.shots)) if i not in dropped]
    more = f"{where}: {len(notes) - _TOLD:,} more shots repeat others and were left out."
    told = [*notes[:_TOLD], more] if len(notes) > _TOLD + 1 else notes
    return replace(_only(survey, keep), notes=(*survey.notes, *told))


def _repeats(places: Array) -> dict[int, int]:
    """Shots that stand where an earlier one stands, each with the first of these; those in the order of the first."""
    kept: dict[tuple[int, int], list[int]] = {}
    repeats: dict[int, int] = {}
    squares = np.floor(places / SAME_PLACE).astype(np.int64).tolist()
    for i, (column, row) in enumerate(squares):
        near = (other for a in (-1, 0, 1) for b in (-1, 0, 1) for other in kept.get((column + a, row + b), ()))
        first = min((other for other in near if math.dist(places[i], places[other]) <= SAME_PLACE), default=None)
        if first is None:
            kept.setdefault((column, row), []).append(i)
        else:
            repeats[i] = first
    return dict(sorted(repeats.items(), key=lambda pair: (pair[1], pair[0])))


def _check_spans(survey: Survey, units: Units, where: str) -> None:
    """A yard is neither a hill nor a township."""
    width, depth, height = np.ptp(survey.shots, axis=0)
    if height > HIGHEST_SPAN:
        low, high = int(np.argmin(survey.shots[:, 2])), int(np.argmax(survey.shots[:, 2]))
        ends = " to ".join(show_length(survey.shots[i, 2], units, "elevation") for i in (low, high))
        raise InputError(
            where,
            f"the elevations run from {ends} ({_named(survey, low)} to {_named(survey, high)}), more than "
            f"{show_length(HIGHEST_SPAN, units, 'elevation')}.",
            f'The site\'s units are "{units}"; look for mixed units or a slipped decimal.',
        )
    if max(width, depth) > WIDEST_YARD:
        raise InputError(
            where,
            f"the shots spread over {show_length(max(width, depth), units, 'distance')}, more than "
            f"{show_length(WIDEST_YARD, units, 'distance')}.",
            f'The site\'s units are "{units}"; look for mixed units or a slipped decimal.',
        )


def _check_line(survey: Survey, units: Units, where: str) -> None:
    """Refuse shots without breadth: no surface is fixed by a line."""
    plan = survey.shots[:, :2] - survey.shots[:, :2].mean(axis=0)
    along, across = np.linalg.svd(plan, compute_uv=False) / np.sqrt(len(plan))
    if across <= max(_NARROWEST * along, SAME_PLACE):
        raise InputError(
            where,
            f"all {len(plan)} shots lie in one line, {show_length(across, units)} wide.",
            "Accepted: shots spread over the whole bed and some way around it.",
        )
