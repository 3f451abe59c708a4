"""Points and lines of a DXF drawing, by layer."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from difflib import get_close_matches
from itertools import islice
from pathlib import Path
from typing import Any

import numpy as np

from terrain.earth import SURVEY_FOOT
from terrain.errors import InputError
from terrain.extras import library
from terrain.site import as_points
from terrain.survey.codes import marks_of
from terrain.survey.headings import CODE, ELEVATION, POINT
from terrain.survey.measured import Measured, MeasuredLine, ReadOptions, refuse_many, settled_unit

# $INSUNITS of the DXF header: metres in one drawing unit.
DRAWN_UNITS = {
    1: 0.0254,
    2: 0.3048,
    3: 1609.344,
    4: 0.001,
    5: 0.01,
    6: 1.0,
    7: 1000.0,
    10: 0.9144,
    14: 0.1,
    21: SURVEY_FOOT,
}
CURVES = ("LINE", "LWPOLYLINE", "POLYLINE", "SPLINE", "ARC", "CIRCLE", "ELLIPSE")
_MARKS = {"breaklines": "breakline", "outline": "outline"}  # code of the lines of a layer named for a use
_NO_SHOTS = Measured(np.empty((0, 3)), (), ())
_MOST_CORNERS = 50_000  # of one line: a yard walked round in steps of a hand
_LONGEST = 20_000.0  # metres across a line: ten times the widest yard
_SAGITTA = 0.005  # metres: how far a chord may leave the curve it stands for
_ZERO = 3.0  # metres: points at elevation 0 among others farther from it than this were drawn without elevation


def read(path: Path, label: str, asked: ReadOptions) -> Measured:
    """Read a drawing in DXF.

    Parameters
    ----------
    path, label
        The file, and its name as the site file writes it.
    asked
        `layers` names the layers of shots (points, and the corners of lines), breaklines and outline. Where it names
        none, every point is a shot, with its layer for a code, and a line is what its layer's name marks it as (see
        `codes`).

    Returns
    -------
    Measured
        Coordinates by the drawing's unit ($INSUNITS); its notes say what was left out.

    Raises
    ------
    InputError
        For a file that is no DXF, a layer that it does not have, and a drawing without elevations.
    """
    ezdxf: Any = library("ezdxf", label, "reading a drawing")
    drawing = ezdxf.readfile(path)
    factor, notes = settled_unit(DRAWN_UNITS.get(drawing.header.get("$INSUNITS", 0)), asked, label, "coordinates")
    space = drawing.modelspace()
    layers = sorted({str(entity.dxf.layer) for entity in space})
    uses = {
        use: _layers(names, layers, f"{label} layers {use}")
        for use, names in asked.layers.items()
        if use == "breaklines" or not asked.lines_only
    }
    if asked.lines_only:
        return replace(_NO_SHOTS, lines=_breaklines(space, uses, layers, factor, label), notes=notes)
    points = [*_points(space, uses), *_corners(space, uses, factor, label)]
    refuse_many(len(points), label)
    lines, left_out = _lines(space, uses, factor, label)
    shots = as_points([at for at, _, _ in points]) * factor
    keep, flat = _with_elevation(shots, label)
    return Measured(
        shots[keep],
        tuple(points[i][1] for i in keep),
        tuple(points[i][2] for i in keep),
        lines=tuple(lines),
        notes=(*notes, *flat, *_said(left_out, label)),
    )


def _breaklines(
    space: Any, uses: Mapping[str, frozenset[str]], layers: Sequence[str], factor: float, label: str
) -> tuple[MeasuredLine, ...]:
    """The lines on the layers of breaklines, on any layer where none is named; metres."""
    chosen = uses.get("breaklines", frozenset(layer.casefold() for layer in layers))
    lines, _ = _lines(space, {"breaklines": chosen}, factor, label)
    return tuple(line for line in lines if line.code == _MARKS["breaklines"])


def _layers(names: tuple[str, ...], known: list[str], where: str) -> frozenset[str]:
    """The layers named for one use, in small letters; refused where the drawing has nothing on one."""
    spelled = {layer.casefold(): layer for layer in known}
    for name in names:
        if name.casefold() not in spelled:
            near = get_close_matches(name.casefold(), spelled, n=1)
            hint = f' Did you mean "{spelled[near[0]]}"?' if near else ""
            raise InputError(
                where, f'nothing is drawn on a layer "{name}".{hint}', f"Its layers: {', '.join(known) or 'none'}."
            )
    return frozenset(name.casefold() for name in names)


def _on(entity: Any, uses: Mapping[str, frozenset[str]], use: str) -> bool:
    return str(entity.dxf.layer).casefold() in uses.get(use, frozenset())


Spot = tuple[tuple[float, float, float], str, str]


def _points(space: Any, uses: Mapping[str, frozenset[str]]) -> Iterator[Spot]:
    """Place, name and code of each point and of each symbol that carries an elevation or lies on a layer of shots."""
    for entity in space.query("POINT INSERT"):
        chosen = _on(entity, uses, "shots")
        if "shots" in uses and not chosen:
            continue
        code = "" if chosen else str(entity.dxf.layer)
        if entity.dxftype() == "POINT":
            at = entity.dxf.location
            yield (at.x, at.y, at.z), "", code
        else:
            yield from _symbol(entity, bool(chosen), code)


def _symbol(entity: Any, chosen: bool, code: str) -> Iterator[Spot]:
    """A symbol as a point; none where it neither carries an elevation nor lies on a layer of shots (`chosen`)."""
    written = {attribute.dxf.tag.lower(): attribute.dxf.text.strip() for attribute in entity.attribs}
    elevation = _figure(written, ELEVATION)
    if elevation is not None or chosen:
        at = entity.dxf.insert
        spot = (at.x, at.y, at.z if elevation is None else elevation)
        yield spot, _text_of(written, POINT), _text_of(written, CODE) or code


def _text_of(written: Mapping[str, str], tags: Iterable[str]) -> str:
    """The first of a symbol's texts that stands under one of these tags, or ""."""
    return next((written[tag] for tag in tags if written.get(tag)), "")


def _figure(written: Mapping[str, str], tags: tuple[str, ...]) -> float | None:
    for tag in tags:
        try:
            figure = float(written.get(tag, ""))
        except ValueError:
            continue
        if math.isfinite(figure):
            return figure
    return None


def _corners(space: Any, uses: Mapping[str, frozenset[str]], factor: float, label: str) -> Iterator[Spot]:
    """The corners of lines on layers of shots."""
    for entity in space.query(" ".join(CURVES)):
        if _on(entity, uses, "shots"):
            yield from (((east, north, up), "", "") for east, north, up in vertices_of(entity, factor, label).tolist())


def _lines(
    space: Any, uses: Mapping[str, frozenset[str]], factor: float, label: str
) -> tuple[list[MeasuredLine], Counter[str]]:
    """Lines with a use or a mark, and how many without lie on each layer."""
    lines: list[MeasuredLine] = []
    left_out: Counter[str] = Counter()
    for entity in space.query(" ".join(CURVES)):
        layer = str(entity.dxf.layer)
        use = next((use for use in _MARKS if _on(entity, uses, use)), None)
        if use is None and (not marks_of(layer) or _on(entity, uses, "shots")):
            left_out[layer] += not _on(entity, uses, "shots")
            continue
        code = _MARKS[use] if use else layer
        lines.append(MeasuredLine(code, vertices_of(entity, factor, label) * factor, f'{label} layer "{layer}"'))
    return lines, left_out


def vertices_of(entity: Any, factor: float, label: str) -> np.ndarray[Any, np.dtype[np.float64]]:
    """Corners of a line or curve in drawing units; arcs and curves as short chords.

    Raises `InputError` for a mesh, for a curve that is nowhere (an axis of no length, a bulge without end) and for one
    of more chords than a yard has room for.
    """
    from ezdxf.path import make_path

    where = f'{label} layer "{entity.dxf.layer}"'
    try:
        path = make_path(entity)
        _refuse_long(path, factor)
        corners = list(islice(path.flattening(_SAGITTA / factor), _MOST_CORNERS + 1))
        points = as_points([(at.x, at.y, at.z) for at in corners])
    except (ArithmeticError, ValueError, TypeError, AttributeError) as error:
        problem = f"a {entity.dxftype()} there is no line that can be followed: {error}."
        raise InputError(where, problem, "Draw it again as a polyline.") from None
    if len(points) > _MOST_CORNERS:
        problem = f"a {entity.dxftype()} there has too many corners."
        raise InputError(where, problem, f"Accepted: up to {_MOST_CORNERS:,}.")
    return points


def _refuse_long(path: Any, factor: float) -> None:
    """Refuse a line that is nowhere, or so long that its chords would fill the memory."""
    places = as_points([(at.x, at.y, at.z) for at in path.control_vertices()])
    if not len(places):
        raise ValueError("it has no length")
    if not (np.abs(places).max(initial=0.0) < math.inf and np.ptp(places, axis=0).max(initial=0.0) * factor < _LONGEST):
        raise ValueError(f"it is longer than {_LONGEST / 1000:.0f} km")


def _with_elevation(shots: np.ndarray[Any, np.dtype[np.float64]], label: str) -> tuple[list[int], tuple[str, ...]]:
    """Indices of the shots that have an elevation, and the note on those without."""
    flat = shots[:, 2] == 0.0
    if len(shots) and flat.all():
        raise InputError(
            label,
            f"all {len(shots)} points stand at elevation 0: the drawing carries no elevations.",
            "Accepted: points drawn at their elevation, or symbols with an attribute elevation.",
        )
    if not flat.any() or np.abs(shots[~flat, 2]).min() <= _ZERO:
        return list(range(len(shots))), ()
    count = int(flat.sum())
    note = f"{label}: {count} point{'s' if count > 1 else ''} at elevation 0, far under the others, left out."
    return [int(i) for i in np.flatnonzero(~flat)], (note,)


def _said(left_out: Counter[str], label: str) -> tuple[str, ...]:
    names = ", ".join(sorted(layer for layer, count in left_out.items() if count))
    total = left_out.total()
    return (f"{label}: {total} line{'s' if total > 1 else ''} on {names} left out.",) if total else ()
