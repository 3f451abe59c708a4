"""What field codes and layers add to a site: the outline, breaklines, trees, buildings and ground to keep clear."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain
from typing import Any

import numpy as np

from terrain.errors import InputError
from terrain.expect import is_list
from terrain.grid import Array
from terrain.site import as_points, entry_words
from terrain.survey.codes import Mark, marks_of
from terrain.survey.measured import MeasuredLine
from terrain.survey.points import Place, PlacedPoint, nearest_name, point_key

Fields = Mapping[str, Any]
CODES = "codes"  # what an outline says that comes from codes
# What a coded ground is called in messages, by its table in the site file.
_GROUNDS = {"building": "building", "keep_clear": "ground to keep clear"}


@dataclass(frozen=True)
class CodedTree:
    """A tree by its code: name, place in metres, and the trunk's diameter as written (empty where not)."""

    name: str
    at: Place
    trunk: str
    where: str


@dataclass(frozen=True)
class CodedGround:
    """A building or other ground by its coded corners: its table in the site file, name, (n, 2) corners in metres."""

    table: str
    name: str
    corners: Array
    where: str


@dataclass(frozen=True)
class Coded:
    """All that codes mark; `outline` (n, 2) and each breakline (n, 3) in metres."""

    outline: Array | None = None
    breaklines: tuple[Array, ...] = ()
    trees: tuple[CodedTree, ...] = ()
    grounds: tuple[CodedGround, ...] = ()


def is_ground(point: PlacedPoint) -> bool:
    """Whether a point was measured on the ground, by its code."""
    return all(mark.kind != "no ground" for mark in marks_of(point.code))


def collect_codes(points: Sequence[PlacedPoint], lines: Sequence[MeasuredLine], where: str) -> Coded:
    """Gather what the codes of points, in their order, and of lines mark.

    Raises `InputError` for a mark that lacks its name, a breakline of one point or without elevations, two outlines.
    """
    pieces = [*_strings(points), *((mark, line) for line in lines for mark in marks_of(line.code))]
    for mark, line in pieces:
        _refuse_nameless(mark, line.where)
    return Coded(
        _one_outline(pieces, where),
        tuple(with_elevations(line) for mark, line in pieces if mark.kind == "breakline"),
        tuple(chain.from_iterable(map(_trees_at, points))),
        tuple(
            CodedGround(mark.kind, mark.name, line.points[:, :2], line.where)
            for mark, line in pieces
            if mark.kind in _GROUNDS
        ),
    )


def _one_outline(pieces: Sequence[tuple[Mark, MeasuredLine]], where: str) -> Array | None:
    """The bed's outline (k, 2) in metres, where the codes mark one."""
    outlines = [line.points[:, :2] for mark, line in pieces if mark.kind == "outline"]
    if len(outlines) > 1:
        raise InputError(where, f"{len(outlines)} bed outlines are marked.", "Mark one, or name it under [bed].")
    return outlines[0] if outlines else None


def _trees_at(point: PlacedPoint) -> Iterator[CodedTree]:
    """The trees that a point's code marks."""
    trees = (mark for mark in marks_of(point.code) if mark.kind == "tree")
    yield from (CodedTree(mark.name, point.at, mark.size, point.source) for mark in trees)


def _strings(points: Sequence[PlacedPoint]) -> list[tuple[Mark, MeasuredLine]]:
    """Points of one mark as a line, in their order, with the mark as its first point spells it."""
    strings: dict[tuple[str, str], tuple[Mark, list[PlacedPoint]]] = {}
    for point in points:
        for mark in marks_of(point.code):
            if mark.kind not in ("tree", "no ground"):
                strings.setdefault((mark.kind, point_key(mark.name)), (mark, []))[1].append(point)
    return [
        (
            mark,
            MeasuredLine(
                string[0].code,
                as_points([(*point.at, math.nan if point.elevation is None else point.elevation) for point in string]),
                string[0].source,
            ),
        )
        for mark, string in strings.values()
    ]


def _refuse_nameless(mark: Mark, where: str) -> None:
    if mark.kind in _GROUNDS and not mark.name:
        word = _GROUNDS[mark.kind]
        example = "building corner house" if mark.kind == "building" else "keep clear front walk"
        raise InputError(where, f"a corner of a {word} has no name.", f'Code it with its name, such as "{example}".')


def with_elevations(line: MeasuredLine) -> Array:
    """The points of a breakline, (n, 3) metres; `InputError` for a lone point, and for one without an elevation."""
    if len(line.points) < 2:
        raise InputError(line.where, "its breakline has this one point only.", "Accepted: two points or more.")
    bare = np.flatnonzero(~np.isfinite(line.points).all(axis=1))
    if bare.size:
        raise InputError(
            line.where,
            f"point {bare[0] + 1} of this breakline has no elevation.",
            "Give every point of a breakline its elevation.",
        )
    return line.points


def with_coded(
    fields: Fields, coded: Coded, places: Mapping[str, Place | None], label: str
) -> tuple[Fields, tuple[str, ...]]:
    """The fields of a site file, filled in by codes and by names of points.

    Parameters
    ----------
    fields
        As `build_site` takes them.
    coded
        What the survey marks.
    places
        Places of named points by key, metres, None where several have one name; `at` and `center` may name one.
    label
        Opens every message.

    Returns
    -------
    Mapping, tuple of str
        The fields with what was missing filled in, and notes on marks that were not used.

    Raises
    ------
    InputError
        For a name that no point has, and where codes are asked for that are not there.
    """
    filled: dict[str, Any] = {**fields, **_bed(fields, coded, label)}
    for table in ("tree", "view_from", "basin"):
        if is_list(filled.get(table)):
            filled[table] = [
                _with_place(entry, places, f"{label} {entry_words(table, i, entry)}")
                for i, entry in _counted(filled[table])
            ]
    notes: list[str] = []
    if coded.outline is not None and filled["bed"] is fields.get("bed"):
        notes.append("Points coded as outline are ordinary shots: [bed] gives its own outline.")
    filled, more = _trees(filled, coded.trees)
    for table in _GROUNDS:
        filled = _grounds(filled, table, [ground for ground in coded.grounds if ground.table == table])
    return filled, (*notes, *more)


def _counted(entries: Sequence[Any]) -> list[tuple[int, Any]]:
    return list(enumerate(entries, start=1))


def _bed(fields: Fields, coded: Coded, label: str) -> Fields:
    """The [bed] table with its outline from the codes, where it has none or asks for them."""
    bed = fields.get("bed", {} if coded.outline is not None else None)
    if not isinstance(bed, Mapping):
        return {"bed": bed} if "bed" in fields else {}
    asked = bed.get("outline") == CODES if isinstance(bed.get("outline"), str) else False
    if asked and coded.outline is None:
        raise InputError(
            f"{label} [bed] outline",
            "no point or line of the survey is coded as outline.",
            'Code the points of the bed line "outline", in their order, or give the outline here.',
        )
    if coded.outline is None or ("outline" in bed and not asked):
        return {"bed": bed}
    return {"bed": {**bed, "outline": coded.outline}}


def _with_place(entry: Any, places: Mapping[str, Place | None], where: str) -> Any:
    """The entry with the place of the point that it names."""
    if not isinstance(entry, Mapping):
        return entry
    for key in ("at", "center"):
        name = entry.get(key)
        if isinstance(name, str) and name.strip():
            place = places.get(point_key(name))
            if place is None:
                several = point_key(name) in places
                raise InputError(
                    f"{where} {key}",
                    f'"{name}" is the name of several points.'
                    if several
                    else f'"{name}" is no point of the survey.{nearest_name(name, places)}',
                    "Accepted: [x, y] in the survey's coordinates, or the name of one point.",
                )
            entry = {**entry, key: _written(place)}
    return entry


def _written(place: Place) -> list[str]:
    """A place in metres as a site file may give it, whatever its units."""
    return [f"{ordinate!r} m" for ordinate in place]


def _trees(fields: Fields, trees: Sequence[CodedTree]) -> tuple[dict[str, Any], list[str]]:
    """Coded trees: their places to [[tree]] entries of the same name without one, the others as trees of their own."""
    entries = list(fields["tree"]) if is_list(fields.get("tree")) else []
    coded = {point_key(tree.name): tree for tree in trees}
    used: set[str] = set()
    for i, entry in enumerate(entries):
        key = _name_key(entry)
        if key in coded:
            used.add(key)
            entries[i] = {**_as_surveyed(coded[key], entry), **entry}
    rest = [tree for key, tree in coded.items() if key not in used]
    new, notes = _new_trees(rest)
    return {**fields, **({"tree": [*entries, *new]} if used or new else {})}, notes


def _new_trees(trees: Sequence[CodedTree]) -> tuple[list[dict[str, Any]], list[str]]:
    """Entries of the trees that have a trunk, and a note on each that has none."""
    new = [{"name": tree.name, **_as_surveyed(tree, {})} for tree in trees if tree.trunk]
    return new, [
        f'{tree.where}: the tree "{tree.name}" has no trunk diameter, here or under [[tree]]: taken as a shot only.'
        for tree in trees
        if not tree.trunk
    ]


def _name_key(entry: object) -> str:
    """The key of the name in an entry of the site file, "" where it has none that is a text."""
    name = entry.get("name") if isinstance(entry, Mapping) else None
    return point_key(name) if isinstance(name, str) else ""


def _as_surveyed(tree: CodedTree, entry: Mapping[str, Any]) -> dict[str, Any]:
    """Place and trunk of a coded tree; a trunk that the site file gives in any way holds."""
    measured = entry.keys() & {"trunk", "girth", "stems"}
    return {"at": _written(tree.at), **({"trunk": tree.trunk} if tree.trunk and not measured else {})}


def _grounds(fields: Fields, table: str, grounds: Sequence[CodedGround]) -> dict[str, Any]:
    """Coded grounds: their corners to entries of the same name without an outline, the others as new entries."""
    entries = list(fields[table]) if is_list(fields.get(table)) else []
    for ground in grounds:
        if len(ground.corners) < 3:
            raise InputError(
                ground.where,
                f'the {_GROUNDS[table]} "{ground.name}" has {len(ground.corners)} coded corners.',
                "Accepted: three corners or more, in order around it.",
            )
        named = [
            i
            for i, entry in enumerate(entries)
            if isinstance(entry, Mapping) and point_key(str(entry.get("name", ""))) == point_key(ground.name)
        ]
        if not named:
            entries.append({"name": ground.name, "outline": ground.corners})
        for i in named:
            entries[i] = {"outline": ground.corners, **entries[i]}
    return {**fields, **({table: entries} if grounds else {})}
